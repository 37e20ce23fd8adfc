//! When nothing can be done on the spot: what is waited for, and the end of the walk.

use super::errand::ahead_of_plan;
use super::{Away, Walk};
use crate::cli::prompts::{say, say_loud, say_wrapped};
use crate::day::{Action, next};
use crate::moment::{Moment, span};
use crate::refusal::Rule;

/// What follows.
pub enum Then {
    /// The walk looks for the next thing.
    GoOn,
    /// The walk is over.
    End,
}

/// A way out of having nothing to do.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Way {
    LookAgain,
    PutOff,
    Ahead,
    Reading,
    Defects,
    CloseDay,
    Leave,
}

impl Walk<'_> {
    /// Says what everything waits for, and offers what can be done about it.
    pub(super) fn idle(&mut self) -> Result<Then, Away> {
        let (book, now) = (self.book.clone(), self.now());
        let state = &book.state;
        let actions = next(state, now);
        if actions.is_empty() {
            return self.all_done();
        }
        say("");
        say_loud("Nothing more can be done at this moment", self.out.colour());
        self.say_stopped();
        let mut ways: Vec<(Way, String)> = Vec::new();
        let opens = self.say_timed(&actions, now);
        let plan = state.following(now);
        self.say_coming();
        if let Some(opens) = opens.filter(|_| !self.site.clock.is_rehearsal()) {
            let until = opens.clock(now.date());
            ways.push((Way::LookAgain, format!("wait: it rings at {until}, then Enter")));
        }
        let weather: Vec<&Action> = actions.iter().filter(|action| action.rule == Some(Rule::R7)).collect();
        if let Some(first) = weather.first() {
            say_wrapped(&format!("  {}.", first.why), 4);
            say_wrapped(&format!("  Clears it: {}", first.clears.as_deref().unwrap_or_default()), 4);
            ways.push((Way::Reading, "take a new reading".to_owned()));
        }
        if !self.put_off.is_empty() {
            ways.push((Way::PutOff, "take up what was put off".to_owned()));
        }
        if opens.is_none() && weather.is_empty() && self.put_off.is_empty() && plan.is_none() {
            let first = &actions[0];
            let title = &state.sequence().steps[first.step].title;
            say_wrapped(&format!("  '{title}' waits: {}.", first.why), 4);
            say_wrapped(&format!("  Clears it: {}", first.clears.as_deref().unwrap_or_default()), 4);
        }
        if plan.as_ref().is_some_and(|plan| plan.left().any(|thing| thing.at > now)) {
            ways.push((Way::Ahead, "go ahead of the seal plan".to_owned()));
        }
        if state.open_defects().next().is_some() {
            ways.push((Way::Defects, format!("go through the open defects ({})", state.open_defects().count())));
        }
        if state.open_day().is_some() {
            ways.push((Way::CloseDay, "close the day".to_owned()));
        }
        ways.push((Way::Leave, "leave".to_owned()));
        let list: Vec<String> = ways.iter().map(|(_, words)| words.clone()).collect();
        let way = ways[self.pick("Number", &list, Some(0))?].0;
        match way {
            Way::LookAgain => {}
            Way::PutOff => self.put_off.clear(),
            Way::Ahead => {
                self.put_off.insert(ahead_of_plan());
            }
            Way::Reading => {
                let walls = weather.first().map(|action| state.subjects.walls_of(action.subject).to_vec());
                let walls = walls.filter(|walls| !walls.is_empty()).unwrap_or_else(|| state.walls());
                self.reading(&walls, None)?;
            }
            Way::Defects => self.settle_defects()?,
            Way::CloseDay => {
                if self.close_day("")? {
                    return Ok(Then::End);
                }
            }
            Way::Leave => return Err(Away::Leave),
        }
        Ok(Then::GoOn)
    }

    /// What waits for time, and the first time that something opens.
    fn say_timed(&self, actions: &[Action], now: Moment) -> Option<Moment> {
        let state = &self.book.state;
        let mut told: Vec<(usize, Moment, Vec<usize>)> = Vec::new();
        for action in actions {
            let Some(opens) = action.opens_at.filter(|_| action.rule == Some(Rule::R6)) else { continue };
            match told.iter_mut().find(|(step, at, _)| *step == action.step && *at == opens) {
                Some((_, _, subjects)) => subjects.push(action.subject),
                None => told.push((action.step, opens, vec![action.subject])),
            }
        }
        told.sort_by_key(|(_, opens, _)| *opens);
        for (step, opens, subjects) in &told {
            say_wrapped(
                &format!(
                    "  {} on {}: not before {}, in {}.",
                    state.sequence().steps[*step].title,
                    state.subjects.shortly(subjects),
                    opens.clock(now.date()),
                    span(*opens - now)
                ),
                4,
            );
        }
        told.first().map(|(_, opens, _)| *opens)
    }

    /// Nothing is left to do.
    fn all_done(&mut self) -> Result<Then, Away> {
        say("");
        say_loud("Nothing is left to do: every step is done", self.out.colour());
        let open = self.book.state.open_defects().count();
        if open > 0 {
            say(&format!("  Defects still open: {open}."));
            self.settle_defects()?;
        }
        say("  cladlog pack FOLDER makes the handover pack.");
        if self.book.state.open_day().is_some() {
            let closed =
                self.yes("Close the day?", true).and_then(|close| if close { self.close_day("") } else { Ok(false) });
            match closed {
                Ok(_) | Err(Away::PutOff | Away::LookAgain | Away::Only(_)) => {}
                Err(other) => return Err(other),
            }
        }
        Ok(Then::End)
    }
}
