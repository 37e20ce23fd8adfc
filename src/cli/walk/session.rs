//! A walk from its beginning to its end: task after task.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::ControlFlow;
use std::sync::Arc;

use super::place::wall_named;
use super::tape::Tape;
use crate::building::SubjectIx;
use crate::cli::ctrl_c::CtrlC;
use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::prompts::question::{Asker, Question, Terminal};
use crate::cli::prompts::screen::{say, say_wrapped, to_width};
use crate::cli::site::Site;
use crate::day::{Book, DecideError, Phase, Picking, RecordStep, Request, Task, TaskId};
use crate::journal::{Journal, JournalError, Recorded, Timed, Undo, deed, recorded_lines};
use crate::moment::Moment;

/// A walk through the day.
pub struct Walk<'s> {
    pub(super) site: &'s Site<'s>,
    pub(super) out: &'s mut Out,
    journal: Journal,
    pub(super) by: String,
    /// The time that the lead gave for the record that is being asked for.
    pub(super) at: Option<Moment>,
    /// The subjects of the step that is being asked for.
    pub(super) group: Vec<SubjectIx>,
    /// The wall at which the lead stands: what the walk turns to is there. `None`: anywhere on the job.
    pub(super) place: Option<SubjectIx>,
    /// Whether the lead is still to be asked at which wall to begin.
    pub(super) asks_for_wall: bool,
    /// What was answered since the task began.
    pub(super) tape: Tape,
    /// Whether anything was typed at a step that Enter would not have answered.
    pub(super) is_vouched_for: bool,
    /// Whether the last refusal was that time had passed something by.
    pub(super) came_too_late: bool,
    /// The batches that the lead said are to be used beside others, with the wall.
    pub(super) mixed_batches: BTreeSet<(String, Vec<SubjectIx>)>,
    /// What tolerances rest on, as far as this walk has said it.
    pub(super) explained: BTreeSet<String>,
    /// The folder that photos were last taken from.
    pub(super) photo_folder: Option<String>,
    /// What the lead skipped.
    pub(super) skipped: BTreeSet<TaskId>,
    /// What was last said of a window that runs on a subject since a moment, and when it was said.
    pub(super) announced: BTreeMap<(String, SubjectIx, Moment), (Phase, Moment)>,
    /// The windows that closed on a step of which it was asked when it was done, by key and beginning.
    pub(super) asked_when_done: BTreeSet<(String, Moment)>,
    pub(super) ctrl_c: CtrlC,
}

