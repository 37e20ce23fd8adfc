//! Texts that people give: names, keys, and the known word that a misspelt one is closest to.

use crate::plain::{is_hidden, is_ignorable};
use crate::units::number::shortened;

/// Longest name, in characters.
pub(super) const MOST_NAME: usize = 200;
/// Longest text for people, in characters.
const MOST_TEXT: usize = 4000;
/// Longest key.
const MOST_KEY: usize = 40;

/// Checks a name of a person or a thing: any script, one line, at most 200 characters, no control characters, nothing that
/// is not seen or turns the line round.
///
/// # Errors
/// What is wrong with it, to follow the name of the field.
pub fn check_name(text: &str) -> Result<(), String> {
    if !text.trim().is_empty() && text.trim() != text {
        return Err("has leading or trailing spaces".into());
    }
    check(text, MOST_NAME, char::is_control)?;
    if text.chars().any(|c| is_hidden(c) || is_ignorable(c)) {
        return Err("has a character in it that can't be seen; remove it".into());
    }
    Ok(())
}

/// Checks a text for people: as a name, but over several lines and at most 4,000 characters long.
pub(super) fn check_text(text: &str) -> Result<(), String> {
    check(text, MOST_TEXT, |c| c.is_control() && c != '\n' && c != '\t')
}

fn check(text: &str, most: usize, refused: impl Fn(char) -> bool) -> Result<(), String> {
    let length = text.chars().count();
    if text.trim().is_empty() {
        Err("is empty".into())
    } else if text.chars().any(refused) {
        Err("has a control character in it; remove it".into())
    } else if length > most {
        Err(format!("is {length} characters long; at most {most}"))
    } else {
        Ok(())
    }
}

/// Checks a key: letters, digits and hyphens, starting with a letter or digit, at most 40 characters.
///
/// # Errors
/// What is wrong with it, to follow the name of the field.
pub fn check_key(text: &str) -> Result<(), String> {
    let good = text.chars().all(|c| c.is_ascii_alphanumeric() || c == '-')
        && text.starts_with(|c: char| c.is_ascii_alphanumeric())
        && text.len() <= MOST_KEY;
    if good {
        return Ok(());
    }
    let shown = shortened(text);
    Err(format!(
        "can't be '{}'; use letters, digits and hyphens, starting with a letter or digit, at most {MOST_KEY}",
        shown.escape_debug()
    ))
}

/// The known word closest to what was typed, when it is close: one letter off, and one more for each four letters.
pub fn nearest<'k>(typed: &str, known: &[&'k str]) -> Option<&'k str> {
    // Only the beginning: a distance takes time in the square of the length.
    let beginning = |text: &str| text.chars().take(64).flat_map(char::to_lowercase).collect::<String>();
    let typed = beginning(typed);
    known
        .iter()
        .map(|word| (strsim::levenshtein(&typed, &beginning(word)), *word))
        .filter(|(distance, word)| *distance <= 1 + word.chars().count() / 4)
        .min()
        .map(|(_, word)| word)
}
