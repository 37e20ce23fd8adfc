//! A walk from its beginning to its end: task after task, and what to do when there is none.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::place::{Place, wall_named, wall_words};
use super::task::{self, Task, TaskId, ahead_of_plan, is_at};
use crate::cli::ctrl_c::CtrlC;
use crate::cli::failure::{Failure, refusal_lines};
use crate::cli::out::Out;
use crate::cli::prompts::question::{Asker, Question, Terminal};
use crate::cli::prompts::screen::{say, say_bold, say_wrapped, to_width};
use crate::cli::sentences::{on_words, recorded_lines};
use crate::cli::site::Site;
use crate::day::{Action, Book, Phase, Request, State, check_break, next};
use crate::journal::Journal;
use crate::moment::{Moment, span};
use crate::plain::count;
use crate::refusal::Rule;

/// A walk through the day.
pub struct Walk<'s> {
    pub(super) site: &'s Site<'s>,
    pub(super) out: &'s mut Out,
    journal: Journal,
    pub(super) by: String,
    /// The time that the lead gave for the record that is being asked for.
    pub(super) at: Option<Moment>,
    /// The subjects of the step that is being asked for.
    pub(super) group: Vec<usize>,
    /// Where the lead stands.
    pub(super) place: Place,
    /// What the lead skipped.
    pub(super) skipped: BTreeSet<TaskId>,
    /// What was last said of a running window, and when.
    pub(super) announced: BTreeMap<(String, usize), (Phase, Moment)>,
    pub(super) ctrl_c: CtrlC,
}

/// Why a question got no answer.
pub enum Interrupt {
    /// The lead wants something else first.
    Skip,
    /// It may be done already.
    Refresh,
    /// The lead leaves.
    Quit,
    /// Only some of the subjects are meant.
    Only(Vec<usize>),
    /// The walk can't go on.
    Failed(Failure),
}

impl From<Failure> for Interrupt {
    fn from(failure: Failure) -> Self {
        match failure {
            Failure::Cancelled => Self::Quit,
            other => Self::Failed(other),
        }
    }
}

/// What follows a task.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Next {
    /// The walk looks for another.
    Another,
    /// The walk is over.
    End,
}

/// A way on when nothing can be done right now.
#[derive(Debug, Clone, Copy, PartialEq)]
enum WayOn {
    Wall(usize),
    Wait,
    Skipped,
    AheadOfPlan,
    Reading,
    Defects,
    CloseDay,
    Quit,
}

/// Asks whether the clock is right where nothing was recorded for long; without a yes the walk does not begin.
fn confirm_clock(site: &Site<'_>, journal: &mut Journal) -> Result<(), Failure> {
    let now = site.now(journal.book());
    if let (Err(refusal), false) = (check_break(&journal.book().state, now), site.global.clock_is_right) {
        say(&format!("Nothing has been recorded for long: {}.", refusal.why));
        if !Terminal.ask(Question::confirm(&format!("Is it {} now?", now.full())))? {
            return Err(refusal.into());
        }
        journal.trust_clock();
    }
    Ok(())
}

impl<'s> Walk<'s> {
    /// Opens the job and finds out who records; `wall` is where the lead stands, if it was said.
    pub fn begin(site: &'s Site<'s>, out: &'s mut Out, wall: Option<&str>) -> Result<Self, Failure> {
        let mut journal = site.journal()?;
        confirm_clock(site, &mut journal)?;
        let subjects = &journal.book().state.subjects;
        let place = match wall {
            Some(key) => Place::Wall(wall_named(subjects, key)?),
            None if subjects.all_walls().len() < 2 => Place::Anywhere,
            None => Place::Unknown,
        };
        let by = match (site.by(journal.book()), &site.global.by) {
            (Ok(by), _) => by,
            (Err(failure), Some(_)) => return Err(failure),
            (Err(_), None) => {
                let people = &journal.book().state.job.people;
                let names: Vec<String> = people.iter().map(|person| person.name.clone()).collect();
                say("Who is recording?");
                names[Terminal.ask(Question::choice("Number", &names).usually(0))?].clone()
            }
        };
        Ok(Self {
            site,
            out,
            journal,
            by,
            at: None,
            group: Vec::new(),
            place,
            skipped: BTreeSet::new(),
            announced: BTreeMap::new(),
            ctrl_c: CtrlC::listen()?,
        })
    }

