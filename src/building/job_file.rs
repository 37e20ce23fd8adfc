//! The job file: a TOML file that says what the building is and who works on it.

use chrono_tz::Tz;
use toml::Spanned;

use super::job::{
    Corner, Ends, Figure, FixingTable, Job, Joint, Opening, Panel, PanelLift, Paper, PerStud, Person, Wall,
};
use super::particulars::Particulars;
use super::rates::{Rate, rates};
use super::subject::Subject;
use crate::form::{
    self, At, Checked, Count, Flag, Key, List, Mistake, Name, Number, Pair, Section, check_person, is_same_name, table,
    tables, word,
};
use crate::units::bounds;
use crate::units::number::{shortened, show};

/// Lengths along a wall and heights over the datum, up to 200 m.
const MM: Number = Number(0.0, 200_000.0);
/// A length that is there.
const LONG_MM: Number = Number(1.0, 200_000.0);
/// Lengths of boards.
const BOARD_MM: Number = Number(1.0, 20_000.0);
const GAP_MM: Number = Number(0.0, 200.0);
/// More stock lengths than any merchant has.
const MOST_STOCKS: usize = 20;

/// What a job file gives.
#[derive(Debug, Clone)]
pub struct JobFile {
    /// The job, as it is put into the record.
    pub job: Job,
    /// Key of a shipped sequence, or path of a sequence file.
    pub sequence: String,
    /// What the work is paid at.
    pub rates: Vec<Rate>,
}

/// Reads a job file.
///
/// # Errors
/// Every mistake in it, with line and column.
pub fn read_job_file(text: &str) -> Result<JobFile, Vec<Mistake>> {
    form::read(text, "job", whole_file)
}

fn whole_file(top: &Section<'_>) -> JobFile {
    JobFile {
        job: job(top),
        sequence: top.required("sequence", Name, "key of a shipped sequence, or the path of a sequence file"),
        rates: rates(top),
    }
}

/// What a job file may hold, a line a field.
pub fn job_outline() -> String {
    form::outline(whole_file)
}

/// Reads the rates of a job file, or of a file that holds rates alone.
///
/// # Errors
/// As [`read_job_file`].
pub fn read_rates(text: &str) -> Result<Vec<Rate>, Vec<Mistake>> {
    form::read(text, "job", |top| {
        if top.has("key") {
            return whole_file(top).rates;
        }
        if !top.has("rate") {
            top.mistake("this file has no [[rate]]");
        }
        rates(top)
    })
}

/// Reads the job of a job file.
///
/// # Errors
/// As [`read_job_file`].
pub fn read_job(text: &str) -> Result<Job, Vec<Mistake>> {
    read_job_file(text).map(|file| file.job)
}

fn job(top: &Section<'_>) -> Job {
    let zone = |name: String| {
        let example = "write a name such as \"Pacific/Auckland\" or \"Europe/London\"";
        name.parse().map_err(|_| format!("can't be '{}'; {example}", shortened(&name)))
    };
    let job = Job {
        key: top.required("key", Key, "short key, typed on the command line"),
        name: top.required("name", Name, "name of the job"),
        address: top.optional("address", Name, "where the site is"),
        builder: top.optional("builder", Name, "who the pack is handed to"),
        time_zone: top
            .try_required("time_zone", Checked(Name, zone), "time zone of the site, as in \"Pacific/Auckland\"")
            .unwrap_or(Tz::UTC),
        latitude_deg: top.optional("latitude_deg", Number::within(bounds::LATITUDE), "latitude, north positive"),
        longitude_deg: top.optional("longitude_deg", Number::within(bounds::LONGITUDE), "longitude, east positive"),
        particulars: top.optional(
            "particulars",
            table("particulars", Particulars::read),
            "what the pack says of the job besides: company, licence, consent, product and the like",
        ),
        people: top.required("person", tables("person", person), "the people, one [[person]] each"),
        panel: top.optional("panel", table("panel", panel), "the panel and how it is set out, for the set-out sums"),
        lift: top.optional("lift", table("lift", lift), "how a panel is lifted, for the caution about lifting"),
        fixing: top.optional("fixing", table("fixing", fixing), "how many fixings go where, by the maker's table"),
        floor_lines_mm: top.or_default(
            "floor_lines_mm",
            List(MM),
            "floor lines at which cladding is broken by a joint, over the datum, from the lowest",
        ),
        walls: top.required("wall", tables("wall", wall), "the walls, one [[wall]] each, in the order they are built"),
        corners: Vec::new(),
        papers: top.or_default("paper", tables("paper", paper), "the papers that the job holds, one [[paper]] each"),
        figures: top.or_default(
            "figure",
            tables("figure", figure),
            "figures from them that go before the sequence's own",
        ),
    };
    let corners = tables("corner", |f| corner(f, &job));
    let corners = top.or_default("corner", corners, "the corners, one [[corner]] each");
    top.unique("person", "name");
    top.unique("paper", "key");
    top.unique("figure", "key");
    check_floor_lines(top, &job);
    check_stud_width(top, &job);
    check_papers(top, &job);
    check_keys(top);
    check_people(top, &job);
    Job { corners, ..job }
}

