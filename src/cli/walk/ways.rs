//! What to do when nothing can be done where the lead stands: what everything waits for, and the ways on.

use std::collections::BTreeSet;
use std::ops::ControlFlow;
use std::sync::Arc;

use super::session::{Interrupt, Walk};
use crate::building::SubjectIx;
use crate::cli::prompts::question::{Asker, Question};
use crate::cli::prompts::screen::{say, say_wrapped};
use crate::day::{Action, Picking, State, Task, TaskId, WallWork, held_up, is_at, next, on_words, wall_words};
use crate::moment::{Moment, span};
use crate::plain::count;
use crate::refusal::Rule;
use crate::sequence::{HoldIx, StepIx};

/// As many things that hold walls up as are said at once: the rest of the screen is for the ways on.
const MOST_HELD_UP: usize = 4;

/// A way on when nothing can be done right now.
enum WayOn {
    /// Another wall.
    Wall(SubjectIx),
    /// The release of a hold point that was skipped, on this subject.
    Release(HoldIx, SubjectIx),
    /// Until then.
    Wait(Moment),
    /// What was skipped.
    Skipped,
    AheadOfPlan,
    Resume,
    /// A reading of these walls.
    Reading(Vec<SubjectIx>),
    Defects,
    CloseDay,
    Quit,
}

