//! Walls, what is in them, and the corners between them.

use super::answers::{Answers, Stop};
use super::measures::{Heights, lengths, measured, one_length};
use crate::building::{Corner, CornerKind, Job, Joint, Opening, OpeningKind, Wall};
use crate::cli::prompts::question::{Asker, Question};
use crate::cli::prompts::screen::say_wrapped;
use crate::form::check_key;
use crate::plain::count;
use crate::setout::columns::columns;
use crate::setout::of_job::run_of;
use crate::setout::outline::Outline;
use crate::units::number::show;
use crate::units::parse_decimal;

/// Bearings of the points of the compass.
const COMPASS: [(&str, f64); 8] =
    [("n", 0.0), ("ne", 45.0), ("e", 90.0), ("se", 135.0), ("s", 180.0), ("sw", 225.0), ("w", 270.0), ("nw", 315.0)];

/// Spacing and width of the studs, mm.
pub struct Studs {
    pub spacing_mm: f64,
    pub width_mm: f64,
}

impl Studs {
    /// The centres of the studs of a wall: one flush with either end, one at either side of each opening, the rest at their
    /// spacing from the left end, over and under openings too. One that would stand in another, or over the side of an
    /// opening, is left out.
    fn centres(&self, length_mm: f64, openings: &[Opening]) -> Vec<f64> {
        let half = self.width_mm / 2.0;
        let last = length_mm - half;
        let sides: Vec<(f64, f64)> = openings.iter().filter_map(|opening| opening.from_mm.zip(opening.to_mm)).collect();
        let beside_it = |at: f64, (from, to): &(f64, f64)| at + half <= *from || at - half >= *to;
        let within = |at: f64, (from, to): &(f64, f64)| at - half >= *from && at + half <= *to;
        let beside = sides.iter().flat_map(|(from, to)| [from - half, to + half]);
        let between = (1..).map(|n| f64::from(n) * self.spacing_mm).take_while(|at| *at < last);
        let full =
            [half, last].into_iter().chain(beside).filter(|at| sides.iter().all(|opening| beside_it(*at, opening)));
        let mut studs: Vec<f64> = Vec::new();
        let between = between.filter(|at| sides.iter().all(|opening| beside_it(*at, opening) || within(*at, opening)));
        for at in full.chain(between) {
            if at >= half && at <= last && studs.iter().all(|stud| (stud - at).abs() >= self.width_mm) {
                studs.push(at);
            }
        }
        studs.sort_by(f64::total_cmp);
        studs
    }
}

/// Asks for the walls one after the other, and adds them to the job.
pub fn ask_walls(ask: &mut Answers, job: &mut Job, studs: &Studs) -> Result<(), Stop> {
    loop {
        let number = job.walls.len() + 1;
        let (text, may_end) = match number {
            1 => ("Wall 1: its key, such as N".to_owned(), false),
            _ => (format!("Wall {number}: its key (Enter: no more)"), true),
        };
        let taken: Vec<String> = job.walls.iter().map(|wall| wall.key.clone()).collect();
        let key = ask.ask(Question::new(text, move |text| match text {
            "" if may_end => Ok(None),
            text => new_key(text, &taken).map(Some),
        }))?;
        let Some(key) = key else { return Ok(()) };
        let wall = wall(ask, job, key, studs)?;
        job.walls.push(wall);
    }
}

fn wall(ask: &mut Answers, job: &Job, key: String, studs: &Studs) -> Result<Wall, Stop> {
    let length_mm = measured(ask, &format!("{key}: length"), None, "Of the framing, from corner to corner.")?;
    let before = job.walls.last().and_then(Heights::eaves);
    let heights = Heights::ask(ask, &format!("{key}: height"), before, length_mm)?;
    let compass = COMPASS.iter().any(|(point, _)| key.eq_ignore_ascii_case(point)).then(|| key.clone());
    let faces = Question::new(format!("{key}: faces, as N, NE or 350 (Enter: not known)"), bearing);
    let bearing_deg = ask.ask(faces.or_none().usual(compass))?;
    let (height_mm, top, base) = heights.of_wall(length_mm);
    let cover_mm = job.panel.as_ref().map_or(0.0, |panel| panel.cover_mm);
    let mut wall = Wall {
        name: key.clone(),
        key,
        length_mm: Some(length_mm),
        height_mm: Some(height_mm),
        top,
        base,
        bearing_deg,
        courses: if cover_mm > 0.0 { (height_mm / cover_mm).ceil().min(1000.0) as u32 } else { 0 },
        ..Wall::default()
    };
    let mut last = job.walls.iter().flat_map(|wall| &wall.openings).next_back().cloned();
    loop {
        let number = wall.openings.len() + 1;
        let mut question = Question::new(format!("{}: opening {number} (Enter: no more)", wall.key), |text: &str| {
            if text.is_empty() { Ok(None) } else { opening(text, number, &wall, last.as_ref()).map(Some) }
        });
        if number == 1 && job.walls.is_empty() {
            question = question.above(
                "Openings: left side from the left end, width, sill, head, such as 900 1200 900 2100. d in front is a \
                 door, which has no sill. Left out, sill and head are those of the one before.",
            );
        }
        let Some(opening) = ask.ask(question)? else { break };
        // A door has no sill to hand on; that of the window before it still counts.
        let sill_mm = opening.sill_mm.or(last.as_ref().and_then(|before| before.sill_mm));
        last = Some(Opening { sill_mm, ..opening.clone() });
        wall.openings.push(opening);
    }
    wall.studs_mm = studs.centres(length_mm, &wall.openings);
    wall.joints = joints(ask, job, &wall)?;
    Ok(wall)
}

