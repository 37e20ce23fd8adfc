//! From a request to entry bodies, or to a refusal.

use std::collections::{BTreeMap, BTreeSet};

use chrono::TimeDelta;

use super::asks::{self, answer_from_text};
use super::holds::{has_role, may_release};
use super::judge::judge;
use super::replay::replay_at;
use super::request::{DecideError, Extra, Given, Request, TakenFrom, Value};
use super::state::{Day, DefectState, HoldState, State};
use super::strike::lost_footing;
use super::{Book, Breach, cautions, extras, stock, stoppages};
use crate::building::SubjectKind;
use crate::form::nearest;
use crate::moment::Moment;
use crate::plain::quoted;
use crate::record::{Answer, Body};
use crate::refusal::{Refusal, Rule};
use crate::sequence::{self, Step};
use crate::units::{bounds, number::shortened};

/// A clock this far behind the record has gone wrong (R14).
const CLOCK_SLACK_MIN: i64 = 2;

/// Entries that a strike would leave without footing, told one by one.
const LOST_TOLD: usize = 4;

/// Longest day that anybody is recorded to have worked.
const MOST_HOURS: f64 = 24.0;

/// The entry bodies that a request comes to.
pub type Decision = Vec<Body>;

/// Decides whether something that happened at `at` may be recorded at `now`, by `by`.
///
/// What happened is judged by the state of the job as it was then.
///
/// # Errors
/// [`DecideError::Refused`] when a rule stops it, [`DecideError::Input`] when the request itself is wrong.
pub fn decide(book: &Book, request: &Request, by: &str, at: Moment, now: Moment) -> Result<Decision, DecideError> {
    check_clock(&book.state, at, now)?;
    known(&book.state, by)?;
    said(request)?;
    // What was recorded later but happened earlier must not be judged by what came after it.
    let past = book.latest().is_some_and(|latest| latest > at);
    let then = if past { Some(replay_at(book, at)?) } else { None };
    let state = then.as_ref().unwrap_or(&book.state);
    match request {
        Request::OpenDay { crew, talk, hazards } => open_day(state, crew, talk, hazards),
        Request::JoinDay { crew } => join_day(state, crew, at),
        Request::CloseDay { hours, note } => {
            let day = state.open_day().ok_or_else(|| no_day("close the day"))?;
            // What was recorded since may have closed it: its hours would be put down to another day.
            let since = book.state.days.iter().find(|one| one.is_same(day)).and_then(|one| one.closed_at);
            if let Some(closed) = since {
                let date = day.date.format("%a %-d %b");
                let why = format!("the day of {date} is closed already, at {}", closed.clock(at.date()));
                let clears = "strike the entry that closed it, then close it again";
                return Err(Refusal::new(Rule::R12, "close the day", why, clears).into());
            }
            close_day(day, hours, note)
        }
        Request::Step { step, on, answers, anyway } => step_done(state, step, on, answers, anyway.as_deref(), at),
        Request::Reading { on, air_c, humidity_pct, surface_c, wind_kmh, rain } => {
            bounds::AIR.check(*air_c)?;
            bounds::HUMIDITY.check(*humidity_pct)?;
            bounds::SURFACE.check(*surface_c)?;
            wind_kmh.map(|wind| bounds::WIND.check(wind)).transpose()?;
            let walls = of_kind(state, on, SubjectKind::Wall, "a reading is taken on a wall")?;
            let reading = |wall: usize| Body::ReadingTaken {
                subject: state.subjects.get(wall).to_string(),
                air_c: *air_c,
                humidity_pct: *humidity_pct,
                surface_c: *surface_c,
                wind_kmh: *wind_kmh,
                rain: *rain,
            };
            Ok(walls.into_iter().map(reading).collect())
        }
        Request::Forecast { source, hours } => super::forecast::add(source, hours, at),
        Request::Caution { caution, people } => acknowledge(state, caution, people, at),
        Request::AskHold { hold, on } => {
            let each = hold_subjects(state, hold, on)?;
            Ok(each.into_iter().map(|(_, subject)| Body::HoldAsked { hold: hold.clone(), subject }).collect())
        }
        Request::ReleaseHold { hold, on, person, how, evidence } => {
            known(state, person)?;
            let mut bodies = Vec::new();
            for (index, subject) in hold_subjects(state, hold, on)? {
                let place = state.subjects.index(&subject).unwrap_or(0);
                may_release(state, index, place, person, at)?;
                bodies.push(Body::HoldReleased {
                    hold: hold.clone(),
                    subject,
                    person: person.clone(),
                    how: how.clone(),
                    evidence: evidence.clone().filter(|text| !text.trim().is_empty()),
                });
            }
            Ok(bodies)
        }
        Request::RefuseHold { hold, on, person, why } => {
            known(state, person)?;
            let mut bodies = Vec::new();
            for (index, subject) in hold_subjects(state, hold, on)? {
                let what = format!("refuse hold point {hold} on {subject}");
                has_role(state, person, &state.sequence().holds[index].roles, &what)?;
                let place = state.subjects.index(&subject).unwrap_or(0);
                let life = state.hold(index, place);
                if life.state == HoldState::Released {
                    let who = life.person.unwrap_or_default();
                    return Err(Refusal::new(
                        Rule::R5,
                        what,
                        format!("{who} has released it already"),
                        "open a defect instead: cladlog defect open --on SUBJECT --what …",
                    )
                    .into());
                }
                bodies.push(Body::HoldRefused {
                    hold: hold.clone(),
                    subject,
                    person: person.clone(),
                    why: why.clone(),
                });
            }
            Ok(bodies)
        }
        Request::OpenDefect { on, what } => {
            let each = state.subjects.parse(on)?;
            let body = |index: usize| Body::DefectOpened {
                subject: state.subjects.get(index).to_string(),
                what: what.clone(),
            };
            Ok(each.into_iter().map(body).collect())
        }
        Request::CloseDefect { defect, person, how } => {
            end_defect(state, defect, person, "close", &state.sequence().authority.close)?;
            measured_only_by_measuring(state, defect)?;
            Ok(vec![Body::DefectClosed { defect: defect.clone(), person: person.clone(), how: how.clone() }])
        }
        Request::Concede { defect, person, why } => {
            end_defect(state, defect, person, "concede", &state.sequence().authority.concede)?;
            Ok(vec![Body::DefectConceded { defect: defect.clone(), person: person.clone(), why: why.clone() }])
        }
        Request::Strike { entry, why, anyway } => strike(book, entry, why, *anyway, now),
        Request::Keep { sum, on, inputs, result } => {
            let each = state.subjects.parse(on)?;
            let body = |index: usize| Body::PlanKept {
                sum: sum.clone(),
                subject: state.subjects.get(index).to_string(),
                inputs: inputs.clone(),
                result: result.clone(),
            };
            Ok(each.into_iter().map(body).collect())
        }
        Request::AddPhotos { on, step, note, photos } => {
            super::photos::add(state, on, step.as_deref(), note.as_deref(), photos)
        }
        Request::Note { on, text } => {
            let each = state.subjects.parse(on)?;
            let body =
                |index: usize| Body::Noted { subject: state.subjects.get(index).to_string(), text: text.clone() };
            Ok(each.into_iter().map(body).collect())
        }
        Request::StartStoppage { on, cause, told, people } => {
            stoppages::start(state, &book.state, on, cause, told, *people)
        }
        Request::EndStoppage { stoppage, note } => stoppages::end(&book.state, stoppage.as_deref(), note, at),
        Request::AddExtra(extra) => extras::add(state, extra),
        Request::Adopt { text, why } => adopt(state, text, why),
        Request::AddPerson { name, roles } => add_person(state, name, roles),
        Request::Deliver(asked) => stock::deliver(state, asked, at),
        Request::Take(asked) => stock::take(state, asked, at),
    }
}

