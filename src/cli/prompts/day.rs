//! Questions at the beginning and the end of a site day.

use std::collections::BTreeMap;

use super::{Ask, line, say, say_wrapped, until_by};
use crate::cli::Failure;
use crate::day::{Book, Request};
use crate::moment::Moment;
use crate::units::{number::show, parse_decimal};

/// Hours of a usual day.
const USUAL_HOURS: &str = "8";

/// Asks who is on site, what the talk was about, and for hazards.
///
/// # Errors
/// [`Failure`] when the terminal is gone.
pub fn open(book: &Book, now: Moment) -> Result<Request, Failure> {
    open_by(book, now, &mut line)
}

/// As [`open`], where `ask` puts the questions.
///
/// # Errors
/// Whatever `ask` gives.
pub fn open_by<E>(book: &Book, now: Moment, ask: &mut Ask<'_, E>) -> Result<Request, E> {
    let people = &book.state.job.people;
    // Those who were there the last time are the usual answer; else everybody who puts up cladding.
    let usual: Vec<usize> = match book.state.days.last() {
        Some(day) => (0..people.len()).filter(|p| day.crew.iter().any(|(name, _)| *name == people[*p].name)).collect(),
        None => {
            let crew = ["lead".to_owned(), "installer".to_owned()];
            (0..people.len()).filter(|p| people[*p].has_any(&crew)).collect()
        }
    };
    say("Who is on site?");
    for (place, person) in people.iter().enumerate() {
        say(&format!("  {} {} ({})", place + 1, person.name, person.roles.join(", ")));
    }
    let usual = usual.iter().map(|place| (place + 1).to_string()).collect::<Vec<_>>().join(" ");
    let crew = until_by(ask, "Numbers", Some(&usual), |text| {
        let picked: Option<Vec<String>> = text
            .split([' ', ','])
            .filter(|word| !word.is_empty())
            .map(|word| word.parse::<usize>().ok().and_then(|n| people.get(n.wrapping_sub(1))).map(|p| p.name.clone()))
            .collect();
        picked.filter(|list| !list.is_empty()).ok_or_else(|| format!("numbers from 1 to {}, as in 1 2", people.len()))
    })?;
    let talk = ask("Pre-start talk (what about)", Some("the day's work"))?;
    for line in book.state.exposure_lines(now) {
        say_wrapped(&format!("  {line}"), 4);
    }
    let mut hazards = Vec::new();
    loop {
        let hazard = ask("A hazard of the day (Enter: no more)", None)?;
        if hazard.is_empty() {
            break;
        }
        hazards.push(hazard);
    }
    Ok(Request::OpenDay { crew, talk: Some(talk).filter(|talk| !talk.is_empty()), hazards })
}

/// Asks for the hours of each of today's crew.
///
/// # Errors
/// [`Failure`] when the terminal is gone.
pub fn hours(book: &Book) -> Result<BTreeMap<String, f64>, Failure> {
    hours_by(book, &mut line)
}

/// As [`hours`], where `ask` puts the questions.
///
/// # Errors
/// Whatever `ask` gives.
pub fn hours_by<E>(book: &Book, ask: &mut Ask<'_, E>) -> Result<BTreeMap<String, f64>, E> {
    let mut hours = BTreeMap::new();
    let Some(day) = book.state.open_day() else { return Ok(hours) };
    let mut usual = USUAL_HOURS.to_owned();
    for (name, _) in &day.crew {
        let worked = until_by(ask, &format!("Hours of {name}"), Some(&usual), |text| {
            let hours = parse_decimal(text).map_err(|error| error.to_string())?;
            if (0.0..=24.0).contains(&hours) { Ok(hours) } else { Err("0 to 24 hours".into()) }
        })?;
        // A crew mostly comes and goes together.
        usual = show(worked);
        hours.insert(name.clone(), worked);
    }
    Ok(hours)
}
