//! An answer to an ask.

use serde::{Deserialize, Serialize};

use crate::photos::PhotoFacts;
use crate::setout::square::{RackedOver, SquareError, racked_over};
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

/// A frame as it was read off the tape.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FrameRead {
    /// Both diagonals.
    pub diagonals_mm: [f64; 2],
    /// Its width: as measured, or the wall's length.
    pub width_mm: f64,
    /// Its height, where that was measured too.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height_mm: Option<f64>,
}

impl FrameRead {
    /// How far it is out of square in so many millimetres of height.
    ///
    /// # Errors
    /// [`SquareError`] where no frame has these diagonals.
    pub fn out_of_square(&self, over_mm: f64) -> Result<RackedOver, SquareError> {
        let [first, second] = self.diagonals_mm;
        racked_over(self.width_mm, self.height_mm, first, second, over_mm)
    }
}

impl std::fmt::Display for FrameRead {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let [first, second] = self.diagonals_mm.map(show);
        write!(f, "diagonals {first} and {second} mm, frame {} mm wide", show(self.width_mm))?;
        self.height_mm.map_or(Ok(()), |height| write!(f, " and {} mm high", show(height)))
    }
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
