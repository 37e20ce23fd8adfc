//! A step: what is asked, each answer judged as it comes, one record for every subject of the group.

use super::batch::Named;
use super::errand::{Group, together};
use super::{Away, Walk};
use crate::building::Subject;
use crate::cli::photos::{batch_answer, photo_answer};
use crate::cli::prompts::{say, say_loud, say_wrapped};
use crate::day::{Book, Given, Request, Value, answer_from_text, judge_answers};
use crate::record::Answer;
use crate::sequence::{Ask, AskKind};
use crate::units::number::show;

impl Walk<'_> {
    /// Asks what a step asks and records it; whether it was recorded.
    pub(super) fn step(&mut self, group: &Group) -> Result<bool, Away> {
        let mut subjects = group.subjects.clone();
        self.group = subjects.clone();
        self.head(group);
        loop {
            match self.step_on(group.step, &subjects) {
                Err(Away::Only(some)) => {
                    let mut some = some;
                    together(&self.book.state, group.step, &mut some, self.now());
                    if some.is_empty() {
                        say("  Not those alone: what comes before them is not done.");
                        continue;
                    }
                    subjects = some;
                    self.group = subjects.clone();
                    say(&format!("  Only {}.", self.book.state.subjects.shortly(&subjects)));
                }
                other => return other,
            }
        }
    }

    fn head(&self, group: &Group) {
        let state = &self.book.state;
        let step = &state.sequence().steps[group.step];
        let on = on_words(&self.book, &group.subjects);
        say("");
        say_loud(&format!("{}{on}", step.title), self.out.colour());
        for stoppage in state.open_stoppages().filter(|one| one.stops(&state.subjects, group.subjects[0])) {
            say_wrapped(&format!("  {}.", stoppage.standing(self.now())), 4);
        }
        say_wrapped(&format!("  Why now: {}.", group.why), 4);
        if let Some(how) = &step.how {
            say_wrapped(&format!("  How: {how}"), 4);
        }
        for line in state.plan_lines(group.step, group.subjects[0]) {
            say_wrapped(&format!("  Plan: {line}"), 4);
        }
        if let Some(thing) = state.following(self.now()).as_ref().and_then(|p| p.of(group.step, group.subjects[0])) {
            say_wrapped(&format!("  By the seal plan: {}.", thing.in_words(self.now().date())), 4);
        }
        let failing = state.done(group.step, group.subjects[0]).last().is_some_and(|done| !done.failing.is_empty());
        if failing {
            say("  Or type 'defects' for a concession, 'skip' to go on with something else.");
        }
    }

    fn step_on(&mut self, index: usize, subjects: &[usize]) -> Result<bool, Away> {
        let book = self.book.clone();
        let step = &book.state.sequence().steps[index];
        let on = book.state.subjects.shortly(subjects);
        let questions = subjects.iter().any(|subject| !step.asks_with(&book.state.planned(index, *subject)).is_empty());
        if !questions && !self.vouched("Done?")? {
            return Ok(false);
        }
        let mut answers: Vec<Given> = Vec::new();
        for ask in &step.asks {
            self.answers(&book, index, ask, subjects, &mut answers)?;
        }
        let request = Request::Step { step: step.key.clone(), on: on.clone(), answers, anyway: None };
        let what = format!("{}{}", step.title, on_words(&book, subjects));
        if !self.record(&request, &what)? {
            return self.anyway(request, &what);
        }
        let open =
            |subject: &usize| self.book.state.done(index, *subject).last().is_some_and(|done| !done.failing.is_empty());
        let open: Vec<usize> = subjects.iter().copied().filter(open).collect();
        if !open.is_empty() {
            let on = on_words(&self.book, &open);
            say_wrapped(&format!("  The step stays open{on} until it is put right and measured again."), 4);
        }
        Ok(true)
    }

    /// What a rule stops may have happened all the same (R11).
    fn anyway(&mut self, request: Request, what: &str) -> Result<bool, Away> {
        let Request::Step { step, on, answers, .. } = request else { return Ok(false) };
        let why = self.line("Happened all the same? Why (Enter: no)", None, true)?;
        if why.is_empty() {
            return Ok(false);
        }
        Ok(self.record(&Request::Step { step, on, answers, anyway: Some(why) }, what)?)
    }

    /// One question, of all subjects at once or of each where it is measured.
    fn answers(
        &mut self,
        book: &Book,
        step: usize,
        ask: &Ask,
        subjects: &[usize],
        answers: &mut Vec<Given>,
    ) -> Result<(), Away> {
        let id = |subject: usize| book.state.subjects.get(subject).to_string();
        let one_for_all = subjects.len() == 1;
        let asked_of = |subject: usize| asked_of(book, step, ask, subject);
        if is_measured(ask.kind) {
            // Held against a plan, each subject has a tolerance of its own, or is not asked.
            let subjects: Vec<usize> =
                subjects.iter().copied().filter(|subject| asked_of(*subject).is_some()).collect();
            let Some(first) = subjects.first().and_then(|first| asked_of(*first)) else { return Ok(()) };
            if ask.planned.is_none() {
                say_wanted(&first);
            }
            let unit = ask.unit();
            let unit = if unit.is_empty() { String::new() } else { format!(", {unit}") };
            if !one_for_all {
                say_wrapped(&ask.prompt, 2);
            }
            for subject in subjects {
                let Some(ask) = &asked_of(subject) else { continue };
                if ask.planned.is_some() {
                    say_wanted(ask);
                }
                let question = if one_for_all { ask.prompt.clone() } else { format!("  {}", id(subject)) };
                let given = self.measured(ask, &format!("{question}{unit}"))?;
                let subject = (!one_for_all).then(|| id(subject));
                answers.extend(given.map(|text| Given { subject, key: ask.key.clone(), value: Value::Typed(text) }));
            }
            return Ok(());
        }
        say_wanted(ask);
        let typed = |text: &str| Given { subject: None, key: ask.key.clone(), value: Value::Typed(text.to_owned()) };
        match ask.kind {
            AskKind::YesNo => {
                let yes = self.vouched(&ask.prompt)?;
                if yes || one_for_all {
                    answers.push(typed(if yes { "yes" } else { "no" }));
                } else {
                    let wrong = self.which(book, subjects)?;
                    answers.push(typed("yes"));
                    answers
                        .extend(wrong.into_iter().map(|subject| Given { subject: Some(id(subject)), ..typed("no") }));
                }
                if !yes {
                    say("  Not in order: this opens a defect.");
                }
            }
            AskKind::Choice => {
                say_wrapped(&ask.prompt, 2);
                let picked = self.pick("Number", &ask.choices, None)?;
                answers.push(typed(&ask.choices[picked]));
                self.judged(ask, &ask.choices[picked]);
            }
            _ => {
                if ask.kind == AskKind::Batch {
                    let step = &book.state.sequence().steps[step];
                    let label = match self.batch(book, step, ask, subjects)? {
                        Named::AskPlainly => None,
                        Named::Nothing => return Ok(()),
                        Named::Label(label) => Some(label),
                    };
                    if let Some(label) = label {
                        answers.push(typed(&label));
                        return Ok(());
                    }
                }
                let usual = if ask.optional { None } else { last_label(book, ask) };
                let value = self.words(ask, usual.as_deref())?;
                answers.extend(value.map(|value| Given { subject: None, key: ask.key.clone(), value }));
            }
        }
        Ok(())
    }

    /// A measurement, judged at once; typed wrongly, it is asked again before it becomes a defect.
    fn measured(&mut self, ask: &Ask, question: &str) -> Result<Option<String>, Away> {
        let usual = ask.usual.map(show);
        loop {
            let text = self.until(question, usual.as_deref(), |text| {
                if text.is_empty() && ask.optional {
                    return Ok(String::new());
                }
                answer_from_text(ask, text).map(|_| text.to_owned()).map_err(|error| error.to_string())
            })?;
            if text.is_empty() {
                return Ok(None);
            }
            if self.judged(ask, &text) || self.yes("  Measured like that? (no: type it again)", true)? {
                return Ok(Some(text));
            }
        }
    }

    /// Says whether an answer is in tolerance, and by how much it is out.
    fn judged(&self, ask: &Ask, text: &str) -> bool {
        let Ok(answer) = answer_from_text(ask, text) else { return true };
        let by = out_by(ask, &answer);
        let one = std::iter::once((ask.key.clone(), answer)).collect();
        if judge_answers(std::slice::from_ref(ask), &one).is_empty() {
            if !ask.tolerance_words().is_empty() {
                say("  In tolerance.");
            }
            return true;
        }
        let by = by.map(|by| format!(" by {by}")).unwrap_or_default();
        say_loud(&format!("  Out{by}: wanted {}. It opens a defect.", ask.tolerance_words()), self.out.colour());
        false
    }

    /// Text, a photo or a batch; nothing where it may be left out.
    fn words(&mut self, ask: &Ask, usual: Option<&str>) -> Result<Option<Value>, Away> {
        let hint = match (ask.kind, ask.optional) {
            (AskKind::Photo, true) => " (file or folder; Enter: none)",
            (AskKind::Photo, false) => " (file or folder)",
            (_, true) => " (Enter: none)",
            (_, false) => "",
        };
        let question = format!("{}{hint}", ask.prompt);
        let zone = self.book.state.job.time_zone;
        loop {
            let text = self.line(&question, usual, true)?;
            if text.is_empty() && ask.optional {
                return Ok(None);
            }
            if let Err(error) = answer_from_text(ask, &text) {
                say(&format!("  {error}"));
                continue;
            }
            let value = match ask.kind {
                AskKind::Photo => photo_answer(&ask.key, &text, zone),
                AskKind::Batch => batch_answer(&text, zone),
                _ => Ok(Value::Typed(text)),
            };
            match value {
                Ok(Value::File(photo)) => {
                    // Of a folder, the person should see which one was taken.
                    say_wrapped(&format!("  Photo {}.", photo.file), 4);
                    return Ok(Some(Value::File(photo)));
                }
                Ok(value) => return Ok(Some(value)),
                Err(failure) => say_wrapped(&format!("  {failure}"), 4),
            }
        }
    }

    /// Which of the subjects are not in order.
    fn which(&mut self, book: &Book, subjects: &[usize]) -> Result<Vec<usize>, Away> {
        let list = &book.state.subjects;
        let wall = list.get(subjects[0]).wall().unwrap_or_default().to_owned();
        let example = list.get(subjects[0]).to_string();
        let question =
            format!("  Which are not, such as {example} or {}", example.trim_start_matches(&format!("{wall}/")));
        self.until(&question, Some("all"), |text| {
            if text.eq_ignore_ascii_case("all") {
                return Ok(subjects.to_vec());
            }
            let mut found = Vec::new();
            for item in text.split([',', ' ']).filter(|item| !item.is_empty()) {
                let some = list.parse(item).or_else(|error| list.parse(&format!("{wall}/{item}")).map_err(|_| error));
                found.extend(some.map_err(|error| error.to_string())?);
            }
            let known = !found.is_empty() && found.iter().all(|subject| subjects.contains(subject));
            if known { Ok(found) } else { Err(format!("some of {}", list.shortly(subjects))) }
        })
    }
}