/// A point of the compass, or degrees.
fn bearing(text: &str) -> Result<f64, String> {
    if let Some((_, degrees)) = COMPASS.iter().find(|(point, _)| text.eq_ignore_ascii_case(point)) {
        return Ok(*degrees);
    }
    match parse_decimal(text) {
        Ok(degrees) if (0.0..=360.0).contains(&degrees) => Ok(degrees),
        _ => Err("type N, NE, E and so on, or degrees from 0 to 360".to_owned()),
    }
}

/// "900 1200 900 2100", "d 3000 900": left side, width, sill, head.
fn opening(text: &str, number: usize, wall: &Wall, last: Option<&Opening>) -> Result<Opening, String> {
    let (kind, sizes) = match text.split_once(' ') {
        Some(("d" | "door", rest)) => (OpeningKind::Door, rest),
        Some(("w" | "window", rest)) => (OpeningKind::Window, rest),
        Some(("o" | "other", rest)) => (OpeningKind::Other, rest),
        _ => (OpeningKind::Window, text),
    };
    let sizes = lengths(sizes)?;
    let last_head = || last.and_then(|last| last.head_mm).ok_or("its head is missing, such as 2100");
    let last_sill = || last.and_then(|last| last.sill_mm).ok_or("its sill is missing, such as 900");
    let (from_mm, width_mm, sill_mm, head_mm) = match (kind, sizes.as_slice()) {
        (OpeningKind::Door, [from, width]) => (*from, *width, None, last_head()?),
        (OpeningKind::Door, [from, width, head]) => (*from, *width, None, *head),
        (_, [from, width]) => (*from, *width, Some(last_sill()?), last_head()?),
        (_, [from, width, sill]) => (*from, *width, Some(*sill), last_head()?),
        (_, [from, width, sill, head]) => (*from, *width, Some(*sill), *head),
        _ => return Err("type left side, width, sill and head, such as 900 1200 900 2100".to_owned()),
    };
    let to_mm = from_mm + width_mm;
    if width_mm < 100.0 {
        return Err(format!("an opening {} mm wide: type millimetres, or metres as 0.9m", show(width_mm)));
    }
    if wall.length_mm.is_some_and(|length| to_mm > length) {
        return Err(format!("it ends at {} mm, past the end of the wall", show(to_mm)));
    }
    if sill_mm.unwrap_or(0.0) >= head_mm {
        return Err(format!("its head, {} mm, is not above its sill", show(head_mm)));
    }
    if !wall.top.is_empty() {
        let top = Outline { points: wall.top.clone() };
        let corner = [from_mm, to_mm].into_iter().find(|at| top.height_mm(*at) < head_mm);
        if let Some(at) = corner {
            let (at, high) = (show(at), show(top.height_mm(at).round()));
            return Err(format!(
                "its head, {} mm, is above the wall, which is {high} mm high at {at} mm",
                show(head_mm)
            ));
        }
    }
    let opening = Opening {
        key: format!("O{number}"),
        kind,
        from_mm: Some(from_mm),
        to_mm: Some(to_mm),
        sill_mm,
        head_mm: Some(head_mm),
        dry: false,
    };
    match wall.openings.iter().find(|other| other.overlaps(&opening)) {
        Some(other) => Err(format!("it overlaps {}", other.key)),
        None => Ok(opening),
    }
}