fn check_floor_lines(top: &Section<'_>, job: &Job) {
    if job.floor_lines_mm.windows(2).any(|pair| pair[0] >= pair[1]) {
        top.mistake_in("floor_lines_mm", "floor lines must go up, each higher than the one before");
    }
    let gap = job.panel.as_ref().and_then(|panel| panel.floor_gap_mm);
    if job.panel.is_some() && gap.is_none() && !job.floor_lines_mm.is_empty() {
        top.mistake_in("floor_lines_mm", "floor lines need 'floor_gap_mm' in [panel], the height of the joint there");
    }
}

/// Studs that would stand in one another.
fn check_stud_width(top: &Section<'_>, job: &Job) {
    let width = job.panel.as_ref().and_then(|panel| panel.stud_width_mm).unwrap_or_default();
    for (wall, section) in job.walls.iter().zip(top.peek("wall")) {
        let mut studs = wall.studs_mm.clone();
        studs.sort_by(f64::total_cmp);
        let apart = studs.windows(2).find(|pair| pair[1] > pair[0] && pair[1] - pair[0] < width);
        if let Some(pair) = apart {
            let (width, first, second) = (show(width), show(pair[0]), show(pair[1]));
            let message = format!("wall {}: studs {width} mm wide can't stand at {first} and {second} mm", wall.key);
            section.mistake_in("studs_mm", message);
        }
    }
}

/// Figures and fixings by papers that the job does not hold.
fn check_papers(top: &Section<'_>, job: &Job) {
    for figure in top.peek("figure").into_iter().chain(top.peek("fixing")) {
        let paper = figure.peek_text("paper");
        if !paper.is_empty() && job.papers.iter().all(|held| held.key != paper) {
            figure.mistake_in("paper", format!("there is no [[paper]] with the key '{}'", shortened(paper)));
        }
    }
}

fn check_people(top: &Section<'_>, job: &Job) {
    for (place, one) in job.people.iter().enumerate() {
        let same = |other: &&Person| other.name != one.name && is_same_name(&other.name, &one.name);
        if let Some(other) = job.people[..place].iter().find(same) {
            top.mistake_in("person", format!("'{}' and '{}' are the same name", other.name, one.name));
        }
    }
    if top.has("person") && !job.people.iter().flat_map(|person| &person.roles).any(|role| role == "lead") {
        top.mistake_in("person", "nobody has the role \"lead\": a job needs a crew lead");
    }
}

/// Walls, corners and the job itself share one set of keys: each is a subject of its own.
fn check_keys(top: &Section<'_>) {
    let job = Subject::Job.to_string();
    let mut seen = std::collections::BTreeSet::new();
    for section in top.peek("wall").into_iter().chain(top.peek("corner")) {
        let key = section.peek_text("key");
        if key == job {
            section.mistake_in("key", format!("'{job}' means the whole job; use another key"));
        } else if !seen.insert(key) && !key.is_empty() {
            section.mistake_in("key", format!("'{key}' is used twice; walls and corners need different keys"));
        }
    }
}

