//! Speaking up about running windows: a line between questions, and a bell while a question waits.

use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::time::Duration;

use chrono::TimeDelta;
use console::Term;

use super::Walk;
use crate::cli::commands::window::{gathered, in_words};
use crate::cli::prompts::{say, say_loud};
use crate::day::Phase;
use crate::plain::visible;

/// A bell that is set until it is dropped.
pub struct Alarm {
    /// Dropped with the alarm; that ends the thread.
    _set: Sender<()>,
}

impl Alarm {
    /// Rings after `length` and says `text`.
    fn after(length: Duration, text: String) -> Self {
        let (set, off) = channel::<()>();
        std::thread::spawn(move || {
            if off.recv_timeout(length) == Err(RecvTimeoutError::Timeout) {
                // Below the question that waits: typing goes on as before.
                let _ = Term::stderr().write_str(&format!("\x07\n! {}\n", visible(&text)));
            }
        });
        Self { _set: set }
    }
}

impl Walk<'_> {
    /// A line for every window that opened, began to close, or lapsed since the last word about it.
    pub(super) fn speak_up(&mut self) {
        let book = self.book.clone();
        let (state, now) = (&book.state, self.now());
        for found in gathered(state, now) {
            let run = &found.run;
            let phase = run.phase(now);
            let id = (run.window.key.clone(), run.subject);
            let last = self.spoken.get(&id).copied();
            let left = run.closes_at.map_or(TimeDelta::zero(), |closes| closes - now);
            let worth_it = match (phase, last) {
                (Phase::Closing, None) => true,
                (Phase::Closing, Some((Phase::Closing, said))) => now - said >= (left / 4).max(TimeDelta::minutes(5)),
                (Phase::Open | Phase::Closing | Phase::Lapsed, Some((before, _))) => before != phase,
                _ => false,
            };
            if worth_it {
                let on = state.subjects.shortly(&found.subjects);
                let to = &state.sequence().steps[run.window.to];
                let words = in_words(run, now);
                let says = match phase {
                    // "lapsed 14:10 by rain" says the state itself.
                    Phase::Lapsed => words,
                    phase => format!("is {}: {words}: '{}' before that", phase.word(), to.title),
                };
                say_loud(&format!("! {} on {on} {says}.", run.window.title), self.out.colour());
            }
            if worth_it || last.is_none() {
                self.spoken.insert(id, (phase, now));
            }
        }
    }

    /// Sets the bell for the next time that a window opens, warns or closes. A clock that stands still has none.
    pub(super) fn set_alarm(&self) -> Option<Alarm> {
        if self.site.clock.is_rehearsal() {
            return None;
        }
        let (state, now) = (&self.book.state, self.now());
        let all = gathered(state, now);
        let coming = all.iter().filter(|found| found.run.phase(now) != Phase::Lapsed).flat_map(|found| {
            let run = &found.run;
            [(Some(run.opens_at), "is open"), (run.warns_at, "is closing"), (run.closes_at, "has closed")]
                .into_iter()
                .filter_map(move |(at, word)| Some((at.filter(|at| *at > now)?, word, found)))
        });
        let (at, word, found) = coming.min_by_key(|(at, _, _)| *at)?;
        let on = state.subjects.shortly(&found.subjects);
        let closes = found.run.closes_at.filter(|closes| *closes > at);
        let until = closes.map(|closes| format!(", it closes at {}", closes.clock(at.date())));
        let text = format!(
            "{}: {} on {on} {word}{}. Press Enter or answer to go on.",
            at.clock(now.date()),
            found.run.window.title,
            until.unwrap_or_default()
        );
        Some(Alarm::after((at - now).to_std().ok()?, text))
    }

    /// What runs on while nobody walks.
    pub(super) fn running_clocks(&self) {
        let (state, now) = (&self.book.state, self.now());
        for found in gathered(state, now) {
            if found.run.closes_at.is_some_and(|closes| closes - now > TimeDelta::days(1)) {
                continue;
            }
            let on = state.subjects.shortly(&found.subjects);
            say(&format!("  {on}: {} {}.", found.run.window.title, in_words(&found.run, now)));
        }
    }
}
