//! Setting a job up by questions.

mod answers;
mod measures;
mod sketch;
mod walls;

use std::path::Path;

use self::answers::{Answers, Stop};
use self::measures::{lengths, measured};
use self::sketch::sketch;
use self::walls::{Studs, ask_corners, ask_walls};
use super::question::{Asker, Question};
use super::screen::{say, say_wrapped};
use crate::building::{Job, Panel, Paper, Person, Wall, read_job, write_job_file};
use crate::cli::failure::Failure;
use crate::cli::job_files::find_sequence;
use crate::form::{check_key, check_name, check_person, is_same_name};
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

/// Those of the job before who have roles that the sequence knows, where a lead is among them and they are wanted.
fn people_before(ask: &mut Answers, sequence: &Sequence, before: Option<&Job>) -> Result<Vec<Person>, Stop> {
    let Some(before) = before else { return Ok(Vec::new()) };
    let known = |person: &&Person| person.roles.iter().all(|role| sequence.roles.contains(role));
    let people: Vec<Person> = before.people.iter().filter(known).cloned().collect();
    if !people.iter().any(|person| person.has_any(&["lead".to_owned()])) {
        return Ok(Vec::new());
    }
    let question = Question::yes_no(format!("The people of {}? (n to type others)", before.name), true);
    let wanted = ask.ask(question.above(format!("  {}", people_in_words(&people))))?;
    Ok(if wanted { people } else { Vec::new() })
}

fn people_in_words(people: &[Person]) -> String {
    people.iter().map(|p| format!("{} ({})", p.name, p.roles.join(", "))).collect::<Vec<_>>().join(", ")
}

fn people(ask: &mut Answers, sequence: &Sequence, before: Option<&Job>) -> Result<Vec<Person>, Stop> {
    let mut people = people_before(ask, sequence, before)?;
    loop {
        let number = people.len() + 1;
        let text = match number {
            1 => "Crew lead".to_owned(),
            _ => format!("Person {number} and what they are (Enter: no more)"),
        };
        let mut question = Question::new(text, |text: &str| {
            if text.is_empty() && number > 1 {
                return Ok(None);
            }
            let person = person(text, sequence, number == 1)?;
            match people.iter().find(|other| is_same_name(&other.name, &person.name)) {
                Some(same) => Err(format!("{} is already on the list", same.name)),
                None => Ok(Some(person)),
            }
        });
        if number == 2 {
            let roles = sequence.roles.join(", ");
            let example =
                sequence.roles.iter().find(|role| *role != "lead" && begun_by(sequence, &role[..1]).len() == 1);
            let example = example
                .map_or_else(String::new, |role| format!("Such as Bea Ruiz {role}, or Bea Ruiz {}. ", &role[..1]));
            question = question.above(format!("{example}What they may be: {roles}."));
        }
        let Some(person) = ask.ask(question)? else { return Ok(people) };
        people.push(person);
    }
}

/// The roles that begin so.
fn begun_by<'s>(sequence: &'s Sequence, text: &str) -> Vec<&'s str> {
    sequence.roles.iter().map(String::as_str).filter(|role| role.starts_with(text)).collect()
}

/// "Bea Ruiz builder": words in small letters at the end are roles, or how roles begin.
fn person(text: &str, sequence: &Sequence, is_lead: bool) -> Result<Person, String> {
    let words: Vec<&str> = text.split([' ', ',']).filter(|word| !word.is_empty()).collect();
    let small = words.iter().rev().take_while(|word| word.chars().all(|c| c.is_lowercase() || c == '-')).count();
    let after_comma = text.split(',').skip(1).map(str::trim);
    if let Some(other) = after_comma.clone().find(|part| part.contains(char::is_uppercase)) {
        return Err(format!("one person at a time; {other} is asked for next"));
    }
    let (name, given) = words.split_at(words.len() - small.min(words.len().saturating_sub(1)));
    let mut roles: Vec<String> = Vec::new();
    for word in given {
        match begun_by(sequence, word).as_slice() {
            [role] => roles.push((*role).to_owned()),
            [] => return Err(format!("'{word}' is not one of {}", sequence.roles.join(", "))),
            several => return Err(format!("'{word}' may be {}", several.join(" or "))),
        }
    }
    let usual = if is_lead { "lead" } else { "installer" };
    if roles.is_empty() || is_lead && !roles.iter().any(|role| role == usual) {
        roles.insert(0, usual.to_owned());
    }
    let name = name.join(" ");
    check_person(&name).map_err(|why| format!("the name {why}"))?;
    Ok(Person { name, roles })
}