/// R3 and R14: neither into the future nor by a clock that has gone back.
fn check_clock(state: &State, at: Moment, now: Moment) -> Result<(), Refusal> {
    if let Some(last) = state.last_recorded.filter(|last| *last - now > TimeDelta::minutes(CLOCK_SLACK_MIN)) {
        return Err(Refusal::new(
            Rule::R14,
            "record anything",
            format!(
                "this machine's clock says {}, but the last entry was recorded at {}",
                now.clock(now.date()),
                last.clock(now.date())
            ),
            "set the clock of this machine right",
        ));
    }
    not_to_come(at, now)
}

/// R3: what is recorded has happened.
///
/// # Errors
/// [`Refusal`] where `at` is still to come.
pub fn not_to_come(at: Moment, now: Moment) -> Result<(), Refusal> {
    if at <= now {
        return Ok(());
    }
    Err(Refusal::new(
        Rule::R3,
        "record what has not happened yet",
        format!("{} is in the future; it is {} now", at.clock(now.date()), now.clock(now.date())),
        "give the time that it happened; for an earlier day give the full time, as in 2026-03-02T16:40:00+13:00",
    ))
}

/// Where a reason or a description is the whole point, an empty one is none.
fn said(request: &Request) -> Result<(), DecideError> {
    let (option, text) = match request {
        Request::Step { anyway: Some(why), .. }
        | Request::Take(TakenFrom { anyway: Some(why), .. })
        | Request::RefuseHold { why, .. }
        | Request::Concede { why, .. }
        | Request::Strike { why, .. }
        | Request::Adopt { why, .. } => ("--why", why),
        Request::ReleaseHold { how, .. } | Request::CloseDefect { how, .. } => ("--how", how),
        Request::OpenDefect { what, .. } => ("--what", what),
        Request::StartStoppage { cause, .. } => ("--cause", cause),
        Request::AddExtra(Extra { what, .. }) => ("--what", what),
        Request::Note { text, .. } | Request::AddPhotos { note: Some(text), .. } => ("--text", text),
        _ => return Ok(()),
    };
    if text.trim().is_empty() { Err(DecideError::Input(format!("{option} is empty"))) } else { Ok(()) }
}

