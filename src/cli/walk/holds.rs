//! R5: hold points, released, refused or asked for.

use std::sync::Arc;

use super::session::{Interrupt, Walk};
use crate::building::{Person, SubjectIx};
use crate::cli::prompts::question::{Asker, Question};
use crate::cli::prompts::screen::{say, say_wrapped};
use crate::day::{State, may_release, on_words, release_waits_for, still_open, text_to_send, the};
use crate::record::{AskRelease, RefuseHold, ReleaseHold};
use crate::refusal::Refusal;
use crate::sequence::HoldIx;

/// What became of a hold point.
enum Looked {
    OnSite(String),
    FromAway,
    NotYet,
    Refused,
}

impl Walk<'_> {
    /// A hold point is released, or refused, while something else is being asked for.
    pub(super) fn release(&mut self) -> Result<(), Interrupt> {
        let book = Arc::clone(self.book());
        let (state, now) = (&book.state, self.now());
        let due: Vec<(HoldIx, SubjectIx)> = state
            .hold_points()
            .filter(|(hold, on)| !state.is_released(*hold, *on) && release_waits_for(state, *hold, *on, now).is_empty())
            .collect();
        let words = |(hold, on): &(HoldIx, SubjectIx)| {
            format!("{}{}", state.sequence().holds[*hold].title, on_words(&state.subjects, &[*on]))
        };
        let list: Vec<String> = due.iter().map(words).collect();
        let picked = match due.len() {
            0 => {
                say("  No hold point can be released now.");
                return Ok(());
            }
            1 => 0,
            _ => self.ask(Question::choice("  Which hold point", &list))?,
        };
        let (hold, on) = due[picked];
        drop(book);
        self.hold(hold, on)?;
        Err(Interrupt::Refresh)
    }

    /// R5: who released it and how, or not yet, or refused.
    pub(super) fn hold(&mut self, index: HoldIx, subject: SubjectIx) -> Result<bool, Interrupt> {
        let (book, now) = (Arc::clone(self.book()), self.now());
        let state = &book.state;
        let hold = &state.sequence().holds[index];
        let (on, status) = (state.subjects.get(subject).to_string(), state.hold(index, subject));
        self.say_hold(state, index, subject);
        let people = state.job.people.iter();
        let may: Vec<&Person> =
            people.filter(|one| may_release(state, index, subject, &one.name, now).is_ok()).collect();
        // Whoever releases it mostly stands beside the lead: that is one answer.
        let on_site = |one: &&Person| {
            let words = format!("released by {} ({}), on site", one.name, one.roles.join(", "));
            (Looked::OnSite(one.name.clone()), words)
        };
        let mut ways: Vec<(Looked, String)> = may.iter().map(on_site).collect();
        if !may.is_empty() {
            ways.push((Looked::FromAway, "released by phone or in writing".to_owned()));
        }
        let not_yet = ways.len();
        ways.push((Looked::NotYet, "not yet: request it, and carry on with other work".to_owned()));
        ways.push((Looked::Refused, "refused".to_owned()));
        let list: Vec<String> = ways.iter().map(|(_, words)| words.clone()).collect();
        let picked = self.ask(Question::choice("Number", &list).usually(not_yet))?;
        let (key, roles) = (hold.key.clone(), hold.roles.clone());
        let may: Vec<String> = may.iter().map(|one| one.name.clone()).collect();
        drop(book);
        match ways.swap_remove(picked).0 {
            Looked::OnSite(person) => self.released(key, on, person, "on site", status.is_refused()),
            Looked::FromAway => {
                let Some(person) = self.one_of("Who released it?", &may)? else { return Ok(false) };
                let how = ["by phone", "in writing"].map(str::to_owned);
                let how = &how[self.ask(Question::choice("How", &how).usually(0))?];
                self.released(key, on, person, how, status.is_refused())
            }
            Looked::Refused => self.refused(key, on, &roles),
            Looked::NotYet if status.asked_at.is_some() => Ok(false),
            Looked::NotYet => {
                self.record(&AskRelease { hold: key.clone(), subject: on.clone() })?;
                say_wrapped(&format!("Text to send: {}", text_to_send(&self.book().state, &key, &on, self.now())), 2);
                Ok(false)
            }
        }
    }

    /// What is to be looked at, where that stands, and who may not release it although they have the role.
    fn say_hold(&self, state: &State, index: HoldIx, subject: SubjectIx) {
        let (now, hold, status) = (self.now(), &state.sequence().holds[index], state.hold(index, subject));
        let on = state.subjects.get(subject).to_string();
        self.head(&format!("Hold point on {}: {}", the(&on), hold.title));
        say_wrapped("  The work before it is done. Later work waits for its release.", 4);
        if let Some(look_at) = &hold.look_at {
            say_wrapped(&format!("  Check: {look_at}"), 4);
        }
        if let (Some(person), Some(why)) = (&status.person, &status.how) {
            say_wrapped(&format!("  Refused by {person}: {why}."), 4);
        }
        if let Some(asked) = status.asked_at {
            say(&format!("  Release requested {}.", asked.clock(now.date())));
        }
        let with_role: Vec<&Person> = state.job.people.iter().filter(|one| one.has_any(&hold.roles)).collect();
        let may_not = with_role.iter().filter_map(|one| may_release(state, index, subject, &one.name, now).err());
        let may_not: Vec<Refusal> = may_not.collect();
        may_not.iter().for_each(|refusal| say_wrapped(&format!("  {}.", refusal.why), 4));
        still_open(state, &on).iter().for_each(|open| say(&format!("  {open}.")));
        if may_not.len() == with_role.len() {
            let roles = hold.roles.join(" or ");
            say_wrapped(
                &format!(
                    "  Nobody on the job can release it. It needs someone with the role {roles} who did not do the work."
                ),
                4,
            );
        }
    }

    /// A release. It closes the defect of a refusal before it: what was put right has to be said then.
    fn released(
        &mut self,
        hold: String,
        on: String,
        person: String,
        how: &str,
        was_refused: bool,
    ) -> Result<bool, Interrupt> {
        let evidence = match was_refused {
            true => match self.reason("What was put right, and what shows it (Enter to cancel)")? {
                None => return Ok(false),
                said => said,
            },
            false => self.ask(Question::optional("Evidence: a paper, a photo, a message (Enter for none)"))?,
        };
        self.record(&ReleaseHold { hold, subject: on, person, how: how.to_owned(), evidence })
    }

    /// A refused hold point waits for another look: it is skipped, not done.
    fn refused(&mut self, hold: String, on: String, roles: &[String]) -> Result<bool, Interrupt> {
        let Some(person) = self.somebody("Who refused it?", roles)? else { return Ok(false) };
        let Some(why) = self.reason("Why was it refused (Enter to cancel)")? else { return Ok(false) };
        self.record(&RefuseHold { hold, subject: on, person, why })?;
        Ok(false)
    }
}
