//! What the drawing of a wall shows, as one value: the job's geometry, the plans that were kept, and what is noted of
//! its places.

use crate::building::{Job, OpeningKind, Wall};
use crate::plain::{count, visible};
use crate::setout::columns::{Columns, Gap};
use crate::setout::of_job::corner_at_mm;
use crate::setout::outline::Outline;
use crate::setout::packing::Packing;
use crate::setout::panels::{SetOut, faces};
use crate::setout::starter::Place as Reading;
use crate::units::number::show_mm;

/// Packing of less than this is not drawn: the numbers would hide the wall.
const LEAST_PACK_MM: f64 = 2.0;
/// What is drawn of courses, joints and openings at the most: more is no wall, and no drawing.
const MOST: usize = 400;
/// The height of a wall that does not say, mm; it is then not drawn to scale.
const SOME_HEIGHT_MM: f64 = 2700.0;

/// A wall as it is drawn. Lengths along from the left end as one faces the wall, heights above the datum, in
/// millimetres.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Elevation {
    /// Key of the wall.
    pub key: String,
    /// Its length.
    pub length_mm: f64,
    /// Its upper outline, from left to right.
    pub top: Vec<[f64; 2]>,
    /// Its lower one.
    pub base: Vec<[f64; 2]>,
    /// Length and height are the job's own, not assumed.
    pub is_to_scale: bool,
    /// What is seen of every piece, where the pieces are worked out: each outline along and up.
    pub faces: Vec<Vec<[f64; 2]>>,
    /// The columns of panels, where all courses have the same and they are worked out.
    pub columns: Vec<Gap>,
    /// From the bottom.
    pub courses: Vec<Course>,
    /// From the left end.
    pub joints: Vec<Joint>,
    /// In the order of the job.
    pub openings: Vec<Opening>,
    /// Where it meets other walls.
    pub corners: Vec<Corner>,
    /// The floor lines that its cladding is broken at, above the datum.
    pub floor_lines_mm: Vec<f64>,
    /// The ground before it, from the left, where it was read.
    pub ground: Vec<Ground>,
    /// Studs for the framer to add.
    pub add_studs_mm: Vec<f64>,
    /// Packing worth showing.
    pub packs: Vec<PackMark>,
    /// Defects and photos.
    pub marks: Vec<Mark>,
    /// What each letter beside a name stands for.
    pub keys: Vec<(String, String)>,
    /// Sentences under the drawing.
    pub notes: Vec<String>,
}

/// A course.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Course {
    /// Its bottom.
    pub bottom_mm: f64,
    /// Its height is not known: it is spread evenly.
    pub is_spread: bool,
    /// The letters of what is noted of it.
    pub keys: String,
}

/// A movement joint.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Joint {
    /// Its centre.
    pub at_mm: f64,
    /// Its place is not known: it is spread evenly.
    pub is_spread: bool,
    /// The letters of what is noted of it.
    pub keys: String,
}

/// A window, a door, or what else cladding stops at.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Opening {
    /// Its name, such as `O1`.
    pub key: String,
    /// Its sides, as drawn.
    pub drawn_mm: Sides<f64>,
    /// The same where the job gives them.
    pub given_mm: Sides<Option<f64>>,
    /// Left unsealed, as the drawings have it.
    pub dry: bool,
    /// The letters of what is noted of it.
    pub keys: String,
}

/// What there is of each side of an opening.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[allow(missing_docs, reason = "their names say it")]
pub struct Sides<T> {
    pub left: T,
    pub right: T,
    pub sill: T,
    pub head: T,
}

impl<T> Sides<T> {
    /// Left, right, sill, head.
    pub(super) fn values(self) -> [T; 4] {
        [self.left, self.right, self.sill, self.head]
    }
}

/// The ground, as it was read at one place before the wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ground {
    /// Along the wall.
    pub at_mm: f64,
    /// Above the datum.
    pub up_mm: f64,
    /// Whether it is paved, where that was said.
    pub paved: Option<bool>,
}