fn known(state: &State, name: &str) -> Result<(), DecideError> {
    if state.person(name).is_some() {
        return Ok(());
    }
    let names: Vec<&str> = state.job.people.iter().map(|person| person.name.as_str()).collect();
    let hint = nearest(name, &names).map(|near| format!("did you mean {near}?"));
    let hint = hint.unwrap_or_else(|| format!("the people are {}", names.join(", ")));
    Err(DecideError::Input(format!("{} is not a person of job {}: {hint}", shortened(name), state.job.key)))
}

fn all_known(state: &State, names: &[String]) -> Result<(), DecideError> {
    names.iter().try_for_each(|name| known(state, name))
}

fn of_kind(state: &State, on: &str, kind: SubjectKind, rule: &str) -> Result<Vec<usize>, DecideError> {
    let each = state.subjects.parse(on)?;
    match each.iter().find(|index| state.subjects.get(**index).kind() != kind) {
        Some(index) => {
            let subject = state.subjects.get(*index);
            Err(DecideError::Input(format!("{subject} is {}: {rule}", subject.kind().a_word())))
        }
        None => Ok(each),
    }
}

fn open_day(
    state: &State,
    crew: &[String],
    talk: &Option<String>,
    hazards: &[String],
) -> Result<Decision, DecideError> {
    all_known(state, crew)?;
    if crew.is_empty() {
        return Err(DecideError::Input("a day needs a crew: --crew NAME…".into()));
    }
    if let Some(day) = state.open_day() {
        return Err(Refusal::new(
            Rule::R12,
            "open a site day",
            format!("the day of {} is still open", day.date.format("%a %-d %b")),
            "close it first: cladlog day close --hours NAME=HOURS…",
        )
        .into());
    }
    let crew: Vec<String> = unique(crew);
    Ok(vec![Body::DayOpened { crew, talk: talk.clone(), hazards: hazards.to_vec() }])
}

fn unique(names: &[String]) -> Vec<String> {
    let mut seen = BTreeSet::new();
    names.iter().filter(|name| seen.insert(name.as_str())).cloned().collect()
}

fn no_day(what: &str) -> Refusal {
    Refusal::new(Rule::R12, what, "no site day is open then", "open the day first: cladlog day open --crew NAME…")
}

fn join_day(state: &State, crew: &[String], at: Moment) -> Result<Decision, DecideError> {
    all_known(state, crew)?;
    state.day_at(at).ok_or_else(|| no_day("join the crew"))?;
    Ok(vec![Body::DayJoined { crew: unique(crew) }])
}

