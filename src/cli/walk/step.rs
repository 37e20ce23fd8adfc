//! A step: what is asked, each answer judged as it comes, one record for every subject of the group.

use std::sync::Arc;

use super::place::among;
use super::session::{Interrupt, Walk};
use crate::building::SubjectIx;
use crate::cli::failure::Failure;
use crate::cli::photos::{batch_answer, photo_answer};
use crate::cli::prompts::question::{Asker, Question};
use crate::cli::prompts::screen::{say, say_wrapped};
use crate::day::{
    Book, Given, Group, InOneGo, RecordStep, Urgency, Value, answer_typed, basis_words, how_typed, is_failing,
    is_probably_a_slip, judged_words, keep_recordable, last_label, next_checked, on_words, planned_ask, required_words,
    time_before,
};
use crate::moment::{Moment, parse};
use crate::plain::count;
use crate::record::{AddNote, Answer};
use crate::sequence::{Ask, AskKind, StepIx};
use crate::units::number::{show, with_point};

/// What is answered to "Is that what you measured?".
enum Meant {
    Yes,
    No,
    /// This is: as it was typed, and what it is.
    Instead((String, Answer)),
}

/// What is answered to "Record it anyway?".
enum Anyway {
    No,
    For(String),
    /// It was done then.
    At(Moment),
}

