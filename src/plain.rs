//! Recorded text as it may reach a terminal or a page: shown, never obeyed.

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

#[cfg(test)]
mod tests {
    use super::visible;

    #[test]
    fn an_escape_sequence_is_text_like_any_other() {
        assert_eq!(visible("a\u{1b}[31mb\u{202e}c\td"), "a\u{fffd}[31mb\u{fffd}c\td");
    }
}
