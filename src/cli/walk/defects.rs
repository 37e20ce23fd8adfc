//! Defects: left open, fixed, or let stand.

use std::sync::Arc;

use super::session::{Interrupt, Walk};
use crate::building::SubjectIx;
use crate::cli::prompts::question::{Asker, Question};
use crate::cli::prompts::screen::{say, say_wrapped};
use crate::day::{TaskId, the};
use crate::plain::listed_or;
use crate::record::{CloseDefect, ConcedeDefect, DefectId};

impl Walk<'_> {
    /// Goes through the open defects once, those on what is being asked for first.
    pub(super) fn go_through_defects(&mut self, here: &[SubjectIx]) -> Result<(), Interrupt> {
        let state = &self.book().state;
        let is_here = |on: &str| state.subjects.index(on).is_some_and(|on| here.contains(&on));
        let mut open: Vec<(bool, DefectId)> =
            state.open_defects().map(|defect| (!is_here(&defect.subject), defect.id.clone())).collect();
        open.sort_by_key(|(elsewhere, _)| *elsewhere);
        for (_, id) in open {
            let book = Arc::clone(self.book());
            // The one before may have closed this one as well.
            let Some(defect) = book.state.defect(&id).filter(|defect| defect.is_open()) else { continue };
            let (on, authority) = (the(&defect.subject).to_owned(), book.state.sequence().authority.clone());
            let subject = book.state.subjects.index(&defect.subject);
            self.head(&format!("Defect on {on}"));
            say_wrapped(&format!("  {}", defect.what), 4);
            drop(book);
            let ways = ["leave it open", "fixed", "let it stand: a concession"].map(str::to_owned);
            match self.ask(Question::choice("Number", &ways).usually(0))? {
                1 => {
                    let Some(person) = self.somebody("Who says that it is fixed?", &authority.close)? else { continue };
                    let Some(how) = self.reason("How was it fixed (Enter to cancel)")? else { continue };
                    if self.record(&CloseDefect { defect: id, person, how })? {
                        // A hold point that was refused for it is asked for again.
                        self.skipped.retain(|task| !matches!(task, TaskId::Hold(_, on) if Some(*on) == subject));
                    }
                }
                2 => self.concession(id, &authority.concede)?,
                _ => {}
            }
        }
        Ok(())
    }

    /// Who lets a defect stand, how they said so, and why. Nobody is taken to have said it, even where only one may.
    fn concession(&mut self, defect: DefectId, roles: &[String]) -> Result<(), Interrupt> {
        let people = self.book().state.job.people.iter();
        let may: Vec<String> = people.filter(|person| person.has_any(roles)).map(|p| p.name.clone()).collect();
        if may.is_empty() {
            say(&format!("  Nobody on the job has the role {}.", roles.join(" or ")));
            return Ok(());
        }
        say("Who gives the concession?");
        let mut list = may.clone();
        list.push("nobody yet".to_owned());
        let picked = self.ask(Question::choice("Number", &list).usually(may.len()))?;
        let Some(person) = may.get(picked).cloned() else {
            say_wrapped(
                &format!("  It stays open. Ask {}.", listed_or(&may.iter().map(String::as_str).collect::<Vec<_>>())),
                4,
            );
            return Ok(());
        };
        let how = ["on site", "by phone", "in writing"];
        let list = how.map(str::to_owned);
        let how = how[self.ask(Question::choice("How did they say so", &list))?];
        let Some(why) = self.reason("Why may it stand, and what shows that they said so (Enter to cancel)")? else {
            return Ok(());
        };
        self.record(&ConcedeDefect { defect, person, why: format!("{how}: {why}") }).map(|_| ())
    }
}
