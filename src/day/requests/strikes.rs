//! R2: an entry is crossed out, and what depended on it.

use super::context::{Context, DecideError, Decision, Request, input, require_text};
use crate::day::book::Book;
use crate::day::replay::{Past, ReplayError, replay_without};
use crate::day::state::State;
use crate::record::{Body, Entry, Strike};
use crate::refusal::{Refusal, Rule};
use crate::units::number::shortened;

/// Entries that depend on a struck one and are named one by one.
const NAMED: usize = 4;

impl Request for Strike {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        require_text("--why", &self.why)?;
        let (book, id) = (context.book, &self.entry);
        let Some(entry) = book.entry(id) else {
            return input(format!("there is no entry '{}': see cladlog log", shortened(&id.to_string())));
        };
        let what = format!("strike entry {id}");
        if let Some(by) = book.state.struck.get(id) {
            let why = format!("entry {by} already strikes it");
            return Err(Refusal::new(Rule::R2, what, why, "nothing to do").into());
        }
        if matches!(entry.body, Body::JobAdded(_)) {
            let why = "it sets the job up: without it there is no record";
            return Err(Refusal::new(Rule::R2, what, why, "set up another job: cladlog job add FILE.toml").into());
        }
        let (after, past) = without(book, entry)?;
        let dependent = newly_defective(&book.state, &after, entry);
        if !dependent.is_empty() && !self.anyway {
            let each: Vec<String> = dependent.iter().take(NAMED).map(|(id, what)| format!("{id} ({what})")).collect();
            let more = dependent.len() - each.len();
            let more = if more == 0 { String::new() } else { format!("; and {more} more") };
            return Err(Refusal::new(
                Rule::R2,
                what,
                format!("later entries depend on it: {}{more}", each.join("; ")),
                "strike them first, or strike this one with --anyway: each of them becomes a defect",
            )
            .into());
        }
        Ok(Decision { bodies: vec![Body::Struck(self.clone())], past: Some(past) })
    }
}

/// What a book would come to without an entry; and the past before all that this changes, to go on from.
fn without(book: &Book, target: &Entry) -> Result<(State, Past), ReplayError> {
    let past = book.before(book.root(target))?;
    Ok((replay_without(past.clone(), &book.entries, &target.id())?, past))
}

/// The entries, and why, that a state finds in defect and another did not.
fn newly_defective(before: &State, after: &State, target: &Entry) -> Vec<(String, String)> {
    let new = after.open_defects().filter(|defect| {
        *defect.opened_by() != target.id() && before.defect(&defect.id).is_none_or(|was| !was.is_open())
    });
    new.map(|defect| (defect.opened_by().to_string(), format!("{} on {}", defect.what, defect.subject))).collect()
}