fn person(f: &Section<'_>) -> Person {
    let some =
        |roles: Vec<String>| if roles.is_empty() { Err("must name at least one role".into()) } else { Ok(roles) };
    let named = |name: String| check_person(&name).map(|()| name);
    Person {
        name: f.required("name", Checked(Name, named), "full name"),
        roles: f.required("roles", Checked(List(Name), some), "roles, as the sequence names them"),
    }
}

/// The maker's instructions come first.
fn panel(f: &Section<'_>) -> Panel {
    let few = |lengths: Vec<u32>| match lengths.len() > MOST_STOCKS {
        true => Err(format!("has more than {MOST_STOCKS} lengths")),
        false => Ok(lengths),
    };
    let stocks = Checked(List(Count(1, 20_000)), few);
    let length_mm = f.required("length_mm", BOARD_MM, "length of a whole panel");
    let least_column_mm = f.required("least_column_mm", Number(0.0, 20_000.0), "shortest column that may be left");
    if f.has("length_mm") && least_column_mm > length_mm {
        let message = format!("the shortest column is longer than a panel, {} mm", show(length_mm));
        f.mistake_in("least_column_mm", message);
    }
    let cover_mm = f.required("cover_mm", Number(1.0, 5_000.0), "height that one course gains");
    let lap_mm = f.optional("lap_mm", Number(0.0, 5_000.0), "how far a board reaches up behind the next; 0");
    if lap_mm.is_some_and(|lap| cover_mm > 0.0 && lap >= cover_mm) {
        f.mistake_in("lap_mm", format!("the lap must be less than the cover, {} mm", show(cover_mm)));
    }
    let cover_least_mm = f.optional("cover_least_mm", Number(1.0, 5_000.0), "for lapped boards, the least gain");
    let cover_most_mm = f.optional("cover_most_mm", Number(1.0, 5_000.0), "and the most");
    match (cover_least_mm, cover_most_mm) {
        (Some(least), Some(most)) if !(least..=most).contains(&cover_mm) => {
            f.mistake_in("cover_least_mm", "the cover must lie between the least and the most gain");
        }
        (Some(_), None) | (None, Some(_)) => {
            f.mistake("'cover_least_mm' and 'cover_most_mm' go together: give both or neither");
        }
        (_, Some(most)) if most > cover_mm + lap_mm.unwrap_or_default() => {
            f.mistake_in("cover_most_mm", "a course can't gain more than a board is high, its cover and its lap");
        }
        _ => {}
    }
    let stud_width_mm = f.optional("stud_width_mm", Number(1.0, 1_000.0), "width of a stud");
    let bearing_mm =
        f.optional("bearing_mm", Number(0.0, 1_000.0), "what each panel edge at a joint needs on one stud");
    match (stud_width_mm, bearing_mm) {
        (None, Some(_)) => f.mistake("'bearing_mm' needs 'stud_width_mm', the width of a stud"),
        (Some(width), Some(bearing)) if bearing > width => {
            f.mistake_in("bearing_mm", format!("the bearing can't be more than a stud is wide, {} mm", show(width)));
        }
        _ => {}
    }
    Panel {
        length_mm,
        stud_width_mm,
        bearing_mm,
        cover_mm,
        least_column_mm,
        least_piece_mm: f.required("least_piece_mm", Number(0.0, 5_000.0), "lowest piece that may be left"),
        joint_mm: f.required("joint_mm", GAP_MM, "width of the joint between two columns"),
        clear_of_opening_mm: f.required(
            "clear_of_opening_mm",
            Number(0.0, 5_000.0),
            "how far a joint keeps clear of an opening",
        ),
        lift_in_mm: f.required("lift_in_mm", GAP_MM, "what the top piece loses so that it can be lifted in"),
        gap_mm: f.or_default("gap_mm", GAP_MM, "gap between panel and opening"),
        head_gap_mm: f.optional("head_gap_mm", GAP_MM, "gap over a head; gap_mm"),
        sill_gap_mm: f.optional("sill_gap_mm", GAP_MM, "gap under a sill; gap_mm"),
        base_gap_mm: f.optional("base_gap_mm", GAP_MM, "gap over the base of a wall that has one; 0"),
        step_gap_mm: f.optional("step_gap_mm", GAP_MM, "gap beside an upright step of a top or a base; 0"),
        floor_gap_mm: f.optional(
            "floor_gap_mm",
            GAP_MM,
            "from a floor line to the lowest that cladding above may begin",
        ),
        floor_range_mm: f.optional("floor_range_mm", Number(0.0, 5_000.0), "how much higher it may begin; 0"),
        lap_mm,
        stagger_mm: f.optional(
            "stagger_mm",
            Number(0.0, 20_000.0),
            "how far ends of lapped boards in neighbouring courses keep apart",
        ),
        cover_least_mm,
        cover_most_mm,
        mass_kg: f.optional("mass_kg", Number(0.1, 1_000.0), "mass of a whole panel, as its maker gives it"),
        stock_mm: f.or_default("stock_mm", stocks, "lengths that boards are bought in"),
        kerf_mm: f.optional("kerf_mm", Number(0.0, 50.0), "width of a cut, to a tenth"),
        bundle: f.optional("bundle", Count(1, 10_000), "boards in a bundle"),
        least_offcut_mm: f.optional("least_offcut_mm", Number(0.0, 20_000.0), "offcuts from this length up are kept"),
        square_end_mm: f.optional("square_end_mm", Number(0.0, 1_000.0), "what squaring takes off one end of a board"),
    }
}

