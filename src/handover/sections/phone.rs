//! The evening in one message for the builder's phone.

use crate::handover::model::Evening;

/// Most characters of the text: two parts of a plain message.
pub const MOST: usize = 320;

/// Longest name of a job in it, and longest line of what it lists.
const NAME: usize = 40;
const LINE: usize = 90;

impl Evening {
    /// The evening for the builder's phone, at most 320 characters in plain letters: first what the builder has to do,
    /// then what is open tonight, and last the head code, by which anybody can check the record later. What finds no room
    /// is counted.
    pub fn phone_text(&self) -> String {
        let head = self.head.as_ref().map(|head| format!(" Check {head}")).unwrap_or_default();
        let mut text = format!("{}, {}.", cut(&plain(&self.job), NAME), self.date.format("%a %-d %b"));
        let room = MOST.saturating_sub(head.len());
        let open: Vec<&String> = self.ahead.lapsing.iter().chain(&self.ahead.open_to_rain).collect();
        let done: Vec<String> = self.done.iter().map(|step| format!("{} {}", step.title, step.on)).collect();
        let lists: [(&str, Vec<&String>); 5] = [
            ("For you", self.ahead.needed.iter().chain(&self.to_confirm).collect()),
            ("", self.ahead.stopped.iter().collect()),
            ("Open tonight", open),
            ("Short of", self.ahead.materials.iter().collect()),
            ("Done", done.iter().collect()),
        ];
        for (heading, list) in lists {
            let listed = listed(heading, &list, room.saturating_sub(text.len()));
            text.push_str(&listed);
        }
        text + &head
    }
}

/// " For you: one; two; and 3 more." in so much room; nothing where not even the first fits.
fn listed(heading: &str, list: &[&String], room: usize) -> String {
    let mut text = String::new();
    for (place, item) in list.iter().enumerate() {
        let item = cut(&plain(item), LINE);
        let with = match place {
            0 if heading.is_empty() => format!(" {item}"),
            0 => format!(" {heading}: {item}"),
            _ => format!("{text}; {item}"),
        };
        let left = list.len() - place - 1;
        let more = if left == 0 { String::new() } else { format!("; and {left} more") };
        if with.len() + more.len() + 1 > room {
            return match place {
                0 => String::new(),
                _ => format!("{text}; and {} more.", left + 1),
            };
        }
        text = with;
    }
    if text.is_empty() { text } else { text + "." }
}

/// Letters that every phone sends as one character each: accents and signs give way to what comes closest.
fn plain(text: &str) -> String {
    use unicode_normalization::UnicodeNormalization;
    let sign = |c: char| match c {
        '\u{2013}' | '\u{2014}' | '\u{2212}' => Some('-'),
        '\u{2018}' | '\u{2019}' => Some('\''),
        '\u{201c}' | '\u{201d}' => Some('"'),
        c if c.is_ascii() && !c.is_ascii_control() => Some(c),
        c if c.is_whitespace() => Some(' '),
        c if c.is_alphanumeric() => Some('?'),
        _ => None,
    };
    text.nfkd().filter_map(sign).collect()
}

/// No longer than so many characters.
fn cut(text: &str, most: usize) -> String {
    if text.len() <= most {
        return text.to_owned();
    }
    // The text is plain letters: a byte each.
    let short: String = text.chars().take(most.saturating_sub(2)).collect();
    format!("{}..", short.trim_end())
}
