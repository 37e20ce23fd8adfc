//! Setting a job up by questions.

mod answers;
mod measures;
mod panel;
mod people;
mod sketch;
mod walls;

use std::path::Path;

use self::answers::{Answers, Stop};
use self::measures::lengths;
use self::panel::{hung, panel};
use self::people::{people, people_in_words};
use self::sketch::sketch;
use self::walls::{Studs, ask_corners, ask_step_gap, ask_walls};
use super::question::{Asker, Question};
use super::screen::{say, say_wrapped};
use crate::building::{Job, Paper, Wall, read_job, write_job_file};
use crate::cli::failure::Failure;
use crate::cli::job_files::find_sequence;
use crate::form::{check_key, check_name};
use crate::plain::count;
use crate::sequence::{SHIPPED, Sequence};
use crate::units::number::show;
use crate::units::parse_decimal;

/// Asks for everything that a job and its sums need; shows what was understood, and takes corrections. The people of the
/// job `before` are offered.
pub fn ask(before: Option<&Job>) -> Result<(Job, Sequence), Failure> {
    let shipped = SHIPPED.iter().map(|(key, _)| find_sequence(key, Path::new("")));
    let mut sequences: Vec<Sequence> = shipped.collect::<Result<_, _>>()?;
    say_wrapped(
        "A new job. Enter takes what is in brackets; back goes to the question before; ? says what a question means; \
         Ctrl-C leaves and writes nothing. Lengths are millimetres, or as 2.4m, 2,4m, 7'10\".",
        0,
    );
    let mut answers = Answers::default();
    loop {
        answers.rewind();
        match interview(&mut answers, &sequences, before) {
            Ok((job, sequence)) => return Ok((job, sequences.swap_remove(sequence))),
            Err(Stop::Back) => answers.take_back(),
            Err(Stop::Failure(failure)) => return Err(failure),
        }
    }
}

/// One run through the questions; what is answered already is not asked.
fn interview(ask: &mut Answers, sequences: &[Sequence], before: Option<&Job>) -> Result<(Job, usize), Stop> {
    let name = ask.ask(Question::new("Name of the job", named))?;
    let key = Question::new("Short key", key).usual(slug(&name));
    let key = ask.ask(key.help("What you type to mean this job when there are several: --job KEY."))?;
    let address = optional(ask, "Address (Enter: none)")?;
    let builder = optional(ask, "Builder it is handed over to (Enter: none)")?;
    let zone = Question::new("Time zone of the site", |text| {
        text.parse().map_err(|_| "type a name such as Pacific/Auckland or Europe/London".to_owned())
    });
    let time_zone = ask.ask(zone.usual("Pacific/Auckland".to_owned()))?;
    let place = ask.ask(Question::new("Latitude and longitude, as -43.5 172.6 (Enter: not known)", place).or_none())?;
    let titles: Vec<String> = sequences.iter().map(|one| format!("{}: {}", one.key, one.title)).collect();
    let chosen = ask.ask(Question::choice("Which sequence", &titles).usually(0))?;
    let sequence = &sequences[chosen];
    let people = people(ask, sequence, before)?;
    let mut panel = panel(ask, sequence)?;
    let studs = Question::new("Studs: spacing and width", |text| match lengths(text)?.as_slice() {
        [spacing, width] if *width > 0.0 && spacing > width => Ok(Studs { spacing_mm: *spacing, width_mm: *width }),
        _ => Err("type the spacing and the width, such as 600 45; the spacing is more than the width".to_owned()),
    });
    let studs = studs.usual("600 45".to_owned()).help(
        "Centre to centre, and the face that the cladding is fixed to. Studs are laid out by it from the left end of each \
         wall, with one at either side of every opening; put right in the job file what was framed otherwise.",
    );
    let studs = ask.ask(studs)?;
    let bearing = Question::new("What each edge needs on a stud", |text| match lengths(text)?.as_slice() {
        [bearing] if *bearing <= studs.width_mm => Ok(*bearing),
        _ => Err(format!("one length, no more than the stud is wide, {} mm", show(studs.width_mm))),
    });
    let bearing = bearing.usual("20".to_owned()).help(
        "So much of the stud lies behind each edge at a joint; the maker's instructions say how much. 20 mm is common \
         practice. Where one stud is too narrow for both edges, a second one is put on the framer's list.",
    );
    panel.bearing_mm = Some(ask.ask(bearing)?);
    panel.stud_width_mm = Some(studs.width_mm);
    let mut job = Job {
        key,
        name,
        address,
        builder,
        time_zone,
        latitude_deg: place.map(|(latitude, _)| latitude),
        longitude_deg: place.map(|(_, longitude)| longitude),
        panel: Some(panel),
        lift: None,
        fixing: None,
        people,
        floor_lines_mm: Vec::new(),
        walls: Vec::new(),
        corners: Vec::new(),
        papers: Vec::new(),
        figures: Vec::new(),
        particulars: None,
    };
    ask_walls(ask, &mut job, &studs)?;
    ask_step_gap(ask, &mut job)?;
    ask_corners(ask, &mut job)?;
    job.papers = papers(ask, sequence)?;
    confirmed(ask, &job, sequence)?;
    Ok((job, chosen))
}

