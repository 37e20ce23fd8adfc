//! C4: one start height for the whole building, and every course height from it (the storey rod).
//!
//! Every whole millimetre of the allowed range is tried, in exact arithmetic; a building has few hundreds.

use std::collections::BTreeMap;

use serde::Serialize;

use super::exact::{LengthError, TICKS_IN_MM, ceil_mm, floor_mm, mm, ticks, ticks_signed};
use crate::units::number::show;

/// More walls, or openings on one wall, than a building has.
const MOST_WALLS: usize = 200;
const MOST_OPENINGS: usize = 500;
/// More courses than any wall has.
const MOST_COURSES: i64 = 5_000;
/// The starter line has some centimetres of room; 20 m of it is a slip.
const MOST_RANGE_MM: f64 = 20_000.0;

/// The building as the storey rod sees it. Heights are above one datum, in millimetres.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Building {
    /// The height that one course gains.
    pub cover_mm: f64,
    /// The lowest start that the starter line allows.
    pub lowest_mm: f64,
    /// The highest start that the starter line allows.
    pub highest_mm: f64,
    /// The least piece that may be left anywhere.
    pub least_piece_mm: f64,
    /// What the top rip loses so that it can be lifted in.
    pub lift_in_mm: f64,
    /// The walls.
    pub walls: Vec<Wall>,
}

/// One wall.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Wall {
    /// The wall's key.
    pub key: String,
    /// Where the cladding ends.
    pub top_mm: f64,
    /// Its windows and doors.
    pub openings: Vec<Opening>,
}

/// An opening's edges; a door has no sill.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Opening {
    /// The bottom edge.
    pub sill_mm: Option<f64>,
    /// The top edge.
    pub head_mm: Option<f64>,
}

/// Which edge leaves a piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Edge {
    /// The top of the wall: the top course, less the lift-in.
    Top,
    /// A sill: the piece below it.
    Sill,
    /// A head: the piece above it.
    Head,
}

/// Where the smallest piece is.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SmallestBy {
    /// The first wall that has it.
    pub wall: String,
    /// The edge that leaves it.
    pub what: Edge,
    /// The height of that edge.
    pub at_mm: f64,
}

/// The courses of one wall.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WallCourses {
    /// The wall's key.
    pub key: String,
    /// The bottom of each course, from the start up.
    pub courses_mm: Vec<f64>,
    /// The height of the top course's piece, less the lift-in.
    pub top_rip_mm: f64,
}

/// The storey rod in numbers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Courses {
    /// The start height of the building.
    pub start_mm: f64,
    /// The smallest piece that it leaves.
    pub smallest_piece_mm: f64,
    /// Whether that is at least the least piece.
    pub ok: bool,
    /// Where the smallest piece is.
    pub smallest_by: SmallestBy,
    /// Every wall, in the order given.
    pub walls: Vec<WallCourses>,
}