/// A corner at an end of the wall.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Corner {
    /// Its key.
    pub key: String,
    /// What it is made of, in a word.
    pub kind: String,
    /// At the left end; `None` where the bearings of the walls don't say.
    pub left: Option<bool>,
    /// Left unsealed, as the drawings have it.
    pub dry: bool,
    /// The letters of what is noted of it.
    pub keys: String,
}

/// Packing at one fixing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PackMark {
    /// Along the wall.
    pub stud_mm: f64,
    /// Above the datum.
    pub height_mm: f64,
    /// How much.
    pub pack_mm: f64,
}

/// A place on the drawing, by its index in the list of its like.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    /// The wall itself: nowhere on it.
    Wall,
    /// A course.
    Course(usize),
    /// A joint.
    Joint(usize),
    /// An opening.
    Opening(usize),
    /// A corner.
    Corner(usize),
}

/// What a mark stands for, each of a form of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Form {
    /// A defect that is open.
    Open,
    /// One that may stand.
    Conceded,
    /// One that was put right.
    Closed,
    /// A photo.
    Photo,
}

/// A mark with a label in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// Where.
    pub place: Place,
    /// Of what.
    pub form: Form,
    /// The number of the defect or the photo, as the pages write it.
    pub label: String,
}

/// The plans that the job has kept for a wall, as far as it has.
#[derive(Debug, Clone, Copy, Default)]
pub struct Plans<'p> {
    /// The lines of its courses, by the storey rod.
    pub courses_mm: Option<&'p [f64]>,
    /// Its columns.
    pub columns: Option<&'p Columns>,
    /// Courses and columns, or board ends, together.
    pub set_out: Option<&'p SetOut>,
    /// Its packing.
    pub packing: Option<&'p Packing>,
    /// What the job's starter line was worked out from.
    pub readings: &'p [Reading],
}

/// A length that can be drawn.
fn sound(mm: f64) -> Option<f64> {
    (mm.is_finite() && mm > 0.0).then_some(mm)
}

fn corners_of(job: &Job, wall: &Wall) -> Vec<Corner> {
    let corners = job.corners.iter().filter(|corner| corner.walls.contains(&wall.key));
    corners
        .map(|corner| Corner {
            key: corner.key.clone(),
            kind: corner.kind.to_string(),
            left: corner_at_mm(job, corner, wall).map(|at| at == 0.0),
            dry: corner.dry,
            keys: String::new(),
        })
        .collect()
}

fn packs_of(packing: &Packing) -> Vec<PackMark> {
    let packed = packing.fixings.iter().filter(|fixing| fixing.pack_mm >= LEAST_PACK_MM).take(MOST);
    packed.map(|it| PackMark { stud_mm: it.stud_mm, height_mm: it.height_mm, pack_mm: it.pack_mm }).collect()
}

fn ground_of(wall: &str, readings: &[Reading]) -> Vec<Ground> {
    let read = |it: &Reading| Some(Ground { at_mm: it.at_mm, up_mm: it.ground_mm?, paved: it.paved });
    let mut ground: Vec<Ground> = readings.iter().filter(|it| it.wall == wall).filter_map(read).take(MOST).collect();
    ground.sort_by(|one, other| one.at_mm.total_cmp(&other.at_mm));
    ground
}

