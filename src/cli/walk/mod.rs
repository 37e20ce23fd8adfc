//! The walk: a skin over `next` and `decide`, with no rules of its own.
//!
//! It takes the first thing of `next` that can be cleared on the spot, asks what that needs, records it,
//! says what came of it, and looks again. What was recorded is durable before it is told, so that leaving
//! at any question loses only that question.

mod alarm;
mod aside;
mod ask;
mod batch;
mod clear;
mod defects;
mod errand;
mod idle;
mod sealing;
mod step;
mod tell;

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use super::prompts::{choose, say, say_loud, say_wrapped};
use super::site::Site;
use super::{Failure, Interrupt, Out};
use crate::day::{Book, Phase, Request};
use crate::moment::Moment;
use crate::record::Store;
use errand::{Errand, PutOff};

/// What is said on leaving.
const FAREWELL: &str = "You leave. Everything recorded stays; cladlog walk goes on from here.";

/// A walk through the day.
pub struct Walk<'s> {
    site: &'s Site<'s>,
    out: &'s mut Out,
    store: Store,
    book: Rc<Book>,
    by: String,
    /// The time that the lead gave for the record that is being asked for.
    at: Option<Moment>,
    /// The subjects of the step that is being asked for.
    group: Vec<usize>,
    put_off: BTreeSet<PutOff>,
    /// What was last said of a running window, and when.
    spoken: BTreeMap<(String, usize), (Phase, Moment)>,
    interrupt: Interrupt,
}

/// Why a question got no answer.
enum Away {
    /// Something else first.
    PutOff,
    /// It may be done already.
    LookAgain,
    /// The lead leaves.
    Leave,
    /// Only some of the subjects.
    Only(Vec<usize>),
    /// It can't go on.
    Failed(Failure),
}

impl From<Failure> for Away {
    fn from(failure: Failure) -> Self {
        match failure {
            Failure::Cancelled => Self::Leave,
            other => Self::Failed(other),
        }
    }
}

impl<'s> Walk<'s> {
    /// Opens the job and says who records.
    ///
    /// # Errors
    /// [`Failure`]: no database, no job, nobody to record.
    pub fn begin(site: &'s Site<'s>, out: &'s mut Out) -> Result<Self, Failure> {
        let store = site.open_for_writing()?;
        let stored = site.pick(store.jobs()?)?;
        let mut book = Book::open(store.entries(&stored.key)?)?;
        book.state.look_from(&stored.device);
        let book = Rc::new(book);
        let by = match (site.by(&book), &site.global.by) {
            (Ok(by), _) => by,
            (Err(failure), Some(_)) => return Err(failure),
            (Err(_), None) => {
                let names: Vec<String> = book.state.job.people.iter().map(|person| person.name.clone()).collect();
                say("Who records?");
                names[choose("Number", &names)?].clone()
            }
        };
        let interrupt = Interrupt::listen()?;
        let (put_off, spoken) = (BTreeSet::new(), BTreeMap::new());
        Ok(Self { site, out, store, book, by, at: None, group: Vec::new(), put_off, spoken, interrupt })
    }

    /// Walks until nothing is left or the lead leaves.
    ///
    /// # Errors
    /// [`Failure`] when the record or the terminal can't be used any more.
    pub fn go(mut self) -> Result<(), Failure> {
        let job = &self.book.state.job;
        let today = self.now().format("%A %-d %B, %H:%M").to_string();
        say_loud(&format!("{}. {today}. {} records.", job.name, self.by), self.out.colour());
        say("Type ? at any question to see what else you can say.");
        self.say_stopped();
        loop {
            self.refresh()?;
            (self.at, self.group) = (None, Vec::new());
            let ended = match errand::pick(&self.book.state, self.now(), &self.put_off) {
                Some(errand) => self.run(&errand),
                None => self.idle(),
            };
            match ended {
                Ok(idle::Then::GoOn) => {}
                Ok(idle::Then::End) => return Ok(()),
                Err(Away::Leave) => return self.leave(),
                Err(Away::Failed(failure)) => return Err(failure),
                // Which of them, the errand has noted.
                Err(Away::PutOff | Away::LookAgain | Away::Only(_)) => {}
            }
        }
    }

    fn run(&mut self, errand: &Errand) -> Result<idle::Then, Away> {
        let puts_off = errand.puts_off(&self.book.state);
        let done = match errand {
            Errand::CloseOldDay => self.close_day("It was left open: close it first."),
            Errand::OpenDay => self.open_day(),
            Errand::Caution { caution, step } => self.caution(*caution, *step),
            Errand::Reading { why, walls } => self.reading(walls, Some(why)),
            Errand::Hold { hold, subject } => self.hold(*hold, *subject),
            Errand::SealPlan { why } => self.seal_plan(why),
            Errand::Step(group) => self.step(group),
        };
        match done {
            Ok(true) => Ok(idle::Then::GoOn),
            // Not done, by a rule or by choice: it must not come up again at once.
            Ok(false) | Err(Away::PutOff) => {
                self.put_off.extend(puts_off);
                Ok(idle::Then::GoOn)
            }
            Err(other) => Err(other),
        }
    }

    /// Now, by the site's clocks.
    fn now(&self) -> Moment {
        self.site.clock.now().at_site(self.book.state.job.time_zone)
    }

    /// Another program may have recorded meanwhile.
    fn refresh(&mut self) -> Result<(), Failure> {
        let stored = self.site.pick(self.store.jobs()?)?;
        let newer = self.store.entries_after(&stored.key, self.book.heads())?;
        if !newer.is_empty() {
            self.book = Rc::new(Book::clone(&self.book).and(newer)?);
        }
        Ok(())
    }

    /// Records a request and tells what came of it; `false` when it was not taken, which is told as well.
    fn record(&mut self, request: &Request, what: &str) -> Result<bool, Failure> {
        let by_at = self.at.map(|at| (self.by.clone(), at));
        let by_at = match &by_at {
            Some((by, at)) => Some((by.as_str(), *at)),
            None if self.site.global.at.is_none() => Some((self.by.as_str(), self.now())),
            None => None,
        };
        match self.site.record_in(&mut self.store, request, by_at, Some(Book::clone(&self.book))) {
            Ok((recorded, book)) => {
                self.book = Rc::new(book);
                let now = self.now();
                for line in tell::lines(&recorded, what, &self.book.state, now) {
                    for line in super::prompts::to_width(&line, 2) {
                        self.out.line(line)?;
                    }
                }
                Ok(true)
            }
            Err(Failure::Refused(refusal)) => {
                for line in super::refused_lines(&refusal) {
                    say_wrapped(&line, 10);
                }
                Ok(false)
            }
            Err(Failure::Input { what, .. }) => {
                say_wrapped(&what, 2);
                Ok(false)
            }
            Err(other) => Err(other),
        }
    }

    fn leave(&mut self) -> Result<(), Failure> {
        say("");
        say(FAREWELL);
        self.say_stopped();
        self.running_clocks();
        Ok(())
    }
}
