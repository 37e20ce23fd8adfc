//! The job as it is put into the record.

use chrono_tz::Tz;
use serde::{Deserialize, Serialize};

use super::particulars::Particulars;
use crate::form::{check_key, is_same_name};
use crate::units::Bounds;

/// A job: one building, its people, the papers it holds. Lengths are millimetres.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Job {
    /// Key, as typed on the command line.
    pub key: String,
    /// Name for people.
    pub name: String,
    /// Where the site is, for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub address: Option<String>,
    /// Who the pack is handed to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub builder: Option<String>,
    /// Time zone of the site, a name of the tz database.
    pub time_zone: Tz,
    /// Latitude in degrees, north positive.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub latitude_deg: Option<f64>,
    /// Longitude in degrees, east positive.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub longitude_deg: Option<f64>,
    /// What the pack says of the job besides.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub particulars: Option<Particulars>,
    /// The people and what each may do.
    pub people: Vec<Person>,
    /// The panel and how it is set out, where the job says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub panel: Option<Panel>,
    /// How a panel is lifted, where the job says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lift: Option<PanelLift>,
    /// How many fixings go where, by the table of a paper that the job holds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fixing: Option<FixingTable>,
    /// Heights of the floor lines at which cladding is broken by a joint, over the datum.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub floor_lines_mm: Vec<f64>,
    /// The walls, in the order in which they are built.
    pub walls: Vec<Wall>,
    /// The corners.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub corners: Vec<Corner>,
    /// The papers that the job holds: makers' instructions, consent drawings.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub papers: Vec<Paper>,
    /// Figures that the job takes from them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub figures: Vec<Figure>,
}

/// The panel and how it is set out. Lengths are millimetres.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Panel {
    /// Length of a whole panel.
    pub length_mm: f64,
    /// Height that one course gains.
    pub cover_mm: f64,
    /// Shortest column that may be left.
    pub least_column_mm: f64,
    /// Lowest piece that may be left at the top, under a sill or over a head.
    pub least_piece_mm: f64,
    /// Width of the joint between two columns.
    pub joint_mm: f64,
    /// How far a joint keeps clear of an opening.
    pub clear_of_opening_mm: f64,
    /// Width of a stud; with it, panel edges need bearing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stud_width_mm: Option<f64>,
    /// What each panel edge at a joint needs on one stud.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bearing_mm: Option<f64>,
    /// What the top piece loses so that it can be lifted in.
    pub lift_in_mm: f64,
    /// Gap between panel and opening: at its sides, and over its head and under its sill where those have none of their own.
    pub gap_mm: f64,
    /// Gap over a head.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub head_gap_mm: Option<f64>,
    /// Gap under a sill.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sill_gap_mm: Option<f64>,
    /// Gap over the base of a wall that has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub base_gap_mm: Option<f64>,
    /// Gap beside an upright step of a top or a base.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step_gap_mm: Option<f64>,
    /// From a floor line to the lowest that the cladding above it may begin.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub floor_gap_mm: Option<f64>,
    /// How much higher it may begin.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub floor_range_mm: Option<f64>,
    /// How far a board reaches up behind the next.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lap_mm: Option<f64>,
    /// For lapped boards, how far board ends of courses next to one another keep apart.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stagger_mm: Option<f64>,
    /// For lapped boards, the least that a course may gain.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cover_least_mm: Option<f64>,
    /// The most that it may gain.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cover_most_mm: Option<f64>,
    /// Mass of a whole panel, kg.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_kg: Option<f64>,
    /// Lengths that boards are bought in, whole millimetres; one panel's length when empty.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub stock_mm: Vec<u32>,
    /// Width of a cut.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kerf_mm: Option<f64>,
    /// Boards in a bundle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bundle: Option<u32>,
    /// Offcuts from this length up are kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least_offcut_mm: Option<f64>,
    /// What is cut off one end of each board to square it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub square_end_mm: Option<f64>,
}

impl Panel {
    /// The height of a board: what a course gains, and the lap behind the next.
    pub fn board_height_mm(&self) -> f64 {
        self.cover_mm + self.lap_mm.unwrap_or_default()
    }
}

