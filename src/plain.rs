//! Text for people: recorded text as it may reach a terminal or a page, shown and never obeyed; words that are counted.

/// Replaces control characters, all but tab and newline, and what would turn a line round, by `\u{fffd}`.
pub fn visible(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\n' | '\t' => c,
            // Right-to-left overrides and their kin can make a line read as another.
            '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => '\u{fffd}',
            c if c.is_control() => '\u{fffd}',
            c => c,
        })
        .collect()
}

/// A word as it is typed on a command line, such as a name with a space in it. Double quotes: every shell takes them.
pub fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | '/' | '=');
    if !word.is_empty() && word.chars().all(plain) {
        word.to_owned()
    } else {
        format!("\"{}\"", word.replace('"', "\\\""))
    }
}

/// So many of something, such as `1 entry`, `2 entries`, `0 photos`.
pub fn count(number: usize, one: &str) -> String {
    match one.strip_suffix('y') {
        _ if number == 1 => format!("1 {one}"),
        _ if one == "person" => format!("{number} people"),
        Some(stem) if !stem.ends_with(['a', 'e', 'o', 'u']) => format!("{number} {stem}ies"),
        _ => format!("{number} {one}s"),
    }
}

/// JSON with the same characters written as `\u` escapes: the same document, and harmless on a terminal.
///
/// JSON asks for that only up to U+001F; a terminal obeys U+009B as well.
pub fn visible_json(text: &str) -> String {
    text.chars().fold(String::with_capacity(text.len()), |mut safe, c| {
        match c {
            '\n' => safe.push(c),
            c if c.is_control() || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}') => {
                safe.push_str(&format!("\\u{:04x}", u32::from(c)));
            }
            c => safe.push(c),
        }
        safe
    })
}

#[cfg(test)]
mod tests {
    use super::{count, quoted, visible, visible_json};

    #[test]
    fn json_says_the_same_with_its_control_characters_escaped() {
        let value = serde_json::json!({ "a\u{9b}": "b\u{202e}\u{7f}\u{1b}" });
        let safe = visible_json(&serde_json::to_string_pretty(&value).unwrap());
        assert!(safe.chars().all(|c| c == '\n' || !c.is_control()), "{safe}");
        assert_eq!(serde_json::from_str::<serde_json::Value>(&safe).unwrap(), value);
    }

    #[test]
    fn a_name_is_quoted_where_a_shell_would_take_it_apart() {
        assert_eq!(quoted("Lea=8"), "Lea=8");
        assert_eq!(quoted("Pat O'Brien=8"), "\"Pat O'Brien=8\"");
        assert_eq!(quoted(""), "\"\"");
    }

    #[test]
    fn what_is_counted_agrees_with_its_number() {
        assert_eq!([0, 1, 2].map(|number| count(number, "entry")), ["0 entries", "1 entry", "2 entries"]);
        assert_eq!([0, 1, 2].map(|number| count(number, "day")), ["0 days", "1 day", "2 days"]);
    }

    #[test]
    fn an_escape_sequence_is_text_like_any_other() {
        assert_eq!(visible("a\u{1b}[31mb\u{202e}c\td"), "a\u{fffd}[31mb\u{fffd}c\td");
    }
}
