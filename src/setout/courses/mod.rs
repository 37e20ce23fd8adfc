//! C4: one start height for the whole building, and every course height from it (the storey rod).
//!
//! Panels: every whole millimetre of the allowed range is tried, in exact arithmetic; a building has few hundreds. Lapped
//! boards, whose gain may differ from course to course: dynamic programming over whole millimetres.

mod edges;
mod error;
mod lapped;
mod lifts;
mod marks;

use serde::{Deserialize, Serialize};

use self::edges::{Cut, Edges, ExactWall, Rod, smallest};
pub use self::error::CoursesError;
pub use self::lifts::{Floors, Lift};
pub use self::marks::{Mark, MarkKind, marks};
use super::exact::{TICKS_IN_MM, ceil_mm, floor_mm, mm, ticks, ticks_signed};
use super::outline::Outline;

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
    /// For lapped boards, the least and the most that a course may gain.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gains_mm: Option<(f64, f64)>,
    /// How far the panel hangs below the start.
    pub overhang_mm: f64,
    /// The lowest start that the starter line allows.
    pub lowest_mm: f64,
    /// The highest start that the starter line allows.
    pub highest_mm: f64,
    /// The least piece that may be left anywhere.
    pub least_piece_mm: f64,
    /// What is left free under the top so that the last piece can be lifted in.
    pub lift_in_mm: f64,
    /// The gap between a head and the piece over it.
    pub head_gap_mm: f64,
    /// The gap between a sill and the piece under it.
    pub sill_gap_mm: f64,
    /// The gap between the base and the piece over it.
    pub base_gap_mm: f64,
    /// Its floor lines, where cladding is broken.
    #[serde(skip_serializing_if = "Floors::is_empty")]
    pub floors: Floors,
    /// The walls.
    pub walls: Vec<Wall>,
}

/// One wall.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Wall {
    /// The wall's key.
    pub key: String,
    /// Its upper outline.
    pub top: Outline,
    /// Its lower outline, where it has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub base: Option<Outline>,
    /// Its windows and doors; they may overlap.
    pub openings: Vec<Opening>,
}

/// An opening's edges. Each may be missing: a door has no sill, and without its sides it is as wide as the wall.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Opening {
    /// The left side.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub from_mm: Option<f64>,
    /// The right side.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub to_mm: Option<f64>,
    /// The bottom edge.
    pub sill_mm: Option<f64>,
    /// The top edge.
    pub head_mm: Option<f64>,
}

/// Which edge leaves a piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Edge {
    /// A level stretch of the top: the piece under it, less the lift-in.
    Top,
    /// A peak, or the high end of a slope: the piece under it, less the lift-in.
    Peak,
    /// A level stretch of the base: the piece over it.
    Base,
    /// A sill: the piece below it.
    Sill,
    /// A head: the piece above it.
    Head,
}

/// Where the smallest piece is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SmallestBy {
    /// The first wall that has it.
    pub wall: String,
    /// The edge that leaves it.
    pub what: Edge,
    /// The height of that edge, without its gap or the lift-in.
    pub at_mm: f64,
}

/// A notch lower than the least piece: no piece is small for it, but it is awkward to cut and easily broken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LowNotch {
    /// The wall.
    pub wall: String,
    /// The edge that a course is cut for: a head or a sill.
    pub what: Edge,
    /// The height of that edge, without its gap.
    pub at_mm: f64,
    /// How high the notch is, as far as it is seen.
    pub height_mm: f64,
}

/// The courses of one wall.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WallCourses {
    /// The wall's key.
    pub key: String,
    /// The bottom of each course, from the lowest line up to the wall's end.
    pub courses_mm: Vec<f64>,
    /// The height of the piece under the highest level stretch of the top, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub top_rip_mm: Option<f64>,
}

/// The storey rod in numbers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Courses {
    /// The start height of the building.
    pub start_mm: f64,
    /// The smallest piece that it leaves.
    pub smallest_piece_mm: f64,
    /// Whether that is at least the least piece.
    pub ok: bool,
    /// Where the smallest piece is.
    pub smallest_by: SmallestBy,
    /// Notches lower than the least piece; the aims don't count them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub low_notches: Vec<LowNotch>,
    /// The start that leaves fewest of them, where it leaves fewer, and no piece lower than the least.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fewest_notches_at_mm: Option<f64>,
    /// How many sills, heads and level tops a line meets; for lapped boards.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub met: Option<usize>,
    /// The lifts above floor lines, from the lowest.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lifts: Vec<Lift>,
    /// Every wall, in the order given.
    pub walls: Vec<WallCourses>,
}

