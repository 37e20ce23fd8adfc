//! The words that a lead may type at any question of the walk instead of an answer.

/// What was typed instead of an answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Word {
    /// List the words.
    Help,
    /// Note a remark; its text where it was typed along.
    Note(String),
    /// Note a defect that somebody saw.
    Defect(String),
    /// Go through the open defects.
    Defects,
    /// Note that work stopped; the cause where it was typed along.
    Stopped(String),
    /// Note that work goes on.
    Again,
    /// Note extra work; what it is where it was typed along.
    Extra(String),
    /// Take a reading of the site conditions.
    Reading,
    /// Something was delivered.
    Delivery,
    /// Somebody came onto site.
    Join,
    /// Put this off and go on with something else.
    Skip,
    /// Leave.
    Stop,
    /// The answers that follow are of an earlier time.
    At(String),
    /// Only some of the subjects.
    Only(String),
}

/// The words and what each does, for `?`.
pub const WORDS: [(&str, &str); 14] = [
    ("note TEXT", "note a remark on what you are at"),
    ("defect TEXT", "note a defect that you see"),
    ("defects", "go through the open defects: put right, or a concession"),
    ("reading", "take air, humidity, surface, wind and rain"),
    ("stopped RAIN", "note that work stopped, why, and who was told"),
    ("again", "note that work goes on"),
    ("extra TEXT", "note extra work, and who asked for it"),
    ("delivery", "something came: its batch, count and use-by"),
    ("join", "somebody came onto site"),
    ("at 10:40", "it happened at 10:40: for the record that you are at"),
    ("only J1..3", "record these, the others later"),
    ("skip", "put this off, go on with something else"),
    ("stop", "leave; Ctrl-C does the same. What is recorded stays"),
    ("?", "this list"),
];

impl Word {
    /// The word in what was typed, if it is one.
    ///
    /// Where the answer is text of any sort (`free`), only a word that stands alone counts.
    pub fn of(typed: &str, free: bool) -> Option<Self> {
        let typed = typed.trim();
        let (first, rest) = typed.split_once(char::is_whitespace).unwrap_or((typed, ""));
        let rest = rest.trim();
        if free && !rest.is_empty() {
            return None;
        }
        let rest = rest.to_owned();
        Some(match (first.to_lowercase().as_str(), rest.is_empty()) {
            ("?" | "help", true) => Self::Help,
            ("note", _) => Self::Note(rest),
            ("defect", _) => Self::Defect(rest),
            ("defects", true) => Self::Defects,
            ("stopped" | "stoppage", _) => Self::Stopped(rest),
            ("again", true) => Self::Again,
            ("extra", _) => Self::Extra(rest),
            ("reading", true) => Self::Reading,
            ("delivery", true) => Self::Delivery,
            ("join", true) => Self::Join,
            ("skip" | "later", true) => Self::Skip,
            ("stop" | "pause" | "quit" | "exit", true) => Self::Stop,
            ("at", false) => Self::At(rest),
            ("only", false) => Self::Only(rest),
            _ => return None,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_is_told_from_an_answer() {
        assert_eq!(Word::of(" Note scaffold moved ", false), Some(Word::Note("scaffold moved".into())));
        assert_eq!(Word::of("at 10:40", false), Some(Word::At("10:40".into())));
        assert_eq!(Word::of("STOP", true), Some(Word::Stop));
        for answer in ["", "3", "yes", "B-12", "stopper", "at", "only"] {
            assert_eq!(Word::of(answer, false), None, "{answer}");
        }
        // Text that begins with a word is text where text is asked for.
        assert_eq!(Word::of("at the top left", true), None);
        assert_eq!(Word::of("note from the maker", true), None);
    }
}
