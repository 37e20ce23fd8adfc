//! The job file: a TOML file that says what the building is and who works on it.

use std::collections::BTreeSet;

use super::rates::{RATE, rates};
use super::{Corner, Job, Joint, Opening, Panel, PanelLift, Paper, Person, Subject, Wall};
use crate::form::{Field, Kind, Mistake, Section, Shape, Sheet};

/// Longest wall or greatest height taken, 200 m.
const MOST_MM: f64 = 200_000.0;

/// More stock lengths than any merchant has.
const MOST_STOCKS: usize = 20;

/// The shape of a job file.
pub static JOB_SHAPE: Shape = Shape {
    name: "job",
    doc: "A job: one building to be clad",
    fields: &[
        Field::needed("key", Kind::Key, "short key, typed on the command line"),
        Field::needed("name", Kind::Name, "name of the job"),
        Field::optional("address", Kind::Name, "where the site is"),
        Field::optional("builder", Kind::Name, "who the pack is handed to"),
        Field::needed("time_zone", Kind::Name, "time zone of the site, as in \"Pacific/Auckland\""),
        Field::optional("latitude_deg", Kind::Number(-90.0, 90.0), "latitude, north positive"),
        Field::optional("longitude_deg", Kind::Number(-180.0, 180.0), "longitude, east positive"),
        Field::needed("sequence", Kind::Name, "key of a shipped sequence, or the path of a sequence file"),
        Field::needed("person", Kind::Tables(&PERSON), "the people, one [[person]] each"),
        Field::optional("panel", Kind::Table(&PANEL), "the panel and how it is set out, for the set-out sums"),
        Field::optional("lift", Kind::Table(&LIFT), "how a panel is lifted, for the caution about lifting"),
        Field::needed("wall", Kind::Tables(&WALL), "the walls, one [[wall]] each, in the order they are built"),
        Field::optional("corner", Kind::Tables(&CORNER), "the corners, one [[corner]] each"),
        Field::optional("paper", Kind::Tables(&PAPER), "the papers that the job holds, one [[paper]] each"),
        Field::optional("rate", Kind::Tables(&RATE), "what the work is paid at, one [[rate]] each"),
    ],
};

static PERSON: Shape = Shape {
    name: "person",
    doc: "A person on the job",
    fields: &[
        Field::needed("name", Kind::Name, "full name"),
        Field::needed("roles", Kind::Names, "roles, as the sequence names them"),
    ],
};

static PANEL: Shape = Shape {
    name: "panel",
    doc: "The panel and how it is set out; the maker's instructions come first",
    fields: &[
        Field::needed("length_mm", Kind::Number(1.0, 20_000.0), "length of a whole panel"),
        Field::needed("cover_mm", Kind::Number(1.0, 5_000.0), "height that one course gains"),
        Field::needed("least_column_mm", Kind::Number(0.0, 20_000.0), "shortest column that may be left"),
        Field::needed("least_piece_mm", Kind::Number(0.0, 5_000.0), "lowest piece that may be left"),
        Field::needed("joint_mm", Kind::Number(0.0, 200.0), "width of the joint between two columns"),
        Field::needed("clear_of_opening_mm", Kind::Number(0.0, 5_000.0), "how far a joint keeps clear of an opening"),
        Field::needed("lift_in_mm", Kind::Number(0.0, 200.0), "what the top piece loses so that it can be lifted in"),
        Field::optional("gap_mm", Kind::Number(0.0, 200.0), "gap between panel and opening, all round"),
        Field::optional("mass_kg", Kind::Number(0.1, 1_000.0), "mass of a whole panel, as its maker gives it"),
        Field::optional("stock_mm", Kind::Numbers(1.0, 20_000.0), "lengths that boards are bought in"),
        Field::optional("kerf_mm", Kind::Number(0.0, 50.0), "width of a cut, to a tenth"),
        Field::optional("bundle", Kind::Count(1, 10_000), "boards in a bundle"),
        Field::optional("least_offcut_mm", Kind::Number(0.0, 20_000.0), "offcuts from this length up are kept"),
        Field::optional("square_end_mm", Kind::Number(0.0, 1_000.0), "what squaring takes off one end of a board"),
    ],
};

