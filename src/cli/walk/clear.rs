//! What can be cleared on the spot: the day, cautions, readings, hold points.

use super::{Away, Walk};
use crate::cli::commands::hold::text_to_send;
use crate::cli::prompts::{day, say, say_loud, say_wrapped};
use crate::day::{Request, may_release};
use crate::handover::Ahead;
use crate::units::{Bounds, bounds, parse_decimal};

impl Walk<'_> {
    /// R12: crew, talk, hazards.
    pub(super) fn open_day(&mut self) -> Result<bool, Away> {
        say("");
        say_loud("Open the site day", self.out.colour());
        let book = self.book.clone();
        let request = day::open_by(&book, self.now(), &mut |question, usual| self.line(question, usual, true))?;
        Ok(self.record(&request, "site day opened")?)
    }

    /// R12: hours; then what is left open overnight.
    pub(super) fn close_day(&mut self, why: &str) -> Result<bool, Away> {
        let book = self.book.clone();
        let Some(day) = book.state.open_day() else { return Ok(false) };
        say("");
        say_loud(&format!("Close the day of {}", day.date.format("%A %-d %B")), self.out.colour());
        if !why.is_empty() {
            say_wrapped(&format!("  {why}"), 4);
        }
        let hours = day::hours_by(&book, &mut |question, usual| self.line(question, usual, false))?;
        if !self.record(&Request::CloseDay { hours, note: None }, "site day closed")? {
            return Ok(false);
        }
        for line in Ahead::of(&self.book.state, self.now()).lines() {
            say_wrapped(&line, 4);
        }
        Ok(true)
    }

    /// R9: the hazard, and who has read it.
    pub(super) fn caution(&mut self, index: usize, step: usize) -> Result<bool, Away> {
        let (book, now) = (self.book.clone(), self.now());
        let sequence = book.state.sequence();
        let caution = &sequence.cautions[index];
        let Some(today) = book.state.open_day() else { return Ok(false) };
        let missing: Vec<String> = today
            .crew_at(now)
            .filter(|name| !today.acknowledged.get(&caution.key).is_some_and(|by| by.contains_key(*name)))
            .map(str::to_owned)
            .collect();
        say("");
        say_loud(&format!("Caution: {}", caution.title), self.out.colour());
        say_wrapped(&format!("  Before '{}', once a day.", sequence.steps[step].title), 4);
        say_wrapped(&format!("  {}", caution.text), 2);
        for line in book.state.caution_lines(index, now) {
            say_wrapped(&format!("  {line}"), 4);
        }
        say_wrapped(&format!("  Comes first: {}.", caution.defers_to), 4);
        let all = self.vouched(&format!("Read and understood by {}?", missing.join(", ")))?;
        let people = if all { missing } else { self.some_of("Who has", &missing)? };
        if people.is_empty() {
            return Ok(false);
        }
        let what = format!("'{}' read by {}", caution.title, people.join(", "));
        Ok(self.record(&Request::Caution { caution: caution.key.clone(), people }, &what)? && all)
    }

    /// Some of a list of people, by their numbers.
    fn some_of(&mut self, question: &str, names: &[String]) -> Result<Vec<String>, Away> {
        for (place, name) in names.iter().enumerate() {
            say(&format!("  {} {name}", place + 1));
        }
        self.until(&format!("{question} (numbers; Enter: nobody)"), None, |text| {
            let pick = |word: &str| word.parse::<usize>().ok().and_then(|n| names.get(n.wrapping_sub(1))).cloned();
            let words = text.split([' ', ',']).filter(|word| !word.is_empty());
            words.map(pick).collect::<Option<Vec<String>>>().ok_or(format!("numbers from 1 to {}", names.len()))
        })
    }

    /// Somebody came onto site.
    pub(super) fn join(&mut self) -> Result<bool, Away> {
        let book = self.book.clone();
        let Some(today) = book.state.open_day() else {
            say("  No site day is open.");
            return Ok(false);
        };
        let people = book.state.job.people.iter().map(|person| person.name.clone());
        let others: Vec<String> = people.filter(|name| today.crew.iter().all(|(crew, _)| crew != name)).collect();
        if others.is_empty() {
            say("  Everybody of the job is on site already.");
            return Ok(false);
        }
        let crew = self.some_of("  Who came", &others)?;
        if crew.is_empty() {
            return Ok(false);
        }
        let what = format!("on site: {}", crew.join(", "));
        Ok(self.record(&Request::JoinDay { crew }, &what)?)
    }

    /// R7: air, humidity, wind and rain once, the surface wall by wall.
    pub(super) fn reading(&mut self, walls: &[usize], why: Option<&str>) -> Result<bool, Away> {
        let book = self.book.clone();
        say("");
        say_loud(&format!("Reading on {}", book.state.subjects.shortly(walls)), self.out.colour());
        if let Some(why) = why {
            say_wrapped(&format!("  Why now: {why}."), 4);
        }
        let air_c = self.number("  Air in the shade, °C", &bounds::AIR)?;
        let humidity_pct = self.number("  Humidity, %", &bounds::HUMIDITY)?;
        let mut surfaces = Vec::new();
        for wall in walls {
            let id = book.state.subjects.get(*wall).to_string();
            let surface = self.number(&format!("  Surface of {id}, °C"), &bounds::SURFACE)?;
            surfaces.push((id, surface));
        }
        let wind_kmh = Some(self.number("  Wind, km/h", &bounds::WIND)?);
        let rain = self.yes("  Rain on the wall?", false)?;
        let mut all = true;
        for (on, surface_c) in surfaces {
            let what = format!("reading on {on}");
            let request = Request::Reading { on, air_c, humidity_pct, surface_c, wind_kmh, rain };
            all &= self.record(&request, &what)?;
        }
        Ok(all)
    }

    fn number(&mut self, question: &str, bounds: &Bounds) -> Result<f64, Away> {
        self.until(question, None, |text| {
            let value = parse_decimal(text).map_err(|error| error.to_string())?;
            bounds.check(value).map(|_| value).map_err(|error| error.to_string())
        })
    }

    /// R5: who released it and how, or not yet, or refused.
    pub(super) fn hold(&mut self, index: usize, subject: usize) -> Result<bool, Away> {
        let (book, now) = (self.book.clone(), self.now());
        let state = &book.state;
        let hold = &state.sequence().holds[index];
        let (on, life) = (state.subjects.get(subject).to_string(), state.hold(index, subject));
        say("");
        say_loud(&format!("Hold point on {on}: {}", hold.title), self.out.colour());
        say_wrapped("  What it covers is done. Nothing that it holds may go on before it is released.", 4);
        if let Some(look_at) = &hold.look_at {
            say_wrapped(&format!("  To be looked at: {look_at}"), 4);
        }
        if let (Some(person), Some(why)) = (&life.person, &life.how) {
            say_wrapped(&format!("  Refused by {person}: {why}."), 4);
        }
        if let Some(asked) = life.asked_at {
            say(&format!("  A release was asked for {}.", asked.clock(now.date())));
        }
        let people = &state.job.people;
        let may: Vec<&str> = people
            .iter()
            .map(|person| person.name.as_str())
            .filter(|name| may_release(state, index, subject, name, now).is_ok())
            .collect();
        if may.is_empty() {
            let roles = hold.roles.join(" or ");
            say_wrapped(&format!("  Nobody on the job may: it takes {roles}, not of the crew that did the work."), 4);
        }
        let role = |name: &str| state.person(name).map(|person| person.roles.join(", ")).unwrap_or_default();
        let mut list: Vec<String> = may.iter().map(|name| format!("released by {name} ({})", role(name))).collect();
        list.push("not yet: ask for it, go on with something else".to_owned());
        list.push("refused".to_owned());
        let picked = self.pick("Number", &list, Some(may.len()))?;
        let key = hold.key.clone();
        if let Some(name) = may.get(picked) {
            return self.released(key, on, name);
        }
        if picked > may.len() {
            return self.refused(key, on, &hold.roles);
        }
        if life.asked_at.is_none() {
            self.record(
                &Request::AskHold { hold: key.clone(), on: on.clone() },
                &format!("release of {key} asked for"),
            )?;
            say_wrapped(&text_to_send(&self.book.state, &key, &on, self.now()), 2);
        }
        Ok(false)
    }

    fn released(&mut self, hold: String, on: String, name: &str) -> Result<bool, Away> {
        let ways = ["on site", "by phone", "in writing"].map(str::to_owned);
        let how = ways[self.pick("How", &ways, Some(0))?].clone();
        let evidence = self.line("What shows it: a paper, a photo, a message (Enter: none)", None, true)?;
        let evidence = Some(evidence).filter(|text| !text.is_empty());
        let what = format!("hold point {hold} on {on} released by {name}, {how}");
        let request = Request::ReleaseHold { hold, on, person: name.to_owned(), how, evidence };
        Ok(self.record(&request, &what)?)
    }

    /// A refused hold point waits for another look: it is put off, not done.
    fn refused(&mut self, hold: String, on: String, roles: &[String]) -> Result<bool, Away> {
        let Some(person) = self.somebody("Who refused it?", roles)? else { return Ok(false) };
        let why = self.line("Why", None, true)?;
        if why.is_empty() {
            say("  A refusal needs a reason: nothing recorded.");
            return Ok(false);
        }
        let what = format!("hold point {hold} on {on} refused by {person}");
        self.record(&Request::RefuseHold { hold, on, person, why }, &what)?;
        Ok(false)
    }

    /// Somebody of the job with one of these roles; the only one is not asked for.
    pub(super) fn somebody(&mut self, question: &str, roles: &[String]) -> Result<Option<String>, Away> {
        let people = self.book.state.job.people.iter();
        let may: Vec<String> = people.filter(|person| person.has_any(roles)).map(|p| p.name.clone()).collect();
        match may.as_slice() {
            [] => {
                say(&format!("  Nobody on the job is {}.", roles.join(" or ")));
                Ok(None)
            }
            [only] => Ok(Some(only.clone())),
            _ => {
                say(question);
                let usual = may.iter().position(|name| *name == self.by).unwrap_or(0);
                let picked = self.pick("Number", &may, Some(usual))?;
                Ok(Some(may[picked].clone()))
            }
        }
    }
}
