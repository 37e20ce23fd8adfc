//! The seal plan in the walk: offered when joints are ready, offered again when the day has slipped.

use super::{Away, Walk};
use crate::cli::commands::coming::coming;
use crate::cli::commands::sealplan::{keeping, planned, print};
use crate::cli::prompts::{say, say_loud, say_wrapped};
use crate::day::sealing_day::SealAsk;

impl Walk<'_> {
    /// Works the plan out, shows it, and keeps it when the lead says so.
    pub(super) fn seal_plan(&mut self, why: &str) -> Result<bool, Away> {
        say("");
        say_loud("Plan the sealing", self.out.colour());
        say_wrapped(&format!("  Why now: {why}."), 4);
        if !self.yes("Work out who primes and seals what, and when?", true)? {
            return Ok(false);
        }
        let (book, now) = (self.book.clone(), self.now());
        let made = match planned(&book.state, &SealAsk::default(), now) {
            Ok(made) => made,
            Err(error) => {
                say_wrapped(&format!("  {error}."), 4);
                return Ok(false);
            }
        };
        print(&made.day, &made.plan, &made.told, self.out)?;
        if made.told.joints.is_empty() || !self.yes("Keep this plan and go by it?", true)? {
            return Ok(false);
        }
        let finish = made.told.finish_at.map_or_else(String::new, |at| format!(", done by {}", at.clock(now.date())));
        Ok(self.record(&keeping(&made, "job")?, &format!("seal plan of {} joints{finish}", made.told.joints.len()))?)
    }

    /// Says what the plan asks for next.
    pub(super) fn say_coming(&self) {
        let now = self.now();
        for line in coming(&self.book.state, now).iter().flat_map(|plan| plan.lines(now)) {
            say_wrapped(&format!("  {line}"), 4);
        }
    }
}