/// How a panel is lifted: the measures of the NIOSH equation, as far as they are not the usual ones.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PanelLift {
    /// From between the ankles forward to the hands, cm.
    pub reach_cm: f64,
    /// From the floor up to the hands at the start, cm.
    pub height_cm: f64,
    /// How far up or down the panel travels, cm.
    pub travel_cm: f64,
    /// How far it is off straight ahead, degrees.
    pub twist_deg: f64,
    /// Lifts a minute.
    pub per_minute: f64,
    /// How many hours of lifting in the day.
    pub hours: f64,
    /// How well the hands hold it.
    pub grip: Grip,
}

/// How well the hands hold a load.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, strum::EnumString, strum::VariantNames)]
#[serde(rename_all = "lowercase")]
#[strum(serialize_all = "lowercase")]
pub enum Grip {
    /// Handles, or a firm wrap round it.
    Good,
    /// Poor handles, or fingers bent under it.
    Fair,
    /// No handles, bulky, slippery or sagging: a bare panel.
    Poor,
}

impl PanelLift {
    /// What its reach may be.
    pub const REACH: Bounds = Bounds { what: "reach of the hands", unit: "cm", least: 0.0, most: 200.0 };
    /// What its height may be.
    pub const HEIGHT: Bounds = Bounds { what: "height of the hands", unit: "cm", least: 0.0, most: 300.0 };
    /// What its travel may be.
    pub const TRAVEL: Bounds = Bounds { what: "travel of the load", unit: "cm", least: 0.0, most: 300.0 };
    /// What its twist may be.
    pub const TWIST: Bounds = Bounds { what: "twist", unit: "°", least: 0.0, most: 180.0 };
    /// How often it may be.
    pub const RATE: Bounds = Bounds { what: "lifts", unit: "a minute", least: 0.0, most: 60.0 };
}

impl Default for PanelLift {
    /// A bare panel off a stack at hip height, lifted onto the wall now and then all day; common practice, no source.
    fn default() -> Self {
        Self {
            reach_cm: 40.0,
            height_cm: 75.0,
            travel_cm: 75.0,
            twist_deg: 0.0,
            per_minute: 0.2,
            hours: 8.0,
            grip: Grip::Poor,
        }
    }
}

/// How many fixings go where: the row of a maker's table that holds for the wind on this site.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FixingTable {
    /// Key of the paper.
    pub paper: String,
    /// Where in the paper, with the wind zone.
    pub clause: String,
    /// Away from the edges of a wall.
    pub field: PerStud,
    /// How far the edges reach, from both ends of a wall and from its top, in millimetres.
    #[serde(default)]
    pub edge_zone_mm: f64,
    /// In them; as in the field where it is left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub edge: Option<PerStud>,
}

/// Fixings of one piece on one stud.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PerStud {
    /// So many.
    Each(u32),
    /// So many millimetres apart at the most, with one at either end.
    #[serde(rename = "spacing_mm")]
    Spacing(f64),
}

/// A person on the job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Person {
    /// Full name, unique on the job.
    pub name: String,
    /// Roles, as the sequence names them.
    pub roles: Vec<String>,
}

/// A wall.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Wall {
    /// Key, such as `N`.
    pub key: String,
    /// Name for people, such as "North, to the street".
    pub name: String,
    /// Length along the wall.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length_mm: Option<f64>,
    /// Where the cladding ends, over the job's datum; at the highest, where the wall has a top of its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height_mm: Option<f64>,
    /// Its upper outline, where that is not level: points from left to right, two of one x a step.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub top: Vec<[f64; 2]>,
    /// Its lower outline, where it has one.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub base: Vec<[f64; 2]>,
    /// What corner pieces and their gaps take at either end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ends: Option<Ends>,
    /// Bearing of the outward direction, clockwise from north.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bearing_deg: Option<f64>,
    /// How high hills or neighbours stand before it, degrees over the horizon.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub horizon_deg: Option<f64>,
    /// Courses, counted from the bottom.
    pub courses: u32,
    /// Stud centres from the left end.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub studs_mm: Vec<f64>,
    /// Openings, in the order of the file.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub openings: Vec<Opening>,
    /// Movement joints from the left end, J1 first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub joints: Vec<Joint>,
}

impl Wall {
    /// How high its own horizon may stand.
    pub const HORIZON: Bounds = Bounds { what: "horizon", unit: "°", least: 0.0, most: 90.0 };
}

/// What corner pieces and their gaps take at the ends of a wall, in millimetres; negative where cladding passes the
/// framing.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Ends {
    /// At its left end, seen from outside.
    pub left_mm: f64,
    /// At its right end.
    pub right_mm: f64,
}