/// Why a question got no answer.
pub enum Interrupt {
    /// The lead wants something else first.
    Skip,
    /// It may be done already.
    Refresh,
    /// The question before is to be put again.
    Back,
    /// The lead leaves.
    Quit,
    /// Only some of the subjects are meant.
    Only(Vec<SubjectIx>),
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

/// Asks whether the clock is right where nothing was recorded for long; without a yes the walk does not begin.
fn confirm_clock(site: &Site<'_>, journal: &mut Journal) -> Result<(), Failure> {
    let now = site.now(journal.book());
    if let Err(refusal) = journal.check_break(now) {
        say(&format!("Nothing has been recorded for a while: {}.", refusal.why));
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
        let place = wall.map(|key| wall_named(subjects, key)).transpose()?;
        let asks_for_wall = place.is_none() && subjects.all_walls().len() > 1;
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
            asks_for_wall,
            tape: Tape::default(),
            is_vouched_for: false,
            came_too_late: false,
            mixed_batches: BTreeSet::new(),
            explained: BTreeSet::new(),
            photo_folder: None,
            skipped: BTreeSet::new(),
            announced: BTreeMap::new(),
            asked_when_done: BTreeSet::new(),
            ctrl_c: CtrlC::listen()?,
        })
    }

    /// Walks until nothing is left or the lead leaves.
    pub fn run(mut self) -> Result<(), Failure> {
        let today = self.now().format("%A %-d %B, %H:%M").to_string();
        let title = format!("{}. {today}. Recording as {}.", self.book().state.job.name, self.by);
        self.bold(&title);
        say("Type ? at any question to see what else you can type.");
        self.say_stopped();
        loop {
            self.refresh()?;
            (self.at, self.group) = (None, Vec::new());
            match self.turn_to_next() {
                Ok(ControlFlow::Continue(()))
                | Err(Interrupt::Skip | Interrupt::Refresh | Interrupt::Back | Interrupt::Only(_)) => {}
                Ok(ControlFlow::Break(())) => return Ok(()),
                Err(Interrupt::Quit) => {
                    say("");
                    say("Saved. To continue: cladlog walk");
                    self.say_stopped();
                    self.say_running();
                    return Ok(());
                }
                Err(Interrupt::Failed(failure)) => return Err(failure),
            }
        }
    }

    /// Reads what another program recorded meanwhile. Of another building, or by another edition of the sequence, what was
    /// skipped would be something else.
    fn refresh(&mut self) -> Result<(), Failure> {
        let state = &self.book().state;
        let (job, edition) = (state.job.clone(), state.sequence().sha256.clone());
        let place = self.place.map(|wall| state.subjects.get(wall).to_string());
        if self.journal.refresh()? {
            let state = &self.journal.book().state;
            self.place = place.and_then(|wall| state.subjects.index(&wall));
            if state.job != job || state.sequence().sha256 != edition {
                self.skipped.clear();
            }
        }
        Ok(())
    }

    fn turn_to_next(&mut self) -> Result<ControlFlow<()>, Interrupt> {
        if self.ask_when_it_was_done()? {
            return Ok(ControlFlow::Continue(()));
        }
        let mut task = self.picking().first(self.place);
        if self.asks_for_wall && task.as_ref().is_some_and(|task| task.is_on_a_wall(&self.book().state)) {
            self.choose_wall()?;
            task = self.picking().first(self.place);
        }
        match task {
            Some(task) => self.do_task(&task),
            None => {
                self.tape.begin(&[]);
                self.tape.clear();
                self.nothing_now()
            }
        }
    }

    fn do_task(&mut self, task: &Task) -> Result<ControlFlow<()>, Interrupt> {
        let ids = task.ids();
        match self.going_back(&ids, |walk| walk.put(task)) {
            Ok(true) => {}
            // Not done, by a rule or by choice: it must not come up again at once.
            Ok(false) | Err(Interrupt::Skip) => {
                self.tape.clear();
                self.skipped.extend(ids);
            }
            Err(other) => return Err(other),
        }
        Ok(ControlFlow::Continue(()))
    }

    /// Puts the questions of a task, and puts them again as often as the lead goes back: what was answered before stands.
    pub(super) fn going_back<T>(
        &mut self,
        task: &[TaskId],
        mut put: impl FnMut(&mut Self) -> Result<T, Interrupt>,
    ) -> Result<T, Interrupt> {
        loop {
            self.tape.begin(task);
            match put(self) {
                Err(Interrupt::Back) => {}
                done => return done,
            }
        }
    }

    /// Puts the questions of a task; whether it was done.
    fn put(&mut self, task: &Task) -> Result<bool, Interrupt> {
        match task {
            Task::CloseOldDay => self.close_day(Some("It was left open: close it first.")),
            Task::OpenDay => self.open_day(),
            Task::Cautions { cautions, step } => self.cautions(cautions, *step),
            Task::Reading { limit, why, walls } => self.reading_for(*limit, walls, why),
            Task::Hold { hold, subject } => self.hold(*hold, *subject),
            Task::SealPlan { why, .. } => self.seal_plan(why),
            Task::Step(group) => self.step(group),
        }
    }

    /// What there is to turn to.
    pub(super) fn picking(&self) -> Picking<'_> {
        Picking::new(&self.book().state, self.now(), &self.skipped)
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
    pub(super) fn record(&mut self, request: &dyn Request) -> Result<bool, Interrupt> {
        self.record_all(&[request])
    }

    /// The same for several requests: all of them are recorded, or none.
    pub(super) fn record_all(&mut self, requests: &[&dyn Request]) -> Result<bool, Interrupt> {
        let now = self.now();
        let recorded = self.journal.record_all(requests, &self.by, self.at.unwrap_or(now), now);
        self.say_recorded(recorded)
    }

    /// Records steps that were done one after the other, as one command; `false`, and nothing is said, where a rule stops
    /// one of them.
    pub(super) fn record_if_in_order(&mut self, steps: &[(RecordStep, Moment)]) -> Result<bool, Interrupt> {
        let now = self.now();
        let timed: Vec<Timed<'_>> = steps.iter().map(|(step, at)| (step as &dyn Request, *at)).collect();
        match self.journal.record_each(&timed, &self.by, now) {
            Err(JournalError::Decide(DecideError::Refused(_))) => Ok(false),
            recorded => self.say_recorded(recorded),
        }
    }

    /// Says what was recorded and what came of it, or why it was not: `false` then. Where an answer was wrong, the last
    /// one is asked for again, and those before it stand.
    fn say_recorded(&mut self, recorded: Result<Recorded, JournalError>) -> Result<bool, Interrupt> {
        let now = self.now();
        match recorded.map_err(Failure::from) {
            Ok(recorded) => {
                // What is recorded is not gone back to: it is undone.
                self.tape.clear();
                for line in recorded_lines(&recorded, self.book(), now) {
                    for line in to_width(&line, 2) {
                        self.out.line(line)?;
                    }
                }
                self.journal.carry().map_err(Failure::from)?;
                Ok(true)
            }
            Err(failure @ (Failure::Refused(_) | Failure::Input { .. })) => {
                self.came_too_late = matches!(&failure, Failure::Refused(refusal) if refusal.closed_at.is_some());
                let indent = if matches!(failure, Failure::Refused(_)) { 10 } else { 4 };
                failure.lines().iter().for_each(|line| say_wrapped(line, indent));
                let again = matches!(failure, Failure::Input { .. }) && self.tape.back();
                if again { Err(Interrupt::Back) } else { Ok(false) }
            }
            Err(other) => Err(other.into()),
        }
    }

    /// R17: takes back what the last command recorded, once the lead has seen what goes.
    pub(super) fn undo(&mut self) -> Result<(), Interrupt> {
        let entries = match self.journal.last_command().map_err(Failure::from) {
            Ok(entries) => entries,
            Err(Failure::Refused(refusal)) => {
                say_wrapped(&format!("  Nothing to undo: {}.", refusal.why), 4);
                return Ok(());
            }
            Err(other) => return Err(other.into()),
        };
        let (book, today) = (self.book(), self.now().date());
        let deed = deed(&entries, book);
        let at = entries.last().and_then(|id| book.entry(id)).map(|entry| entry.happened_at.clock(today));
        say_wrapped(&format!("  The last record: {deed}, {}.", at.unwrap_or_default()), 4);
        if !Terminal.ask(Question::yes_no("  Take it back?", true))? {
            return Ok(());
        }
        let mut undo = Undo { entries, why: "undone".to_owned(), anyway: false };
        let now = self.now();
        let mut recorded = self.journal.undo(&undo, &self.by, now, now);
        if let Err(JournalError::Decide(DecideError::Refused(refusal))) = &recorded
            && refusal.unless_anyway
        {
            say_wrapped(&format!("  {}.", refusal.why), 4);
            if !Terminal.ask(Question::yes_no("  Take it back anyway? Each of them becomes a defect", false))? {
                return Ok(());
            }
            undo.anyway = true;
            recorded = self.journal.undo(&undo, &self.by, now, now);
        }
        self.say_recorded(recorded)?;
        // What was taken back is to be done again, also where what is left of it had been skipped.
        self.skipped.clear();
        self.asked_when_done.clear();
        Err(Interrupt::Refresh)
    }

    /// Says which work is stopped.
    pub(super) fn say_stopped(&self) {
        let now = self.now();
        for stoppage in self.book().state.open_stoppages() {
            self.bold(&stoppage.standing(now));
            say("  When work restarts, type 'resume'.");
        }
    }
}
