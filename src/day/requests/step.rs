//! A step was done, on one subject or several at once.

use std::collections::{BTreeMap, BTreeSet};
use std::str::FromStr;
use std::sync::Arc;

use clap::Args;

use super::context::{Context, DecideError, Decision, Dependence, Request, in_field, input, require_text};
use super::photo::Photo;
use crate::building::SubjectIx;
use crate::day::rules::{
    AnswerError, Attempt, Breach, answer_typed, check_answered, check_asked, judge_attempt, judge_batches, with_others,
};
use crate::day::state::State;
use crate::form::nearest;
use crate::moment::{Moment, parse};
use crate::record::{Answer, Body, StepDone};
use crate::refusal::Clears;
use crate::sequence::{Ask, Step, StepIx};
use crate::units::number::shortened;

/// Record a step done on a subject
#[derive(Debug, Clone, Default, Args)]
pub struct RecordStep {
    /// Key of the step
    pub step: String,
    /// What it was done to: N, N/J1..6, N/C3, N/O1, NE, job, or a list
    #[arg(long = "on", value_name = "SUBJECT")]
    pub subject: String,
    /// An answer; a photo's is its file, or a folder for the newest photo in it; KEY@SUBJECT=VALUE for one of several subjects alone
    #[arg(long = "answer", value_name = "KEY=VALUE")]
    pub answers: Vec<Given>,
    /// When it was begun, such as the first metre of a bead: 10:40, or an RFC 3339 time
    #[arg(long, value_name = "TIME")]
    pub began: Option<String>,
    /// Why it is recorded although a rule stops it.
    #[arg(skip)]
    pub anyway: Option<String>,
}

/// An answer as it was given.
#[derive(Debug, Clone)]
pub struct Given {
    /// Only for this subject, where several are recorded at once.
    pub subject: Option<String>,
    /// Key of the ask.
    pub key: String,
    /// As typed or read, or a photo.
    pub value: Value,
}

/// What was given.
#[derive(Debug, Clone)]
pub enum Value {
    /// As typed.
    Typed(String),
    /// As it was read where it was asked for.
    Answer(Answer),
    /// A photo that was looked over.
    File(Box<Photo>),
}

impl Given {
    fn photo(&self) -> Option<&Photo> {
        match &self.value {
            Value::File(photo) => Some(photo),
            Value::Typed(_) | Value::Answer(_) => None,
        }
    }
}

impl FromStr for Given {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (key, value) = text.split_once('=').ok_or("write KEY=VALUE, as in lean=2")?;
        let (key, subject) = match key.split_once('@') {
            Some((key, subject)) => (key, Some(subject.to_owned())),
            None => (key, None),
        };
        Ok(Self { subject, key: key.to_owned(), value: Value::Typed(value.to_owned()) })
    }
}

impl Request for RecordStep {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        if let Some(why) = &self.anyway {
            require_text("why", why)?;
        }
        let (state, at) = (context.state, context.at);
        let index = step_of(state, &self.step)?;
        let step = &state.sequence().steps[index];
        let subjects = state.subjects.parse(&self.subject)?;
        subjects.iter().try_for_each(|subject| check_subject(state, step, *subject))?;
        let mut answered = BTreeSet::new();
        if let Some(twice) = self.answers.iter().find(|given| !answered.insert((&given.subject, &given.key))) {
            return input(format!("{} is answered twice", shortened(&twice.key)));
        }
        let began = self.began.as_deref().map(|text| began_at(text, context)).transpose()?;
        let ids: Vec<String> = subjects.iter().map(|subject| state.subjects.get(*subject).to_string()).collect();
        let answers =
            subjects.iter().zip(&ids).map(|(subject, id)| self.answers_for(step, &state.asks(index, *subject), id));
        let answers = answers.collect::<Result<Vec<_>, _>>()?;
        let stray = self.answers.iter().filter_map(|given| given.subject.as_ref()).find(|on| !ids.contains(on));
        if let Some(stray) = stray {
            let stray = if stray.is_empty() { "nothing" } else { stray };
            return input(format!("an answer is given for {stray}, which is not among {}", self.subject));
        }
        let breaches = subjects.iter().zip(&answers).map(|(subject, answers)| {
            let attempt = Attempt {
                step: index,
                subject: *subject,
                begun: began.unwrap_or(at),
                at,
                device: state.device(),
                together: &subjects,
            };
            let mut breaches = judge_attempt(state, &attempt, &|step, subject| state.complete(step, subject, at));
            breaches.extend(judge_batches(state, step, answers, at));
            breaches
        });
        let breaches: Vec<Vec<Breach>> = breaches.collect();
        if self.anyway.is_none() {
            self.refuse(state, step, &subjects, &breaches)?;
        }
        // Whoever is stopped need not be asked for answers first.
        for (subject, answers) in subjects.iter().zip(&answers) {
            check_answered(step, &state.asks_where(index, *subject, answers), answers)?;
        }
        let body = |((subject, answers), breaches): ((String, _), Vec<Breach>)| {
            let stopped_by = breaches.into_iter().map(Breach::stopped_by).collect();
            Body::StepDone(StepDone {
                step: self.step.clone(),
                subject,
                answers,
                began,
                anyway: self.anyway.clone(),
                stopped_by,
            })
        };
        let bodies = ids.into_iter().zip(answers).zip(breaches).map(body).collect();
        let what = format!("'{}' on {}", step.title, state.subjects.shortly(&subjects));
        let clears = Clears::from("give the time that it happened; or record it anyway: each of them becomes a defect")
            .typed(" (--anyway)");
        let unless_depended_on = self.anyway.is_none().then_some(Dependence { what, clears });
        Ok(Decision { bodies, unless_depended_on, past: None })
    }

    fn photos(&self) -> Vec<&Photo> {
        self.answers.iter().filter_map(Given::photo).collect()
    }
}