/// Measured as the NIOSH equation measures it; what is left out is as usual.
fn lift(f: &Section<'_>) -> PanelLift {
    let usual = PanelLift::default();
    let or = |key, usual, range, doc| f.optional(key, range, format!("{doc}; {}", show(usual))).unwrap_or(usual);
    let within = Number::within;
    PanelLift {
        reach_cm: or(
            "reach_cm",
            usual.reach_cm,
            within(PanelLift::REACH),
            "from between the ankles forward to the hands",
        ),
        height_cm: or(
            "height_cm",
            usual.height_cm,
            within(PanelLift::HEIGHT),
            "from the floor up to the hands at the start",
        ),
        travel_cm: or("travel_cm", usual.travel_cm, within(PanelLift::TRAVEL), "how far up or down it goes"),
        twist_deg: or("twist_deg", usual.twist_deg, within(PanelLift::TWIST), "how far off straight ahead"),
        per_minute: or("per_minute", usual.per_minute, within(PanelLift::RATE), "lifts a minute"),
        hours: or("hours", usual.hours, Number(0.0, 24.0), "hours of lifting in the day"),
        grip: f.optional("grip", word(), "how well the hands hold it; poor").unwrap_or(usual.grip),
    }
}

fn wall(f: &Section<'_>) -> Wall {
    let key = f.required("key", Key, "short key, such as N");
    let name = f.optional("name", Name, "name for people");
    let length_mm = f.optional("length_mm", LONG_MM, "length along the wall");
    let height_mm = f.optional("height_mm", LONG_MM, "where the cladding ends, over the job's datum");
    let top =
        outline(f, "top", "its upper outline where it is not level: points from left to right, two of one x a step");
    let base = outline(f, "base", "its lower outline, where it has one");
    if height_mm.is_some() && !top.is_empty() {
        f.mistake_in("top", "give 'height_mm' or 'top', not both");
    }
    let level: Vec<[f64; 2]> = height_mm.map(|height| [[0.0, height], [MM.1, height]]).into_iter().flatten().collect();
    if let Some(at) = crossing(&base, if top.is_empty() { &level } else { &top }) {
        f.mistake_in("base", format!("'base' stands above the top of the wall at {} mm", show(at)));
    }
    // Whoever wants one height gets the highest.
    let height_mm = height_mm.or(top.iter().map(|point| point[1]).reduce(f64::max));
    let end = Number(-1_000.0, 10_000.0);
    let ends = |f: &Section<'_>| Ends {
        left_mm: f.or_default("left_mm", end, "at the left end, seen from outside; 0"),
        right_mm: f.or_default("right_mm", end, "at the right end; 0"),
    };
    let ends =
        f.optional("ends", table("ends", ends), "what corner pieces and their gaps take; negative past the framing");
    let bearing_deg =
        f.optional("bearing_deg", Number::within(bounds::BEARING), "outward direction, clockwise from north");
    let horizon_deg =
        f.optional("horizon_deg", Number::within(Wall::HORIZON), "how high hills or neighbours stand before it");
    let courses = f.required("courses", Count(0, 1000), "number of courses, counted from the bottom");
    let studs = f.or_default("studs_mm", List(At(MM)), "stud centres from the left end");
    check_studs(f, &studs, length_mm);
    let joints = f.optional("joints", Count(0, 1000), "number of movement joints, where they are not set out yet");
    let joints_mm = f.optional("joints_mm", List(At(MM)), "movement joints from the left end");
    let openings = tables("opening", |part| opening(part, length_mm));
    let openings = f.or_default("opening", openings, "the openings, one [[wall.opening]] each");
    check_openings(f, &openings, if top.is_empty() { &level } else { &top });
    Wall {
        name: name.unwrap_or_else(|| key.clone()),
        key,
        length_mm,
        height_mm,
        top,
        base,
        ends,
        bearing_deg,
        horizon_deg,
        courses,
        studs_mm: studs.into_iter().map(Spanned::into_inner).collect(),
        openings: openings.into_iter().map(|(opening, _)| opening).collect(),
        joints: wall_joints(f, joints, joints_mm, length_mm),
    }
}