fn close_day(day: &Day, hours: &BTreeMap<String, f64>, note: &Option<String>) -> Result<Decision, DecideError> {
    let missing: Vec<&str> =
        day.crew.iter().map(|(name, _)| name.as_str()).filter(|name| !hours.contains_key(*name)).collect();
    if !missing.is_empty() {
        let flags: Vec<String> =
            missing.iter().map(|name| format!("--hours {}", quoted(&format!("{name}=8")))).collect();
        return Err(DecideError::Input(format!(
            "the hours of {} are missing: {}",
            missing.join(", "),
            flags.join(" ")
        )));
    }
    for (name, worked) in hours {
        if !day.crew.iter().any(|(crew, _)| crew == name) {
            return Err(DecideError::Input(format!("{} is not on the crew of that day", shortened(name))));
        }
        if !(0.0..=MOST_HOURS).contains(worked) {
            return Err(DecideError::Input(format!("{name}: {worked} hours is outside 0 to 24")));
        }
    }
    Ok(vec![Body::DayClosed { hours: hours.clone(), note: note.clone() }])
}

/// What a refusal of a step calls it: "gun the sealant on N/J2".
fn doing(step: &Step, state: &State, subjects: &[usize]) -> String {
    format!("'{}' on {}", step.title, state.subjects.shortly(subjects))
}

fn step_done(
    state: &State,
    key: &str,
    on: &str,
    given: &[Given],
    anyway: Option<&str>,
    at: Moment,
) -> Result<Decision, DecideError> {
    let sequence = state.sequence();
    let Some(index) = sequence.step(key) else {
        let keys: Vec<&str> = sequence.steps.iter().map(|step| step.key.as_str()).collect();
        let hint = nearest(key, &keys).map(|near| format!("; did you mean '{near}'?")).unwrap_or_default();
        return Err(DecideError::Input(format!("sequence {} has no step '{}'{hint}", sequence.key, shortened(key))));
    };
    let step = &sequence.steps[index];
    let subjects = state.subjects.parse(on)?;
    for &subject in &subjects {
        let is = state.subjects.get(subject);
        if !step.may_be_done_on(is, &state.job) {
            let in_brackets = |kinds: String| if kinds.is_empty() { kinds } else { format!(" ({kinds})") };
            return Err(DecideError::Input(format!(
                "step {key} is done on {}{}; {is} is {}{}",
                step.on.a_word(),
                in_brackets(step.kinds.join(" or ")),
                is.kind().a_word(),
                in_brackets(state.job.kind_of(is).to_owned())
            )));
        }
    }
    let mut answered = BTreeSet::new();
    if let Some(twice) = given.iter().find(|given| !answered.insert((&given.subject, &given.key))) {
        return Err(DecideError::Input(format!("{} is answered twice", shortened(&twice.key))));
    }
    let mut bodies = Vec::new();
    for &subject in &subjects {
        let id = state.subjects.get(subject).to_string();
        let answers = answers_for(step, &id, given)?;
        asks::check_asked(step, &answers)?;
        bodies.push(Body::StepDone { step: key.to_owned(), subject: id, answers, anyway: anyway.map(str::to_owned) });
    }
    if let Some(stray) = given
        .iter()
        .filter_map(|given| given.subject.as_ref())
        .find(|subject| !subjects.iter().any(|index| state.subjects.get(*index).to_string() == **subject))
    {
        return Err(DecideError::Input(format!("an answer is given for {stray}, which is not among {on}")));
    }
    if anyway.is_none() {
        let stopped: Vec<(usize, Breach)> = subjects
            .iter()
            .zip(&bodies)
            .filter_map(|(subject, body)| {
                let Body::StepDone { answers, .. } = body else { return None };
                let breaches = judge(state, index, *subject, at, &subjects).into_iter();
                let mut breaches = breaches.chain(stock::judge(state, step, answers, at));
                Some((*subject, cautions::with_others(breaches.next()?, breaches)))
            })
            .collect();
        if let Some((first, breach)) = stopped.first() {
            let mut refusal = breach.refusal(doing(step, state, &subjects));
            if subjects.len() > 1 {
                let id = state.subjects.get(*first);
                let of = format!("{} of {} stopped, {id} first: ", stopped.len(), subjects.len());
                refusal.why = format!("{of}{}; none is recorded", refusal.why);
            }
            return Err(refusal.into());
        }
    }
    // Whoever is stopped need not be asked for answers first.
    for (body, subject) in bodies.iter().zip(&subjects) {
        if let Body::StepDone { answers, .. } = body {
            asks::check_answered(step, &step.asks_with(&state.planned(index, *subject)), answers)?;
        }
    }
    Ok(bodies)
}

