//! From a request to entry bodies, or to a refusal.

use std::collections::BTreeSet;

use chrono::TimeDelta;

use super::photo::Photo;
use crate::building::{SubjectError, SubjectIx, SubjectKind};
use crate::day::book::Book;
use crate::day::facts::Day;
use crate::day::replay::{Past, ReplayError, struck};
use crate::day::rules::{AnswerError, CLOCK_SLACK};
use crate::day::state::State;
use crate::form::nearest;
use crate::moment::{Moment, span};
use crate::record::{Body, Entry, EntryId};
use crate::refusal::{Clears, Refusal, Remedy, Rule};
use crate::units::OutOfRange;
use crate::units::number::shortened;

/// Work seldom rests for longer, holidays apart; common practice, no source. After it the clock is asked about.
const LONGEST_BREAK: TimeDelta = TimeDelta::days(14);

/// A job may be set up some time after work on it began, but not longer; common practice, no source.
const LONGEST_BEFORE: TimeDelta = TimeDelta::days(31);

/// Something that a person wants recorded.
pub trait Request {
    /// What it comes to: a body for each entry.
    ///
    /// # Errors
    /// [`DecideError::Refused`] when a rule stops it, [`DecideError::Input`] when the request itself is wrong.
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError>;

    /// The entry that it crosses out.
    fn strikes(&self) -> Option<&EntryId> {
        None
    }

    /// The photos that are to be kept with it.
    fn photos(&self) -> Vec<&Photo> {
        Vec::new()
    }
}

/// What a request is decided by.
pub struct Context<'a> {
    /// The book as it is now.
    pub book: &'a Book,
    /// The state of the job when it happened: what was recorded later but happened earlier is not judged by what came
    /// after it.
    pub state: &'a State,
    /// Who records it.
    pub by: &'a str,
    /// When it happened.
    pub at: Moment,
    /// Now.
    pub now: Moment,
}

/// The bodies that a request comes to.
#[derive(Debug, Default)]
pub struct Decision {
    /// A body for each entry.
    pub bodies: Vec<Body>,
    /// The past that it was decided by, to go on from.
    pub(crate) past: Option<Past>,
    /// How it is refused where what happened after it depends on it.
    pub(crate) unless_depended_on: Option<Dependence>,
}

/// How something is refused that later entries depend on.
#[derive(Debug)]
pub(crate) struct Dependence {
    /// What is refused.
    pub what: String,
    /// What clears it.
    pub clears: Clears,
}

impl From<Vec<Body>> for Decision {
    fn from(bodies: Vec<Body>) -> Self {
        Self { bodies, ..Self::default() }
    }
}

impl From<Body> for Decision {
    fn from(body: Body) -> Self {
        vec![body].into()
    }
}

impl IntoIterator for Decision {
    type Item = Body;
    type IntoIter = std::vec::IntoIter<Body>;

    fn into_iter(self) -> Self::IntoIter {
        self.bodies.into_iter()
    }
}

/// Decides whether something that happened at `at` may be recorded at `now`, by `by`.
///
/// # Errors
/// [`DecideError::Refused`] when a rule stops it, [`DecideError::Input`] when the request itself is wrong.
pub fn decide(book: &Book, request: &dyn Request, by: &str, at: Moment, now: Moment) -> Result<Decision, DecideError> {
    // What was recorded while the clock was ahead can be crossed out at once: nothing else clears it.
    let strikes_ahead = request.strikes().and_then(|id| book.entry(id)).is_some_and(|entry| is_ahead(entry, now));
    if !strikes_ahead {
        check_clock(&book.state, "record anything", now)?;
    }
    check_time(at, now)?;
    check_begun(book, at, now)?;
    let by = &spelled(&book.state, by)?;
    if book.latest().is_none_or(|latest| latest <= at) {
        return request.decide(&Context { book, state: &book.state, by, at, now });
    }
    let past = book.past(at)?;
    let decision = request.decide(&Context { book, state: &past.state, by, at, now })?;
    Ok(Decision { past: decision.past.or(Some(past)), ..decision })
}

/// Whether a clock has gone back behind what was recorded last (R14).
fn clock_is_behind(last_recorded: Moment, now: Moment) -> bool {
    last_recorded - now > CLOCK_SLACK
}

/// Whether an entry was recorded while a clock was ahead of this one.
pub(super) fn is_ahead(entry: &Entry, now: Moment) -> bool {
    clock_is_behind(entry.recorded_at, now)
}