impl Walk<'_> {
    /// Asks what a step asks and records it; whether it was recorded.
    pub(super) fn step(&mut self, group: &Group) -> Result<bool, Interrupt> {
        self.group.clone_from(&group.subjects);
        self.step_head(group);
        let mut subjects = group.subjects.clone();
        let mut done = self.up_to_which(group.step, &mut subjects);
        loop {
            self.group.clone_from(&subjects);
            match done.and_then(|()| self.step_on(group.step, &subjects)) {
                Err(Interrupt::Only(mut some)) => {
                    keep_recordable(&self.book().state, group.step, &mut some, self.now());
                    if some.is_empty() {
                        say("  Those can't be recorded yet: the work before them isn't done.");
                    } else {
                        say(&format!("  Only {}.", self.book().state.subjects.shortly(&some)));
                        // What was answered was of all of them.
                        self.tape.clear();
                        subjects = some;
                    }
                    done = Ok(());
                }
                other => return other,
            }
        }
    }

    /// Of courses that go up in turn: up to which one. Enter takes them up to the next that is checked.
    fn up_to_which(&mut self, index: StepIx, subjects: &mut Vec<SubjectIx>) -> Result<(), Interrupt> {
        let book = Arc::clone(self.book());
        let state = &book.state;
        let step = &state.sequence().steps[index];
        if !step.in_turn || subjects.len() < 2 {
            return Ok(());
        }
        let usual = next_checked(state, index, subjects);
        let question = Question::new(format!("Up to which {}", state.subjects.get(subjects[0]).kind()), |text| {
            let found = among(&state.subjects, subjects, text).ok();
            let last = found.iter().flatten().last();
            let last = last.and_then(|last| subjects.iter().position(|subject| subject == last));
            last.ok_or_else(|| format!("type one of {}", state.subjects.shortly(subjects)))
        });
        let last = state.subjects.get(subjects[usual]).number().unwrap_or_default().to_string();
        let last = self.ask(question.usual(last))?;
        subjects.truncate(last + 1);
        Ok(())
    }

    fn step_head(&self, group: &Group) {
        let (state, now, first) = (&self.book().state, self.now(), group.subjects[0]);
        let step = &state.sequence().steps[group.step];
        self.head(&format!("{}{}", step.title, on_words(&state.subjects, &group.subjects)));
        for stoppage in state.open_stoppages().filter(|one| state.is_stopped_by(one, first)) {
            say_wrapped(&format!("  {}.", stoppage.standing(now)), 4);
        }
        if group.urgency != Urgency::InOrder {
            say_wrapped(&format!("  Why now: {}.", group.why), 4);
        }
        if let Some(redo) = state.undone_by(group.step, first, now).and_then(|run| run.window.redo.as_ref()) {
            say_wrapped(&format!("  To do: {redo}"), 4);
        }
        if let Some(how) = &step.how {
            say_wrapped(&format!("  How: {how}"), 4);
        }
        for (what, line) in state.shown_before(group.step, first) {
            say_wrapped(&format!("  {what}: {line}"), 4);
        }
        if let Some(planned) = state.active_plan(now).as_ref().and_then(|plan| plan.of(group.step, first)) {
            say_wrapped(&format!("  By the seal plan: {}.", planned.in_words(now.date())), 4);
        }
        if is_failing(state, group.step, first) {
            let concession = if step.daily { "" } else { "'defects' for a concession, or " };
            say(&format!("  Or type {concession}'skip' to carry on with other work."));
        }
    }

    fn step_on(&mut self, index: StepIx, subjects: &[SubjectIx]) -> Result<bool, Interrupt> {
        let book = Arc::clone(self.book());
        let state = &book.state;
        let step = &state.sequence().steps[index];
        self.is_vouched_for = false;
        let mut answers: Vec<Given> = Vec::new();
        let mut reasons: Vec<String> = Vec::new();
        for ask in &step.asks {
            if !ask.is_asked(|key| chosen(&answers, key)) {
                continue;
            }
            let before = answers.len();
            self.answers(&book, index, ask, subjects, &mut answers)?;
            let is_no = |given: &Given| matches!(given.value, Value::Answer(Answer::Yes(false)));
            if answers[before..].iter().any(is_no) {
                reasons.extend(self.ask(Question::optional("  What is wrong (Enter to leave it at that)"))?);
            }
        }
        let mut go = InOneGo::from(state, index, subjects);
        let times = self.done_so_far(&mut go)?;
        // Enter alone records nothing: where it answered all that was asked, or nothing was, the lead says that it is done.
        if !self.is_vouched_for && !self.ask(Question::confirm("Done?"))? {
            return Ok(false);
        }
        let on = state.subjects.shortly(subjects);
        let request = RecordStep { step: step.key.clone(), subject: on, answers, ..RecordStep::default() };
        let all = go.timed(request, &times, self.time()).map_err(Failure::input)?;
        // Whoever holds on to it while something is recorded makes it be copied.
        drop(book);
        if !self.record_at_once(all)? {
            return Ok(false);
        }
        for text in reasons {
            self.record(&AddNote { subject: self.here(), text })?;
        }
        let state = &self.book().state;
        let failing = |subject: &SubjectIx| is_failing(state, index, *subject);
        let failing: Vec<SubjectIx> = subjects.iter().copied().filter(failing).collect();
        if !failing.is_empty() {
            let on = on_words(&state.subjects, &failing);
            say_wrapped(&format!("  The step stays open{on} until it is fixed and checked again."), 4);
        }
        Ok(true)
    }

    /// Which of the steps that follow at once are done too; then when the first was begun, where a window counts from
    /// there, and the times of the others. Of several the beginning has to be said: "just now" is when the last of them
    /// was done.
    fn done_so_far(&mut self, go: &mut InOneGo<'_>) -> Result<Vec<Option<Moment>>, Interrupt> {
        let (at, zone) = (self.time(), self.book().state.job.time_zone);
        let picked = match go.following() {
            [] => 0,
            _ => self.ask(Question::choice("Done so far", &go.done_so_far()).usually(0))?,
        };
        go.truncate(picked);
        if !go.counts_from_its_beginning() {
            return Ok(Vec::new());
        }
        let times = |text: &str| {
            let words = text.split([' ', ',']).filter(|word| !word.is_empty());
            let times = words.map(|word| time_before(word, at, zone)).collect::<Result<Vec<_>, _>>()?;
            match times.as_slice() {
                [] => Err("type when it was begun, such as 10:40, or 6 for 6 minutes ago".to_owned()),
                times if times.len() > picked + 1 => Err(format!("type at most {}", count(picked + 1, "time"))),
                times if !times.is_sorted() => Err("type the times in the order in which it was done".to_owned()),
                times => Ok(times.iter().copied().map(Some).collect()),
            }
        };
        if picked == 0 {
            let question = Question::new("Begun at, such as 10:40 or 6 for 6 min ago (Enter: just now)", times);
            return Ok(self.ask(question.or_none())?.unwrap_or_default());
        }
        let names = go.following_words();
        let question = Question::new("Begun at, such as 10:40 or 6 for 6 min ago", times)
            .above(format!("  When it was begun; then, where they were not just now, the times of: {names}."));
        self.ask(question)
    }

    /// Records a step and those that followed it at once, each with its own time: as one where nothing stops them, so that
    /// one `undo` takes them back; else one by one, so that what is stopped is said and can be recorded anyway.
    fn record_at_once(&mut self, all: Vec<(RecordStep, Moment)>) -> Result<bool, Interrupt> {
        if all.len() > 1 && self.record_if_in_order(&all)? {
            return Ok(true);
        }
        let typed = self.at;
        for (mut request, at) in all {
            // The time that the lead gave, or now: what is recorded later has a time of its own.
            self.at = Some(at).filter(|at| typed.is_some() || *at != self.now());
            let mut done = self.record(&request)?;
            if !done {
                // What a rule stops may have happened nevertheless (R11).
                done = self.anyway(&mut request)?;
            }
            self.at = typed;
            if !done {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Records what a rule stopped, where that happened nevertheless (R11): for a reason, or in time and only typed later.
    pub(super) fn anyway(&mut self, request: &mut RecordStep) -> Result<bool, Interrupt> {
        let (now, zone) = (self.now(), self.book().state.job.time_zone);
        loop {
            let question = Question::of_any_text("Record it anyway? Reason (Enter for no)", |text| {
                let time = text.strip_prefix("at ").map(|time| parse(time.trim(), now.date(), zone));
                match time {
                    Some(Ok(at)) if at > now => {
                        Err(format!("that is still to come; it is {} now", now.clock(now.date())))
                    }
                    Some(Ok(at)) => Ok(Anyway::At(at)),
                    _ if text.is_empty() || is_word(text, "no") => Ok(Anyway::No),
                    // A time alone, a number or a yes says nothing to whoever reads the defect.
                    _ if is_word(text, "yes") || !text.chars().any(char::is_alphabetic) => {
                        Err("type the reason in words; a time goes after 'at'".to_owned())
                    }
                    _ => Ok(Anyway::For(text.to_owned())),
                }
            });
            let late = format!("  Was it done in time? Type when, such as: at {}", now.clock(now.date()));
            let question = if self.came_too_late { question.above(late) } else { question };
            match self.ask(question)? {
                Anyway::No => return Ok(false),
                Anyway::For(reason) => {
                    request.anyway = Some(reason);
                    return self.record(request);
                }
                Anyway::At(at) => {
                    self.at = Some(at);
                    if self.record(request)? {
                        return Ok(true);
                    }
                }
            }
        }
    }

    /// The question with what its tolerance rests on: that is said once in a walk, and again by `?`.
    fn with_basis<'q, T>(&mut self, question: Question<'q, T>, ask: &Ask) -> Question<'q, T> {
        let Some(basis) = basis_words(ask) else { return question };
        let is_new = self.explained.insert(basis.clone());
        question.once(is_new.then(|| basis.clone())).help(basis)
    }

    /// The question below the tolerance that it is held to.
    pub(super) fn with_limit<'q, T>(&mut self, question: Question<'q, T>, ask: &Ask) -> Question<'q, T> {
        let question = self.with_basis(question, ask);
        required_words(ask).into_iter().fold(question, |question, required| question.first(format!("  {required}")))
    }

    /// One question, of all subjects at once or of each where it is measured.
    fn answers(
        &mut self,
        book: &Book,
        step: StepIx,
        ask: &Ask,
        subjects: &[SubjectIx],
        answers: &mut Vec<Given>,
    ) -> Result<(), Interrupt> {
        let one_for_all = subjects.len() == 1;
        let id = |subject: SubjectIx| book.state.subjects.get(subject).to_string();
        let given = |value: Value| Given { subject: None, key: ask.key.clone(), value };
        let is = |yes: bool| given(Value::Answer(Answer::Yes(yes)));
        match ask.kind {
            AskKind::Measured(_) => return self.measurements(book, step, ask, subjects, answers),
            AskKind::YesNo => {
                let yes = self.confirmed(ask)?;
                if yes || one_for_all {
                    answers.push(is(yes));
                } else {
                    let wrong = self.ask(which_are_not(book, subjects))?;
                    answers.push(is(true));
                    let no = |subject| Given { subject: Some(id(subject)), ..is(false) };
                    answers.extend(wrong.into_iter().map(no));
                }
            }
            AskKind::Choice => {
                let question = Question::choice("Number", &ask.choices).first(&ask.prompt);
                let question = self.with_limit(question, ask);
                let picked = self.ask(question)?;
                let choice = Answer::Words(ask.choices[picked].clone());
                self.say_judged(ask, &choice);
                answers.push(given(Value::Answer(choice)));
            }
            AskKind::Text | AskKind::Photo | AskKind::Batch => {
                let value = match self.offered(book, step, ask, subjects) {
                    Some(offered) => self.batch(book, step, ask, subjects, &offered)?.map(Value::Typed),
                    None => self.text_or_file(book, ask)?,
                };
                answers.extend(value.map(given));
            }
        }
        Ok(())
    }

    /// Yes or no; a no is asked again before it becomes a defect.
    fn confirmed(&mut self, ask: &Ask) -> Result<bool, Interrupt> {
        loop {
            let question = self.with_limit(Question::confirm(&ask.prompt), ask);
            let yes = self.ask(question)?;
            let again = "  That opens a defect. Is it right? (n to answer again)";
            if yes || self.ask(Question::yes_no(again, true))? {
                return Ok(yes);
            }
        }
    }

    /// A measurement of each subject. Held against a plan, each has a tolerance of its own, or is not asked.
    fn measurements(
        &mut self,
        book: &Book,
        step: StepIx,
        ask: &Ask,
        subjects: &[SubjectIx],
        answers: &mut Vec<Given>,
    ) -> Result<(), Interrupt> {
        // What was chosen before decides the tolerance, where it hangs on that.
        let choice = ask.by.as_deref().and_then(|by| chosen(answers, by)).map(str::to_owned);
        let put = |subject: &SubjectIx| {
            let ask = planned_ask(&book.state, step, ask, *subject)?;
            Some((*subject, ask.where_chosen(choice.as_deref())))
        };
        let asked = subjects.iter().filter_map(put);
        let mut unit = if ask.unit().is_empty() { String::new() } else { format!(", {}", ask.unit()) };
        // What was measured is typed, also where it is as usual.
        unit.extend(ask.usual.map(|usual| format!(" (usually {})", show(usual))));
        let many = subjects.len() > 1;
        for (place, (subject, ask)) in asked.enumerate() {
            let id = book.state.subjects.get(subject).to_string();
            let text = if many { format!("  {id}{unit}") } else { format!("{}{unit}", ask.prompt) };
            let mut above = Vec::new();
            if place == 0 || ask.planned.is_some() {
                above.extend(required_words(&ask).map(|required| format!("  {required}")));
                above.extend(how_typed(&ask));
            }
            if place == 0 && many {
                above.push(ask.prompt.clone());
            }
            let measured = self.measurement(&ask, &text, above)?;
            let subject = many.then_some(id);
            let given = |answer| Given { subject, key: ask.key.clone(), value: Value::Answer(answer) };
            answers.extend(measured.map(given));
        }
        Ok(())
    }

    /// A measurement, judged at once. Out of tolerance, or hardly ever measured, it is asked for again before it is taken;
    /// another number there takes its place.
    fn measurement(&mut self, ask: &Ask, text: &str, mut above: Vec<String>) -> Result<Option<Answer>, Interrupt> {
        let read = |text: &str| {
            let text = as_read(ask, text);
            answer_typed(ask, &text).map(|answer| (text, answer)).map_err(|error| error.to_string())
        };
        let mut typed_again = None;
        loop {
            let (given, answer) = match typed_again.take() {
                Some(again) => again,
                None => {
                    let question = Question::new(text, |text| match text {
                        "" if ask.optional => Ok(None),
                        text => read(text).map(Some),
                    });
                    let question = self.with_basis(above.drain(..).fold(question, Question::above), ask);
                    let Some(given) = self.ask(question)? else { return Ok(None) };
                    given
                }
            };
            let (held, slip) = (self.say_judged(ask, &answer), is_probably_a_slip(ask, &answer));
            if held && !slip {
                return Ok(Some(answer));
            }
            let is_meant = format!("  Is {given} what you measured? (n, or the right one)");
            let question = Question::new(is_meant, |text| match text.to_lowercase().as_str() {
                "y" | "yes" => Ok(Meant::Yes),
                "n" | "no" => Ok(Meant::No),
                _ => {
                    read(text).map(Meant::Instead).map_err(|why| format!("type y, n, or the right measurement; {why}"))
                }
            });
            match self.ask(question.usual(if slip { "no" } else { "yes" }.to_owned()))? {
                Meant::Yes => return Ok(Some(answer)),
                Meant::No => {}
                Meant::Instead(again) => typed_again = Some(again),
            }
        }
    }

    /// Says whether an answer is in tolerance, and by how much it is out.
    fn say_judged(&self, ask: &Ask, answer: &Answer) -> bool {
        let judged = judged_words(ask, answer);
        let held = judged.as_ref().is_none_or(|(held, _)| *held);
        match judged.filter(|_| !self.tape.is_replaying()) {
            None => {}
            Some((true, words)) => say(&format!("  {words}")),
            Some((false, words)) => self.bold(&format!("  {words}")),
        }
        held
    }

    /// Text or a photo; nothing where it may be left out.
    fn text_or_file(&mut self, book: &Book, ask: &Ask) -> Result<Option<Value>, Interrupt> {
        let hint = match (ask.kind, ask.optional) {
            (AskKind::Photo, true) => " (file or folder, Enter for none)",
            (AskKind::Photo, false) => " (file or folder)",
            (_, true) => " (Enter for none)",
            (_, false) => "",
        };
        let zone = book.state.job.time_zone;
        let question = Question::of_any_text(format!("{}{hint}", ask.prompt), |text| {
            if text.is_empty() && ask.optional {
                return Ok(None);
            }
            let value = match ask.kind {
                AskKind::Photo => photo_answer(&ask.key, text, zone),
                AskKind::Batch => batch_answer(text, zone),
                _ => Ok(Value::Typed(text.to_owned())),
            };
            let value = value.map_err(|failure| failure.lines().join("\n  "))?;
            if let Value::Typed(text) = &value {
                answer_typed(ask, text).map_err(|error| error.to_string())?;
            }
            Ok(Some(value))
        });
        let usual = match (ask.kind, ask.optional) {
            (_, true) => None,
            (AskKind::Photo, _) => self.photo_folder.clone(),
            _ => last_label(&book.state, ask),
        };
        let question = self.with_limit(question, ask).usual(usual);
        let value = self.ask(question)?;
        if let Some(Value::File(photo)) = &value {
            self.note_photo(photo);
        }
        Ok(value)
    }

    /// When what is being asked for happened.
    pub(super) fn time(&self) -> Moment {
        self.at.unwrap_or_else(|| self.now())
    }
}