fn answers_for(step: &Step, id: &str, given: &[Given]) -> Result<BTreeMap<String, Answer>, DecideError> {
    let mut answers = BTreeMap::new();
    // One for this subject alone goes before one for all.
    let (own, common): (Vec<&Given>, Vec<&Given>) = given
        .iter()
        .filter(|given| given.subject.as_deref().is_none_or(|subject| subject == id))
        .partition(|given| given.subject.is_some());
    for given in common.into_iter().chain(own) {
        let answer = match (&given.value, step.asks.iter().find(|ask| ask.key == given.key)) {
            (Value::Typed(text), Some(ask)) => answer_from_text(ask, text)?,
            (Value::Typed(text), None) => Answer::Words(text.clone()),
            (Value::File(photo), _) => photo.answer(),
        };
        answers.insert(given.key.clone(), answer);
    }
    Ok(answers)
}

fn acknowledge(state: &State, caution: &str, people: &[String], at: Moment) -> Result<Decision, DecideError> {
    let sequence = state.sequence();
    if sequence.caution(caution).is_none() {
        let keys: Vec<&str> = sequence.cautions.iter().map(|caution| caution.key.as_str()).collect();
        return Err(DecideError::Input(format!(
            "there is no caution '{}': they are {}",
            shortened(caution),
            keys.join(", ")
        )));
    }
    all_known(state, people)?;
    let day = state.day_at(at).ok_or_else(|| no_day("acknowledge a caution"))?;
    let day = &state.days[day];
    if let Some(absent) = people.iter().find(|name| !day.crew_at(at).any(|crew| crew == *name)) {
        return Err(Refusal::new(
            Rule::R12,
            format!("acknowledge caution {caution} for {absent}"),
            format!("{absent} is not on the crew of {}", day.date.format("%a %-d %b")),
            format!("if {absent} is on site: cladlog day join --crew {}", quoted(absent)),
        )
        .into());
    }
    Ok(vec![Body::CautionAcknowledged { caution: caution.to_owned(), people: unique(people) }])
}

fn hold_subjects(state: &State, hold: &str, on: &str) -> Result<Vec<(usize, String)>, DecideError> {
    let sequence = state.sequence();
    let Some(index) = sequence.hold(hold) else {
        let keys: Vec<&str> = sequence.holds.iter().map(|hold| hold.key.as_str()).collect();
        return Err(DecideError::Input(format!(
            "there is no hold point '{}': they are {}",
            shortened(hold),
            keys.join(", ")
        )));
    };
    let per = sequence.holds[index].per;
    let rule = format!("hold point {hold} is released on {}", per.a_word());
    let each = of_kind(state, on, per, &rule)?;
    Ok(each.into_iter().map(|subject| (index, state.subjects.get(subject).to_string())).collect())
}

fn end_defect(state: &State, id: &str, person: &str, verb: &str, roles: &[String]) -> Result<(), DecideError> {
    known(state, person)?;
    let Some(defect) = state.defect(id) else {
        return Err(DecideError::Input(format!("there is no defect '{}': see cladlog defect list", shortened(id))));
    };
    if defect.state != DefectState::Open {
        return Err(Refusal::new(
            Rule::R8,
            format!("{verb} defect {id}"),
            format!("it is {} already", defect.state.word()),
            "nothing: go on",
        )
        .into());
    }
    Ok(has_role(state, person, roles, &format!("{verb} defect {id}"))?)
}

