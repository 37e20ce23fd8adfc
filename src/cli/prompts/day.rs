//! Questions at the beginning and the end of a site day.

use std::collections::BTreeMap;

use super::question::{Asker, Question};
use super::screen::{say, say_wrapped};
use crate::day::{Book, USUAL_HOURS, hours_offered};
use crate::moment::Moment;
use crate::record::OpenDay;
use crate::units::number::show;
use crate::units::parse_hours;

/// Asks who is on site, what the talk was about, and for hazards.
pub fn open<A: Asker>(book: &Book, now: Moment, asker: &mut A) -> Result<OpenDay, A::Stop> {
    let people = &book.state.job.people;
    let is_usual = |place: &usize| book.state.is_usually_on_site(&people[*place]);
    let usual: Vec<String> = (0..people.len()).filter(is_usual).map(|place| (place + 1).to_string()).collect();
    say("Who is on site?");
    let list: Vec<String> = people.iter().map(|one| format!("{} ({})", one.name, one.roles.join(", "))).collect();
    let crew = asker.ask(Question::some_of("Numbers", &list, false).usual(usual.join(" ")))?;
    let crew = crew.into_iter().map(|place| people[place].name.clone()).collect();
    let talk = asker.ask(Question::optional("Topic of the pre-start talk").usual("the day's work".to_owned()))?;
    for line in book.state.exposure_lines(now) {
        say_wrapped(&format!("  {line}"), 4);
    }
    let mut hazards = Vec::new();
    while let Some(hazard) = asker.ask(Question::optional("A hazard today (Enter when done)"))? {
        hazards.push(hazard);
    }
    Ok(OpenDay { crew, talk, hazards })
}

/// Asks for the hours of each of today's crew; whoever only looked on has none.
pub fn hours<A: Asker>(book: &Book, now: Moment, asker: &mut A) -> Result<BTreeMap<String, f64>, A::Stop> {
    let mut hours = BTreeMap::new();
    let Some(day) = book.state.open_day() else { return Ok(hours) };
    let mut usual = USUAL_HOURS.to_owned();
    for one in book.state.installers(day) {
        let name = one.name;
        let clock = |at: Moment| at.clock(day.opened_at.date());
        let stayed = match one.left_at {
            Some(left) => format!(", on site {} to {}", clock(one.since), clock(left)),
            None if one.since > day.opened_at => format!(", on site from {}", clock(one.since)),
            None => String::new(),
        };
        let question = Question::new(format!("Hours of {name}{stayed}"), |text| {
            let hours = parse_hours(text).map_err(|error| error.to_string())?;
            if (0.0..=24.0).contains(&hours) { Ok(hours) } else { Err("type 0 to 24 hours".to_owned()) }
        });
        let offered = hours_offered(day, name, now);
        let worked = asker.ask(question.usual(offered.clone().unwrap_or_else(|| usual.clone())))?;
        // Those who were there all day mostly worked as long.
        if offered.is_none() {
            usual = show(worked);
        }
        hours.insert(name.to_owned(), worked);
    }
    Ok(hours)
}