/// The first entry, of those that are not struck, that was recorded while a clock was ahead of this one (R14).
pub fn recorded_ahead(entries: &[Entry], now: Moment) -> Option<&Entry> {
    let mut ahead = entries.iter().filter(|entry| is_ahead(entry, now)).peekable();
    ahead.peek()?;
    let struck = struck(entries.iter());
    ahead.find(|entry| !struck.contains_key(&entry.id()))
}

/// When an entry of this file's own book counts as recorded. A clock may have gone back a little (R14 lets it): the book
/// does not go back with it, so that its entries stand in one order wherever they are put into one.
pub fn recording_time(state: &State, now: Moment) -> Moment {
    state.last_recorded_here().map_or(now, |(last, _)| if clock_is_behind(last, now) { now } else { last.max(now) })
}

/// R14: a clock that is behind what was recorded last is wrong, or was.
///
/// # Errors
/// [`Refusal`], saying what clears it.
pub fn check_clock(state: &State, what: &str, now: Moment) -> Result<(), Refusal> {
    let Some((last, entry)) = state.last_recorded_here().filter(|(last, _)| clock_is_behind(*last, now)) else {
        return Ok(());
    };
    let (clock, last) = (now.full(), last.full());
    let why = format!("this machine's clock says {clock}, but entry {entry} was recorded at {last}");
    let clears = format!(
        "correct this machine's clock; if it is right now and was ahead then, strike that entry: cladlog strike \
         {entry} --why \"the clock was ahead\""
    );
    Err(Refusal::new(Rule::Clock, what, why, clears))
}

/// R14: nobody may have worked for so long, or the clock has been set ahead.
///
/// # Errors
/// [`Refusal`], to be lifted by whoever says that the clock is right.
pub fn check_break(state: &State, now: Moment) -> Result<(), Refusal> {
    let Some((last, entry)) = state.last_recorded_here().filter(|(last, _)| now - *last > LONGEST_BREAK) else {
        return Ok(());
    };
    let why = format!(
        "this machine's clock says {}, {} after the last entry ({entry}, recorded at {})",
        now.full(),
        span(now - last),
        last.full()
    );
    let clears = Clears::from("correct the clock if it is wrong")
        .typed("; if it is right, run the command again with --clock-is-right");
    Err(Refusal::new(Rule::Clock, "record anything", why, clears))
}

/// R3: what is recorded has happened.
///
/// # Errors
/// [`Refusal`] where `at` is still to come.
pub fn check_time(at: Moment, now: Moment) -> Result<(), Refusal> {
    if at <= now {
        return Ok(());
    }
    Err(Refusal::new(
        Rule::TwoTimes,
        "record what has not happened yet",
        format!("{} is in the future; it is {} now", at.clock(now.date()), now.clock(now.date())),
        "give the time that it happened; for an earlier day give the full time, as in 2026-03-02T16:40:00+13:00",
    ))
}

/// R3: what happened long before the job was set up did not happen on it.
fn check_begun(book: &Book, at: Moment, now: Moment) -> Result<(), Refusal> {
    let set_up = book.entries.iter().find(|entry| matches!(entry.body, Body::JobAdded(_)));
    let Some(set_up) = set_up.filter(|set_up| set_up.happened_at - at > LONGEST_BEFORE) else { return Ok(()) };
    let today = now.date();
    let (begun, at) = (set_up.happened_at.clock(today), at.clock(today));
    Err(Refusal::new(
        Rule::TwoTimes,
        "record what happened before the job",
        format!("{at} is more than {} before the job was set up, on {begun}", span(LONGEST_BEFORE)),
        Clears::from("give the time that it happened; what is older belongs in a note")
            .typed(": cladlog note --text …"),
    ))
}