/// Movement joints: how many, or where. As many as the panel's length asks for, unless somebody knows better.
fn joints(ask: &mut Answers, job: &Job, wall: &Wall) -> Result<Vec<Joint>, Stop> {
    let laps = job.panel.as_ref().is_some_and(|panel| panel.lap_mm.is_some());
    let with = Job { walls: vec![wall.clone()], ..job.clone() };
    let set_out = run_of(&with, &wall.key).ok().map(|run| columns(&run));
    if let Some(Err(error)) = &set_out {
        say_wrapped(&format!("  Note: {error}"), 4);
    }
    let by_the_sum =
        set_out.and_then(Result::ok).filter(|_| !laps).map(|set_out| set_out.joints_mm).unwrap_or_default();
    let length_mm = wall.length_mm.unwrap_or(f64::INFINITY);
    let question = Question::new(format!("{}: movement joints, how many or where", wall.key), move |text| {
        let places = lengths(text)?;
        match places.as_slice() {
            [count] if *count <= 100.0 && count.fract() == 0.0 => Ok(vec![Joint { at_mm: None }; *count as usize]),
            places if places.windows(2).any(|pair| pair[0] >= pair[1]) => Err("from left to right, please".to_owned()),
            places if places.iter().any(|at| *at >= length_mm) => Err("a joint stands past the end".to_owned()),
            places => Ok(places.iter().map(|at| Joint { at_mm: Some(*at) }).collect()),
        }
    });
    let places: Vec<String> = by_the_sum.iter().map(|at| show(*at)).collect();
    let question = question.usual(by_the_sum.len().to_string()).help(
        "Upright joints that are sealed. What stands in brackets follows from the length of a panel, the studs and the \
         openings; as the drawings have them, type where they are from the left end, such as 1800 3600.",
    );
    ask.ask(match by_the_sum.len() {
        0 => question,
        many => question.above(format!("  By the sum: {}, at {} mm.", count(many, "joint"), places.join(", "))),
    })
}

/// Asks how far the cladding stays away from a foot that steps, where one does.
pub fn ask_step_gap(ask: &mut Answers, job: &mut Job) -> Result<(), Stop> {
    let (true, Some(panel)) = (job.walls.iter().any(|wall| !wall.base.is_empty()), &mut job.panel) else {
        return Ok(());
    };
    let question = Question::new("Gap over and beside a step of the foot", one_length).usual("10".to_owned());
    let gap_mm = ask.ask(question.help("As the flashing there needs it. 10 mm is common practice."))?;
    (panel.base_gap_mm, panel.step_gap_mm) = (Some(gap_mm), Some(gap_mm));
    Ok(())
}

/// Asks for the corners: between each wall and the next, between the last and the first, and others where there are more.
pub fn ask_corners(ask: &mut Answers, job: &mut Job) -> Result<(), Stop> {
    let keys: Vec<String> = job.walls.iter().map(|wall| wall.key.clone()).collect();
    let mut pairs: Vec<(&String, &String, &str)> = keys.windows(2).map(|pair| (&pair[0], &pair[1], "p")).collect();
    if let ([first, _, .., last], true) = (keys.as_slice(), keys.len() > 2) {
        pairs.push((last, first, "-"));
    }
    for (place, (one, other, usual)) in pairs.into_iter().enumerate() {
        let mut question = Question::new(format!("Corner of {one} and {other}"), corner_kind).usual(usual.to_owned());
        if place == 0 {
            question = question.above(format!("Corners: {KINDS}."));
        }
        if let Some(kind) = ask.ask(question.help(format!("What is fixed where these two walls meet: {KINDS}.")))? {
            add_corner(job, kind, one, other);
        }
    }
    // Of three walls every pair was asked for.
    let mut number = 1;
    while keys.len() > 3 {
        let question = Question::new(format!("Other corner {number} (Enter: no more)"), |text: &str| {
            if text.is_empty() { Ok(None) } else { other_corner(text, &keys).map(Some) }
        });
        let question =
            question.help(format!("Two walls that meet elsewhere, and what is fixed there, such as N E i. {KINDS}."));
        let Some((one, other, kind)) = ask.ask(question)? else { break };
        add_corner(job, kind, &one, &other);
        number += 1;
    }
    Ok(())
}

const KINDS: &str = "p preformed, m metal, t timber, i internal, x mitred, - none";

/// "R G i": two walls and what is at their corner.
fn other_corner(text: &str, keys: &[String]) -> Result<(String, String, CornerKind), String> {
    let wall = |word: &str| {
        let found = keys.iter().find(|key| key.eq_ignore_ascii_case(word)).cloned();
        found.ok_or_else(|| format!("there is no wall {word}: {}", keys.join(", ")))
    };
    let [one, other, kind] = text.split_whitespace().collect::<Vec<_>>()[..] else {
        return Err(format!("type two walls and the kind, such as {} {} i", keys[0], keys[keys.len() - 1]));
    };
    let (one, other) = (wall(one)?, wall(other)?);
    if one == other {
        return Err("a corner is of two walls".to_owned());
    }
    corner_kind(kind)?.map(|kind| (one, other, kind)).ok_or_else(|| "type p, m, t, i or x".to_owned())
}

