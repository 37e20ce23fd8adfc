//! What tasks have in common: how they are headed, who is asked for; and the seal plan.

use super::session::{Interrupt, Walk};
use crate::cli::commands::sealplan::print;
use crate::cli::failure::Failure;
use crate::cli::prompts::question::{Asker, Question};
use crate::cli::prompts::screen::{say, say_bold, say_wrapped};
use crate::day::{SealAsk, coming, planned};

impl Walk<'_> {
    /// A heading, with an empty line above it.
    pub(super) fn head(&self, text: &str) {
        say("");
        self.bold(text);
    }

    /// Says something that is to catch the eye.
    pub(super) fn bold(&self, text: &str) {
        say_bold(text, self.out.colour());
    }

    /// Somebody of the job with one of these roles; the only one is not asked for.
    pub(super) fn somebody(&mut self, question: &str, roles: &[String]) -> Result<Option<String>, Interrupt> {
        let people = self.book().state.job.people.iter();
        let may: Vec<String> = people.filter(|person| person.has_any(roles)).map(|p| p.name.clone()).collect();
        if may.is_empty() {
            say(&format!("  Nobody on the job has the role {}.", roles.join(" or ")));
        }
        self.one_of(question, &may)
    }

    /// One of these people; the only one is not asked for.
    pub(super) fn one_of(&mut self, question: &str, may: &[String]) -> Result<Option<String>, Interrupt> {
        if let [] | [_] = may {
            return Ok(may.first().cloned());
        }
        say(question);
        let usual = may.iter().position(|name| *name == self.by).unwrap_or(0);
        Ok(Some(may[self.ask(Question::choice("Number", may).usually(usual))?].clone()))
    }

    /// A reason; nothing where it is cancelled.
    pub(super) fn reason(&mut self, question: &str) -> Result<Option<String>, Interrupt> {
        let text = self.ask(Question::optional(question))?;
        if text.is_none() {
            say("  Nothing was recorded.");
        }
        Ok(text)
    }

    /// Works the seal plan out, shows it, and keeps it when the lead says so.
    pub(super) fn seal_plan(&mut self, why: &str) -> Result<bool, Interrupt> {
        self.head("Plan the sealing");
        say_wrapped(&format!("  Why now: {why}."), 4);
        if !self.ask(Question::yes_no("Work out who primes and seals what, and when?", true))? {
            return Ok(false);
        }
        let made = match planned(&self.book().state, &SealAsk::default(), self.now()) {
            Ok(made) => made,
            Err(error) => {
                say_wrapped(&format!("  {error}."), 4);
                return Ok(false);
            }
        };
        print(&made.day, &made.plan, &made.timetable, self.out)?;
        if made.timetable.joints.is_empty() || !self.ask(Question::yes_no("Keep this plan and work to it?", true))? {
            return Ok(false);
        }
        self.record(&made.kept_on("job").map_err(Failure::machine)?)
    }

    /// Says what the seal plan asks for next.
    pub(super) fn say_coming(&self) {
        let now = self.now();
        for line in coming(&self.book().state, now).iter().flat_map(|plan| plan.lines(now)) {
            say_wrapped(&format!("  {line}"), 4);
        }
    }
}