    /// Walks until nothing is left or the lead leaves.
    pub fn run(mut self) -> Result<(), Failure> {
        let today = self.now().format("%A %-d %B, %H:%M").to_string();
        let title = format!("{}. {today}. Recording as {}.", self.book().state.job.name, self.by);
        say_bold(&title, self.out.colour());
        say("Type ? at any question to see what else you can type.");
        self.say_stopped();
        loop {
            // Another program may have recorded something meanwhile.
            self.journal.refresh()?;
            (self.at, self.group) = (None, Vec::new());
            match self.turn_to_next() {
                Ok(Next::Another) | Err(Interrupt::Skip | Interrupt::Refresh | Interrupt::Only(_)) => {}
                Ok(Next::End) => return Ok(()),
                Err(Interrupt::Quit) => {
                    say("");
                    say("Saved. To go on: cladlog walk");
                    self.say_stopped();
                    self.say_running();
                    return Ok(());
                }
                Err(Interrupt::Failed(failure)) => return Err(failure),
            }
        }
    }

    fn turn_to_next(&mut self) -> Result<Next, Interrupt> {
        let pick = |walk: &Self| task::pick(&walk.book().state, walk.now(), &walk.skipped, walk.place.wall());
        let mut task = pick(self);
        if self.place == Place::Unknown && task.as_ref().is_some_and(|task| task.is_on_a_wall(&self.book().state)) {
            self.choose_wall()?;
            task = pick(self);
        }
        match task {
            Some(task) => self.do_task(&task),
            None => self.nothing_now(),
        }
    }

    fn do_task(&mut self, task: &Task) -> Result<Next, Interrupt> {
        let ids = task.ids(&self.book().state);
        let done = match task {
            Task::CloseOldDay => self.close_day(Some("It was left open: close it first.")),
            Task::OpenDay => self.open_day(),
            Task::Caution { caution, step } => self.caution(*caution, *step),
            Task::Reading { why, walls } => self.reading(walls, Some(why)),
            Task::Hold { hold, subject } => self.hold(*hold, *subject),
            Task::SealPlan { why } => self.seal_plan(why),
            Task::Step(group) => self.step(group),
        };
        match done {
            Ok(true) => {}
            // Not done, by a rule or by choice: it must not come up again at once.
            Ok(false) | Err(Interrupt::Skip) => self.skipped.extend(ids),
            Err(other) => return Err(other),
        }
        Ok(Next::Another)
    }

    /// Now, by the site's clocks.
    pub(super) fn now(&self) -> Moment {
        self.site.clock.now().at_site(self.book().state.job.time_zone)
    }

    /// The job as it was last read.
    pub(super) fn book(&self) -> &Arc<Book> {
        self.journal.book()
    }

    /// Records a request and says what came of it; `false` when it was not taken, which is said as well.
    pub(super) fn record(&mut self, request: &dyn Request, what: &str) -> Result<bool, Failure> {
        let now = self.now();
        let at = self.at.map_or_else(|| self.site.at(self.book(), now), Ok)?;
        match self.journal.record(request, &self.by, at, now).map_err(Failure::from) {
            Ok(recorded) => {
                for line in recorded_lines(&recorded, what, &self.book().state, now) {
                    for line in to_width(&line, 2) {
                        self.out.line(line)?;
                    }
                }
                Ok(true)
            }
            Err(Failure::Refused(refusal)) => {
                refusal_lines(&refusal).iter().for_each(|line| say_wrapped(line, 10));
                Ok(false)
            }
            Err(Failure::Input { what, .. }) => {
                say_wrapped(&what, 2);
                Ok(false)
            }
            Err(other) => Err(other),
        }
    }

    /// Says which work is stopped.
    fn say_stopped(&self) {
        let now = self.now();
        for stoppage in self.book().state.open_stoppages() {
            say_bold(&stoppage.standing(now), self.out.colour());
            say("  When work restarts, type 'resume'.");
        }
    }