/// An opening in a wall. Distances along from the wall's left end, heights over the job's datum.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Opening {
    /// Key within the wall, such as `O1`.
    pub key: String,
    /// What it is.
    pub kind: OpeningKind,
    /// Left side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from_mm: Option<f64>,
    /// Right side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to_mm: Option<f64>,
    /// Sill.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sill_mm: Option<f64>,
    /// Head.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub head_mm: Option<f64>,
    /// Left unsealed, as the drawings have it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub dry: bool,
}

/// The kinds of opening.
#[derive(
    Debug,
    Clone,
    Copy,
    Default,
    PartialEq,
    Eq,
    Serialize,
    Deserialize,
    strum::Display,
    strum::EnumString,
    strum::IntoStaticStr,
    strum::VariantNames,
)]
#[serde(rename_all = "lowercase")]
#[strum(serialize_all = "lowercase")]
pub enum OpeningKind {
    /// A window.
    Window,
    /// A door.
    Door,
    /// Anything else that cladding stops at.
    #[default]
    Other,
}

/// A vertical movement joint between two columns.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Joint {
    /// Centre from the wall's left end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_mm: Option<f64>,
}

/// A corner where two walls meet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Corner {
    /// Key, such as `NE`.
    pub key: String,
    /// What it is made of.
    pub kind: CornerKind,
    /// Keys of the walls that meet.
    pub walls: Vec<String>,
    /// Left unsealed, as the drawings have it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub dry: bool,
}

/// The kinds of corner.
#[derive(
    Debug,
    Clone,
    Copy,
    Default,
    PartialEq,
    Eq,
    Serialize,
    Deserialize,
    strum::Display,
    strum::EnumString,
    strum::IntoStaticStr,
    strum::VariantNames,
)]
#[serde(rename_all = "lowercase")]
#[strum(serialize_all = "lowercase")]
pub enum CornerKind {
    /// Of preformed panels.
    #[default]
    Preformed,
    /// Of metal.
    Metal,
    /// Boxed or stopped with timber.
    Timber,
    /// Internal: two walls that look at one another.
    Internal,
    /// Boards mitred into one another.
    Mitred,
}

/// A paper that the job holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Paper {
    /// The document key that the sequence asks for.
    pub key: String,
    /// Title, with edition or date.
    pub title: String,
}

/// A figure of the job: a bound that a paper it holds gives. It goes before the one that the sequence gives.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Figure {
    /// The key by which the sequence asks for it.
    pub key: String,
    /// Its value, in the unit of what it bounds; times in minutes.
    pub value: f64,
    /// Key of the paper.
    pub paper: String,
    /// Where in the paper.
    pub clause: String,
}

impl Job {
    /// The figure of this key.
    pub fn figure(&self, key: &str) -> Option<&Figure> {
        self.figures.iter().find(|figure| figure.key == key)
    }

    /// Where a figure is from: the title of the paper, and the clause.
    pub fn source_of(&self, figure: &Figure) -> String {
        self.source(&figure.paper, &figure.clause)
    }

    /// The title of a paper, and where in it.
    pub fn source(&self, paper: &str, clause: &str) -> String {
        let held = self.papers.iter().find(|held| held.key == paper);
        format!("{}, {clause}", held.map_or(paper, |held| &held.title))
    }

    /// The wall of this key.
    pub fn wall(&self, key: &str) -> Option<&Wall> {
        self.walls.iter().find(|wall| wall.key == key)
    }

    /// The person of this name.
    pub fn person(&self, name: &str) -> Option<&Person> {
        self.people.iter().find(|person| person.name == name)
    }

    /// The person that a name means, in whatever case or width of letters it is typed. Two leads may each have added a
    /// person of one name, spelt in two ways: then only the exact spelling means either.
    pub fn person_meant(&self, name: &str) -> Option<&Person> {
        self.person(name).or_else(|| {
            let mut same = self.people.iter().filter(|person| is_same_name(&person.name, name));
            same.next().filter(|_| same.next().is_none())
        })
    }

    /// Checks every key as a job file's: a record from elsewhere may have any, and files are named by them.
    ///
    /// # Errors
    /// Which key, and what is wrong with it.
    pub fn check_keys(&self) -> Result<(), String> {
        let openings = self.walls.iter().flat_map(|wall| &wall.openings).map(|opening| ("opening", &opening.key));
        let walls = self.walls.iter().map(|wall| ("wall", &wall.key));
        let corners = self.corners.iter().map(|corner| ("corner", &corner.key));
        let papers = self.papers.iter().map(|paper| ("paper", &paper.key));
        let mut keys = std::iter::once(("job", &self.key)).chain(walls).chain(openings).chain(corners).chain(papers);
        keys.try_for_each(|(what, key)| check_key(key).map_err(|why| format!("the key of the {what} {why}")))
    }
}