/// Studs off the wall, or given twice.
fn check_studs(f: &Section<'_>, studs: &[Spanned<f64>], length_mm: Option<f64>) {
    for (place, stud) in studs.iter().enumerate() {
        let at = *stud.get_ref();
        if length_mm.is_some_and(|length| at > length) {
            f.mistake_at(stud.span().start, format!("the stud at {} mm is off the wall", show(at)));
        }
        if studs[..place].iter().any(|other| *other.get_ref() == at) {
            f.mistake_at(stud.span().start, format!("the stud at {} mm is given twice", show(at)));
        }
    }
}

/// The lowest that an outline stands between two places; nothing where it has no leg there.
fn lowest_between(outline: &[[f64; 2]], (from, to): (f64, f64)) -> Option<f64> {
    let legs = outline.windows(2).filter(|leg| leg[0][0] < to && from < leg[1][0]);
    let heights = legs.flat_map(|leg| {
        let [[left, low], [right, high]] = [leg[0], leg[1]];
        [left.max(from), right.min(to)].map(|along| low + (high - low) * (along - left) / (right - left))
    });
    heights.reduce(f64::min)
}

/// An outline of a wall; empty where it has none.
fn outline(f: &Section<'_>, key: &'static str, doc: &'static str) -> Vec<[f64; 2]> {
    let points = f.or_default(key, List(Pair(MM)), doc);
    if f.has(key) && points.len() < 2 {
        f.mistake_in(key, format!("'{key}' must have at least two points"));
    }
    if points.windows(2).any(|pair| pair[0][0] > pair[1][0]) {
        f.mistake_in(key, format!("'{key}' must run from left to right"));
    }
    if points.windows(3).any(|three| three[0][0] == three[2][0]) {
        f.mistake_in(key, format!("'{key}' has three points at one place, and a step has two"));
    }
    points
}