/// Why there is no storey rod.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CoursesError {
    /// A length that can't be taken.
    #[error("{0}")]
    Length(#[from] LengthError),
    /// A length of one wall that can't be taken.
    #[error("wall '{wall}': {error}")]
    WallLength {
        /// The wall's key.
        wall: String,
        /// What is wrong.
        error: LengthError,
    },
    /// No walls, or more than a building has.
    #[error("{0} walls: 1 to {MOST_WALLS} are taken")]
    Walls(usize),
    /// More openings than a wall has.
    #[error("wall '{0}' has {1} openings: at most {MOST_OPENINGS} are taken")]
    Openings(String, usize),
    /// A wall without a key.
    #[error("wall {0} has a blank key")]
    NoKey(usize),
    /// Two walls with one key.
    #[error("wall '{0}' is given twice")]
    Twice(String),
    /// The range is upside down.
    #[error("lowest start {} mm is above the highest, {} mm", show(*lowest_mm), show(*highest_mm))]
    UpsideDown {
        /// The lowest.
        lowest_mm: f64,
        /// The highest.
        highest_mm: f64,
    },
    /// The range is absurdly wide.
    #[error("starts from {} to {} mm are more than 20 m apart", show(*lowest_mm), show(*highest_mm))]
    TooWide {
        /// The lowest.
        lowest_mm: f64,
        /// The highest.
        highest_mm: f64,
    },
    /// The range holds no whole millimetre.
    #[error("no whole millimetre lies between {} and {} mm: the nearest start is {} mm", show(*lowest_mm), show(*highest_mm), show(*nearest_mm))]
    NoWhole {
        /// The lowest.
        lowest_mm: f64,
        /// The highest.
        highest_mm: f64,
        /// The nearest whole millimetre.
        nearest_mm: f64,
    },
    /// A wall that ends below every start.
    #[error("wall '{wall}': top {} mm is not above the lowest start, {} mm", show(*top_mm), show(*lowest_mm))]
    BelowStart {
        /// The wall's key.
        wall: String,
        /// Its top.
        top_mm: f64,
        /// The lowest start.
        lowest_mm: f64,
    },
    /// A cover so small that the courses can't be counted on a rod.
    #[error("wall '{wall}' would have {count} courses: at most {MOST_COURSES} are taken, is the cover right?")]
    TooManyCourses {
        /// The wall's key.
        wall: String,
        /// How many courses.
        count: i64,
    },
    /// An opening that is upside down.
    #[error("wall '{wall}', opening {number}: sill {} mm is not below its head, {} mm", show(*sill_mm), show(*head_mm))]
    OpeningUpsideDown {
        /// The wall's key.
        wall: String,
        /// The opening, counted from 1.
        number: usize,
        /// Its sill.
        sill_mm: f64,
        /// Its head.
        head_mm: f64,
    },
    /// A lift-in that eats whole courses.
    #[error("lift-in {} mm is not less than the cover, {} mm", show(*lift_in_mm), show(*cover_mm))]
    LiftIn {
        /// The lift-in.
        lift_in_mm: f64,
        /// The cover.
        cover_mm: f64,
    },
}

/// The building in ticks, and its edges without repeats: heads of one height all round count once.
struct Exact {
    cover: i64,
    lift_in: i64,
    tops: Vec<i64>,
    /// Edge and the first wall that has it.
    edges: BTreeMap<(Edge, i64), usize>,
}

impl Exact {
    /// The piece that an edge leaves, if it leaves one.
    fn piece(&self, edge: Edge, height: i64, start: i64) -> Option<i64> {
        if height <= start {
            return None;
        }
        let over = (height - start).rem_euclid(self.cover);
        let whole = |piece: i64| if piece == 0 { self.cover } else { piece };
        Some(match edge {
            Edge::Top => whole(over) - self.lift_in,
            Edge::Sill => whole(over),
            Edge::Head => self.cover - over,
        })
    }

    /// The smallest piece and its edge, or `None` as soon as it can't beat `best`.
    fn smallest(&self, start: i64, best: Option<i64>) -> Option<(i64, Edge, i64)> {
        let mut smallest: Option<(i64, Edge, i64)> = None;
        for &(edge, height) in self.edges.keys() {
            let Some(piece) = self.piece(edge, height, start) else { continue };
            if best.is_some_and(|best| piece <= best) {
                return None;
            }
            if smallest.is_none_or(|(least, ..)| piece < least) {
                smallest = Some((piece, edge, height));
            }
        }
        smallest
    }
}

