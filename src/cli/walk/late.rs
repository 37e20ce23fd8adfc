//! What follows at once and is not recorded: whoever guns a joint tools it before they come back to the laptop.

use std::sync::Arc;

use super::session::{Interrupt, Walk};
use crate::cli::prompts::question::{Asker, Question};
use crate::cli::prompts::screen::say_wrapped;
use crate::day::{RecordStep, missed_at_once, on_words, time_before};

impl Walk<'_> {
    /// Asks when a step was done that had to follow at once and is not recorded: the time for it has passed, but mostly it
    /// was done in time. Whether anything was asked.
    pub(super) fn ask_when_it_was_done(&mut self) -> Result<bool, Interrupt> {
        let (book, now) = (Arc::clone(self.book()), self.now());
        let state = &book.state;
        let key = |window: &str, began| (window.to_owned(), began);
        let missed = missed_at_once(state, now).into_iter().find(|it| {
            it.subjects.iter().any(|subject| self.is_here(state, *subject))
                && !self.asked_when_done.contains(&key(&it.run.window.key, it.run.began))
        });
        let Some((missed, closes)) = missed.and_then(|it| it.run.closes_at.map(|closes| (it, closes))) else {
            return Ok(false);
        };
        let (window, steps, today) = (missed.run.window, &state.sequence().steps, now.date());
        // Whatever is said, it is asked once in a walk.
        self.asked_when_done.insert(key(&window.key, missed.run.began));
        self.tape.begin(&[]);
        self.tape.clear();
        let (first, second) = (&steps[window.from], &steps[window.to]);
        self.head(&format!("{}{}", second.title, on_words(&state.subjects, &missed.subjects)));
        let done = if missed.run.began == missed.run.from.at { "done" } else { "begun" };
        say_wrapped(
            &format!(
                "  Not recorded yet. '{}' was {done} at {}, so this had to be done by {}.",
                first.title,
                missed.run.began.clock(today),
                closes.clock(today)
            ),
            4,
        );
        let zone = state.job.time_zone;
        let text = format!("When was it done, such as {} (n: it was not)", closes.clock(today));
        let question = Question::new(text, |text| match text.to_lowercase().as_str() {
            "n" | "no" => Ok(None),
            _ => time_before(text, now, zone).map(Some),
        });
        let Some(at) = self.ask(question)? else {
            // What comes after it was not done either.
            let began = missed.run.began;
            let others = missed_at_once(state, now).into_iter().filter(|other| other.run.began == began);
            self.asked_when_done.extend(others.map(|other| key(&other.run.window.key, began)));
            return Ok(true);
        };
        let subject = state.subjects.shortly(&missed.subjects);
        let mut request = RecordStep { step: second.key.clone(), subject, ..RecordStep::default() };
        self.at = Some(at);
        drop(book);
        if !self.record(&request)? {
            self.anyway(&mut request)?;
        }
        Ok(true)
    }
}