impl Walk<'_> {
    /// Says what everything waits for, and offers what can be done about it.
    pub(super) fn nothing_now(&mut self) -> Result<ControlFlow<()>, Interrupt> {
        let (book, now) = (Arc::clone(self.book()), self.now());
        let state = &book.state;
        let mut actions = next(state, now);
        if actions.is_empty() {
            return self.all_done();
        }
        let elsewhere = self.elsewhere(&actions);
        let here = self.place.filter(|_| !elsewhere.is_empty());
        actions.retain(|action| here.is_none_or(|wall| is_at(state, action.subject, wall)));
        let opens = self.say_what_waits(state, &actions, here);
        let plan = state.active_plan(now);
        let planned = plan.and_then(|plan| plan.left().map(|task| task.at).filter(|at| *at > now).min());
        let until = opens.into_iter().chain(planned).min();
        let mut ways = self.ways_on(state, &actions, &elsewhere);
        if let Some(until) = until.filter(|_| !self.site.clock.is_rehearsal()) {
            let bell = if Some(until) == opens { ": a bell rings then" } else { "" };
            let way = (WayOn::Wait(until), format!("wait until {}{bell}", until.clock(now.date())));
            ways.insert(elsewhere.len(), way);
        }
        let list: Vec<String> = ways.iter().map(|(_, words)| words.clone()).collect();
        // That work has resumed has to be said: Enter alone leaves.
        let usual = if matches!(ways[0].0, WayOn::Resume) { ways.len() - 1 } else { 0 };
        let picked = self.ask(Question::choice("Number", &list).usually(usual))?;
        self.tape.clear();
        // Whoever pressed Enter at a bell means what it rang for, not the first way on.
        if picked == 0 && until.is_some_and(|until| until <= self.now()) {
            return Ok(ControlFlow::Continue(()));
        }
        drop(book);
        self.take(ways.swap_remove(picked).0)
    }

    /// Says what waits for a time, and what holds the walls up; gives the first time that something opens.
    fn say_what_waits(&self, state: &State, actions: &[Action], here: Option<SubjectIx>) -> Option<Moment> {
        let now = self.now();
        let at = here.map_or_else(String::new, |wall| format!(" at {}", state.subjects.get(wall)));
        let heading = match self.passed_over() {
            Some(Task::Hold { .. }) | None => format!("Nothing more can be done{at} right now"),
            Some(_) => format!("Only what was skipped can be done{at} right now"),
        };
        say("");
        self.bold(&heading);
        self.say_stopped();
        let opens = say_timed(state, actions, now);
        self.say_coming();
        let walls = here.map_or_else(|| state.subjects.all_walls().to_vec(), |wall| vec![wall]);
        let (mut held, is_planned) = (held_up(state, actions, &walls, now), state.active_plan(now).is_some());
        // What the seal plan has for later was said with it.
        held.retain(|it| it.to_do.is_some() || !is_planned);
        for it in held.iter().take(MOST_HELD_UP) {
            say_wrapped(&format!("  {}: {}.", state.subjects.shortly(&it.walls), it.why), 4);
            it.to_do.iter().for_each(|to_do| say_wrapped(&format!("    To do: {to_do}"), 6));
        }
        if let Some(more) = held.len().checked_sub(MOST_HELD_UP).filter(|more| *more > 0) {
            say(&format!("  More on other walls ({more}): cladlog next --all"));
        }
        opens
    }

    /// The ways on but for waiting; the first is the usual one.
    fn ways_on(&self, state: &State, actions: &[Action], elsewhere: &[WallWork]) -> Vec<(WayOn, String)> {
        let go_to = |work: &WallWork| (WayOn::Wall(work.wall), format!("go to {}", wall_words(state, *work)));
        let mut ways: Vec<(WayOn, String)> = elsewhere.iter().map(go_to).collect();
        let mut add = |is_open: bool, way: WayOn, words: &str| {
            if is_open {
                ways.push((way, words.to_owned()));
            }
        };
        add(state.open_stoppages().next().is_some(), WayOn::Resume, "work has resumed");
        // What is stopped waits for nothing else that the lead could clear now.
        let weather = actions.iter().find(|action| action.stopped.is_none() && action.rule == Some(Rule::Condition));
        let walls = weather.map_or(&[][..], |action| state.subjects.exposed_walls(action.subject));
        add(weather.is_some(), WayOn::Reading(walls.to_vec()), "take a new reading");
        for (hold, subject) in self.releases_skipped(state) {
            let words = on_words(&state.subjects, &[subject]);
            let words = format!("record the release of {}{words}", state.sequence().holds[hold].title);
            add(true, WayOn::Release(hold, subject), &words);
        }
        add(!self.skipped.is_empty(), WayOn::Skipped, "go back to what was skipped");
        let now = self.now();
        let is_ahead = state.active_plan(now).is_some_and(|plan| plan.left().any(|task| task.at > now));
        add(is_ahead, WayOn::AheadOfPlan, "work ahead of the seal plan");
        let open = state.open_defects().count();
        add(open > 0, WayOn::Defects, &format!("go through the open defects ({open})"));
        add(state.open_day().is_some(), WayOn::CloseDay, "close the day");
        add(true, WayOn::Quit, "leave");
        ways
    }

    fn take(&mut self, way: WayOn) -> Result<ControlFlow<()>, Interrupt> {
        match way {
            WayOn::Wall(wall) => self.place = Some(wall),
            WayOn::Release(hold, subject) => {
                if !self.is_here(&self.book().state, subject) {
                    self.place = Some(subject);
                }
                self.skipped.remove(&TaskId::Hold(hold, subject));
            }
            WayOn::Wait(until) => self.wait_until(until)?,
            WayOn::Skipped => self.skipped.clear(),
            WayOn::AheadOfPlan => {
                self.skipped.insert(TaskId::WaitForPlan);
            }
            WayOn::Reading(walls) => self.going_back(&[], |walk| walk.reading(&walls))?,
            WayOn::Resume => self.resume()?,
            WayOn::Defects => self.going_back(&[], |walk| walk.go_through_defects(&[]))?,
            WayOn::CloseDay if self.going_back(&[], |walk| walk.close_day(None))? => return Ok(ControlFlow::Break(())),
            WayOn::CloseDay => {}
            WayOn::Quit => return Err(Interrupt::Quit),
        }
        Ok(ControlFlow::Continue(()))
    }

    /// Waits for something to open, or for Enter.
    fn wait_until(&mut self, opens: Moment) -> Result<(), Interrupt> {
        let now = self.now();
        if opens > now {
            say_wrapped(&format!("  Waiting until {}, for {}.", opens.clock(now.date()), span(opens - now)), 4);
            self.ask(Question::text("  Enter to look again"))?;
            self.tape.clear();
        }
        Ok(())
    }

    /// What would come next where the lead stands, had nothing been skipped.
    fn passed_over(&self) -> Option<Task> {
        Picking::new(&self.book().state, self.now(), &BTreeSet::new()).first(self.place)
    }

    /// The hold points that were skipped and are not released yet.
    fn releases_skipped<'s>(&self, state: &'s State) -> impl Iterator<Item = (HoldIx, SubjectIx)> + use<'s, '_> {
        let is_skipped =
            move |(hold, subject): &(HoldIx, SubjectIx)| self.skipped.contains(&TaskId::Hold(*hold, *subject));
        state.hold_points().filter(is_skipped).filter(move |(hold, subject)| !state.is_released(*hold, *subject))
    }

    /// Nothing is left to do on the job.
    fn all_done(&mut self) -> Result<ControlFlow<()>, Interrupt> {
        say("");
        self.bold("Every step is done");
        let open = self.book().state.open_defects().count();
        if open > 0 {
            say(&format!("  {} still open.", count(open, "defect")));
            match self.go_through_defects(&[]) {
                // Skipped at one of them, they all stay as they are.
                Ok(()) | Err(Interrupt::Skip) => {}
                Err(other) => return Err(other),
            }
        }
        say("  To make the handover pack: cladlog pack FOLDER");
        if self.book().state.open_day().is_some() {
            let close = self.ask(Question::yes_no("Close the day?", true));
            match close.and_then(|close| if close { self.close_day(None) } else { Ok(false) }) {
                // What was taken back is to be done again.
                Err(Interrupt::Refresh) => return Ok(ControlFlow::Continue(())),
                Ok(_) | Err(Interrupt::Skip | Interrupt::Back | Interrupt::Only(_)) => {}
                Err(other) => return Err(other),
            }
        }
        Ok(ControlFlow::Break(()))
    }
}

/// Says what waits for time; gives the first time that something opens.
fn say_timed(state: &State, actions: &[Action], now: Moment) -> Option<Moment> {
    let mut waiting: Vec<(StepIx, Moment, Vec<SubjectIx>)> = Vec::new();
    for action in actions {
        let Some(opens) = action.opens_at.filter(|_| action.rule == Some(Rule::Window)) else { continue };
        match waiting.iter_mut().find(|(step, at, _)| *step == action.step && *at == opens) {
            Some((_, _, subjects)) => subjects.push(action.subject),
            None => waiting.push((action.step, opens, vec![action.subject])),
        }
    }
    waiting.sort_by_key(|(_, opens, _)| *opens);
    for (step, opens, subjects) in &waiting {
        let step = &state.sequence().steps[*step].title;
        let (on, clock, span) = (on_words(&state.subjects, subjects), opens.clock(now.date()), span(*opens - now));
        say_wrapped(&format!("  {step}{on}: not before {clock}, in {span}."), 4);
    }
    waiting.first().map(|(_, opens, _)| *opens)
}