static LIFT: Shape = Shape {
    name: "lift",
    doc: "How a panel is lifted, measured as the NIOSH equation measures it; what is left out is the usual",
    fields: &[
        Field::optional("reach_cm", Kind::Number(0.0, 200.0), "from between the ankles forward to the hands; 40"),
        Field::optional("height_cm", Kind::Number(0.0, 300.0), "from the floor up to the hands at the start; 75"),
        Field::optional("travel_cm", Kind::Number(0.0, 300.0), "how far up or down it goes; 75"),
        Field::optional("twist_deg", Kind::Number(0.0, 180.0), "how far off straight ahead; 0"),
        Field::optional("per_minute", Kind::Number(0.0, 60.0), "lifts a minute; 0.2"),
        Field::optional("hours", Kind::Number(0.0, 24.0), "hours of lifting in the day; 8"),
        Field::optional("grip", Kind::OneOf(PanelLift::GRIPS), "how well the hands hold it; poor"),
    ],
};

static WALL: Shape = Shape {
    name: "wall",
    doc: "A wall",
    fields: &[
        Field::needed("key", Kind::Key, "short key, such as N"),
        Field::optional("name", Kind::Name, "name for people"),
        Field::optional("length_mm", Kind::Number(1.0, MOST_MM), "length along the wall"),
        Field::optional("height_mm", Kind::Number(1.0, MOST_MM), "where the cladding ends, over the job's datum"),
        Field::optional("bearing_deg", Kind::Number(0.0, 360.0), "outward direction, clockwise from north"),
        Field::optional("horizon_deg", Kind::Number(0.0, 90.0), "how high hills or neighbours stand before it"),
        Field::needed("courses", Kind::Count(0, 1000), "number of courses, counted from the bottom"),
        Field::optional("studs_mm", Kind::Numbers(0.0, MOST_MM), "stud centres from the left end"),
        Field::optional("joints", Kind::Count(0, 1000), "number of movement joints, where they are not set out yet"),
        Field::optional("joints_mm", Kind::Numbers(0.0, MOST_MM), "movement joints from the left end"),
        Field::optional("opening", Kind::Tables(&OPENING), "the openings, one [[wall.opening]] each"),
    ],
};

static OPENING: Shape = Shape {
    name: "opening",
    doc: "An opening in a wall",
    fields: &[
        Field::optional("key", Kind::Key, "key within the wall; O1, O2 … when left out"),
        Field::needed("kind", Kind::OneOf(Opening::KINDS), "what it is"),
        Field::optional("from_mm", Kind::Number(0.0, MOST_MM), "left side, from the wall's left end"),
        Field::optional("to_mm", Kind::Number(0.0, MOST_MM), "right side"),
        Field::optional("sill_mm", Kind::Number(0.0, MOST_MM), "sill, over the job's datum"),
        Field::optional("head_mm", Kind::Number(0.0, MOST_MM), "head"),
    ],
};

static CORNER: Shape = Shape {
    name: "corner",
    doc: "A corner between walls",
    fields: &[
        Field::needed("key", Kind::Key, "short key, such as NE"),
        Field::needed("kind", Kind::OneOf(Corner::KINDS), "what it is made of"),
        Field::needed("walls", Kind::Names, "keys of the walls that meet"),
    ],
};

static PAPER: Shape = Shape {
    name: "paper",
    doc: "A paper that the job holds",
    fields: &[
        Field::needed("key", Kind::Key, "the document key that the sequence asks for"),
        Field::needed("title", Kind::Name, "title, with edition or date"),
    ],
};

/// The sequence that a job file names: a shipped key or a path. `None` when the file can't be read that far.
pub fn sequence_named(text: &str) -> Option<String> {
    let (root, _) = toml::de::DeTable::parse_recoverable(text);
    root.get_ref().get("sequence").and_then(|value| value.get_ref().as_str().map(str::to_owned))
}

/// Reads a job file.
///
/// # Errors
/// Every mistake in it, with line and column.
pub fn read_job(text: &str) -> Result<Job, Vec<Mistake>> {
    Sheet::read(text, &JOB_SHAPE, |top| {
        let zone = top.text("time_zone");
        let time_zone = zone.parse().unwrap_or_else(|_| {
            if top.has("time_zone") {
                top.mistake(
                    top.spot_of("time_zone"),
                    format!(
                        "'{zone}' is not a time zone: write a name such as \"Pacific/Auckland\" or \"Europe/London\""
                    ),
                );
            }
            chrono_tz::UTC
        });
        let job = Job {
            key: top.text("key").to_owned(),
            name: top.text("name").to_owned(),
            address: top.text_or_none("address").map(str::to_owned),
            builder: top.text_or_none("builder").map(str::to_owned),
            time_zone,
            latitude_deg: top.number("latitude_deg"),
            longitude_deg: top.number("longitude_deg"),
            panel: top.table("panel").map(|section| panel(&section)),
            lift: top.table("lift").map(|section| lift(&section)),
            people: top.tables("person").iter().map(person).collect(),
            walls: top.tables("wall").iter().map(wall).collect(),
            corners: top.tables("corner").iter().map(corner).collect(),
            papers: top.tables("paper").iter().map(paper).collect(),
        };
        check_once(top, "person", "name", "person");
        // Only their mistakes: rates are kept beside the record.
        rates(top);
        check_once(top, "paper", "key", "paper");
        check_walls_and_corners(top, &job);
        if top.has("person") && job.people.iter().all(|person| !person.roles.iter().any(|role| role == "lead")) {
            top.mistake(top.spot_of("person"), "nobody has the role \"lead\": a job needs a crew lead");
        }
        job
    })
}