/// The start that leaves the largest smallest piece, the lowest of those, in whole millimetres.
///
/// A piece is left at the top course (a full cover where it comes out even, less the lift-in), below each sill and
/// above each head (lined up counts as a full cover). Edges at or below the start, or at or above the wall's top, leave
/// none. Starts are kept below every wall's top.
///
/// # Errors
/// [`CoursesError`] for an input that is out of range, contradicts itself or holds no start.
///
/// # Example
/// ```
/// use cladlog::setout::courses::{Building, Opening, Wall, courses};
/// let opening = Opening { sill_mm: Some(900.0), head_mm: Some(2100.0) };
/// let building = Building {
///     cover_mm: 300.0, lowest_mm: 0.0, highest_mm: 50.0, least_piece_mm: 50.0, lift_in_mm: 10.0,
///     walls: vec![Wall { key: "N".into(), top_mm: 2400.0, openings: vec![opening] }],
/// };
/// // Sill, head and top all stand on the 300 mm grid of start 0.
/// let rod = courses(&building).unwrap();
/// assert_eq!((rod.start_mm, rod.smallest_piece_mm), (0.0, 290.0));
/// assert_eq!(rod.walls[0].courses_mm.len(), 8);
/// ```
pub fn courses(building: &Building) -> Result<Courses, CoursesError> {
    let least_piece = ticks("least piece", building.least_piece_mm, 0.0)?;
    let (lowest, highest) = start_range(building)?;
    let exact = exact(building, lowest)?;
    let last = exact.tops.iter().map(|top| top - 1).fold(highest * TICKS_IN_MM, i64::min);
    let mut best: Option<(i64, i64, Edge, i64)> = None;
    for start in lowest..=floor_mm(last) {
        let start = start * TICKS_IN_MM;
        if let Some((piece, edge, height)) = exact.smallest(start, best.map(|(piece, ..)| piece)) {
            best = Some((piece, start, edge, height));
        }
    }
    let Some((piece, start, edge, height)) = best else {
        // Every wall's top stands above the lowest start, so that one at least leaves a piece.
        return Err(CoursesError::Walls(building.walls.len()));
    };
    let wall = exact.edges.get(&(edge, height)).and_then(|&place| building.walls.get(place));
    Ok(Courses {
        start_mm: mm(start),
        smallest_piece_mm: mm(piece),
        ok: piece >= least_piece,
        smallest_by: SmallestBy {
            wall: wall.map(|wall| wall.key.clone()).unwrap_or_default(),
            what: edge,
            at_mm: mm(height),
        },
        walls: building
            .walls
            .iter()
            .zip(&exact.tops)
            .map(|(wall, &top)| WallCourses {
                key: wall.key.clone(),
                courses_mm: (0..).map(|n| start + n * exact.cover).take_while(|&at| at < top).map(mm).collect(),
                top_rip_mm: exact.piece(Edge::Top, top, start).map_or(0.0, mm),
            })
            .collect(),
    })
}

/// The first and last start in whole millimetres.
fn start_range(building: &Building) -> Result<(i64, i64), CoursesError> {
    let Building { lowest_mm, highest_mm, .. } = *building;
    let low = ticks_signed("lowest start", lowest_mm)?;
    let high = ticks_signed("highest start", highest_mm)?;
    if low > high {
        return Err(CoursesError::UpsideDown { lowest_mm, highest_mm });
    }
    if highest_mm - lowest_mm > MOST_RANGE_MM {
        return Err(CoursesError::TooWide { lowest_mm, highest_mm });
    }
    let (first, last) = (ceil_mm(low), floor_mm(high));
    if first > last {
        let nearest_mm = if mm(low) - (last as f64) < first as f64 - mm(high) { last } else { first } as f64;
        return Err(CoursesError::NoWhole { lowest_mm, highest_mm, nearest_mm });
    }
    Ok((first, last))
}

