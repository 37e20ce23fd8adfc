//! Names of people: what may be in one, and when two are the same name.

use unicode_normalization::UnicodeNormalization;

use super::text::check_name;
use crate::plain::is_ignorable;

/// Checks the name of a person: as any name, and no word of it in letters of two alphabets, which look alike on a screen
/// and are two names.
///
/// # Errors
/// What is wrong with it, to follow "the name".
pub fn check_person(name: &str) -> Result<(), String> {
    check_name(name)?;
    let mixed = name.split_whitespace().find(|word| {
        let mut alphabets = word.chars().filter_map(alphabet);
        alphabets.next().is_some_and(|first| alphabets.any(|other| other != first))
    });
    match mixed {
        None => Ok(()),
        Some(word) => Err(format!("has letters of two alphabets in '{word}'; type it in one")),
    }
}

/// The alphabet of a letter, of those whose letters look alike.
fn alphabet(letter: char) -> Option<&'static str> {
    match letter {
        'A'..='Z' | 'a'..='z' | '\u{c0}'..='\u{24f}' if letter.is_alphabetic() => Some("Latin"),
        '\u{370}'..='\u{3ff}' | '\u{1f00}'..='\u{1fff}' if letter.is_alphabetic() => Some("Greek"),
        '\u{400}'..='\u{52f}' => Some("Cyrillic"),
        _ => None,
    }
}

/// Capital and small letters of Greek and Cyrillic that look like Latin ones, in the order of [`LOOKS`] (after Unicode
/// Technical Standard 39, confusables; chosen from memory, the usual ones only).
const LIKE: &str = "ΑΒΕΖΗΙΚΜΝΟΡΤΥΧοναικρυАВЕКМНОРСТХУІЈЅаеорсхуіјѕ";

/// What each letter of [`LIKE`] looks like.
const LOOKS: &str = "ABEZHIKMNOPTYXovaikpuABEKMHOPCTXYIJSaeopcxyijs";

/// A name as it looks, where every letter of it is of another alphabet and looks like a Latin one: on a screen nobody can
/// tell it from the name so spelt.
pub fn looks_latin(name: &str) -> Option<String> {
    let looks = |letter: char| match alphabet(letter) {
        Some("Latin") => None,
        Some(_) => LIKE.chars().zip(LOOKS.chars()).find(|(like, _)| *like == letter).map(|(_, looks)| looks),
        None if letter.is_alphabetic() => None,
        None => Some(letter),
    };
    let seen: String = name.chars().map(looks).collect::<Option<_>>()?;
    seen.chars().any(char::is_alphabetic).then_some(seen)
}

/// Whether two names are one person's: however they are spaced, in capitals or not, in full-width letters or not, with
/// characters in them that nobody sees.
pub fn is_same_name(one: &str, other: &str) -> bool {
    if one.is_ascii() && other.is_ascii() {
        let words = (one.split_ascii_whitespace(), other.split_ascii_whitespace());
        return words.0.map(str::to_ascii_lowercase).eq(words.1.map(str::to_ascii_lowercase));
    }
    folded(one) == folded(other)
}

/// A name as it is compared: compatibility characters and case folded (Unicode Standard Annex 15, NFKC), without what is
/// not seen, one space between words.
fn folded(name: &str) -> String {
    let seen = name.chars().filter(|c| !is_ignorable(*c)).nfkc().filter(|c| !is_ignorable(*c)).collect::<String>();
    // Capitals first: ß and SS are one.
    let lower: String = seen.to_uppercase().to_lowercase().nfkc().collect();
    lower.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_the_same_however_it_is_spelt() {
        let spelt = [
            "ann lead",
            "Ann  Lead",
            "ANN LEAD",
            "Ann\u{a0}Lead",
            "Ann\u{200b} Lead",
            "A\u{ad}nn Lead",
            "Ａｎｎ Lead",
            "Ann Lead\u{e0061}",
        ];
        for other in spelt {
            assert!(is_same_name("Ann Lead", other), "{other:?}");
        }
        assert!(is_same_name("José Weiß", "jose\u{301} WEISS"));
        for other in ["Ann Leed", "AnnLead", "Lead Ann", ""] {
            assert!(!is_same_name("Ann Lead", other), "{other:?}");
        }
    }

    #[test]
    fn a_name_all_of_look_alikes_is_seen_through() {
        assert_eq!(LIKE.chars().count(), LOOKS.chars().count());
        assert_eq!(looks_latin("Сора Рое").as_deref(), Some("Copa Poe"));
        assert_eq!(looks_latin("ΑΝΝ").as_deref(), Some("ANN"));
        for plain in ["Copa", "Анна", "Σοφία", "王", "12", "Сора Poe"] {
            assert_eq!(looks_latin(plain), None, "{plain}");
        }
    }

    #[test]
    fn a_word_in_letters_of_two_alphabets_is_no_name() {
        for good in ["Ann Lead", "Zoë Ōtaki", "Анна Иванова", "Αννα Lead", "王 Wei", "O'Brien-Łukasz 2"]
        {
            assert_eq!(check_person(good), Ok(()), "{good}");
        }
        for bad in ["Αnn Lead", "Ann Lеad"] {
            assert!(check_person(bad).unwrap_err().contains("two alphabets"), "{bad}");
        }
        for hidden in ["Ann\u{200b} Lead", "Ruth \u{202e}Build", "Ann\u{2028}Lead", "Ann\u{200d}Lead"] {
            assert!(check_person(hidden).is_err(), "{hidden:?}");
        }
    }
}