fn person(section: &Section<'_, '_>) -> Person {
    let roles: Vec<String> = section.texts("roles").into_iter().map(|(role, _)| role.to_owned()).collect();
    if section.has("roles") && roles.is_empty() {
        section.mistake(section.spot_of("roles"), "a person has at least one role");
    }
    Person { name: section.text("name").to_owned(), roles }
}

fn panel(section: &Section<'_, '_>) -> Panel {
    let number = |key: &str| section.number(key).unwrap_or(0.0);
    let stock = section.numbers("stock_mm");
    for (length, spot) in &stock {
        if length.fract() != 0.0 {
            section.mistake(*spot, format!("stock length {length} is not a whole number of millimetres"));
        }
    }
    if stock.len() > MOST_STOCKS {
        section.mistake(section.spot_of("stock_mm"), format!("at most {MOST_STOCKS} stock lengths are told apart"));
    }
    Panel {
        length_mm: number("length_mm"),
        cover_mm: number("cover_mm"),
        least_column_mm: number("least_column_mm"),
        least_piece_mm: number("least_piece_mm"),
        joint_mm: number("joint_mm"),
        clear_of_opening_mm: number("clear_of_opening_mm"),
        lift_in_mm: number("lift_in_mm"),
        gap_mm: number("gap_mm"),
        mass_kg: section.number("mass_kg"),
        stock_mm: stock.into_iter().map(|(length, _)| length as u32).collect(),
        kerf_mm: section.number("kerf_mm"),
        bundle: section.count("bundle"),
        least_offcut_mm: section.number("least_offcut_mm"),
        square_end_mm: section.number("square_end_mm"),
    }
}

fn lift(section: &Section<'_, '_>) -> PanelLift {
    let usual = PanelLift::default();
    let number = |key: &str, usual: f64| section.number(key).unwrap_or(usual);
    PanelLift {
        reach_cm: number("reach_cm", usual.reach_cm),
        height_cm: number("height_cm", usual.height_cm),
        travel_cm: number("travel_cm", usual.travel_cm),
        twist_deg: number("twist_deg", usual.twist_deg),
        per_minute: number("per_minute", usual.per_minute),
        hours: number("hours", usual.hours),
        grip: section.text_or_none("grip").unwrap_or(&usual.grip).to_owned(),
    }
}

fn wall(section: &Section<'_, '_>) -> Wall {
    let key = section.text("key").to_owned();
    if key == "job" {
        section.mistake(section.spot_of("key"), "'job' means the whole job: give the wall another key");
    }
    let joints_mm = section.numbers("joints_mm");
    if section.has("joints") && section.has("joints_mm") {
        section.mistake(section.spot_of("joints"), "give 'joints' or 'joints_mm', not both");
    }
    let length = section.number("length_mm");
    for (at, spot) in &joints_mm {
        if length.is_some_and(|length| *at >= length) {
            section.mistake(*spot, format!("joint at {at} mm lies outside the wall"));
        }
    }
    if joints_mm.windows(2).any(|pair| pair[0].0 >= pair[1].0) {
        section.mistake(section.spot_of("joints_mm"), "joints go from left to right, each further than the one before");
    }
    let joints = if joints_mm.is_empty() {
        vec![Joint { at_mm: None }; section.count("joints").unwrap_or(0).min(1000) as usize]
    } else {
        joints_mm.iter().map(|(at, _)| Joint { at_mm: Some(*at) }).collect()
    };
    let openings = section.tables("opening");
    let openings: Vec<Opening> =
        openings.iter().enumerate().map(|(place, part)| opening(part, place, length)).collect();
    check_overlaps(section, &openings);
    Wall {
        name: section.text_or_none("name").unwrap_or(&key).to_owned(),
        key,
        length_mm: length,
        height_mm: section.number("height_mm"),
        bearing_deg: section.number("bearing_deg"),
        horizon_deg: section.number("horizon_deg"),
        courses: section.count("courses").unwrap_or(0).min(1000),
        studs_mm: section.numbers("studs_mm").into_iter().map(|(at, _)| at).collect(),
        openings,
        joints,
    }
}

