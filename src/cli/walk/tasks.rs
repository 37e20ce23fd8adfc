//! Everything but steps: the day, cautions, readings, hold points, the seal plan, defects.

use std::sync::Arc;

use super::session::{Interrupt, Walk};
use crate::building::Person;
use crate::cli::commands::sealplan::print;
use crate::cli::failure::Failure;
use crate::cli::prompts::day;
use crate::cli::prompts::question::{Asker, Question};
use crate::cli::prompts::screen::{say, say_bold, say_wrapped};
use crate::day::{
    Request, SealAsk, State, coming, may_release, on_words, planned, release_waits_for, still_open, text_to_send, the,
};
use crate::handover::Ahead;
use crate::moment::parse;
use crate::plain::listed_or;
use crate::record::{
    AcknowledgeCaution, AddPerson, AskRelease, CloseDay, CloseDefect, ConcedeDefect, DefectId, JoinDay, LeaveDay,
    RefuseHold, ReleaseHold,
};
use crate::refusal::Refusal;

/// What became of a hold point.
enum Looked {
    OnSite(String),
    FromAway,
    NotYet,
    Refused,
}

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

    /// R12: crew, talk, hazards.
    pub(super) fn open_day(&mut self) -> Result<bool, Interrupt> {
        self.head("Open the site day");
        let request = day::open(&Arc::clone(self.book()), self.now(), self)?;
        self.record(&request)
    }

    /// R12: hours; then what is left open overnight.
    pub(super) fn close_day(&mut self, why: Option<&str>) -> Result<bool, Interrupt> {
        let Some(date) = self.book().state.open_day().map(|day| day.date) else { return Ok(false) };
        self.head(&format!("Close the day of {}", date.format("%A %-d %B")));
        why.iter().for_each(|why| say_wrapped(&format!("  {why}"), 4));
        let hours = day::hours(&Arc::clone(self.book()), self)?;
        if !self.record(&CloseDay { hours, note: None })? {
            return Ok(false);
        }
        for line in Ahead::of(&self.book().state, self.now()).lines() {
            say_wrapped(&line, 4);
        }
        Ok(true)
    }

    /// R9: the hazards, one after the other, and then who has read about them or heard it read out.
    pub(super) fn cautions(&mut self, cautions: &[usize], step: usize) -> Result<bool, Interrupt> {
        let (book, now) = (Arc::clone(self.book()), self.now());
        let state = &book.state;
        let sequence = state.sequence();
        let keys: Vec<String> = cautions.iter().map(|caution| sequence.cautions[*caution].key.clone()).collect();
        let missing = state.has_not_read(&keys[0], now);
        for (place, &index) in cautions.iter().enumerate() {
            let caution = &sequence.cautions[index];
            let number =
                if cautions.len() > 1 { format!(" {} of {}", place + 1, cautions.len()) } else { String::new() };
            self.head(&format!("Caution{number}: {}", caution.title));
            if place == 0 {
                let step = &sequence.steps[step].title;
                let these = if cautions.len() > 1 { "these" } else { "this" };
                say_wrapped(&format!("  Everyone confirms {these} once a day, before '{step}'."), 4);
            }
            say_wrapped(&format!("  {}", caution.text), 2);
            for line in state.caution_lines(index, now) {
                say_wrapped(&format!("  {line}"), 4);
            }
            say_wrapped(&format!("  Takes precedence: {}.", caution.defers_to), 4);
            if place + 1 < cautions.len() {
                self.ask(Question::text("  Enter for the next"))?;
            }
        }
        drop(book);
        // It vouches for people: Enter alone is no answer.
        let (what, yes) = match (keys.len(), missing.as_slice()) {
            (1, [only]) => (format!("Read by {only}"), "y/n"),
            (_, [only]) => (format!("All of them read by {only}"), "y/n"),
            (1, _) => ("Who has read it".to_owned(), "y for everyone, numbers, names, n for nobody"),
            _ => ("Who has read them".to_owned(), "y for everyone, numbers, names, n for nobody"),
        };
        let some = Question::some_of("", &missing, false);
        let question = Question::new(format!("{what} ({yes})"), |text| match text.to_lowercase().as_str() {
            "y" | "yes" => Ok((0..missing.len()).collect()),
            "n" | "no" => Ok(Vec::new()),
            "" => Err("type y, the numbers or names of those who have, or n".to_owned()),
            text => some.read(text),
        });
        let list = missing.iter().enumerate().filter(|_| missing.len() > 1);
        let question = list.fold(question, |question, (place, name)| question.above(format!("  {} {name}", place + 1)));
        let read = self.ask(question)?;
        let people: Vec<String> = read.iter().map(|place| missing[*place].clone()).collect();
        let left: Vec<&str> = missing.iter().filter(|name| !people.contains(name)).map(String::as_str).collect();
        let request = |caution: &String| AcknowledgeCaution { caution: caution.clone(), people: people.clone() };
        let requests: Vec<AcknowledgeCaution> = keys.iter().map(request).collect();
        let requests: Vec<&dyn Request> = requests.iter().map(|request| request as &dyn Request).collect();
        let done = !people.is_empty() && self.record_all(&requests)?;
        if !left.is_empty() {
            let left = left.join(", ");
            say_wrapped(&format!("  Still to be read by {left}; the step can't start until then."), 4);
            say_wrapped("  Whoever has gone home: type 'left' and their name.", 4);
        }
        Ok(done && left.is_empty())
    }

    /// Somebody came onto site.
    pub(super) fn join(&mut self) -> Result<bool, Interrupt> {
        let book = Arc::clone(self.book());
        let Some(today) = book.state.open_day() else {
            say("  No site day is open.");
            return Ok(false);
        };
        let people = book.state.job.people.iter().map(|person| person.name.clone());
        let others: Vec<String> = people.filter(|name| !today.is_on_site(name, self.now())).collect();
        drop(book);
        let list = Question::some_of("", &others, true);
        let lines = others.iter().enumerate().map(|(place, name)| format!("  {} {name}", place + 1));
        let question = Question::new("  Who came (numbers, or a new name; Enter for nobody)", |text| {
            match list.read(text) {
                Ok(came) => Ok(came.into_iter().map(|place| others[place].clone()).collect()),
                // A name has a letter in it, and is one.
                Err(_) if text.chars().any(char::is_alphabetic) && !text.contains(',') => Ok(vec![text.to_owned()]),
                Err(why) => Err(why),
            }
        });
        let crew: Vec<String> = self.ask(lines.fold(question, Question::above))?;
        if crew.is_empty() {
            return Ok(false);
        }
        if let [name] = crew.as_slice()
            && self.book().state.job.person_meant(name).is_none()
        {
            let question = format!("  {name} is not on this job. Add them as an installer?");
            let (name, roles) = (name.clone(), vec!["installer".to_owned()]);
            if !self.ask(Question::yes_no(question, true))? || !self.record(&AddPerson { name, roles })? {
                return Ok(false);
            }
        }
        let lookers_on: Vec<&str> =
            crew.iter().map(String::as_str).filter(|name| !self.book().state.installs(name)).collect();
        if !lookers_on.is_empty() {
            let who = lookers_on.join(" and ");
            say_wrapped(
                &format!("  {who}: no hours are asked for. Type 'left' when they go: cautions wait for all on site."),
                4,
            );
        }
        self.record(&JoinDay { crew })
    }

    /// Somebody left the site: those who were named, or are picked, and when.
    pub(super) fn left(&mut self, names: &str) -> Result<(), Interrupt> {
        let (book, now) = (Arc::clone(self.book()), self.now());
        let Some(today) = book.state.open_day() else {
            say("  No site day is open.");
            return Ok(());
        };
        let there: Vec<String> = today.crew_at(now).map(str::to_owned).collect();
        let question = || Question::some_of("  Who left (numbers, names, Enter for nobody)", &there, true);
        let left = match question().read(names) {
            Ok(left) if !names.is_empty() => left,
            _ => self.ask(question())?,
        };
        let crew: Vec<String> = left.into_iter().map(|place| there[place].clone()).collect();
        if crew.is_empty() {
            return Ok(());
        }
        let zone = book.state.job.time_zone;
        let time = Question::new("  When, such as 12:00 (Enter: just now)", |text| {
            let at = parse(text, now.date(), zone).map_err(|error| error.to_string())?;
            if at > now { Err(format!("that is still to come; it is {} now", now.clock(now.date()))) } else { Ok(at) }
        });
        self.at = self.ask(time.or_none())?;
        drop(book);
        self.record(&LeaveDay { crew })?;
        // What waited for them need not any longer.
        Err(Interrupt::Refresh)
    }

    /// A hold point is released, or refused, while something else is being asked for.
    pub(super) fn release(&mut self) -> Result<(), Interrupt> {
        let book = Arc::clone(self.book());
        let (state, now) = (&book.state, self.now());
        let due: Vec<(usize, usize)> = state
            .hold_points()
            .filter(|(hold, on)| !state.is_released(*hold, *on) && release_waits_for(state, *hold, *on, now).is_empty())
            .collect();
        let words = |(hold, on): &(usize, usize)| {
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
    pub(super) fn hold(&mut self, index: usize, subject: usize) -> Result<bool, Interrupt> {
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
                say_wrapped(&text_to_send(&self.book().state, &key, &on, self.now()), 2);
                Ok(false)
            }
        }
    }

    /// What is to be looked at, where that stands, and who may not release it although they have the role.
    fn say_hold(&self, state: &State, index: usize, subject: usize) {
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

    /// Somebody of the job with one of these roles; the only one is not asked for.
    fn somebody(&mut self, question: &str, roles: &[String]) -> Result<Option<String>, Interrupt> {
        let people = self.book().state.job.people.iter();
        let may: Vec<String> = people.filter(|person| person.has_any(roles)).map(|p| p.name.clone()).collect();
        if may.is_empty() {
            say(&format!("  Nobody on the job has the role {}.", roles.join(" or ")));
        }
        self.one_of(question, &may)
    }

    /// One of these people; the only one is not asked for.
    fn one_of(&mut self, question: &str, may: &[String]) -> Result<Option<String>, Interrupt> {
        if let [] | [_] = may {
            return Ok(may.first().cloned());
        }
        say(question);
        let usual = may.iter().position(|name| *name == self.by).unwrap_or(0);
        Ok(Some(may[self.ask(Question::choice("Number", may).usually(usual))?].clone()))
    }

    /// A reason; nothing where it is cancelled.
    fn reason(&mut self, question: &str) -> Result<Option<String>, Interrupt> {
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

    /// Goes through the open defects once, those on what is being asked for first.
    pub(super) fn go_through_defects(&mut self, here: &[usize]) -> Result<(), Interrupt> {
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
                        self.skipped.retain(|(task, on)| !task.starts_with("hold ") || Some(*on) != subject);
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
