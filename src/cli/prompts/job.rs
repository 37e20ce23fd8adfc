//! Setting a job up by questions.

use std::path::Path;
use std::str::FromStr;

use strum::VariantNames;

use super::question::{Asker, Question, Terminal};
use super::screen::{say, say_wrapped};
use crate::building::{Corner, Job, Joint, Opening, Person, Wall};
use crate::cli::failure::Failure;
use crate::cli::job_files::find_sequence;
use crate::form::{check_key, check_name, check_person, is_same_name};
use crate::sequence::{SHIPPED, Sequence};
use crate::units::{Bounds, parse_count, parse_decimal};

const LENGTH: Bounds = Bounds { what: "length", unit: "mm", least: 100.0, most: 200_000.0 };

/// Asks for everything that a job needs.
pub fn ask() -> Result<(Job, Sequence), Failure> {
    say("A new job. Enter takes what is in brackets; Ctrl-C leaves and writes nothing.");
    let key = Terminal.ask(Question::new("Short key of the job, such as miller-rd", key))?;
    let name = Terminal.ask(Question::new("Name of the job", named))?;
    let address = optional("Address (Enter for none)")?;
    let builder = optional("Builder it is handed over to (Enter for none)")?;
    let zone = Question::new("Time zone of the site", |text| {
        text.parse().map_err(|_| "type a name such as Pacific/Auckland or Europe/London".to_owned())
    });
    let time_zone = Terminal.ask(zone.usual("Pacific/Auckland".to_owned()))?;
    let shipped = SHIPPED.iter().map(|(key, _)| find_sequence(key, Path::new("")));
    let mut sequences: Vec<Sequence> = shipped.collect::<Result<_, _>>()?;
    let titles: Vec<String> = sequences.iter().map(|one| format!("{}: {}", one.key, one.title)).collect();
    let sequence = sequences.swap_remove(Terminal.ask(Question::choice("Which sequence", &titles).usually(0))?);
    let people = people(&sequence)?;
    let walls = walls()?;
    let corners = corners(&walls)?;
    let job = Job {
        key,
        name,
        address,
        builder,
        time_zone,
        latitude_deg: None,
        longitude_deg: None,
        panel: None,
        lift: None,
        people,
        walls,
        corners,
        papers: Vec::new(),
        figures: Vec::new(),
    };
    Ok((job, sequence))
}

fn optional(question: &str) -> Result<Option<String>, Failure> {
    Ok(Some(Terminal.ask(Question::text(question))?).filter(|text| !text.is_empty()))
}

/// One word of an enum; Enter takes the first.
fn word<T: VariantNames + FromStr + Default>(question: String) -> Result<T, Failure> {
    let words: Vec<String> = T::VARIANTS.iter().map(|word| (*word).to_owned()).collect();
    let picked = Terminal.ask(Question::choice(question, &words).usually(0))?;
    Ok(words[picked].parse().unwrap_or_default())
}

/// An answer that Enter leaves out, where that is allowed.
fn or_none<T>(optional: bool, text: &str, read: impl Fn(&str) -> Result<T, String>) -> Result<Option<T>, String> {
    if optional && text.is_empty() { Ok(None) } else { read(text).map(Some) }
}

fn key(text: &str) -> Result<String, String> {
    check_key(text).map(|()| text.to_owned()).map_err(|why| format!("the key {why}"))
}

fn named(text: &str) -> Result<String, String> {
    check_name(text).map(|()| text.to_owned()).map_err(|why| format!("the name {why}"))
}

fn people(sequence: &Sequence) -> Result<Vec<Person>, Failure> {
    let mut people: Vec<Person> = Vec::new();
    say_wrapped(&format!("The people, the crew lead first. Roles: {}.", sequence.roles.join(", ")), 2);
    loop {
        let first = people.is_empty();
        let question = if first { "Name of the crew lead" } else { "Next person (Enter for no more)" };
        let name = Terminal.ask(Question::new(question, |text| {
            let checked = |text: &str| check_person(text).map(|()| text.to_owned());
            let name = or_none(!first, text, |text| checked(text).map_err(|why| format!("the name {why}")))?;
            let same = name.as_ref().and_then(|name| people.iter().find(|person| is_same_name(&person.name, name)));
            match same {
                Some(same) => Err(format!("{} is already on the list", same.name)),
                None => Ok(name),
            }
        }))?;
        let Some(name) = name else { return Ok(people) };
        let usual = if first { "lead" } else { "installer" };
        let question = Question::new("Roles", |text| {
            let roles = text.split([' ', ',']).filter(|word| !word.is_empty());
            let roles: Vec<String> = roles.map(str::to_owned).collect();
            match roles.iter().find(|role| !sequence.roles.contains(role)) {
                Some(role) => Err(format!("'{role}' is not one of {}", sequence.roles.join(", "))),
                None if first && !roles.iter().any(|role| role == "lead") => Err("the first person is the lead".into()),
                None if roles.is_empty() => Err("at least one role is needed".into()),
                None => Ok(roles),
            }
        });
        let roles = Terminal.ask(question.usual(usual.to_owned()))?;
        people.push(Person { name, roles });
    }
}