impl Elevation {
    /// A wall of a job by its plans. What neither the plans nor the job give a place for is spread evenly; a note says
    /// what.
    pub fn of(job: &Job, wall: &Wall, plans: &Plans<'_>) -> Self {
        let (length, height) = (wall.length_mm.and_then(sound), wall.height_mm.and_then(sound));
        let some_height = height.unwrap_or(SOME_HEIGHT_MM);
        let length_mm = length.unwrap_or(2.0 * some_height);
        let lines = plans
            .courses_mm
            .filter(|lines| lines.len() == wall.courses as usize && lines.is_sorted() && lines.len() <= MOST);
        let lowest = lines.and_then(|lines| lines.first()).copied().unwrap_or_default();
        let level = |at: f64| vec![[0.0, at], [length_mm, at]];
        let mut drawn = Self {
            key: wall.key.clone(),
            length_mm,
            top: if wall.top.is_empty() { level(some_height) } else { wall.top.clone() },
            base: if wall.base.is_empty() { level(lowest.min(some_height)) } else { wall.base.clone() },
            is_to_scale: length.is_some() && height.is_some(),
            columns: plans.set_out.map(|it| it.columns.as_slice()).map_or_else(
                // A wall whose pieces can't be worked out is drawn in plain columns and courses.
                || plans.columns.map(|columns| columns.columns.clone()).unwrap_or_default(),
                |columns| if let [one] = columns { one.clone() } else { Vec::new() },
            ),
            faces: plans.set_out.and_then(|set_out| faces(set_out).ok()).unwrap_or_default(),
            corners: corners_of(job, wall),
            add_studs_mm: plans.columns.map(|columns| columns.add_studs_mm.clone()).unwrap_or_default(),
            packs: plans.packing.map(packs_of).unwrap_or_default(),
            ground: ground_of(&wall.key, plans.readings),
            ..Self::default()
        };
        let (low, high) = (drawn.low_mm(), drawn.high_mm());
        drawn.floor_lines_mm =
            job.floor_lines_mm.iter().copied().filter(|floor| low < *floor && *floor < high).collect();
        drawn.courses = drawn.courses_of(wall, lines);
        drawn.joints = drawn.joints_of(wall, plans.columns);
        drawn.openings = drawn.openings_of(wall);
        drawn.notes.extend(drawn.spread_in_words());
        drawn
    }

    /// Its courses at the lines of the storey rod, or else spread evenly.
    fn courses_of(&self, wall: &Wall, lines_mm: Option<&[f64]>) -> Vec<Course> {
        if let Some(lines) = lines_mm {
            return lines.iter().map(|line| Course { bottom_mm: *line, ..Course::default() }).collect();
        }
        let (low, high) = (self.low_mm(), self.high_mm());
        let courses = (wall.courses as usize).min(MOST);
        let even = |course: usize| low + (high - low) * course as f64 / courses as f64;
        (0..courses).map(|course| Course { bottom_mm: even(course), is_spread: true, ..Course::default() }).collect()
    }

    /// Its joints where its columns have them, or else the job, or else spread evenly.
    fn joints_of(&self, wall: &Wall, columns: Option<&Columns>) -> Vec<Joint> {
        let joints = wall.joints.len();
        let of_plan = columns.map(|columns| &columns.joints_mm).filter(|planned| planned.len() == joints);
        let joint = |(place, joint): (usize, &crate::building::Joint)| {
            let known = of_plan.map(|planned| planned[place]).or(joint.at_mm);
            let even = self.length_mm * (place + 1) as f64 / (joints + 1) as f64;
            Joint { at_mm: known.unwrap_or(even), is_spread: known.is_none(), keys: String::new() }
        };
        wall.joints.iter().take(MOST).enumerate().map(joint).collect()
    }

    /// Its openings; sides that the job does not give are drawn somewhere, each opening in its share of the wall.
    fn openings_of(&self, wall: &Wall) -> Vec<Opening> {
        let (low, high) = (self.low_mm(), self.high_mm());
        let share = self.length_mm / wall.openings.len().max(1) as f64;
        let opening = |(place, opening): (usize, &crate::building::Opening)| {
            // Whatever is known to be there and has no sill reaches the ground.
            let placed = opening.from_mm.is_some() && opening.to_mm.is_some();
            let given_mm = Sides {
                left: opening.from_mm,
                right: opening.to_mm,
                sill: opening.sill_mm.or(placed.then_some(low)),
                head: opening.head_mm,
            };
            let left = given_mm.left.unwrap_or(share * (place as f64 + 0.35));
            let sill = if opening.kind == OpeningKind::Door { low } else { low + (high - low) * 0.35 };
            let drawn_mm = Sides {
                left,
                right: given_mm.right.unwrap_or(left + share * 0.3),
                sill: given_mm.sill.unwrap_or(sill),
                head: given_mm.head.unwrap_or(low + (high - low) * 0.75),
            };
            Opening { key: opening.key.clone(), drawn_mm, given_mm, dry: opening.dry, keys: String::new() }
        };
        wall.openings.iter().take(MOST).enumerate().map(opening).collect()
    }