/// " on N/C1..12"; nothing for the job itself.
fn on_words(book: &Book, subjects: &[usize]) -> String {
    match subjects {
        [only] if *book.state.subjects.get(*only) == Subject::Job => String::new(),
        _ => format!(" on {}", book.state.subjects.shortly(subjects)),
    }
}

/// A question as it is put for one subject: with the tolerance that a kept plan gives, or not at all.
fn asked_of(book: &Book, step: usize, ask: &Ask, subject: usize) -> Option<Ask> {
    let planned = book.state.planned(step, subject);
    book.state.sequence().steps[step].asks_with(&planned).into_iter().find(|found| found.key == ask.key)
}

/// The tolerance and what it rests on, before anything is typed.
fn say_wanted(ask: &Ask) {
    let wanted = match ask.kind {
        // That yes is in order needs no saying.
        AskKind::YesNo => String::new(),
        _ => ask.tolerance_words(),
    };
    let basis = ask.basis.as_ref().map(|basis| format!("Basis: {basis}.")).unwrap_or_default();
    let wanted = if wanted.is_empty() { wanted } else { format!("Wanted: {wanted}. ") };
    let line = format!("{wanted}{basis}");
    if !line.is_empty() {
        say_wrapped(&format!("  {line}"), 4);
    }
}

