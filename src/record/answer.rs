//! An answer to an ask.

use serde::{Deserialize, Serialize};

use crate::photos::PhotoFacts;
use crate::setout::square::FrameRead;
use crate::units::number::show;

/// An answer to an ask.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Answer {
    /// Yes or no.
    Yes(bool),
    /// A measurement, in the ask's unit.
    Number(f64),
    /// The diagonals of a frame: how far it is out of square follows from them.
    Frame(FrameRead),
    /// Words, a choice, a batch label.
    Words(String),
    /// A file, by name and by the SHA-256 of what was in it.
    File {
        /// Its name when it was recorded.
        file: String,
        /// SHA-256 of its bytes, lower-case hex.
        sha256: String,
        /// What was kept of the photo; its bytes are kept beside the database then.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        photo: Option<Box<PhotoFacts>>,
    },
}

impl std::fmt::Display for Answer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Yes(yes) => f.write_str(if *yes { "yes" } else { "no" }),
            Self::Number(value) => f.write_str(&show(*value)),
            Self::Frame(frame) => frame.fmt(f),
            Self::Words(words) => f.write_str(words),
            Self::File { file, .. } => f.write_str(file),
        }
    }
}
