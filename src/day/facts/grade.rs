//! How far people stand behind what is said in their name.

/// How far a person stands behind what is said in their name; the strongest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, strum::IntoStaticStr)]
#[strum(serialize_all = "kebab-case")]
pub enum Grade {
    /// They signed the entry's hash with a key of their own.
    OwnKey,
    /// They signed paper.
    SignedPaper,
    /// They replied, as the crew noted.
    Reply,
    /// Nobody but the typist says so.
    Typed,
}

impl Grade {
    /// The word, for JSON and tables.
    pub fn word(self) -> &'static str {
        self.into()
    }

    /// What the person did about it, for pages and the terminal.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::OwnKey => "confirmed with their own key",
            Self::SignedPaper => "confirmed on signed paper",
            Self::Reply => "confirmed by a reply, also as noted",
            Self::Typed => "not confirmed",
        }
    }
}

/// Who typed what stands in somebody's name and what that person did about it, as the end of a line; nothing where the
/// person said it themselves.
pub fn noted(by: Option<&str>, grade: Option<Grade>) -> String {
    by.zip(grade).map(|(by, grade)| format!("; as noted by {by}, {}", grade.in_words())).unwrap_or_default()
}