/// What is measured may differ from subject to subject.
fn is_measured(kind: AskKind) -> bool {
    matches!(kind, AskKind::Length | AskKind::Angle | AskKind::Temperature | AskKind::Percent | AskKind::Count)
}

/// How far a number is out of tolerance, with its unit.
fn out_by(ask: &Ask, answer: &Answer) -> Option<String> {
    let Answer::Number(value) = answer else { return None };
    let over = ask.tolerance.most.map(|most| value - most).filter(|over| *over > 0.0);
    let under = ask.tolerance.least.map(|least| least - value).filter(|under| *under > 0.0);
    // To a thousandth: what decimal subtraction leaves behind that is no measurement.
    let by = (over.or(under)? * 1000.0).round() / 1000.0;
    Some(format!("{} {}", show(by), ask.unit()).trim_end().to_owned())
}

/// What was last read off the label for this question: mostly it is still the same tin.
fn last_label(book: &Book, ask: &Ask) -> Option<String> {
    if ask.kind != AskKind::Batch {
        return None;
    }
    let state = &book.state;
    let all = state.work().flat_map(|(step, subject)| state.done(step, subject));
    all.filter_map(|done| match done.answers.get(&ask.key) {
        Some(Answer::Words(words)) => Some((done.at, words)),
        _ => None,
    })
    .max_by_key(|(at, _)| *at)
    .map(|(_, words)| words.clone())
}
