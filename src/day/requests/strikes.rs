//! R2: an entry is crossed out, and what depended on it.

use super::context::{Context, DecideError, Decision, Dependence, Request, input, is_ahead, require_text};
use crate::building::on_words;
use crate::day::facts::{Defect, DefectState};
use crate::day::replay::replay_without;
use crate::day::rules::has_role;
use crate::day::state::State;
use crate::record::{Body, Cause, Entry, EntryId, Strike};
use crate::refusal::{Clears, Refusal, Rule};
use crate::units::number::shortened;

/// Entries that depend on a struck one and are named one by one.
const NAMED: usize = 4;

impl Request for Strike {
    fn strikes(&self) -> Option<&EntryId> {
        Some(&self.entry)
    }

    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        require_text("why", &self.why)?;
        let (book, id) = (context.book, &self.entry);
        let Some(entry) = book.entry(id) else {
            return input(format!("there is no entry '{}': see cladlog log", shortened(&id.to_string())));
        };
        let what = format!("strike entry {id}");
        if let Some(by) = book.state.struck.get(id) {
            let why = format!("entry {by} already strikes it");
            return Err(Refusal::new(Rule::Strike, what, why, "nothing to do").into());
        }
        if matches!(entry.body, Body::JobAdded(_)) {
            let why = "it sets the job up: without it there is no record";
            let clears = Clears::from("set up another job").typed(": cladlog job add FILE.toml");
            return Err(Refusal::new(Rule::Strike, what, why, clears).into());
        }
        if !is_ahead(entry, context.now) {
            may_strike(context, entry, &what)?;
        }
        // What it comes to without the entry is replayed from before all that this changes.
        let past = book.before(book.root(entry))?;
        if !self.anyway {
            let after = replay_without(past.clone(), &book.entries, id)?;
            let clears = Clears::from("strike them first, or strike this one anyway: each of them becomes a defect")
                .typed(" (--anyway)");
            // What was recorded before the struck entry does not stand on it: what that had mended is open again.
            let was_before = |other: &EntryId| other == id || entry.had_seen(other);
            check_dependent(&book.state, &after, was_before, what, &clears)
                .map_err(|refusal| Refusal { unless_anyway: true, ..refusal })?;
        }
        Ok(Decision { past: Some(past), ..Body::Struck(self.clone()).into() })
    }
}

/// Whoever strikes an entry that opened a defect ends the defect: that takes who may close it (R10).
fn may_strike(context: &Context<'_>, entry: &Entry, what: &str) -> Result<(), Refusal> {
    let state = &context.book.state;
    let opened = |defect: &Defect| *defect.opened_by() == entry.id() && defect.state != DefectState::Void;
    if !state.defects.iter().any(opened) {
        return Ok(());
    }
    let what = format!("{what}, which opened a defect");
    has_role(state, context.by, &state.sequence().authority.close, &what)
}

/// R2: what was in order stays in order. `what` changes a record that came to `before` so that it comes to `after`.
///
/// # Errors
/// [`Refusal`] naming the entries, other than those that can't depend on the change, that are found in defect now and
/// were not before.
fn check_dependent(
    before: &State,
    after: &State,
    is_independent: impl Fn(&EntryId) -> bool,
    what: impl Into<String>,
    clears: &Clears,
) -> Result<(), Refusal> {
    let was_open = |defect: &Defect| before.defect(&defect.id).is_some_and(Defect::is_open);
    let new = after.open_defects().filter(|defect| !is_independent(defect.opened_by()) && !was_open(defect));
    let words = |defect: &Defect| format!("{}{} ({})", defect.opened_by(), on_words(&defect.subject), defect.what);
    let new: Vec<String> = new.map(words).collect();
    if new.is_empty() {
        return Ok(());
    }
    let more = new.len().saturating_sub(NAMED);
    let more = if more == 0 { String::new() } else { format!("; and {more} more") };
    let each = new.iter().take(NAMED).cloned().collect::<Vec<_>>().join("; ");
    Err(Refusal::new(Rule::Strike, what, format!("later entries depend on it: {each}{more}"), clears.clone()))
}

impl Decision {
    /// R2: what was recorded with a past time leaves what happened after it in order, unless it is itself out of
    /// tolerance: that is so. `own` are its entries.
    ///
    /// # Errors
    /// [`Refusal`] naming the entries that are found in defect by it.
    pub fn check_dependent(&self, before: &State, after: &State, own: &[EntryId]) -> Result<(), Refusal> {
        let is_wrong =
            |defect: &Defect| own.contains(defect.opened_by()) && matches!(defect.id.cause, Cause::Measured(_));
        match &self.unless_depended_on {
            Some(Dependence { what, clears }) if !after.open_defects().any(is_wrong) => {
                check_dependent(before, after, |entry| own.contains(entry), what, clears)
            }
            _ => Ok(()),
        }
    }
}