impl RecordStep {
    /// Refuses the step where anything stops it on one of its subjects.
    fn refuse(
        &self,
        state: &State,
        step: &Step,
        subjects: &[SubjectIx],
        breaches: &[Vec<Breach>],
    ) -> Result<(), DecideError> {
        let stopped = subjects.iter().zip(breaches).filter(|(_, breaches)| !breaches.is_empty());
        let stopped: Vec<(&SubjectIx, &Vec<Breach>)> = stopped.collect();
        let Some((first, breaches)) = stopped.first() else { return Ok(()) };
        let mut breaches = breaches.iter().cloned();
        let Some(breach) = breaches.next() else { return Ok(()) };
        let what = format!("'{}' on {}", step.title, state.subjects.shortly(subjects));
        let mut refusal = with_others(breach, breaches).refusal(what);
        if subjects.len() > 1 {
            let id = state.subjects.get(**first);
            let of = format!("{} of {} stopped, {id} first: ", stopped.len(), subjects.len());
            refusal.why = format!("{of}{}; nothing was recorded", refusal.why);
        }
        Err(refusal.into())
    }

    /// The answers for one subject, read as their asks want them.
    fn answers_for(&self, step: &Step, asks: &[Arc<Ask>], id: &str) -> Result<BTreeMap<String, Answer>, DecideError> {
        let mut answers = BTreeMap::new();
        // One for this subject alone goes before one for all.
        let (own, common): (Vec<&Given>, Vec<&Given>) = self
            .answers
            .iter()
            .filter(|given| given.subject.as_deref().is_none_or(|subject| subject == id))
            .partition(|given| given.subject.is_some());
        for given in common.into_iter().chain(own) {
            // As it is put for this subject; where it isn't, as the step has it.
            let ask = asks.iter().chain(&step.asks).find(|ask| ask.key == given.key);
            let answer = match (&given.value, ask) {
                (Value::Typed(text), Some(ask)) => {
                    answer_typed(ask, text).map_err(|error| AnswerError::Wrong { key: ask.key.clone(), error })?
                }
                (Value::Typed(text), None) => Answer::Words(text.clone()),
                (Value::Answer(answer), _) => answer.clone(),
                (Value::File(photo), _) => photo.answer(),
            };
            answers.insert(given.key.clone(), answer);
        }
        check_asked(step, &answers)?;
        Ok(answers)
    }
}

/// When something was begun that was done at the time of the record.
fn began_at(text: &str, context: &Context<'_>) -> Result<Moment, DecideError> {
    let began = parse(text, context.at.date(), context.state.job.time_zone)
        .or_else(|error| in_field("began", format!(": {error}")))?;
    if began > context.at {
        let (began, at) = (began.clock(context.at.date()), context.at.clock(context.at.date()));
        return in_field("began", format!(" {began} is after it was done, at {at}"));
    }
    Ok(began)
}

/// The index of a step.
pub(super) fn step_of(state: &State, key: &str) -> Result<StepIx, DecideError> {
    let sequence = state.sequence();
    sequence.step(key).ok_or_else(|| {
        let keys: Vec<&str> = sequence.steps.iter().map(|step| step.key.as_str()).collect();
        let hint = nearest(key, &keys).map(|near| format!("; did you mean '{near}'?")).unwrap_or_default();
        DecideError::Input(format!("sequence {} has no step '{}'{hint}", sequence.key, shortened(key)))
    })
}

fn check_subject(state: &State, step: &Step, subject: SubjectIx) -> Result<(), DecideError> {
    let is = state.subjects.get(subject);
    if step.may_be_done_on(is, &state.job) {
        return Ok(());
    }
    let in_brackets = |kinds: String| if kinds.is_empty() { kinds } else { format!(" ({kinds})") };
    input(format!(
        "step {} is done on {}{}; {is} is {}{}",
        step.key,
        step.on_words(),
        in_brackets(step.kinds.join(" or ")),
        is.kind().a_word(),
        in_brackets(state.job.kind_of(is).to_owned())
    ))
}
