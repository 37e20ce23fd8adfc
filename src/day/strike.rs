//! R2: crossing an entry out, and what would lose its footing.

use super::Book;
use super::replay::{ReplayError, replay};
use super::state::DefectState;
use crate::moment::Moment;
use crate::record::{Body, Draft, Entry};

/// The entries that would be out of order if `target` were struck: id and why.
///
/// # Errors
/// [`ReplayError`] when the record could not be replayed without it.
pub(super) fn lost_footing(book: &Book, target: &Entry, now: Moment) -> Result<Vec<(String, String)>, ReplayError> {
    // The last word of all: recorded no earlier than anything else, and knowing of all of it.
    let recorded_at = book.state.last_recorded.map_or(now, |last| last.max(now));
    let seq = book.entries.iter().map(Entry::weight).max().unwrap_or(0).saturating_add(1);
    let strike = Draft {
        job: target.job.clone(),
        happened_at: now,
        recorded_at,
        by: String::new(),
        body: Body::Struck { entry: target.id(), why: String::new() },
        rehearsal: false,
    };
    let mut entries = book.entries.clone();
    if let Ok(sealed) = Entry::seal(strike, "trial", seq, "") {
        entries.push(sealed);
    }
    let after = replay(&entries, None)?;
    let before = &book.state;
    Ok(after
        .defects
        .iter()
        .filter(|defect| defect.state == DefectState::Open && defect.opened_by != target.id())
        .filter(|defect| before.defect(&defect.id).is_none_or(|was| was.state != DefectState::Open))
        .map(|defect| (defect.opened_by.clone(), format!("{} on {}", defect.what, defect.subject)))
        .collect())
}