fn exact(building: &Building, lowest: i64) -> Result<Exact, CoursesError> {
    let cover = ticks("cover", building.cover_mm, 1.0)?;
    let lift_in = ticks("lift-in", building.lift_in_mm, 0.0)?;
    if lift_in >= cover {
        return Err(CoursesError::LiftIn { lift_in_mm: building.lift_in_mm, cover_mm: building.cover_mm });
    }
    if building.walls.is_empty() || building.walls.len() > MOST_WALLS {
        return Err(CoursesError::Walls(building.walls.len()));
    }
    let mut exact = Exact { cover, lift_in, tops: Vec::new(), edges: BTreeMap::new() };
    for (place, wall) in building.walls.iter().enumerate() {
        if wall.key.trim().is_empty() {
            return Err(CoursesError::NoKey(place + 1));
        }
        if building.walls.iter().take(place).any(|other| other.key == wall.key) {
            return Err(CoursesError::Twice(wall.key.clone()));
        }
        if wall.openings.len() > MOST_OPENINGS {
            return Err(CoursesError::Openings(wall.key.clone(), wall.openings.len()));
        }
        let height = |what: &'static str, mm: f64| {
            ticks_signed(what, mm).map_err(|error| CoursesError::WallLength { wall: wall.key.clone(), error })
        };
        let top = height("top", wall.top_mm)?;
        if top <= lowest * TICKS_IN_MM {
            return Err(CoursesError::BelowStart {
                wall: wall.key.clone(),
                top_mm: wall.top_mm,
                lowest_mm: lowest as f64,
            });
        }
        let count = (top - lowest * TICKS_IN_MM) / cover;
        if count > MOST_COURSES {
            return Err(CoursesError::TooManyCourses { wall: wall.key.clone(), count });
        }
        exact.tops.push(top);
        exact.edges.entry((Edge::Top, top)).or_insert(place);
        for (opening, number) in wall.openings.iter().zip(1..) {
            let sill = opening.sill_mm.map(|mm| height("sill", mm)).transpose()?;
            let head = opening.head_mm.map(|mm| height("head", mm)).transpose()?;
            if let (Some(sill_mm), Some(head_mm)) = (opening.sill_mm, opening.head_mm)
                && sill >= head
            {
                return Err(CoursesError::OpeningUpsideDown { wall: wall.key.clone(), number, sill_mm, head_mm });
            }
            for (edge, height) in [(Edge::Sill, sill), (Edge::Head, head)] {
                if let Some(height) = height.filter(|&height| height < top) {
                    exact.edges.entry((edge, height)).or_insert(place);
                }
            }
        }
    }
    Ok(exact)
}

/// What a mark on the storey rod is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum MarkKind {
    /// The starter line: the bottom of the first course.
    Start,
    /// The bottom of a later course; the first above the start is course 2.
    Course(usize),
    /// A sill.
    Sill,
    /// A head.
    Head,
    /// The top of a wall's cladding.
    Top,
}

impl std::fmt::Display for MarkKind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Start => f.write_str("start, course 1"),
            Self::Course(number) => write!(f, "course {number}"),
            Self::Sill => f.write_str("sill"),
            Self::Head => f.write_str("head"),
            Self::Top => f.write_str("top"),
        }
    }
}

/// One mark on the storey rod.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Mark {
    /// Above the datum, in millimetres.
    pub height_mm: f64,
    /// What it is.
    pub what: MarkKind,
    /// The walls it is carried to; all of them for courses is an empty list.
    pub walls: Vec<String>,
}

/// Every mark of the storey rod, from the bottom up: what each is, and on which walls.
pub fn marks(building: &Building, courses: &Courses) -> Vec<Mark> {
    let mut marks: Vec<Mark> = Vec::new();
    let mut mark = |height_mm: f64, what: MarkKind, wall: &str| match marks
        .iter_mut()
        .find(|mark| mark.height_mm == height_mm && mark.what == what)
    {
        Some(mark) if mark.walls.iter().any(|key| key == wall) => {}
        Some(mark) => mark.walls.push(wall.to_owned()),
        None => marks.push(Mark { height_mm, what, walls: vec![wall.to_owned()] }),
    };
    for (wall, set_out) in building.walls.iter().zip(&courses.walls) {
        for (number, &height) in set_out.courses_mm.iter().enumerate() {
            let what = if number == 0 { MarkKind::Start } else { MarkKind::Course(number + 1) };
            mark(height, what, &wall.key);
        }
        for opening in &wall.openings {
            for (edge, what) in [(opening.sill_mm, MarkKind::Sill), (opening.head_mm, MarkKind::Head)] {
                if let Some(height) = edge.filter(|&height| height > courses.start_mm && height < wall.top_mm) {
                    mark(height, what, &wall.key);
                }
            }
        }
        mark(wall.top_mm, MarkKind::Top, &wall.key);
    }
    marks.sort_by(|a, b| a.height_mm.total_cmp(&b.height_mm).then(a.what.cmp(&b.what)));
    for mark in &mut marks {
        if mark.walls.len() == building.walls.len() {
            mark.walls.clear();
        }
    }
    marks
}
