//! The evening in one message for the builder's phone.

use chrono::NaiveDate;
use unicode_normalization::UnicodeNormalization;

use crate::accounts::StoppageRow;
use crate::building::on_words;
use crate::handover::model::Evening;
use crate::units::number::crew_hours;

/// Most characters of the text.
pub const MOST: usize = 320;

/// Longest name of a job in it, and longest line of what it lists.
const NAME: usize = 40;
const LINE: usize = 110;

/// Lists that are never left out, the first of all; of what comes before each of the others, so much room is kept for it.
const NEVER_LEFT_OUT: usize = 3;
const KEPT: usize = 56;

/// Less of a line says nothing.
const LEAST: usize = 24;

/// What a text message sends as one character each: the basic character set of the GSM 7 bit default alphabet (3GPP TS
/// 23.038, 6.2.1), without its breaks. Anything else makes the phone send the whole text in parts of 67 characters.
const BASIC: &str = "@£$¥èéùìòÇØøÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿\
                     abcdefghijklmnopqrstuvwxyzäöñüà";

/// What stands in for characters beyond those that Unicode does not take apart into one of them.
const INSTEAD: &[(&str, &str)] = &[
    ("–—−‐‑~", "-"),
    ("‘’‚`´^", "'"),
    ("“”„", "\""),
    ("[{", "("),
    ("]}", ")"),
    ("\\|⁄", "/"),
    ("×", "x"),
    ("€", "EUR"),
    ("łŁ", "l"),
    ("đĐðÐ", "d"),
    ("þÞ", "th"),
    ("œŒ", "oe"),
    ("ẞ", "ß"),
    ("ı", "i"),
];

impl Evening {
    /// The evening for the builder's phone, at most 320 characters: first what waits for the builder, then what stopped
    /// the work, what is open tonight and what was done, and last the head code, by which anybody can check the record
    /// later. What finds no room is counted.
    pub fn phone_text(&self) -> String {
        let head = self.head.as_ref().map(|head| format!(" Check {head}")).unwrap_or_default();
        let mut text = format!("{}, {}.", cut(&plain(&self.job), NAME), self.date.format("%a %-d %b"));
        let open = self.ahead.lapsing.iter().chain(&self.ahead.open_to_rain).chain(&self.for_builder.ours);
        let lists: [(&str, Vec<String>); 5] = [
            ("For you", self.for_builder.to_do.clone()),
            ("Stopped", self.stoppages.iter().map(|row| stopped(row, self.date)).collect()),
            ("Open tonight", open.cloned().collect()),
            ("Short of", self.ahead.materials.clone()),
            ("Done", self.done.iter().map(|step| format!("{}{}", step.title, on_words(&step.on))).collect()),
        ];
        for (place, (heading, list)) in lists.iter().enumerate() {
            let later = lists.iter().take(NEVER_LEFT_OUT).skip(place + 1).filter(|(_, list)| !list.is_empty());
            let room = MOST.saturating_sub(length(&text) + length(&head) + KEPT * later.count());
            text.push_str(&listed(heading, list, room));
        }
        text + &head
    }
}

/// "10:30 to 11:15 on N, rain, 2.25 crew-hours".
fn stopped(row: &StoppageRow, date: NaiveDate) -> String {
    let it = &row.stoppage;
    let (from, on, lost) = (it.started_at.clock(date), on_words(&it.subject), crew_hours(row.lost_h));
    let time = it.ended_at.map_or_else(|| format!("since {from}"), |at| format!("{from} to {}", at.clock(date)));
    format!("{time}{on}, {}, {lost}", it.cause)
}

/// " For you: one; two; and 3 more." in so much room, the first cut to fit; nothing where not much of it does.
fn listed(heading: &str, list: &[String], room: usize) -> String {
    let mut text = String::new();
    for (place, item) in list.iter().enumerate() {
        let left = list.len() - place - 1;
        let more = if left == 0 { String::new() } else { format!("; and {left} more") };
        let item = match place {
            0 => cut(&plain(item), LINE.min(room.saturating_sub(length(heading) + length(&more) + 4).max(LEAST))),
            _ => cut(&plain(item), LINE),
        };
        let with = if place == 0 { format!(" {heading}: {item}") } else { format!("{text}; {item}") };
        if length(&with) + length(&more) + 1 > room {
            return match place {
                0 => String::new(),
                _ => format!("{text}; and {} more.", left + 1),
            };
        }
        text = with;
    }
    if text.is_empty() { text } else { text + "." }
}

/// Text in characters of [`BASIC`], as far as something comes close: `é` stays, `ē` becomes `e`. Letters of other scripts
/// stay: a name is worth the longer message.
fn plain(text: &str) -> String {
    text.nfc().flat_map(|c| if c.is_whitespace() { vec![' '] } else { basic(c) }).collect()
}

fn basic(c: char) -> Vec<char> {
    if BASIC.contains(c) {
        return vec![c];
    }
    if let Some((_, to)) = INSTEAD.iter().find(|(from, _)| from.contains(c)) {
        let is_capital = c.is_uppercase() && to.chars().all(|c| c.is_ascii_lowercase());
        return if is_capital { to.to_uppercase().chars().collect() } else { (*to).chars().collect() };
    }
    let parts: Vec<char> = std::iter::once(c).nfkd().filter(|part| *part != c).flat_map(basic).collect();
    match parts.is_empty() && c.is_alphanumeric() {
        true => vec![c],
        false => parts,
    }
}

fn length(text: &str) -> usize {
    text.chars().count()
}

/// No longer than so many characters.
fn cut(text: &str, most: usize) -> String {
    if length(text) <= most {
        return text.to_owned();
    }
    let short: String = text.chars().take(most.saturating_sub(2)).collect();
    format!("{}..", short.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The table of 3GPP TS 23.038, 6.2.1, column by column as it is printed there; LF, CR and the escape left out.
    #[test]
    fn the_basic_set_is_that_of_the_standard() {
        let printed = [
            "@£$¥èéùìòÇØøÅå",
            "Δ_ΦΓΛΩΠΨΣΘΞÆæßÉ",
            " !\"#¤%&'()*+,-./",
            "0123456789:;<=>?",
            "¡ABCDEFGHIJKLMNO",
            "PQRSTUVWXYZÄÖÑÜ§",
            "¿abcdefghijklmno",
            "pqrstuvwxyzäöñüà",
        ];
        assert_eq!(printed.concat(), BASIC);
        assert_eq!(BASIC.chars().count(), 128 - 3);
    }

    #[test]
    fn names_keep_the_letters_that_a_text_message_has() {
        for (name, sent) in [
            ("Haus Größe, Mühlweg 7b", "Haus Größe, Mühlweg 7b"),
            ("Søren Ærø, Åse, Peña, Zoé", "Søren Ærø, Åse, Peña, Zoé"),
            ("Māori Ōtaki, Łódź, Đặng, ŒUVRE, français", "Maori Otaki, Lodz, Dang, OEUVRE, francais"),
            ("A – “B” [C] 5 € × m²", "A - \"B\" (C) 5 EUR x m2"),
            ("Дом, 王", "Дом, 王"),
            ("e\u{301}", "é"),
        ] {
            assert_eq!(plain(name), sent);
        }
    }
}
