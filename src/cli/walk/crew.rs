//! The people on site: the day that they open and close, the hazards that they read of, who comes and who leaves.

use std::sync::Arc;

use super::session::{Interrupt, Walk};
use crate::cli::prompts::day;
use crate::cli::prompts::question::{Asker, Question};
use crate::cli::prompts::screen::{say, say_wrapped};
use crate::day::Request;
use crate::handover::Ahead;
use crate::moment::parse;
use crate::record::{AcknowledgeCaution, AddPerson, CloseDay, JoinDay, LeaveDay};
use crate::sequence::{CautionIx, StepIx};

impl Walk<'_> {
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
        let hours = day::hours(&Arc::clone(self.book()), self.now(), self)?;
        if !self.record(&CloseDay { hours, note: None })? {
            return Ok(false);
        }
        for line in Ahead::of(&self.book().state, self.now()).lines() {
            say_wrapped(&line, 4);
        }
        Ok(true)
    }

    /// R9: the hazards, one after the other, and then who has read about them or heard it read out.
    pub(super) fn cautions(&mut self, cautions: &[CautionIx], step: StepIx) -> Result<bool, Interrupt> {
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
}
