//! Calendars that a phone can load: RFC 5545, events with an alarm each.
//!
//! Lines end in CRLF and are folded at 75 octets, between characters; times are UTC; text is escaped. The same events
//! always give the same bytes, so `UID`, `SEQUENCE` and `DTSTAMP` come from whoever makes the events.

use std::fmt::Write;

use chrono::{TimeDelta, Utc};

use crate::moment::Moment;
use crate::plain::visible;

/// The longest line, in octets, without its end (RFC 5545, 3.1).
const MOST_OCTETS: usize = 75;

/// Something that happens at a time, and rings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Event {
    /// Its id, the same whenever the same thing is written again.
    pub uid: String,
    /// Grows when it changes, so that a calendar takes the newer one (RFC 5545, 3.8.7.4).
    pub sequence: u32,
    /// When it last was made or changed.
    pub stamp: Moment,
    /// When it begins.
    pub start: Moment,
    /// When it ends; a moment of its own where it is `None`.
    pub end: Option<Moment>,
    /// In a few words.
    pub summary: String,
    /// More of it.
    pub description: String,
    /// How long before it rings.
    pub ahead: TimeDelta,
    /// It does not happen any more: a calendar that has it takes it off.
    pub cancelled: bool,
}

/// Writes a calendar. Without events it holds the time zone UTC alone: a calendar must hold something (RFC 5545, 3.6).
pub fn calendar(events: &[Event]) -> String {
    let mut lines = Lines(String::new());
    for line in ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//cladlog//cladlog//EN", "METHOD:PUBLISH"] {
        lines.put(line);
    }
    if events.is_empty() {
        for line in [
            "BEGIN:VTIMEZONE",
            "TZID:Etc/UTC",
            "BEGIN:STANDARD",
            "DTSTART:19700101T000000",
            "TZOFFSETFROM:+0000",
            "TZOFFSETTO:+0000",
            "END:STANDARD",
            "END:VTIMEZONE",
        ] {
            lines.put(line);
        }
    }
    for event in events {
        lines.event(event);
    }
    lines.put("END:VCALENDAR");
    lines.0
}

/// Content lines, folded.
struct Lines(String);

impl Lines {
    fn put(&mut self, line: &str) {
        let mut octets = 0;
        for letter in line.chars() {
            if octets + letter.len_utf8() > MOST_OCTETS {
                // The blank that marks the fold counts as well.
                self.0.push_str("\r\n ");
                octets = 1;
            }
            self.0.push(letter);
            octets += letter.len_utf8();
        }
        self.0.push_str("\r\n");
    }

    fn text(&mut self, name: &str, text: &str) {
        self.put(&format!("{name}:{}", escaped(text)));
    }

    fn event(&mut self, event: &Event) {
        self.put("BEGIN:VEVENT");
        self.text("UID", &event.uid);
        self.put(&format!("DTSTAMP:{}", utc(&event.stamp)));
        self.put(&format!("SEQUENCE:{}", event.sequence));
        self.put(&format!("DTSTART:{}", utc(&event.start)));
        if let Some(end) = event.end.filter(|end| *end > event.start) {
            self.put(&format!("DTEND:{}", utc(&end)));
        }
        self.text("SUMMARY", &event.summary);
        self.text("DESCRIPTION", &event.description);
        self.put("TRANSP:TRANSPARENT");
        self.put(if event.cancelled { "STATUS:CANCELLED" } else { "STATUS:CONFIRMED" });
        if !event.cancelled {
            self.put("BEGIN:VALARM");
            self.put("ACTION:DISPLAY");
            self.text("DESCRIPTION", &event.summary);
            self.put(&format!("TRIGGER:{}", before(event.ahead)));
            self.put("END:VALARM");
        }
        self.put("END:VEVENT");
    }
}

/// A moment as a UTC date-time.
fn utc(moment: &Moment) -> String {
    moment.instant().with_timezone(&Utc).format("%Y%m%dT%H%M%SZ").to_string()
}

/// A trigger that long before the event begins.
fn before(ahead: TimeDelta) -> String {
    match ahead.num_minutes() {
        minutes if minutes > 0 => format!("-PT{minutes}M"),
        _ => "PT0S".to_owned(),
    }
}

/// Text as a value: backslash, semicolon, comma and line breaks escaped (RFC 5545, 3.3.11), nothing that turns a line.
fn escaped(text: &str) -> String {
    let mut safe = String::new();
    for letter in visible(text).chars() {
        match letter {
            '\\' | ';' | ',' => {
                let _ = write!(safe, "\\{letter}");
            }
            '\n' => safe.push_str("\\n"),
            '\t' => safe.push(' '),
            other => safe.push(other),
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Moment {
        Moment::parse_from_rfc3339(text).unwrap()
    }

    fn event(summary: &str) -> Event {
        Event {
            uid: "a@cladlog".into(),
            sequence: 2,
            stamp: at("2026-03-05T09:00:00+13:00"),
            // RFC 5545, 3.6.6: 13:30 UTC on 17 March 1997.
            start: at("1997-03-17T08:30:00-05:00"),
            end: None,
            summary: summary.into(),
            description: "see the wall".into(),
            ahead: TimeDelta::minutes(30),
            cancelled: false,
        }
    }

    #[test]
    fn times_are_utc_and_triggers_are_as_the_standard_writes_them() {
        let text = calendar(&[event("Gun")]);
        assert!(text.contains("\r\nDTSTART:19970317T133000Z\r\n"), "{text}");
        assert!(text.contains("\r\nDTSTAMP:20260304T200000Z\r\nSEQUENCE:2\r\n"), "{text}");
        // RFC 5545, 3.6.6: TRIGGER:-PT30M.
        assert!(text.contains("\r\nACTION:DISPLAY\r\nDESCRIPTION:Gun\r\nTRIGGER:-PT30M\r\nEND:VALARM\r\n"), "{text}");
        assert!(text.starts_with("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:") && text.ends_with("END:VCALENDAR\r\n"));
    }

    #[test]
    fn what_is_cancelled_does_not_ring() {
        let text = calendar(&[Event { cancelled: true, ..event("Gun") }]);
        assert!(text.contains("STATUS:CANCELLED") && !text.contains("VALARM"));
    }

    proptest::proptest! {
        /// RFC 5545, 3.1: no line over 75 octets, and unfolding gives the text back, whatever its letters.
        #[test]
        fn lines_fold_between_letters(summary in "[a-zé€𝄞 ,;\\\\]{0,200}") {
            let text = calendar(&[event(&summary)]);
            for line in text.split("\r\n") {
                proptest::prop_assert!(line.len() <= 75, "{line}");
            }
            let whole = text.replace("\r\n ", "");
            let plain = summary.replace('\\', "\\\\").replace(';', "\\;").replace(',', "\\,");
            let line = format!("SUMMARY:{plain}");
            proptest::prop_assert!(whole.split("\r\n").any(|found| found == line));
        }
    }
}
