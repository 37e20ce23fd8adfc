//! The numbers that the pages give to reservations, defects and photos.

use std::fmt;

use serde::{Serialize, Serializer};

/// A number with the letter of its kind, `R1`, `D1`, `P1`: nobody takes one for that of another kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Number {
    /// Of a reservation.
    Reservation(usize),
    /// Of a defect.
    Defect(usize),
    /// Of a photo.
    Photo(usize),
}

impl Number {
    /// With the word for its kind: `defect D1`.
    pub fn in_words(self) -> String {
        let kind = match self {
            Self::Reservation(_) => "reservation",
            Self::Defect(_) => "defect",
            Self::Photo(_) => "photo",
        };
        format!("{kind} {self}")
    }
}

impl fmt::Display for Number {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Reservation(number) => write!(f, "R{number}"),
            Self::Defect(number) => write!(f, "D{number}"),
            Self::Photo(number) => write!(f, "P{number}"),
        }
    }
}

impl Serialize for Number {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