fn walls() -> Result<Vec<Wall>, Failure> {
    let mut walls: Vec<Wall> = Vec::new();
    say("The walls, in the order in which they are built.");
    loop {
        let first = walls.is_empty();
        let question = if first { "Key of the first wall, such as N" } else { "Next wall (Enter for no more)" };
        let key = Terminal.ask(Question::new(question, |text| {
            or_none(!first, text, |text| new_key(text, walls.iter().map(|wall| wall.key.as_str())))
        }))?;
        let Some(key) = key else { return Ok(walls) };
        let name = Terminal.ask(Question::text("  Name").usual(key.clone()))?;
        let length_mm = Terminal.ask(Question::new("  Length in mm (Enter if not known)", |text| {
            or_none(true, text, |text| {
                let length = parse_decimal(text).map_err(|error| error.to_string())?;
                LENGTH.check(length).map_err(|error| error.to_string())
            })
        }))?;
        let courses = Terminal.ask(Question::new("  Courses", |text| count(text, 1000)))?;
        let joints = Question::new("  Movement joints", |text| count(text, 1000));
        let joints = Terminal.ask(joints.usual("0".to_owned()))?;
        let openings = Question::new("  Openings", |text| count(text, 100));
        let openings = Terminal.ask(openings.usual("0".to_owned()))?;
        walls.push(Wall {
            key,
            name,
            length_mm,
            courses,
            openings: (1..=openings).map(opening).collect::<Result<_, _>>()?,
            joints: vec![Joint { at_mm: None }; joints as usize],
            ..Wall::default()
        });
    }
}

fn opening(number: u32) -> Result<Opening, Failure> {
    let kind = word(format!("  What is O{number}"))?;
    let key = format!("O{number}");
    Ok(Opening { key, kind, from_mm: None, to_mm: None, sill_mm: None, head_mm: None, dry: false })
}

/// A key that is not taken yet; `job` always is.
fn new_key<'k>(text: &str, mut taken: impl Iterator<Item = &'k str>) -> Result<String, String> {
    let key = key(text)?;
    if key == "job" || taken.any(|other| other == key) { Err(format!("{key} is already taken")) } else { Ok(key) }
}

fn count(text: &str, most: u32) -> Result<u32, String> {
    match parse_count(text) {
        Ok(count) if count <= most => Ok(count),
        Ok(_) => Err(format!("at most {most}")),
        Err(error) => Err(error.to_string()),
    }
}

fn corners(walls: &[Wall]) -> Result<Vec<Corner>, Failure> {
    let mut corners: Vec<Corner> = Vec::new();
    if walls.len() < 2 {
        return Ok(corners);
    }
    say("The corners between these walls.");
    let keys: Vec<&str> = walls.iter().map(|wall| wall.key.as_str()).collect();
    loop {
        let key = Terminal.ask(Question::new("Key of a corner, such as NE (Enter for no more)", |text| {
            let taken = keys.iter().copied().chain(corners.iter().map(|corner| corner.key.as_str()));
            or_none(true, text, |text| new_key(text, taken.clone()))
        }))?;
        let Some(key) = key else { return Ok(corners) };
        let kind = word("  What is it".to_owned())?;
        let walls = Terminal.ask(Question::new("  Between which two walls, such as N E", |text| {
            let pair: Vec<String> = text.split_whitespace().map(str::to_owned).collect();
            let good = pair.len() == 2 && pair[0] != pair[1] && pair.iter().all(|wall| keys.contains(&wall.as_str()));
            if good { Ok(pair) } else { Err(format!("type two of {}", keys.join(", "))) }
        }))?;
        corners.push(Corner { key, kind, walls, dry: false });
    }
}