fn panel(ask: &mut Answers, sequence: &Sequence) -> Result<Panel, Stop> {
    let hung = hung(sequence);
    // Common practice, no source: boards that lap are longer, meet closely over a soaker, and are not lifted into a clip.
    let (length, joint, lift_in) = if hung == "panel" { ("2400", "10", "5") } else { ("4200", "2", "0") };
    let length_mm = measured(ask, &format!("Length of a {hung}"), Some(length), "As it comes, before it is cut.")?;
    let cover = format!(
        "From the lower edge of one course to the lower edge of the next: the height of a {hung} less what the next one \
         covers of it."
    );
    let cover_mm = measured(ask, "Cover: the height that one course gains", None, &cover)?;
    let (lap_mm, cover_least_mm) = match hung {
        "panel" => (None, None),
        _ => {
            let lap = Question::new("Lap of one course over the next", move |text| match lengths(text)?.as_slice() {
                [lap] if *lap < cover_mm => Ok(*lap),
                [_] => Err(format!("the lap must be less than the cover, {} mm", show(cover_mm))),
                _ => Err("one length, such as 30".to_owned()),
            });
            let lap = ask.ask(lap)?;
            let least = Question::new("Least cover that the lap may be let out to", move |text| {
                match lengths(text)?.as_slice() {
                    [least] if *least > 0.0 && *least <= cover_mm => Ok(*least),
                    _ => Err(format!("one length, no more than the cover, {} mm", show(cover_mm))),
                }
            });
            let least = least.usual(show((cover_mm - 10.0).max(cover_mm / 2.0))).help(
                "So that courses come out at sills, heads and the top every course may lap a little more. Common practice: \
                 10 mm less than the cover, and no more than the eye sees.",
            );
            (Some(lap), Some(ask.ask(least)?).filter(|least| *least < cover_mm))
        }
    };
    let asked = [
        ("Joint between two ends", joint, "The open width of a vertical joint."),
        ("Gap round openings", "10", "Between the cladding and the side, head or sill of an opening."),
        ("Room to lift the top course in", lift_in, "So much lower the top pieces are cut."),
        ("Lowest piece that may be left", "50", "At the top, under a sill or over a head."),
        ("Shortest piece that may be left", "300", "At the end of a course."),
        ("Joints keep clear of openings by", "100", "How far a vertical joint stays away from a window or a door."),
    ];
    let figures = asked.map(|(text, usual, _)| format!("{} {usual}", text.to_lowercase())).join(", ");
    let usual = Question::yes_no("Does the maker say so? (n to type each)", true);
    let usual = ask.ask(usual.above(format!("Usual figures in mm: {figures}.")))?;
    let mut figures = [0.0; 6];
    for (figure, (text, value, help)) in figures.iter_mut().zip(asked) {
        let question = Question::new(text, one_length).usual(value.to_owned());
        let question = question.help(format!("{help} As the maker's instructions have it."));
        *figure = if usual { one_length(value).map_err(Failure::input)? } else { ask.ask(question)? };
    }
    let [joint_mm, gap_mm, lift_in_mm, least_piece_mm, least_column_mm, clear_of_opening_mm] = figures;
    let stock = Question::new("Sold in lengths of", |text| {
        let whole = |mm: &f64| (mm.fract() == 0.0 && (1.0..=20_000.0).contains(mm)).then_some(*mm as u32);
        let lengths: Option<Vec<u32>> = lengths(text)?.iter().map(whole).collect();
        lengths.filter(|lengths| !lengths.is_empty()).ok_or_else(|| "whole millimetres, such as 2400 3000".to_owned())
    });
    let stock_mm = ask.ask(stock.usual(show(length_mm)))?;
    Ok(Panel {
        length_mm,
        cover_mm,
        least_column_mm,
        least_piece_mm,
        joint_mm,
        clear_of_opening_mm,
        lift_in_mm,
        gap_mm,
        lap_mm,
        cover_least_mm,
        cover_most_mm: cover_least_mm.map(|_| cover_mm),
        stock_mm,
        ..Panel::default()
    })
}

fn one_length(text: &str) -> Result<f64, String> {
    match lengths(text)?.as_slice() {
        [mm] => Ok(*mm),
        _ => Err("one length, such as 10".to_owned()),
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

/// What the courses are made of.
fn hung(sequence: &Sequence) -> &str {
    sequence.products().find(|product| matches!(*product, "panel" | "plank" | "board")).unwrap_or("panel")
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
    fn names_and_roles_are_told_apart() {
        let sequence = find_sequence("panels-on-clips", Path::new("")).unwrap();
        let read = |text: &str, lead| person(text, &sequence, lead).map(|it| (it.name, it.roles));
        let roles = |roles: &[&str]| roles.iter().map(|role| (*role).to_owned()).collect::<Vec<_>>();
        assert_eq!(read("Ana", true), Ok(("Ana".into(), roles(&["lead"]))));
        assert_eq!(read("Ana de la Cruz", true), Ok(("Ana de la Cruz".into(), roles(&["lead"]))));
        assert_eq!(read("Bea Ruiz builder", false), Ok(("Bea Ruiz".into(), roles(&["builder"]))));
        assert_eq!(read("Tom", false), Ok(("Tom".into(), roles(&["installer"]))));
        assert!(read("Tom king", false).unwrap_err().starts_with("'king' is not one of lead"));
        assert!(read("", true).is_err());
    }

    #[test]
    fn a_name_makes_a_key() {
        assert_eq!(slug("Hill St 3/4"), Some("hill-st-3-4".to_owned()));
        assert_eq!(slug("木"), None);
    }
}