/// A measurement out of tolerance is ended by measuring again or by a concession, not by a word.
fn measured_only_by_measuring(state: &State, id: &str) -> Result<(), Refusal> {
    let Some(defect) = state.defect(id).filter(|defect| defect.rule == Some(Rule::R8)) else { return Ok(()) };
    // Unless the step itself is gone from the record: then there is nothing to measure again.
    let stands = (0..state.sequence().steps.len())
        .find(|step| {
            let subject = state.subjects.index(&defect.subject).unwrap_or(0);
            state.done(*step, subject).iter().any(|done| done.entry == defect.opened_by)
        })
        .map(|step| state.sequence().steps[step].key.clone());
    match stands {
        None => Ok(()),
        Some(step) => Err(Refusal::new(
            Rule::R8,
            format!("close defect {id}"),
            "it is a measurement out of tolerance",
            format!(
                "put it right and measure again: cladlog record {step} --on {}; or a concession: cladlog defect concede {id}",
                defect.subject
            ),
        )),
    }
}

fn strike(book: &Book, id: &str, why: &str, anyway: bool, now: Moment) -> Result<Decision, DecideError> {
    let Some(entry) = book.entry(id) else {
        return Err(DecideError::Input(format!("there is no entry '{}': see cladlog log", shortened(id))));
    };
    let what = format!("strike entry {id}");
    if let Some(by) = book.state.struck.get(id) {
        return Err(Refusal::new(Rule::R2, what, format!("entry {by} strikes it already"), "nothing: go on").into());
    }
    if matches!(entry.body, Body::JobAdded { .. }) {
        return Err(Refusal::new(
            Rule::R2,
            what,
            "it sets the job up: without it there is no record",
            "set up another job: cladlog job add FILE.toml",
        )
        .into());
    }
    let lost = lost_footing(book, entry, now)?;
    if !lost.is_empty() && !anyway {
        let each: Vec<String> = lost.iter().take(LOST_TOLD).map(|(id, what)| format!("{id} ({what})")).collect();
        let more = lost.len() - each.len();
        let more = if more == 0 { String::new() } else { format!("; and {more} more") };
        return Err(Refusal::new(
            Rule::R2,
            what,
            format!("later entries would lose their footing: {}{more}", each.join("; ")),
            "strike them first, or strike this one with --anyway: each of them becomes a defect",
        )
        .into());
    }
    Ok(vec![Body::Struck { entry: id.to_owned(), why: why.to_owned() }])
}

fn adopt(state: &State, text: &str, why: &str) -> Result<Decision, DecideError> {
    let adopted = sequence::read(text).map_err(|mistakes| {
        DecideError::Input(mistakes.iter().map(|m| m.in_file("sequence")).collect::<Vec<_>>().join("\n"))
    })?;
    if adopted.sha256 == state.sequence().sha256 {
        return Err(Refusal::new(
            Rule::R13,
            "adopt this sequence",
            "the job holds exactly this text already",
            "nothing: go on",
        )
        .into());
    }
    roles_known(&adopted, state.job.people.iter().flat_map(|person| &person.roles))?;
    Ok(vec![Body::SequenceAdopted { sequence: text.to_owned(), why: why.to_owned() }])
}

/// Insists that every role is one that the sequence knows.
pub(super) fn roles_known<'r>(
    sequence: &sequence::Sequence,
    roles: impl Iterator<Item = &'r String>,
) -> Result<(), DecideError> {
    for role in roles {
        if !sequence.roles.contains(role) {
            return Err(DecideError::Input(format!(
                "sequence {} has no role '{}': the roles are {}",
                sequence.key,
                shortened(role),
                sequence.roles.join(", ")
            )));
        }
    }
    Ok(())
}

fn add_person(state: &State, name: &str, roles: &[String]) -> Result<Decision, DecideError> {
    if state.person(name).is_some() {
        return Err(DecideError::Input(format!("{name} is on the job already")));
    }
    crate::form::check_name(name).map_err(|why| DecideError::Input(format!("the name {why}")))?;
    if roles.is_empty() {
        return Err(DecideError::Input("a person has at least one role: --role ROLE".into()));
    }
    roles_known(state.sequence(), roles.iter())?;
    Ok(vec![Body::PersonAdded { name: name.to_owned(), roles: roles.to_vec() }])
}

/// The body that sets a job up, once its people's roles fit the sequence.
///
/// # Errors
/// [`DecideError::Input`] for a role that the sequence does not know.
pub fn set_up(job: crate::building::Job, sequence: &sequence::Sequence) -> Result<Body, DecideError> {
    roles_known(sequence, job.people.iter().flat_map(|person| &person.roles))?;
    Ok(Body::JobAdded { building: Box::new(job), sequence: sequence.text.clone() })
}
