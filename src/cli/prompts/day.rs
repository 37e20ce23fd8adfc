//! Questions at the beginning and the end of a site day.

use std::collections::BTreeMap;

use super::question::{Asker, Question};
use super::screen::{say, say_wrapped};
use crate::day::Book;
use crate::moment::Moment;
use crate::record::OpenDay;
use crate::units::number::{show, with_point};
use crate::units::{parse_count, parse_decimal};

/// Hours of a usual day.
const USUAL_HOURS: &str = "8";

/// Asks who is on site, what the talk was about, and for hazards.
pub fn open<A: Asker>(book: &Book, now: Moment, asker: &mut A) -> Result<OpenDay, A::Stop> {
    let people = &book.state.job.people;
    // Those who were there the last time are the usual answer; else everybody who puts up cladding.
    let roles = ["lead".to_owned(), "installer".to_owned()];
    let is_usual = |place: &usize| match book.state.days.last() {
        Some(day) => day.crew.iter().any(|(name, _)| *name == people[*place].name),
        None => people[*place].has_any(&roles),
    };
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

/// Asks for the hours of each of today's crew.
pub fn hours<A: Asker>(book: &Book, asker: &mut A) -> Result<BTreeMap<String, f64>, A::Stop> {
    let mut hours = BTreeMap::new();
    let Some(day) = book.state.open_day() else { return Ok(hours) };
    let mut usual = USUAL_HOURS.to_owned();
    for (name, _) in &day.crew {
        let question = Question::new(format!("Hours of {name}"), |text| {
            let hours = hours_typed(text)?;
            if (0.0..=24.0).contains(&hours) { Ok(hours) } else { Err("type 0 to 24 hours".to_owned()) }
        });
        let worked = asker.ask(question.usual(usual))?;
        // A crew mostly comes and goes together.
        usual = show(worked);
        hours.insert(name.clone(), worked);
    }
    Ok(hours)
}

/// Hours as people write them: `7.5`, `7,5` or `7:30`.
fn hours_typed(text: &str) -> Result<f64, String> {
    let number = |text: &str| parse_decimal(&with_point(text)).map_err(|error| error.to_string());
    let Some((hours, minutes)) = text.split_once(':') else { return number(text) };
    let whole = |text: &str| parse_count(text).map(f64::from).map_err(|error| error.to_string());
    match (whole(hours)?, whole(minutes)?) {
        (hours, minutes) if minutes < 60.0 => Ok(hours + minutes / 60.0),
        _ => Err("type hours and minutes, such as 7:30".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::hours_typed;

    #[test]
    fn hours_are_read_as_people_write_them() {
        for (typed, hours) in [("8", 8.0), ("7.5", 7.5), ("7,5", 7.5), ("7:30", 7.5), ("0:15", 0.25), ("24:00", 24.0)] {
            assert_eq!(hours_typed(typed), Ok(hours), "{typed}");
        }
        for typed in ["7:60", "7:", ":30", "7:3x", "half a day", ""] {
            assert!(hours_typed(typed).is_err(), "{typed}");
        }
    }
}