/// Adds a corner under the first of a few keys that isn't taken.
fn add_corner(job: &mut Job, kind: CornerKind, one: &str, other: &str) {
    let taken = |key: &String| {
        job.walls.iter().any(|wall| wall.key == *key) || job.corners.iter().any(|corner| corner.key == *key)
    };
    let named = [format!("{one}{other}"), format!("{one}-{other}"), format!("{one}-{other}-corner")];
    if let Some(key) = named.into_iter().find(|key| !taken(key)) {
        job.corners.push(Corner { key, kind, walls: vec![one.to_owned(), other.to_owned()], dry: false });
    }
}

fn corner_kind(text: &str) -> Result<Option<CornerKind>, String> {
    Ok(Some(match text.to_lowercase().as_str() {
        "-" | "none" => return Ok(None),
        "p" | "preformed" => CornerKind::Preformed,
        "m" | "metal" => CornerKind::Metal,
        "t" | "timber" => CornerKind::Timber,
        "i" | "internal" => CornerKind::Internal,
        "x" | "mitred" => CornerKind::Mitred,
        _ => return Err("type p, m, t, i, x, or - for none".to_owned()),
    }))
}

/// A key that is not taken yet; `job` always is.
fn new_key(text: &str, taken: &[String]) -> Result<String, String> {
    check_key(text).map_err(|why| format!("the key {why}"))?;
    let same = |other: &String| other == text;
    if text == "job" || taken.iter().any(same) { Err(format!("{text} is already taken")) } else { Ok(text.to_owned()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn studs_stand_flush_with_both_ends() {
        let studs = Studs { spacing_mm: 600.0, width_mm: 45.0 };
        assert_eq!(studs.centres(2400.0, &[]), [22.5, 600.0, 1200.0, 1800.0, 2377.5]);
        // One that would stand in the last is left out.
        assert_eq!(studs.centres(1240.0, &[]), [22.5, 600.0, 1217.5]);
    }

    #[test]
    fn studs_go_on_over_and_under_openings_with_one_at_either_side() {
        let studs = Studs { spacing_mm: 600.0, width_mm: 45.0 };
        let opening = |from, to| opening(&format!("{from} {} 0 2100", to - from), 1, &Wall::default(), None).unwrap();
        assert_eq!(
            studs.centres(4200.0, &[opening(1200, 3000)]),
            [22.5, 600.0, 1177.5, 1800.0, 2400.0, 3022.5, 3600.0, 4177.5]
        );
        // Over a wider one there is no full-height stud beside the narrower one.
        let stacked = [opening(1000, 2600), opening(1300, 2300)];
        let over = [22.5, 600.0, 977.5, 1200.0, 1800.0, 2400.0, 2622.5, 3000.0, 3577.5];
        assert_eq!(studs.centres(3600.0, &stacked), over);
        // An opening at the end of the wall.
        assert_eq!(studs.centres(2400.0, &[opening(0, 900)]), [600.0, 922.5, 1200.0, 1800.0, 2377.5]);
    }

    #[test]
    fn an_opening_takes_what_it_lacks_from_the_one_before() {
        let wall = Wall { length_mm: Some(6000.0), ..Wall::default() };
        let first = opening("900 1200 900 2100", 1, &wall, None).unwrap();
        assert_eq!((first.from_mm, first.to_mm, first.sill_mm), (Some(900.0), Some(2100.0), Some(900.0)));
        let second = opening("3m 0,6m", 2, &wall, Some(&first)).unwrap();
        assert_eq!((second.to_mm, second.sill_mm, second.head_mm), (Some(3600.0), Some(900.0), Some(2100.0)));
        let door = opening("d 4200 900", 3, &wall, Some(&first)).unwrap();
        assert_eq!((door.kind, door.sill_mm, door.head_mm), (OpeningKind::Door, None, Some(2100.0)));
        let said = |text: &str| opening(text, 1, &wall, None).unwrap_err();
        assert_eq!(said("900 1200"), "its sill is missing, such as 900");
        assert_eq!(said("900 6 900 2100"), "an opening 6 mm wide: type millimetres, or metres as 0.9m");
        assert_eq!(said("5000 1200 900 2100"), "it ends at 6200 mm, past the end of the wall");
        let gable = Wall { top: vec![[0.0, 2400.0], [3000.0, 3900.0], [6000.0, 2400.0]], ..wall.clone() };
        let raised = opening("600 900 1800 3000", 1, &gable, None).unwrap_err();
        assert_eq!(raised, "its head, 3000 mm, is above the wall, which is 2700 mm high at 600 mm");
        let crowded = Wall { openings: vec![first], ..wall.clone() };
        assert_eq!(opening("2000 600 900 2100", 2, &crowded, None).unwrap_err(), "it overlaps O1");
    }
}
