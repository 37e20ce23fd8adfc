//! The list of what was put into a pack later: signed papers, reports of others.

use serde::{Deserialize, Serialize};

use crate::moment::Moment;

/// More bytes than such a list has.
pub const MOST_ATTACHED_LIST: u64 = 10_000_000;

/// A file that was put into a pack later.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Attached {
    /// Its name in the folder.
    pub file: String,
    /// SHA-256 of its bytes, lower-case hex.
    pub sha256: String,
    /// What it is, in words.
    pub what: String,
    /// When it was put there.
    pub attached_at: Moment,
}

/// Reads the list; a line that is none is passed over.
pub fn attached_list(csv: &[u8]) -> Vec<Attached> {
    csv::Reader::from_reader(csv).deserialize().filter_map(Result::ok).collect()
}

/// Writes the list.
///
/// # Errors
/// What the writer says.
pub fn attached_csv(list: &[Attached]) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    list.iter().try_for_each(|line| writer.serialize(line))?;
    writer.into_inner().map_err(|error| csv::Error::from(error.into_error()))
}