    /// Says what everything waits for, and offers what can be done about it.
    fn nothing_now(&mut self) -> Result<Next, Interrupt> {
        let (book, now) = (Arc::clone(self.book()), self.now());
        let state = &book.state;
        let actions = next(state, now);
        if actions.is_empty() {
            return self.all_done();
        }
        let elsewhere = self.elsewhere(&actions);
        let here = self.place.wall().filter(|_| !elsewhere.is_empty());
        let at = here.map_or_else(String::new, |wall| format!(" at {}", state.subjects.get(wall)));
        say("");
        say_bold(&format!("Nothing more can be done{at} right now"), self.out.colour());
        self.say_stopped();
        let actions: Vec<Action> = match here {
            Some(wall) => actions.into_iter().filter(|action| is_at(state, action.subject, wall)).collect(),
            None => actions,
        };
        let opens = say_timed(state, &actions, now);
        let plan = state.active_plan(now);
        self.say_coming();
        let weather: Vec<&Action> = actions.iter().filter(|action| action.rule == Some(Rule::R7)).collect();
        let waiting = actions.iter().find(|action| action.rule.is_some());
        let shown = weather.first().copied().or(waiting.filter(|_| opens.is_none() && plan.is_none()));
        if let Some(action) = shown {
            let step = &state.sequence().steps[action.step].title;
            let on = on_words(&state.subjects, &[action.subject]);
            say_wrapped(&format!("  {step}{on} waits: {}.", action.why), 4);
            action.clears.iter().for_each(|clears| say_wrapped(&format!("  To do: {clears}"), 4));
        }
        let mut ways: Vec<(WayOn, String)> = Vec::new();
        ways.extend(elsewhere.iter().map(|(wall, steps)| (WayOn::Wall(*wall), wall_words(state, *wall, *steps))));
        if let Some(opens) = opens.filter(|_| !self.site.clock.is_rehearsal()) {
            ways.push((WayOn::Wait, format!("wait: a bell rings at {}, then press Enter", opens.clock(now.date()))));
        }
        if !weather.is_empty() {
            ways.push((WayOn::Reading, "take a new reading".to_owned()));
        }
        if !self.skipped.is_empty() {
            ways.push((WayOn::Skipped, "go back to what was skipped".to_owned()));
        }
        if plan.as_ref().is_some_and(|plan| plan.left().any(|task| task.at > now)) {
            ways.push((WayOn::AheadOfPlan, "go ahead of the seal plan".to_owned()));
        }
        let open = state.open_defects().count();
        if open > 0 {
            ways.push((WayOn::Defects, format!("go through the open defects ({open})")));
        }
        if state.open_day().is_some() {
            ways.push((WayOn::CloseDay, "close the day".to_owned()));
        }
        ways.push((WayOn::Quit, "leave".to_owned()));
        let list: Vec<String> = ways.iter().map(|(_, words)| words.clone()).collect();
        match ways[self.ask(Question::choice("Number", &list).usually(0))?].0 {
            WayOn::Wall(wall) => self.place = Place::Wall(wall),
            WayOn::Wait => {}
            WayOn::Skipped => self.skipped.clear(),
            WayOn::AheadOfPlan => {
                self.skipped.insert(ahead_of_plan());
            }
            WayOn::Reading => {
                let walls = weather.first().map(|action| state.subjects.walls_of(action.subject).to_vec());
                let walls =
                    walls.filter(|walls| !walls.is_empty()).unwrap_or_else(|| state.subjects.all_walls().to_vec());
                self.reading(&walls, None)?;
            }
            WayOn::Defects => self.go_through_defects()?,
            WayOn::CloseDay if self.close_day(None)? => return Ok(Next::End),
            WayOn::CloseDay => {}
            WayOn::Quit => return Err(Interrupt::Quit),
        }
        Ok(Next::Another)
    }

    /// Nothing is left to do on the job.
    fn all_done(&mut self) -> Result<Next, Interrupt> {
        say("");
        say_bold("Every step is done", self.out.colour());
        let open = self.book().state.open_defects().count();
        if open > 0 {
            say(&format!("  {} still open.", count(open, "defect")));
            self.go_through_defects()?;
        }
        say("  To make the handover pack: cladlog pack FOLDER");
        if self.book().state.open_day().is_some() {
            let close = self.ask(Question::yes_no("Close the day?", true));
            match close.and_then(|close| if close { self.close_day(None) } else { Ok(false) }) {
                Ok(_) | Err(Interrupt::Skip | Interrupt::Refresh | Interrupt::Only(_)) => {}
                Err(other) => return Err(other),
            }
        }
        Ok(Next::End)
    }
}

/// Says what waits for time; gives the first time that something opens.
fn say_timed(state: &State, actions: &[Action], now: Moment) -> Option<Moment> {
    let mut waiting: Vec<(usize, Moment, Vec<usize>)> = Vec::new();
    for action in actions {
        let Some(opens) = action.opens_at.filter(|_| action.rule == Some(Rule::R6)) else { continue };
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