    /// What is only spread evenly, in a sentence; nothing where every place is known.
    fn spread_in_words(&self) -> Option<String> {
        let mut spread: Vec<String> = Vec::new();
        // One course alone is the whole wall: nothing of it is guessed.
        if self.courses.len() > 1 && self.courses.iter().any(|course| course.is_spread) {
            spread.push("courses".to_owned());
        }
        let joints = (1..).zip(&self.joints).filter(|(_, joint)| joint.is_spread);
        spread.extend(joints.map(|(number, _)| format!("J{number}")));
        let openings = self.openings.iter().filter(|opening| opening.given_mm.values().contains(&None));
        spread.extend(openings.map(|opening| opening.key.clone()));
        (!spread.is_empty())
            .then(|| format!("Spread evenly, because the record does not give their places: {}.", spread.join(", ")))
    }

    /// Its lowest level.
    pub(super) fn low_mm(&self) -> f64 {
        self.base.iter().map(|[_, up]| *up).filter(|up| up.is_finite()).reduce(f64::min).unwrap_or_default()
    }

    /// The lowest that is drawn: ground that was read far below is drawn nearer, with its true level beside it.
    pub(super) fn foot_mm(&self) -> f64 {
        let (low, high) = (self.low_mm(), self.high_mm());
        self.ground.iter().map(|ground| ground.up_mm.max(low - (high - low) / 4.0)).fold(low, f64::min)
    }

    /// Its highest.
    pub(super) fn high_mm(&self) -> f64 {
        let low = self.low_mm();
        self.top.iter().map(|[_, up]| *up).filter(|up| up.is_finite()).fold(low + 1.0, f64::max)
    }

    /// The narrowest opening or stretch between two joints, and the lowest course; infinite where it has none.
    pub(super) fn least_places_mm(&self) -> (f64, f64) {
        let openings = self.openings.iter().map(|opening| opening.drawn_mm.right - opening.drawn_mm.left);
        let joints = self.joints.windows(2).map(|pair| (pair[1].at_mm - pair[0].at_mm).abs());
        let courses = (0..self.courses.len()).map(|course| self.top_of_mm(course) - self.courses[course].bottom_mm);
        let least =
            |sizes: &mut dyn Iterator<Item = f64>| sizes.filter(|size| *size > 0.0).fold(f64::INFINITY, f64::min);
        (least(&mut openings.chain(joints)), least(&mut { courses }))
    }

    /// Where its upper and lower outline are at a place along it.
    pub(super) fn span_mm(&self, along_mm: f64) -> (f64, f64) {
        let at = |points: &Vec<[f64; 2]>| Outline { points: points.clone() }.height_mm(along_mm);
        (at(&self.base), at(&self.top))
    }

    /// The top of a course: the bottom of the next.
    pub(super) fn top_of_mm(&self, course: usize) -> f64 {
        self.courses.get(course + 1).map_or_else(|| self.high_mm(), |next| next.bottom_mm)
    }

    /// The name of a place: `C3`, `J1`, `O2`, `NE`; nothing for the wall itself.
    pub(super) fn name_of(&self, place: Place) -> String {
        match place {
            Place::Wall => String::new(),
            Place::Course(index) => format!("C{}", index + 1),
            Place::Joint(index) => format!("J{}", index + 1),
            Place::Opening(index) => self.openings[index].key.clone(),
            Place::Corner(index) => self.corners[index].key.clone(),
        }
    }