impl Wall {
    /// Length of the starter line, mm: from end to end, less the doors. `foot_mm` gives where cladding begins at a place along
    /// the wall; an opening whose sides are not known takes nothing off.
    pub fn starter_mm(&self, foot_mm: impl Fn(f64) -> f64) -> Option<f64> {
        let door_mm = |opening: &Opening| {
            let (from, to) = opening.from_mm.zip(opening.to_mm)?;
            opening.is_door(foot_mm((from + to) / 2.0)).then_some(to - from)
        };
        let doors_mm: f64 = self.openings.iter().filter_map(door_mm).sum();
        let ends = self.ends.unwrap_or_default();
        Some((self.length_mm? - ends.left_mm - ends.right_mm - doors_mm).max(0.0))
    }

    /// Length of a joint between two heights over the datum, mm: what openings that it runs into take is not in it.
    ///
    /// An opening without a sill reaches down to `foot`, one without a head up to `top`; one whose sides are not known,
    /// or a joint whose place (`at`, from the wall's left end) is not known, takes nothing off.
    pub fn joint_mm(&self, at: Option<f64>, foot: f64, top: f64) -> f64 {
        let across = self.openings.iter().filter(|opening| match (at, opening.from_mm, opening.to_mm) {
            (Some(at), Some(from), Some(to)) => from < at && at < to,
            _ => false,
        });
        let taken: f64 = across.map(|opening| opening.height_within(foot, top)).sum();
        (top - foot - taken).max(0.0)
    }
}

/// The edges of an opening that cladding meets, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OpeningEdges {
    /// Both sides together.
    pub sides_mm: f64,
    /// The sill, where cladding passes below it.
    pub sill_mm: f64,
    /// The head, where cladding passes above it.
    pub head_mm: f64,
}

impl OpeningEdges {
    /// What is sealed of them: not the head, which is left open to drain.
    pub fn sealed_mm(&self) -> f64 {
        self.sides_mm + self.sill_mm
    }
}

impl Opening {
    /// Its edges where cladding reaches from `foot` to `top` beside it, both in mm over the datum; `None` for a window whose
    /// sides are not known.
    pub fn edges_mm(&self, foot: f64, top: f64) -> Option<OpeningEdges> {
        let width = self.from_mm.zip(self.to_mm).map(|(from, to)| to - from);
        let has_head = self.head_mm.is_some_and(|head| head < top);
        Some(OpeningEdges {
            sides_mm: 2.0 * self.height_within(foot, top),
            sill_mm: if self.is_door(foot) { 0.0 } else { width? },
            head_mm: if has_head { width.unwrap_or_default() } else { 0.0 },
        })
    }

    /// Whether it reaches down to where cladding begins, mm over the datum, so that none passes below it.
    pub fn is_door(&self, foot: f64) -> bool {
        self.sill_mm.is_none_or(|sill| sill <= foot)
    }

    /// How much of its height lies between two heights over the datum, mm.
    ///
    /// Without a sill it reaches down to `foot`, without a head up to `top`.
    pub fn height_within(&self, foot: f64, top: f64) -> f64 {
        (self.head_mm.unwrap_or(top).min(top) - self.sill_mm.unwrap_or(foot).max(foot)).max(0.0)
    }

    /// Whether two openings of a wall overlap, as far as their places are known.
    pub fn overlaps(&self, other: &Self) -> bool {
        let known = |opening: &Self| opening.from_mm.is_some() && opening.to_mm.is_some();
        let apart = |a: Option<f64>, b: Option<f64>| a.zip(b).is_some_and(|(a, b)| a <= b);
        let clear = apart(self.to_mm, other.from_mm)
            || apart(other.to_mm, self.from_mm)
            || apart(self.head_mm, other.sill_mm)
            || apart(other.head_mm, self.sill_mm);
        known(self) && known(other) && !clear
    }
}

impl Person {
    /// Whether they put up cladding, as lead or as installer.
    pub fn installs(&self) -> bool {
        self.has_any(&["lead".to_owned(), "installer".to_owned()])
    }

    /// Whether the person has one of these roles.
    pub fn has_any(&self, roles: &[String]) -> bool {
        self.roles.iter().any(|role| roles.contains(role))
    }
}
