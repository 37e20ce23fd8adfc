//! Text for people: recorded text as it may reach a terminal or a page, shown and never obeyed; words that are counted.

/// Whether a character takes no place on a screen: the Default_Ignorable_Code_Points of the Unicode Character Database
/// (DerivedCoreProperties.txt; the ranges are from memory).
pub fn is_ignorable(c: char) -> bool {
    matches!(c,
        '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}'..='\u{1160}' | '\u{17b4}'..='\u{17b5}' | '\u{180b}'..='\u{180f}'
        | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{3164}'
        | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{ffa0}' | '\u{fff0}'..='\u{fff8}' | '\u{1bca0}'..='\u{1bca3}'
        | '\u{1d173}'..='\u{1d17a}' | '\u{e0000}'..='\u{e0fff}')
}

/// Whether a character is never shown as it is: control characters, what turns a line round or breaks it unseen, and what
/// takes no place. Joiners and selectors that scripts and pictures need are shown.
pub fn is_hidden(c: char) -> bool {
    let needed = matches!(c, '\u{34f}' | '\u{17b4}'..='\u{17b5}' | '\u{180b}'..='\u{180f}' | '\u{200c}' | '\u{200d}' | '\u{fe00}'..='\u{fe0f}');
    c.is_control() || matches!(c, '\u{2028}' | '\u{2029}') || is_ignorable(c) && !needed
}

/// Replaces what is never shown as it is, all but tab and newline, by `\u{fffd}`.
pub fn visible(text: &str) -> String {
    let shown = |c: char| if is_hidden(c) && !matches!(c, '\n' | '\t') { '\u{fffd}' } else { c };
    text.chars().map(shown).collect()
}

/// A word as it is typed on a command line, such as a name with a space in it. Double quotes: every shell takes them. What
/// a shell obeys within them (`$`, a backtick, a backslash) is escaped as POSIX has it: the word may come from a record
/// that somebody else wrote.
pub fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | '/' | '=');
    if !word.is_empty() && word.chars().all(plain) {
        word.to_owned()
    } else {
        let escaped = |c: char| matches!(c, '"' | '$' | '`' | '\\').then_some('\\').into_iter().chain([c]);
        format!("\"{}\"", word.chars().flat_map(escaped).collect::<String>())
    }
}

/// Of the program's own words those whose plural is not one with an `s`.
const OTHERWISE: [(&str, &str); 2] = [("entry", "entries"), ("person", "people")];

/// So many of something, such as `1 entry`, `2 entries`, `0 photos`.
pub fn count<N: PartialEq + From<u8> + std::fmt::Display>(number: N, one: &str) -> String {
    if number == N::from(1) {
        return format!("1 {one}");
    }
    match OTHERWISE.into_iter().find(|(word, _)| *word == one) {
        Some((_, many)) => format!("{number} {many}"),
        None => format!("{number} {one}s"),
    }
}

/// Names in a row; "nobody" where there are none.
pub fn names(names: &[String]) -> String {
    if names.is_empty() { "nobody".to_owned() } else { names.join(", ") }
}

/// JSON with the same characters written as `\u` escapes: the same document, and harmless on a terminal.
///
/// JSON asks for that only up to U+001F; a terminal obeys U+009B as well.
pub fn visible_json(text: &str) -> String {
    text.chars().fold(String::with_capacity(text.len()), |mut safe, c| {
        match c {
            '\n' => safe.push(c),
            c if is_hidden(c) => {
                let units = &mut [0; 2];
                c.encode_utf16(units).iter().for_each(|unit| safe.push_str(&format!("\\u{unit:04x}")));
            }
            c => safe.push(c),
        }
        safe
    })
}

/// Names in a row of which one is meant: "Dave Moor, Ana Reid or Rangi Pou".
pub fn listed_or(names: &[&str]) -> String {
    match names {
        [] | [_] => names.concat(),
        [before @ .., last] => format!("{} or {last}", before.join(", ")),
    }
}

/// Titles in a row, the first with its capital: "Gunned, tooled, tape off".
pub fn one_after_another(titles: &[String]) -> String {
    let small = |title: &String| {
        let mut letters = title.chars();
        letters.next().map(|first| first.to_lowercase().chain(letters).collect()).unwrap_or_default()
    };
    let mut titles = titles.iter();
    titles.next().into_iter().cloned().chain(titles.map(small)).collect::<Vec<String>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::{count, listed_or, quoted, visible, visible_json};

    #[test]
    fn one_of_some_names_is_meant() {
        assert_eq!(listed_or(&[]), "");
        assert_eq!(listed_or(&["Ana"]), "Ana");
        assert_eq!(listed_or(&["Ana", "Tom"]), "Ana or Tom");
        assert_eq!(listed_or(&["Ana", "Tom", "Ruth"]), "Ana, Tom or Ruth");
    }

    #[test]
    fn json_says_the_same_with_its_control_characters_escaped() {
        let value = serde_json::json!({ "a\u{9b}": "b\u{202e}\u{7f}\u{1b}\u{200b}\u{2028}\u{61c}\u{e0041}" });
        let safe = visible_json(&serde_json::to_string_pretty(&value).unwrap());
        assert!(safe.chars().all(|c| c == '\n' || c.is_ascii() && !c.is_control()), "{safe}");
        assert_eq!(serde_json::from_str::<serde_json::Value>(&safe).unwrap(), value);
    }

    #[test]
    fn a_name_is_quoted_where_a_shell_would_take_it_apart() {
        assert_eq!(quoted("Lea=8"), "Lea=8");
        assert_eq!(quoted("Pat O'Brien=8"), "\"Pat O'Brien=8\"");
        assert_eq!(quoted(""), "\"\"");
        // Pasted into a shell, a name runs nothing.
        assert_eq!(quoted(r#"$(x) `y` \ "z""#), r#""\$(x) \`y\` \\ \"z\"""#);
    }

    #[test]
    fn what_is_counted_agrees_with_its_number() {
        assert_eq!([0, 1, 2].map(|number| count(number, "entry")), ["0 entries", "1 entry", "2 entries"]);
        assert_eq!([0, 1, 2].map(|number| count(number, "day")), ["0 days", "1 day", "2 days"]);
    }

    #[test]
    fn an_escape_sequence_is_text_like_any_other() {
        assert_eq!(visible("a\u{1b}[31mb\u{202e}c\td"), "a\u{fffd}[31mb\u{fffd}c\td");
        for hidden in ['\u{200b}', '\u{200f}', '\u{61c}', '\u{2028}', '\u{e0041}', '\u{feff}', '\u{ad}'] {
            assert_eq!(visible(&hidden.to_string()), "\u{fffd}", "{hidden:?}");
        }
        // A family of emoji and a Persian word keep their joiners.
        for kept in ["\u{1f468}\u{200d}\u{1f469}\u{200d}\u{1f467}", "می\u{200c}خواهم", "✔\u{fe0f}"] {
            assert_eq!(visible(kept), kept);
        }
    }
}