/// Where a base stands above a top, at a point of either; at a step the side that leaves more room counts.
fn crossing(base: &[[f64; 2]], top: &[[f64; 2]]) -> Option<f64> {
    let heights = |outline: &[[f64; 2]], along: f64| -> Vec<f64> {
        let legs = outline.windows(2).filter(|leg| leg[0][0] < leg[1][0] && (leg[0][0]..=leg[1][0]).contains(&along));
        legs.map(|leg| leg[0][1] + (leg[1][1] - leg[0][1]) * (along - leg[0][0]) / (leg[1][0] - leg[0][0])).collect()
    };
    let mut places = base.iter().chain(top).map(|point| point[0]);
    places.find(|along| {
        let lowest = heights(base, *along).into_iter().reduce(f64::min);
        let highest = heights(top, *along).into_iter().reduce(f64::max);
        lowest.zip(highest).is_some_and(|(base, top)| base > top)
    })
}

fn wall_joints(
    f: &Section<'_>,
    count: Option<u32>,
    given: Option<Vec<Spanned<f64>>>,
    length_mm: Option<f64>,
) -> Vec<Joint> {
    if f.has("joints") && f.has("joints_mm") {
        f.mistake_in("joints", "give 'joints' or 'joints_mm', not both");
    }
    let Some(given) = given else { return vec![Joint { at_mm: None }; count.unwrap_or(0) as usize] };
    for joint in &given {
        if length_mm.is_some_and(|length| *joint.get_ref() >= length) {
            let message = format!("the joint at {} mm is off the wall", show(*joint.get_ref()));
            f.mistake_at(joint.span().start, message);
        }
    }
    if given.windows(2).any(|pair| pair[0].get_ref() >= pair[1].get_ref()) {
        f.mistake_in("joints_mm", "joints must go from left to right, each further than the one before");
    }
    given.into_iter().map(|joint| Joint { at_mm: Some(joint.into_inner()) }).collect()
}

/// An opening of a wall, and where it stands in the file.
fn opening(f: &Section<'_>, length_mm: Option<f64>) -> (Opening, usize) {
    let own = |key: String| {
        let joint_or_course = key.strip_prefix(['J', 'C']).is_some_and(|rest| rest.parse::<u32>().is_ok());
        let taken = || format!("can't be '{key}': that is a joint or a course; call openings O1, O2 and so on");
        if joint_or_course { Err(taken()) } else { Ok(key) }
    };
    let opening = Opening {
        key: f
            .optional("key", Checked(Key, own), "key within the wall; O1, O2 … when left out")
            .unwrap_or_else(|| format!("O{}", f.place() + 1)),
        kind: f.try_required("kind", word(), "what it is").unwrap_or_default(),
        from_mm: f.optional("from_mm", MM, "left side, from the wall's left end"),
        to_mm: f.optional("to_mm", MM, "right side"),
        sill_mm: f.optional("sill_mm", MM, "sill, over the job's datum"),
        head_mm: f.optional("head_mm", MM, "head"),
        dry: f.or_default("dry", Flag, "left unsealed, as the drawings have it"),
    };
    let in_order = |low: Option<f64>, high: Option<f64>| low.zip(high).is_none_or(|(low, high)| low < high);
    if !in_order(opening.from_mm, opening.to_mm) {
        f.mistake_in("to_mm", "the right side must be to the right of the left side");
    }
    if !in_order(opening.sill_mm, opening.head_mm) {
        f.mistake_in("head_mm", "the head must be above the sill");
    }
    if opening.to_mm.zip(length_mm).is_some_and(|(to, length)| to > length) {
        f.mistake_in("to_mm", "the opening reaches past the end of the wall");
    }
    (opening, f.start())
}