/// The start that leaves the largest smallest piece, the lowest of those, in whole millimetres.
///
/// Course lines are start − overhang + k · cover; the wall's end above a place is its top less the lift-in. A piece is
/// left under each level stretch of the top, each peak and each high end of a slope; under each sill less its gap; over
/// each head with its gap, up to the next line, the wall's end or the sill of an opening above that shares some of its
/// length, whichever is lowest; and over each level stretch of the base with its gap. What is lined up counts as a full
/// cover. Edges at or below the lowest line, or at or above the wall's end, leave none. Starts leave every wall a
/// course.
///
/// With `gains_mm` lines are whole millimetres from the lowest, gains within those bounds, and those of neighbours at
/// most 1 mm apart but where a line meets an edge: first as many sills, heads and level tops met as can be, then the
/// largest smallest piece, then the gains closest to the cover (least sum of squares).
///
/// Between floor lines each lift is worked out by itself: its lowest line lies in a range of its own over the floor line,
/// and the one below ends under it, less the lift-in. The smallest piece is that of the whole building.
///
/// # Errors
/// [`CoursesError`] for an input that is out of range, contradicts itself or holds no start.
///
/// # Example
/// ```
/// use cladlog::setout::courses::{Building, Floors, Opening, Wall, courses};
/// use cladlog::setout::outline::Outline;
/// let opening = Opening { sill_mm: Some(910.0), head_mm: Some(2090.0), ..Opening::default() };
/// let building = Building {
///     cover_mm: 300.0, gains_mm: None, overhang_mm: 16.0, lowest_mm: 0.0, highest_mm: 50.0, least_piece_mm: 50.0,
///     lift_in_mm: 5.0, head_gap_mm: 10.0, sill_gap_mm: 10.0, base_gap_mm: 0.0, floors: Floors::default(),
///     walls: vec![Wall { key: "N".into(), top: Outline::level(2405.0), base: None, openings: vec![opening] }],
/// };
/// // From start 16 the lines are 0, 300, 600 …: sill, head and top, with their gaps, stand on them.
/// let rod = courses(&building).unwrap();
/// assert_eq!((rod.start_mm, rod.smallest_piece_mm), (16.0, 300.0));
/// assert_eq!(rod.walls[0].courses_mm.len(), 8);
/// ```
pub fn courses(building: &Building) -> Result<Courses, CoursesError> {
    if building.floors.is_empty() { courses_of_lift(building) } else { lifts::courses_in_lifts(building) }
}

/// The courses of a building, or of a lift, that no floor line parts.
fn courses_of_lift(building: &Building) -> Result<Courses, CoursesError> {
    let least_piece = ticks("least piece", building.least_piece_mm, 0.0)?;
    let (lowest, highest) = start_range(building)?;
    let edges = Edges::of(building)?;
    edges.check_walls(building, lowest)?;
    let (rod, fewest_notches) = match building.gains_mm {
        None => even(&edges, lowest, highest, least_piece),
        Some((least_mm, most_mm)) => {
            let cover_mm = building.cover_mm;
            if !(least_mm..=most_mm).contains(&cover_mm) {
                return Err(CoursesError::CoverOutside { cover_mm, least_mm, most_mm });
            }
            (Rod::Lines(lapped::lines(&edges, (lowest, highest), least_mm, most_mm)?), None)
        }
    };
    // Every wall has an end above its lowest line, so that one at least leaves a piece.
    let (piece, by) = smallest(&edges.cuts, &rod, None).ok_or(CoursesError::Walls(building.walls.len()))?;
    let key = |wall: usize| building.walls.get(wall).map(|wall| wall.key.clone()).unwrap_or_default();
    let low_notch =
        |((wall, what, at), height)| LowNotch { wall: key(wall), what, at_mm: mm(at), height_mm: mm(height) };
    let courses_of = |(wall, exact): (&Wall, &ExactWall)| WallCourses {
        key: wall.key.clone(),
        courses_mm: rod.lines_below(exact.end).into_iter().map(mm).collect(),
        top_rip_mm: exact.flat.and_then(|at| Cut { edge: Edge::Top, at, ..by }.piece(&rod)).map(mm),
    };
    Ok(Courses {
        start_mm: mm(rod.lowest() + edges.overhang),
        smallest_piece_mm: mm(piece),
        ok: piece >= least_piece,
        smallest_by: SmallestBy { wall: key(by.wall), what: by.edge, at_mm: mm(by.given) },
        low_notches: edges.low_notches(&rod, least_piece).into_iter().map(low_notch).collect(),
        fewest_notches_at_mm: fewest_notches.map(|start| start as f64),
        met: building.gains_mm.map(|_| edges.met(&rod)),
        lifts: Vec::new(),
        walls: building.walls.iter().zip(&edges.walls).map(courses_of).collect(),
    })
}

/// Tries every whole millimetre that leaves every wall a course: the best rod; and the start that leaves fewest notches lower
/// than the least piece, where it leaves fewer than that and no piece lower than the least or than the best rod's smallest.
fn even(edges: &Edges, lowest: i64, highest: i64, least_piece: i64) -> (Rod, Option<i64>) {
    let rod = |start: i64| Rod::Even { lowest: start * TICKS_IN_MM - edges.overhang, cover: edges.cover };
    let below_ends = edges.walls.iter().map(|wall| wall.end + edges.overhang - 1);
    let last = floor_mm(below_ends.fold(highest * TICKS_IN_MM, i64::min));
    let cuts = edges.distinct();
    let mut best: Option<(i64, i64)> = None;
    for start in lowest..=last {
        if let Some((piece, _)) = smallest(&cuts, &rod(start), best.map(|(piece, _)| piece)) {
            best = Some((piece, start));
        }
    }
    let Some((piece, start)) = best else { return (rod(lowest), None) };
    let notches = |start: i64| edges.low_notches(&rod(start), least_piece).len();
    let enough = piece.min(least_piece);
    let good = |start: i64| {
        let (smallest, _) = smallest(&cuts, &rod(start), Some(enough - 1))?;
        Some((notches(start), -smallest, start))
    };
    let fewest = (lowest..=last).filter_map(good).min().filter(|(count, ..)| *count < notches(start));
    (rod(start), fewest.map(|(.., start)| start))
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
