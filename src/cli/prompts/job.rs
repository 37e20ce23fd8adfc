//! Setting a job up by questions.

use std::path::Path;

use super::{choose, line, say, until};
use crate::building::{Corner, Job, Joint, Opening, Person, Wall};
use crate::cli::Failure;
use crate::cli::job_files::find_sequence;
use crate::form::{check_key, check_name};
use crate::sequence::{SHIPPED, Sequence};
use crate::units::{parse_count, parse_decimal};

/// Asks for everything that a job needs.
///
/// # Errors
/// [`Failure`] when the terminal is gone.
pub fn ask() -> Result<(Job, Sequence), Failure> {
    say("A new job. Enter takes what stands in brackets; Ctrl-C leaves and writes nothing.");
    let key = until("Short key of the job, such as miller-rd", None, key)?;
    let name = until("Name of the job", None, named)?;
    let address = line("Address (Enter: none)", None)?;
    let builder = line("Builder it is handed to (Enter: none)", None)?;
    let time_zone = until("Time zone of the site", Some("Pacific/Auckland"), |text| {
        text.parse().map_err(|_| "a name such as Pacific/Auckland or Europe/London".to_owned())
    })?;
    let titles: Vec<String> = SHIPPED
        .iter()
        .map(|(key, _)| find_sequence(key, Path::new("")).map(|found| format!("{key}: {}", found.title)))
        .collect::<Result<_, _>>()?;
    let picked = choose("Which sequence", &titles)?;
    let sequence = find_sequence(SHIPPED[picked].0, Path::new(""))?;
    let people = people(&sequence)?;
    let walls = walls()?;
    let corners = corners(&walls)?;
    let job = Job {
        key,
        name,
        address: Some(address).filter(|text| !text.is_empty()),
        builder: Some(builder).filter(|text| !text.is_empty()),
        time_zone,
        latitude_deg: None,
        longitude_deg: None,
        panel: None,
        lift: None,
        people,
        walls,
        corners,
        papers: Vec::new(),
    };
    Ok((job, sequence))
}

fn key(text: &str) -> Result<String, String> {
    check_key(text).map(|()| text.to_owned()).map_err(|why| format!("the key {why}"))
}

fn named(text: &str) -> Result<String, String> {
    check_name(text).map(|()| text.to_owned()).map_err(|why| format!("the name {why}"))
}

fn people(sequence: &Sequence) -> Result<Vec<Person>, Failure> {
    let mut people: Vec<Person> = Vec::new();
    say(&format!("The people, the crew lead first. Roles: {}.", sequence.roles.join(", ")));
    loop {
        let question = if people.is_empty() { "Name of the crew lead" } else { "Next person (Enter: no more)" };
        let first = people.is_empty();
        let name = until(question, None, |text| {
            if text.is_empty() && !first {
                return Ok(String::new());
            }
            let name = named(text)?;
            if people.iter().any(|person| person.name == name) {
                Err(format!("{name} is there already"))
            } else {
                Ok(name)
            }
        })?;
        if name.is_empty() {
            return Ok(people);
        }
        let usual = if first { "lead" } else { "installer" };
        let roles = until("Roles", Some(usual), |text| {
            let roles: Vec<String> =
                text.split([' ', ',']).filter(|word| !word.is_empty()).map(str::to_owned).collect();
            match roles.iter().find(|role| !sequence.roles.contains(role)) {
                Some(role) => Err(format!("'{role}' is not one of {}", sequence.roles.join(", "))),
                None if first && !roles.iter().any(|role| role == "lead") => Err("the first one is the lead".into()),
                None if roles.is_empty() => Err("at least one role".into()),
                None => Ok(roles),
            }
        })?;
        people.push(Person { name, roles });
    }
}

fn walls() -> Result<Vec<Wall>, Failure> {
    let mut walls: Vec<Wall> = Vec::new();
    say("The walls, in the order in which they are built.");
    loop {
        let first = walls.is_empty();
        let question = if first { "Key of the first wall, such as N" } else { "Next wall (Enter: no more)" };
        let key = until(question, None, |text| {
            if text.is_empty() && !first {
                return Ok(String::new());
            }
            let key = key(text)?;
            if key == "job" || walls.iter().any(|wall| wall.key == key) {
                Err(format!("{key} is taken"))
            } else {
                Ok(key)
            }
        })?;
        if key.is_empty() {
            return Ok(walls);
        }
        let name = line("  Name", Some(&key))?;
        let length = until("  Length in mm (Enter: not known)", None, millimetres)?;
        let courses = until("  Courses", None, |text| count(text, 1000))?;
        let joints = until("  Movement joints", Some("0"), |text| count(text, 1000))?;
        let openings = until("  Openings", Some("0"), |text| count(text, 100))?;
        let openings = (1..=openings)
            .map(|number| {
                let kinds = ["window".to_owned(), "door".to_owned(), "other".to_owned()];
                let kind = choose(&format!("  O{number} is a"), &kinds)?;
                let none = None;
                let kind = kinds[kind].clone();
                Ok(Opening {
                    key: format!("O{number}"),
                    kind,
                    from_mm: none,
                    to_mm: none,
                    sill_mm: none,
                    head_mm: none,
                })
            })
            .collect::<Result<_, Failure>>()?;
        walls.push(Wall {
            key,
            name,
            length_mm: length,
            height_mm: None,
            bearing_deg: None,
            horizon_deg: None,
            courses,
            studs_mm: Vec::new(),
            openings,
            joints: vec![Joint { at_mm: None }; joints as usize],
        });
    }
}

fn millimetres(text: &str) -> Result<Option<f64>, String> {
    if text.is_empty() {
        return Ok(None);
    }
    match parse_decimal(text) {
        Ok(length) if (1.0..=200_000.0).contains(&length) => Ok(Some(length)),
        Ok(_) => Err("1 to 200000 mm".into()),
        Err(error) => Err(error.to_string()),
    }
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
        let key = until("Key of a corner, such as NE (Enter: no more)", None, |text| {
            if text.is_empty() {
                return Ok(String::new());
            }
            let key = key(text)?;
            let taken = keys.contains(&key.as_str()) || corners.iter().any(|corner| corner.key == key) || key == "job";
            if taken { Err(format!("{key} is taken")) } else { Ok(key) }
        })?;
        if key.is_empty() {
            return Ok(corners);
        }
        let kinds = ["preformed".to_owned(), "metal".to_owned()];
        let kind = choose("  It is", &kinds)?;
        let between = until("  Between which two walls, as in N E", None, |text| {
            let pair: Vec<String> = text.split_whitespace().map(str::to_owned).collect();
            let good = pair.len() == 2 && pair[0] != pair[1] && pair.iter().all(|wall| keys.contains(&wall.as_str()));
            if good { Ok(pair) } else { Err(format!("two of {}", keys.join(", "))) }
        })?;
        corners.push(Corner { key, kind: kinds[kind].clone(), walls: between });
    }
}