/// Notes openings of one key, and those that overlap.
fn check_openings(f: &Section<'_>, openings: &[(Opening, usize)], top: &[[f64; 2]]) {
    for (place, (one, at)) in openings.iter().enumerate() {
        let highest = one.from_mm.zip(one.to_mm).and_then(|sides| lowest_between(top, sides));
        if highest.zip(one.head_mm.or(one.sill_mm)).is_some_and(|(highest, edge)| edge > highest) {
            f.mistake_at(*at, format!("opening '{}' reaches past the top of the wall", one.key));
        }
        let before = openings[..place].iter().map(|(other, _)| other);
        if before.clone().any(|other| other.key == one.key) {
            f.mistake_at(*at, format!("opening '{}' is given twice on this wall", one.key));
        }
        for other in before.filter(|other| other.overlaps(one)) {
            f.mistake_at(*at, format!("opening '{}' overlaps '{}'", one.key, other.key));
        }
    }
}

fn corner(f: &Section<'_>, job: &Job) -> Corner {
    let walls = f.try_required("walls", List(At(Key)), "keys of the walls that meet");
    if walls.as_ref().is_some_and(|walls| walls.len() != 2) {
        f.mistake_in("walls", "a corner names the two walls that meet there");
    }
    let walls = walls.unwrap_or_default();
    for wall in walls.iter().filter(|wall| job.wall(wall.get_ref()).is_none()) {
        let known: Vec<&str> = job.walls.iter().map(|wall| wall.key.as_str()).collect();
        let message = format!("there is no wall '{}'; the walls are {}", wall.get_ref(), known.join(", "));
        f.mistake_at(wall.span().start, message);
    }
    Corner {
        key: f.required("key", Key, "short key, such as NE"),
        kind: f.try_required("kind", word(), "what it is made of").unwrap_or_default(),
        walls: walls.into_iter().map(Spanned::into_inner).collect(),
        dry: f.or_default("dry", Flag, "left unsealed, as the drawings have it"),
    }
}

fn figure(f: &Section<'_>) -> Figure {
    Figure {
        key: f.required("key", Key, "the key by which the sequence asks for it"),
        value: f.required("value", Number(-1_000_000.0, 1_000_000.0), "its value; times in minutes"),
        paper: f.required("paper", Key, "key of the paper that gives it"),
        clause: f.required("clause", Name, "the clause, page or table in it"),
    }
}

/// The row of a table that holds for the wind on this site.
fn fixing(f: &Section<'_>) -> FixingTable {
    let field = f.required("field", table("field", per_stud), "on each stud, away from the edges of a wall");
    let edge = f.optional("edge", table("edge", per_stud), "the same in the zones at its edges").flatten();
    let zone_mm =
        f.or_default("edge_zone_mm", Number(0.0, 20_000.0), "how far these reach, from both ends and the top");
    if edge.is_some() != (zone_mm > 0.0) {
        f.mistake("'edge' and 'edge_zone_mm' go together: give both or neither");
    }
    if let (Some(PerStud::Each(_)), Some(PerStud::Spacing(_))) | (Some(PerStud::Spacing(_)), Some(PerStud::Each(_))) =
        (field, edge)
    {
        f.mistake_in("edge", "give 'each' for both 'field' and 'edge', or 'spacing_mm' for both");
    }
    FixingTable {
        paper: f.required("paper", Key, "key of the paper that gives it"),
        clause: f.required("clause", Name, "the table in it, and the wind zone"),
        field: field.unwrap_or(PerStud::Each(1)),
        edge_zone_mm: zone_mm,
        edge,
    }
}

fn per_stud(f: &Section<'_>) -> Option<PerStud> {
    let each = f.optional("each", Count(1, 100), "so many on each stud");
    let spacing = f.optional("spacing_mm", Number(10.0, 5_000.0), "or no further apart than this along it");
    match (each, spacing) {
        (Some(each), None) => Some(PerStud::Each(each)),
        (None, Some(spacing)) => Some(PerStud::Spacing(spacing)),
        _ => {
            f.mistake("give exactly one of 'each' and 'spacing_mm'");
            None
        }
    }
}

fn paper(f: &Section<'_>) -> Paper {
    Paper {
        key: f.required("key", Key, "the document key that the sequence asks for"),
        title: f.required("title", Name, "title, with edition or date"),
    }
}