    /// Its courses, openings and joints, each after what it may lie over.
    pub(super) fn parts(&self) -> impl Iterator<Item = Place> {
        let courses = (0..self.courses.len()).map(Place::Course);
        courses.chain((0..self.openings.len()).map(Place::Opening)).chain((0..self.joints.len()).map(Place::Joint))
    }

    /// The place of a subject, by its id: the wall, a part of it, or a corner that it has.
    pub fn place_of(&self, id: &str) -> Option<Place> {
        if let Some(corner) = self.corners.iter().position(|corner| corner.key == id) {
            return Some(Place::Corner(corner));
        }
        let part = id.strip_prefix(&self.key)?;
        if part.is_empty() {
            return Some(Place::Wall);
        }
        let part = part.strip_prefix('/')?;
        self.parts().find(|place| self.name_of(*place) == part)
    }

    /// Notes a letter beside the name of a place.
    pub fn add_key(&mut self, place: Place, key: char) {
        let keys = match place {
            Place::Wall => return,
            Place::Course(index) => &mut self.courses[index].keys,
            Place::Joint(index) => &mut self.joints[index].keys,
            Place::Opening(index) => &mut self.openings[index].keys,
            Place::Corner(index) => &mut self.corners[index].keys,
        };
        keys.push(key);
    }

    /// Its title.
    pub fn title(&self) -> String {
        format!("Wall {}, seen from outside", self.key)
    }

    /// What it shows, for those who can't see it.
    pub fn described(&self) -> String {
        let mut parts = vec![format!(
            "{}: {}, {}, {}",
            self.title(),
            count(self.courses.len(), "course"),
            count(self.joints.len(), "joint"),
            count(self.openings.len(), "opening")
        )];
        let marked = |mark: &Mark| {
            let on = match self.name_of(mark.place) {
                name if name.is_empty() => String::new(),
                name => format!(" on {name}"),
            };
            format!("{} ({}){on}", mark.label, mark.form.in_words())
        };
        parts.extend(self.floor_lines_mm.iter().map(|floor| floor_line(*floor)));
        parts.extend(self.ground.iter().map(|ground| format!("ground {}", ground.in_words())));
        parts.extend(self.marks.iter().map(marked));
        for (letter, meaning) in &self.keys {
            let places = self.parts().chain((0..self.corners.len()).map(Place::Corner));
            let with = places.filter(|place| self.keys_of(*place).contains(letter.as_str()));
            parts.push(format!("{}: {meaning}", with.map(|place| self.name_of(place)).collect::<Vec<_>>().join(", ")));
        }
        visible(&parts.join("; "))
    }

    /// The letters of a place.
    pub fn keys_of(&self, place: Place) -> &str {
        match place {
            Place::Wall => "",
            Place::Course(index) => &self.courses[index].keys,
            Place::Joint(index) => &self.joints[index].keys,
            Place::Opening(index) => &self.openings[index].keys,
            Place::Corner(index) => &self.corners[index].keys,
        }
    }
}

/// A floor line by its name on a drawing.
pub(super) fn floor_line(floor_mm: f64) -> String {
    format!("floor line {}", show_mm(floor_mm))
}

impl Ground {
    /// Whether it is paved, in a word.
    pub(super) fn paved_in_words(&self) -> Option<&'static str> {
        self.paved.map(|paved| if paved { "paved" } else { "unpaved" })
    }

    /// Its level, where it was read, and whether it is paved there.
    pub(super) fn in_words(&self) -> String {
        let paved = self.paved_in_words().map_or_else(String::new, |paved| format!(", {paved}"));
        format!("{} at {}{paved}", show_mm(self.up_mm), show_mm(self.at_mm))
    }
}

impl Form {
    /// What it stands for.
    pub(super) fn in_words(self) -> &'static str {
        match self {
            Self::Open => "open defect",
            Self::Conceded => "conceded defect",
            Self::Closed => "defect put right",
            Self::Photo => "photo",
        }
    }
}
