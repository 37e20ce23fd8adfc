//! How times and recorded texts are written in the pack.

use crate::moment::Moment;

/// A moment for people, by the site's clocks: `2 Mar 2026 10:40`.
pub(super) fn when(moment: &Moment) -> String {
    moment.format("%-d %b %Y %H:%M").to_string()
}

/// A moment for people on a known day: the clock time, with the day in front where it is another.
pub(super) fn clock_on(moment: &Moment, day: &Moment) -> String {
    if moment.date_naive() == day.date_naive() { moment.format("%H:%M").to_string() } else { when(moment) }
}

/// Recorded text as it may reach a page: characters that would turn a line round are shown, never obeyed.
pub(super) fn shown(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\n' | '\t' => c,
            '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => '\u{fffd}',
            c if c.is_control() => '\u{fffd}',
            c => c,
        })
        .collect()
}