fn key(text: &str) -> Result<String, String> {
    check_key(text).map(|()| text.to_owned()).map_err(|why| format!("the key {why}"))
}

fn named(text: &str) -> Result<String, String> {
    check_name(text).map(|()| text.to_owned()).map_err(|why| format!("the name {why}"))
}

/// "Hill St 3" as a key: `hill-st-3`.
fn slug(name: &str) -> Option<String> {
    let words = name.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| !word.is_empty());
    let slug = words.map(str::to_ascii_lowercase).collect::<Vec<_>>().join("-");
    check_key(&slug).is_ok().then_some(slug)
}

fn optional(ask: &mut Answers, text: &str) -> Result<Option<String>, Stop> {
    ask.ask(Question::new(text, named).or_none())
}

fn place(text: &str) -> Result<(f64, f64), String> {
    let words: Vec<&str> = text.split([' ', ',']).filter(|word| !word.is_empty()).collect();
    let numbers: Vec<f64> = words.iter().filter_map(|word| parse_decimal(word).ok()).collect();
    match (numbers.as_slice(), words.len()) {
        ([latitude, longitude], 2) if latitude.abs() <= 90.0 && longitude.abs() <= 180.0 => Ok((*latitude, *longitude)),
        _ => Err("type two numbers, north and east positive, such as -43.5 172.6".to_owned()),
    }
}

fn papers(ask: &mut Answers, sequence: &Sequence) -> Result<Vec<Paper>, Stop> {
    if sequence.documents.is_empty() {
        return Ok(Vec::new());
    }
    let titles: Vec<String> = sequence.documents.iter().map(|document| document.title.clone()).collect();
    let held = ask.ask(Question::some_of("Papers that you hold, by number (Enter: none yet)", &titles, true))?;
    let paper = |place: usize| Paper { key: sequence.documents[place].key.clone(), title: titles[place].clone() };
    Ok(held.into_iter().map(paper).collect())
}

/// Shows what was understood; goes on once somebody says that it is right.
fn confirmed(ask: &mut Answers, job: &Job, sequence: &Sequence) -> Result<(), Stop> {
    // The same checks as a file gets.
    if let Err(mistakes) = read_job(&write_job_file(job, &sequence.key, &[])) {
        mistakes.iter().for_each(|mistake| say_wrapped(&format!("  {}", mistake.message), 4));
        return Err(Stop::Back);
    }
    summary(job, sequence);
    loop {
        let question = Question::text("Set it up like this? y, or list to change an answer");
        let answer = super::question::Terminal.ask(question)?;
        let answers = ask.list();
        match (answer.to_lowercase().as_str(), answer.parse::<usize>()) {
            ("y" | "yes", _) => return Ok(()),
            ("back", _) => return Err(Stop::Back),
            ("list", _) => {
                for (number, (question, answer)) in (1..).zip(&answers) {
                    say_wrapped(&format!("{number:>3} {question}: {answer}"), 4);
                }
                say("Type the number of the one to answer again.");
            }
            (_, Ok(number)) if (1..=answers.len()).contains(&number) => {
                let question = answers[number - 1].0.to_owned();
                ask.ask_again(&question);
                // Nothing is taken back but that one.
                ask.rewind();
                return Err(Stop::Back);
            }
            _ => say("  y, list, back, or the number of an answer; Ctrl-C leaves and writes nothing"),
        }
    }
}

/// Says what was understood, each wall with its sketch.
fn summary(job: &Job, sequence: &Sequence) {
    say("");
    say_wrapped(&format!("{} ({}), by {}", job.name, job.key, sequence.title), 2);
    say_wrapped(&people_in_words(&job.people), 2);
    if let Some(panel) = &job.panel {
        let lap = panel.lap_mm.map_or_else(String::new, |lap| format!(", lap {}", show(lap)));
        let (length, cover) = (show(panel.length_mm), show(panel.cover_mm));
        say_wrapped(&format!("Each {} {length} mm long, cover {cover} mm{lap}", hung(sequence)), 2);
    }
    let longest_mm = job.walls.iter().filter_map(|wall| wall.length_mm).fold(0.0, f64::max);
    for wall in &job.walls {
        say_wrapped(&wall_in_words(wall), 2);
        sketch(wall, longest_mm).iter().for_each(|row| say(&format!("    {row}")));
    }
    let corners: Vec<String> = job.corners.iter().map(|corner| format!("{} {}", corner.key, corner.kind)).collect();
    let corners = if corners.is_empty() { "none".to_owned() } else { corners.join(", ") };
    say_wrapped(&format!("Corners: {corners}. {} listed.", count(job.papers.len(), "paper")), 2);
}

fn wall_in_words(wall: &Wall) -> String {
    let mm = |mm: Option<f64>| mm.map(show).unwrap_or_default();
    let parts = [(wall.courses as usize, "course"), (wall.openings.len(), "opening"), (wall.joints.len(), "joint")];
    let parts: Vec<String> = parts.iter().map(|(number, one)| count(*number, one)).collect();
    format!("{}: {} mm long, {} mm high, {}", wall.key, mm(wall.length_mm), mm(wall.height_mm), parts.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_makes_a_key() {
        assert_eq!(slug("Hill St 3/4"), Some("hill-st-3-4".to_owned()));
        assert_eq!(slug("木"), None);
    }
}
