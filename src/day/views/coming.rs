//! What comes next by the kept seal plan, for watch, walk and next.

use serde::Serialize;

use super::sealing::PlannedTask;
use crate::day::state::State;
use crate::moment::Moment;
use crate::record::EntryId;

/// How many things a person keeps in mind.
const SHOWN: usize = 3;

/// What comes next by the plan.
#[derive(Debug, Serialize)]
pub struct Coming {
    /// The entry that keeps the plan.
    pub entry: EntryId,
    /// The next things, in time.
    pub things: Vec<PlannedTask>,
    /// When the last joint is done by it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub finish_at: Option<Moment>,
    /// Why the plan does not hold any more.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slipped: Option<String>,
}

/// What comes next by the kept seal plan, while it is followed.
pub fn coming(state: &State, now: Moment) -> Option<Coming> {
    let active = state.active_plan(now)?;
    Some(Coming {
        entry: active.plan.entry.clone(),
        things: active.left().take(SHOWN).cloned().collect(),
        finish_at: active.plan.timetable.finish_at,
        slipped: active.slipped.as_ref().map(|(_, why)| why.clone()),
    })
}

impl Coming {
    /// The same as lines of text.
    pub fn lines(&self, now: Moment) -> Vec<String> {
        let today = now.date();
        let mut lines = Vec::new();
        if let Some(why) = &self.slipped {
            lines.push(format!("The seal plan has slipped: {why}."));
            lines.push("  Plan again from now: cladlog sealplan --keep".to_owned());
        }
        lines.push("Next by the seal plan:".to_owned());
        lines.extend(self.things.iter().map(|thing| format!("  {}", thing.in_words(today))));
        lines
    }
}
