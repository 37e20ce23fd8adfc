//! Running windows: a line between questions, a bell while a question waits.

use std::sync::Arc;
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::time::Duration;

use chrono::TimeDelta;
use console::Term;

use super::session::Walk;
use crate::cli::prompts::screen::say;
use crate::day::{Phase, gathered_windows, window_words};
use crate::plain::visible;

/// A bell that is set until it is dropped.
pub struct Bell {
    /// Dropped with the bell; that ends the thread.
    _set: Sender<()>,
}

impl Bell {
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
    /// A line for every window that opened, began to close, or lapsed since the last line about it.
    pub(super) fn announce(&mut self) {
        let book = Arc::clone(self.book());
        let (state, now) = (&book.state, self.now());
        for found in gathered_windows(state, now) {
            let run = &found.run;
            let phase = run.phase(now);
            let id = (run.window.key.clone(), run.subject, run.from.at);
            let last = self.announced.get(&id).copied();
            let left = run.closes_at.map_or(TimeDelta::zero(), |closes| closes - now);
            let is_news = match (phase, last) {
                (Phase::Closing, None) => true,
                (Phase::Closing, Some((Phase::Closing, said))) => now - said >= (left / 4).max(TimeDelta::minutes(5)),
                (Phase::Open | Phase::Closing | Phase::Lapsed, Some((before, _))) => before != phase,
                _ => false,
            };
            if is_news {
                let (title, on) = (&run.window.title, state.subjects.shortly(&found.subjects));
                let to = &state.sequence().steps[run.window.to].title;
                let words = window_words(run, now);
                let says = match phase {
                    // "lapsed 14:10 by rain" names the state already.
                    Phase::Lapsed => format!("{words}."),
                    phase if self.is_here(state, run.subject) => format!("is {}: {words}. Next: {to}.", phase.word()),
                    phase => format!("is {}: {words}. Next: {to}. To go there, type 'go'.", phase.word()),
                };
                self.bold(&format!("! '{title}' on {on} {says}"));
            }
            if is_news || last.is_none() {
                self.announced.insert(id, (phase, now));
            }
        }
    }

    /// Sets the bell for the next time that a window opens, warns or closes. A clock that stands still has none.
    pub(super) fn set_bell(&self) -> Option<Bell> {
        if self.site.clock.is_rehearsal() {
            return None;
        }
        let (state, now) = (&self.book().state, self.now());
        let all = gathered_windows(state, now);
        let coming = all.iter().filter(|found| found.run.phase(now) != Phase::Lapsed).flat_map(|found| {
            let run = &found.run;
            [(Some(run.opens_at), "is open"), (run.warns_at, "is closing"), (run.closes_at, "has closed")]
                .into_iter()
                .filter_map(move |(at, word)| Some((at.filter(|at| *at > now)?, word, found)))
        });
        let (at, word, found) = coming.min_by_key(|(at, _, _)| *at)?;
        let on = state.subjects.shortly(&found.subjects);
        let closes = found.run.closes_at.filter(|closes| *closes > at);
        let until = closes.map_or_else(String::new, |closes| format!(", until {}", closes.clock(at.date())));
        let (clock, title) = (at.clock(now.date()), &found.run.window.title);
        let text = format!("{clock}: '{title}' on {on} {word}{until}. Answer the question, or press Enter.");
        Some(Bell::after((at - now).to_std().ok()?, text))
    }

    /// Says what runs on while nobody walks.
    pub(super) fn say_running(&self) {
        let (state, now) = (&self.book().state, self.now());
        let soon = |closes: crate::moment::Moment| closes - now <= TimeDelta::days(1);
        for found in gathered_windows(state, now).into_iter().filter(|found| found.run.closes_at.is_none_or(soon)) {
            let on = state.subjects.shortly(&found.subjects);
            say(&format!("  {on}: {} {}.", found.run.window.title, window_words(&found.run, now)));
        }
    }
}