/// Why nothing is recorded.
#[derive(Debug, thiserror::Error)]
pub enum DecideError {
    /// A rule stops it.
    #[error("{0}")]
    Refused(Box<Refusal>),
    /// Something in the request is wrong.
    #[error("{0}")]
    Input(String),
    /// One of its fields is wrong.
    #[error("{field}{why}")]
    Field {
        /// The field; in capitals where the command line takes it without an option.
        field: &'static str,
        /// Why, as it is said after the field.
        why: String,
    },
    /// A day is closed without the hours of these people.
    #[error("the hours of {} are missing", .0.join(", "))]
    NoHours(Vec<String>),
    /// An answer to a question of a step is wrong, or missing.
    #[error(transparent)]
    Answer(#[from] AnswerError),
}

impl From<Refusal> for DecideError {
    fn from(refusal: Refusal) -> Self {
        Self::Refused(Box::new(refusal))
    }
}

impl From<SubjectError> for DecideError {
    fn from(error: SubjectError) -> Self {
        Self::Input(error.to_string())
    }
}

impl From<OutOfRange> for DecideError {
    fn from(error: OutOfRange) -> Self {
        Self::Input(error.to_string())
    }
}

impl From<ReplayError> for DecideError {
    fn from(error: ReplayError) -> Self {
        Self::Input(error.to_string())
    }
}

/// Something that is wrong in the request.
pub(super) fn input<T>(what: impl Into<String>) -> Result<T, DecideError> {
    Err(DecideError::Input(what.into()))
}

/// A field of the request is wrong.
pub(super) fn in_field<T>(field: &'static str, why: impl Into<String>) -> Result<T, DecideError> {
    Err(DecideError::Field { field, why: why.into() })
}

/// Where a reason or a description is the whole point, an empty one is none.
pub(super) fn require_text(field: &'static str, text: &str) -> Result<(), DecideError> {
    if text.trim().is_empty() { in_field(field, " is empty") } else { Ok(()) }
}

/// The name of a person of the job, as the job spells it, however it was typed.
///
/// # Errors
/// [`DecideError::Input`] where nobody on the job is called that.
pub fn spelled(state: &State, name: &str) -> Result<String, DecideError> {
    if let Some(person) = state.job.person_meant(name) {
        return Ok(person.name.clone());
    }
    let names: Vec<&str> = state.job.people.iter().map(|person| person.name.as_str()).collect();
    let hint = nearest(name, &names).map(|near| format!("did you mean {near}?"));
    let hint = hint.unwrap_or_else(|| format!("the people are {}", names.join(", ")));
    input(format!("{} is not a person of job {}: {hint}", shortened(name), state.job.key))
}

/// The names of people of the job, as the job spells them, each once.
pub(super) fn all_spelled(state: &State, names: &[String]) -> Result<Vec<String>, DecideError> {
    Ok(unique(names.iter().map(|name| spelled(state, name)).collect::<Result<_, _>>()?))
}

/// The name of somebody who need not be on the job: as the job spells it, where they are.
pub(super) fn spelled_if_known(state: &State, name: &str) -> String {
    state.job.person_meant(name).map_or_else(|| name.to_owned(), |person| person.name.clone())
}

/// The names of people who need not be on the job, each once.
pub(super) fn each_spelled(state: &State, names: &[String]) -> Vec<String> {
    unique(names.iter().map(|name| spelled_if_known(state, name)).collect())
}

fn unique(mut names: Vec<String>) -> Vec<String> {
    let mut seen = BTreeSet::new();
    names.retain(|name| seen.insert(name.clone()));
    names
}

/// The indexes of the subjects of SUBJECT, all of one kind.
pub(super) fn of_kind(state: &State, on: &str, kind: SubjectKind, rule: &str) -> Result<Vec<SubjectIx>, DecideError> {
    let each = state.subjects.parse(on)?;
    match each.iter().map(|index| state.subjects.get(*index)).find(|subject| subject.kind() != kind) {
        Some(subject) => input(format!("{subject} is {}: {rule}", subject.kind().a_word())),
        None => Ok(each),
    }
}

/// A body for each subject of SUBJECT, in the order of the building; `body` makes it of the subject's id.
pub(super) fn each(state: &State, on: &str, body: impl Fn(String) -> Body) -> Result<Decision, DecideError> {
    let each = state.subjects.parse(on)?;
    Ok(each.into_iter().map(|index| body(state.subjects.get(index).to_string())).collect::<Vec<_>>().into())
}

/// The site day that something falls into.
pub(super) fn day_then<'s>(state: &'s State, at: Moment, what: &str) -> Result<&'s Day, Refusal> {
    state.day_at(state.device(), at).map(|day| &state.days[day]).ok_or_else(|| no_day(what))
}

/// R12: no day is open.
pub(super) fn no_day(what: &str) -> Refusal {
    let clears = Clears::from("open the day first").by(Remedy::OpenDay);
    Refusal::new(Rule::OpenDay, what, "no site day is open at that time", clears)
}
