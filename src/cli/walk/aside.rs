//! What can be noted at any question beside what is being asked for: work that stopped, extra work.

use super::{Away, Walk};
use crate::cli::prompts::{say, say_loud, say_wrapped};
use crate::day::{Extra, Request};
use crate::units::parse_decimal;

impl Walk<'_> {
    /// Says what stands still.
    pub(super) fn say_stopped(&self) {
        let now = self.now();
        for stoppage in self.book.state.open_stoppages() {
            say_loud(&stoppage.standing(now), self.out.colour());
            say("  When work goes on, type 'again'.");
        }
    }

    /// Work stopped: why, where, who was told.
    pub(super) fn stopped(&mut self, cause: Option<String>) -> Result<(), Away> {
        let Some(cause) = cause else { return Ok(()) };
        let Some(on) = self.where_about("job")? else { return Ok(()) };
        let told = self.aside_line("  Who was told (names, a comma between)", None)?;
        let told = names(&told);
        if told.is_empty() {
            say_wrapped("  A stoppage says who was told: nothing recorded.", 4);
            return Ok(());
        }
        let what = format!("work stopped on {on}");
        self.aside(Some(Request::StartStoppage { on, cause, told, people: None }), &what)
    }

    /// Work goes on: the only open stoppage, or the one that is picked.
    pub(super) fn again(&mut self) -> Result<(), Away> {
        let book = self.book.clone();
        let open: Vec<_> = book.state.open_stoppages().collect();
        let found = match open.as_slice() {
            [] => {
                say("  Nothing stands still.");
                return Ok(());
            }
            [only] => *only,
            several => {
                let list: Vec<String> = several.iter().map(|one| format!("{} on {}", one.cause, one.subject)).collect();
                several[self.aside_pick("  Which is over", &list)?]
            }
        };
        let what = format!("work goes on on {}", found.subject);
        self.aside(Some(Request::EndStoppage { stoppage: Some(found.entry.clone()), note: None }), &what)
    }

    /// Extra work: what, who asked, how long it takes.
    pub(super) fn extra(&mut self, what: Option<String>) -> Result<(), Away> {
        let Some(what) = what else { return Ok(()) };
        let about = self.about();
        let Some(on) = self.where_about(&about)? else { return Ok(()) };
        let asked_by = self.aside_line("  Who asked for it", None)?;
        if asked_by.is_empty() {
            say_wrapped("  Extra work says who asked for it: nothing recorded.", 4);
            return Ok(());
        }
        let hours = loop {
            let text = self.aside_line("  Crew-hours (Enter: not known yet)", None)?;
            if text.is_empty() {
                break None;
            }
            match parse_decimal(&text) {
                Ok(hours) => break Some(hours),
                Err(error) => say_wrapped(&format!("  {error}"), 4),
            }
        };
        let told = format!("extra work on {on}");
        self.aside(Some(Request::AddExtra(Extra { on, what, asked_by, hours, ..Extra::default() })), &told)
    }

    /// Where something beside is: Enter takes `usual`; nothing when it can't be read.
    fn where_about(&mut self, usual: &str) -> Result<Option<String>, Away> {
        let on = self.aside_line("  Where", Some(usual))?;
        match self.book.state.subjects.parse(&on) {
            Ok(_) => Ok(Some(on)),
            Err(error) => {
                say_wrapped(&format!("  {error}: nothing recorded."), 4);
                Ok(None)
            }
        }
    }

    /// A line of something beside. The walk's words are not listened for: it is one already.
    fn aside_line(&mut self, question: &str, usual: Option<&str>) -> Result<String, Away> {
        Ok(crate::cli::prompts::line(question, usual)?)
    }

    fn aside_pick(&mut self, question: &str, list: &[String]) -> Result<usize, Away> {
        Ok(crate::cli::prompts::choose(question, list)?)
    }
}

fn names(text: &str) -> Vec<String> {
    text.split(',').map(str::trim).filter(|name| !name.is_empty()).map(str::to_owned).collect()
}