/// Whether a text is this word or its first letter.
fn is_word(text: &str, word: &str) -> bool {
    text.eq_ignore_ascii_case(word) || text.eq_ignore_ascii_case(&word[..1])
}

/// What was chosen at an earlier question of the step.
fn chosen<'a>(answers: &'a [Given], ask: &str) -> Option<&'a str> {
    answers.iter().rev().find(|given| given.key == ask).and_then(|given| match &given.value {
        Value::Answer(Answer::Words(choice)) => Some(choice.as_str()),
        _ => None,
    })
}

/// A measurement as people read it out: with its unit, or with a decimal comma.
fn as_read(ask: &Ask, text: &str) -> String {
    if ask.square_over.is_some() {
        return text.to_owned();
    }
    with_point(text.strip_suffix(ask.unit()).unwrap_or(text).trim_end())
}

/// Which of the subjects are not in order.
fn which_are_not<'q>(book: &'q Book, subjects: &'q [SubjectIx]) -> Question<'q, Vec<SubjectIx>> {
    let list = &book.state.subjects;
    let example = list.get(subjects[0]).to_string();
    let short = example.rsplit('/').next().unwrap_or(&example);
    let question = Question::new(format!("  Which ones are not (such as {example} or {short})"), move |text| {
        if text.eq_ignore_ascii_case("all") { Ok(subjects.to_vec()) } else { among(list, subjects, text) }
    });
    question.usual("all".to_owned())
}
