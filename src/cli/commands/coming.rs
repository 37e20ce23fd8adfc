//! What comes next by the kept seal plan, for watch, walk and next.

use serde::Serialize;

use crate::day::State;
use crate::day::sealing_day::Thing;
use crate::moment::Moment;

/// How many things a person keeps in mind.
const SHOWN: usize = 3;

/// What comes next by the plan.
#[derive(Debug, Serialize)]
pub struct Coming {
    /// Id of the entry that keeps the plan.
    pub entry: String,
    /// The next things, in time.
    pub things: Vec<Thing>,
    /// When the last joint is done by it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub finish_at: Option<Moment>,
    /// Why the plan does not hold any more.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slipped: Option<String>,
}

/// What comes next by the kept seal plan, while it is followed.
pub fn coming(state: &State, now: Moment) -> Option<Coming> {
    let following = state.following(now)?;
    Some(Coming {
        entry: following.plan.entry.clone(),
        things: following.left().take(SHOWN).cloned().collect(),
        finish_at: following.plan.told.finish_at,
        slipped: following.slipped.clone(),
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