fn opening(section: &Section<'_, '_>, place: usize, length: Option<f64>) -> Opening {
    let key = section.text_or_none("key").map_or_else(|| format!("O{}", place + 1), str::to_owned);
    let row_of_its_like = key.strip_prefix(['J', 'C']).is_some_and(|rest| rest.parse::<u32>().is_ok());
    if row_of_its_like {
        section
            .mistake(section.spot_of("key"), format!("'{key}' reads as a joint or a course: call an opening O1, O2 …"));
    }
    let (from, to) = (section.number("from_mm"), section.number("to_mm"));
    let (sill, head) = (section.number("sill_mm"), section.number("head_mm"));
    if let (Some(from), Some(to)) = (from, to)
        && from >= to
    {
        section.mistake(section.spot_of("to_mm"), "the right side is not to the right of the left side");
    }
    if let (Some(sill), Some(head)) = (sill, head)
        && sill >= head
    {
        section.mistake(section.spot_of("head_mm"), "the head is not above the sill");
    }
    if let (Some(to), Some(length)) = (to, length)
        && to > length
    {
        section.mistake(section.spot_of("to_mm"), "the opening reaches past the end of the wall");
    }
    Opening { key, kind: section.text("kind").to_owned(), from_mm: from, to_mm: to, sill_mm: sill, head_mm: head }
}

fn check_overlaps(section: &Section<'_, '_>, openings: &[Opening]) {
    let parts = section.tables("opening");
    let mut keys = BTreeSet::new();
    for (place, one) in openings.iter().enumerate() {
        let spot = parts.get(place).map_or(section.spot(), Section::spot);
        if !keys.insert(&one.key) {
            section.mistake(spot, format!("opening '{}' stands twice on this wall", one.key));
        }
        for other in &openings[..place] {
            let apart = |a: Option<f64>, b: Option<f64>| matches!((a, b), (Some(a), Some(b)) if a <= b);
            let clear = apart(one.to_mm, other.from_mm)
                || apart(other.to_mm, one.from_mm)
                || apart(one.head_mm, other.sill_mm)
                || apart(other.head_mm, one.sill_mm);
            let known =
                one.from_mm.is_some() && one.to_mm.is_some() && other.from_mm.is_some() && other.to_mm.is_some();
            if known && !clear {
                section.mistake(spot, format!("opening '{}' overlaps '{}'", one.key, other.key));
            }
        }
    }
}

fn corner(section: &Section<'_, '_>) -> Corner {
    Corner {
        key: section.text("key").to_owned(),
        kind: section.text("kind").to_owned(),
        walls: section.texts("walls").into_iter().map(|(wall, _)| wall.to_owned()).collect(),
    }
}

fn paper(section: &Section<'_, '_>) -> Paper {
    Paper { key: section.text("key").to_owned(), title: section.text("title").to_owned() }
}

fn check_once(top: &Section<'_, '_>, list: &str, field: &str, word: &str) {
    let mut seen = BTreeSet::new();
    for section in top.tables(list) {
        let value = section.text(field);
        if !value.is_empty() && !seen.insert(value) {
            section.mistake(section.spot_of(field), format!("{word} '{value}' stands twice"));
        }
    }
}

fn check_walls_and_corners(top: &Section<'_, '_>, job: &Job) {
    let mut seen: BTreeSet<String> = BTreeSet::new();
    for section in top.tables("wall").iter().chain(&top.tables("corner")) {
        let key = section.text("key");
        if !key.is_empty() && !seen.insert(Subject::Wall(key.to_owned()).to_string()) {
            section.mistake(section.spot_of("key"), format!("'{key}' stands twice among walls and corners"));
        }
    }
    for section in top.tables("corner") {
        let walls = section.texts("walls");
        if section.has("walls") && walls.len() != 2 {
            section.mistake(section.spot_of("walls"), "a corner names the two walls that meet there");
        }
        for (wall, spot) in walls {
            if job.wall(wall).is_none() {
                let known: Vec<&str> = job.walls.iter().map(|wall| wall.key.as_str()).collect();
                section.mistake(spot, format!("there is no wall '{wall}': the walls are {}", known.join(", ")));
            }
        }
    }
}
