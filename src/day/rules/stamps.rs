//! Whether a time stamp is one of the entry that it is kept for.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use chrono::TimeDelta;

use crate::moment::Moment;
use crate::record::{Entry, TakeStamp};
use crate::stamp::{Stamp, StampError};

/// Two clocks that are further apart are not both right.
pub(in crate::day) const CLOCK_SLACK: TimeDelta = TimeDelta::minutes(2);

/// Why a time stamp does not hold for its entry.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum StampFlaw {
    /// It does not hold by itself.
    #[error("{0}")]
    Stamp(#[from] StampError),
    /// It is over something else.
    #[error("it is a stamp over another hash")]
    Hash,
    /// The authority had stamped the entry before it was recorded, by the clock of the machine that recorded it.
    #[error("the authority stamped it at {at}, before the machine's clock says that it was recorded, at {recorded_at}")]
    Early {
        /// When, by the authority's clock.
        at: Moment,
        /// When, by the machine's.
        recorded_at: Moment,
    },
}

impl StampFlaw {
    /// For whoever checks a record that keeps it.
    pub fn in_words(&self) -> String {
        format!("its time stamp does not hold: {self}")
    }
}

/// Reads the answer that the record keeps and holds it against the entry. It is not known here whether the authority's
/// certificate comes from somebody that one trusts.
pub(in crate::day) fn stamp_of(entry: &Entry, kept: &TakeStamp) -> Result<(Stamp, Vec<u8>), StampFlaw> {
    let answer = STANDARD.decode(&kept.answer).map_err(|_| StampError::Unreadable)?;
    let stamp = Stamp::read(&answer)?;
    if stamp.hash != entry.hash {
        return Err(StampFlaw::Hash);
    }
    let (at, recorded_at) = (stamp.at.at_offset(entry.recorded_at.offset()), entry.recorded_at);
    if recorded_at - at > CLOCK_SLACK {
        return Err(StampFlaw::Early { at, recorded_at });
    }
    Ok((stamp, answer))
}
