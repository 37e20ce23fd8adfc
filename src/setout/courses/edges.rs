//! The edges of a building that leave a piece, and how high the piece is on a given rod.

use std::collections::BTreeMap;

use super::{Building, CoursesError, Edge, MOST_COURSES, MOST_OPENINGS, MOST_WALLS, Opening};
use crate::setout::exact::{LengthError, TICKS_IN_MM, ticks, ticks_signed};
use crate::setout::outline::{Profile, Stretch};

/// Course lines, in ticks.
pub(super) enum Rod {
    /// From the lowest line up, a cover apart.
    Even {
        /// The lowest line.
        lowest: i64,
        /// From one line to the next.
        cover: i64,
    },
    /// One by one; the last is where the top course would end.
    Lines(Vec<i64>),
}

impl Rod {
    pub(super) fn lowest(&self) -> i64 {
        match self {
            Self::Even { lowest, .. } => *lowest,
            Self::Lines(lines) => lines.first().copied().unwrap_or(i64::MAX),
        }
    }

    /// The highest line below a height that is above the lowest.
    fn below(&self, height: i64) -> i64 {
        match self {
            Self::Even { lowest, cover } => height - 1 - (height - 1 - lowest).rem_euclid(*cover),
            Self::Lines(lines) => {
                let count = lines.partition_point(|line| *line < height);
                lines.get(count.saturating_sub(1)).copied().unwrap_or(height)
            }
        }
    }

    /// The lowest line above a height.
    fn above(&self, height: i64) -> i64 {
        match self {
            Self::Even { lowest, cover } => height + cover - (height - lowest).rem_euclid(*cover),
            Self::Lines(lines) => lines.get(lines.partition_point(|line| *line <= height)).copied().unwrap_or(i64::MAX),
        }
    }

    /// The lines below a wall's end.
    pub(super) fn lines_below(&self, end: i64) -> Vec<i64> {
        match self {
            Self::Even { lowest, cover } => {
                (0..).map(|course| lowest + course * cover).take_while(|line| *line < end).collect()
            }
            Self::Lines(lines) => lines.iter().copied().take_while(|line| *line < end).collect(),
        }
    }
}

/// An edge that leaves a piece: a top, peak or sill below it, a head or base above it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Cut {
    /// Which edge.
    pub(super) edge: Edge,
    /// Where the piece ends: the edge, with its gap or less the lift-in.
    pub(super) at: i64,
    /// What ends the piece above it before the next line does; `i64::MAX` where nothing does.
    pub(super) stop: i64,
    /// The edge itself.
    pub(super) given: i64,
    /// Whether courses pass beside the edge, so that one is notched for it.
    pub(super) is_notched: bool,
    /// The place of its wall.
    pub(super) wall: usize,
}

impl Cut {
    /// Whether the piece is above the edge.
    pub(super) fn is_over(&self) -> bool {
        matches!(self.edge, Edge::Head | Edge::Base)
    }

    /// The height of the piece on a rod, where the edge leaves one.
    pub(super) fn piece(&self, rod: &Rod) -> Option<i64> {
        let above_lowest = self.at > rod.lowest();
        above_lowest.then(|| match self.is_over() {
            true => rod.above(self.at).min(self.stop) - self.at,
            false => self.at - rod.below(self.at),
        })
    }
}

/// A wall in ticks.
pub(super) struct ExactWall {
    /// Its highest end.
    pub(super) end: i64,
    /// The end of its highest level stretch, where it has one.
    pub(super) flat: Option<i64>,
}

/// A building in ticks.
pub(super) struct Edges {
    /// What one course gains.
    pub(super) cover: i64,
    /// How far the panel hangs below the start.
    pub(super) overhang: i64,
    /// The walls, in the order given.
    pub(super) walls: Vec<ExactWall>,
    /// The edges, in the order of walls and openings; edges alike are kept, for they are counted.
    pub(super) cuts: Vec<Cut>,
}

/// Gaps and lift-in, in ticks.
struct Gaps {
    lift_in: i64,
    head: i64,
    sill: i64,
    base: i64,
}

/// An opening in ticks, without its gaps.
struct ExactOpening {
    stretch: Stretch,
    sill: Option<i64>,
    head: Option<i64>,
}

impl ExactOpening {
    /// Whether it is less wide than the wall.
    fn has_sides(&self) -> bool {
        self.stretch.0.is_some() && self.stretch.1.is_some()
    }
}

impl Edges {
    pub(super) fn of(building: &Building) -> Result<Self, CoursesError> {
        let cover = ticks("cover", building.cover_mm, 1.0)?;
        let overhang = ticks("overhang", building.overhang_mm, 0.0)?;
        let gaps = Gaps {
            lift_in: ticks("lift-in", building.lift_in_mm, 0.0)?,
            head: ticks("head gap", building.head_gap_mm, 0.0)?,
            sill: ticks("sill gap", building.sill_gap_mm, 0.0)?,
            base: ticks("base gap", building.base_gap_mm, 0.0)?,
        };
        if gaps.lift_in >= cover {
            return Err(CoursesError::LiftIn { lift_in_mm: building.lift_in_mm, cover_mm: building.cover_mm });
        }
        if building.walls.is_empty() || building.walls.len() > MOST_WALLS {
            return Err(CoursesError::Walls(building.walls.len()));
        }
        let mut edges = Self { cover, overhang, walls: Vec::new(), cuts: Vec::new() };
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
            edges.add(building, place, &gaps)?;
        }
        Ok(edges)
    }

    /// Adds the edges of one wall.
    fn add(&mut self, building: &Building, place: usize, gaps: &Gaps) -> Result<(), CoursesError> {
        let Some(wall) = building.walls.get(place) else { return Ok(()) };
        let outline = |error| CoursesError::Outline { wall: wall.key.clone(), error };
        let top = Profile::read("top", &wall.top).map_err(outline)?;
        let base = wall.base.as_ref().map(|base| Profile::read("base", base)).transpose().map_err(outline)?;
        if let Some(base) = &base {
            base.check_below(&top).map_err(outline)?;
        }
        let ends = top.ends().or_else(|| base.as_ref().and_then(Profile::ends));
        let openings = openings(building, place, ends)?;
        let end_of = |height: i64| height - gaps.lift_in;
        let mut cut = |edge, at, stop, given, is_notched| {
            self.cuts.push(Cut { edge, at, stop, given, is_notched, wall: place });
        };
        for (_, height) in top.flats() {
            cut(Edge::Top, end_of(height), i64::MAX, height, false);
        }
        for height in top.peaks() {
            cut(Edge::Peak, end_of(height), i64::MAX, height, false);
        }
        for (stretch, height) in base.iter().flat_map(Profile::flats) {
            let at = height + gaps.base;
            let sill = lowest_sill_above(stretch, height, at, &openings, gaps.sill);
            if let Some(sill) = sill.filter(|_| at < end_of(top.highest(stretch))) {
                cut(Edge::Base, at, sill, height, false);
            }
        }
        for opening in &openings {
            if let Some(sill) = opening.sill {
                let at = sill - gaps.sill;
                let is_left = at < end_of(top.highest(opening.stretch));
                if is_left && !meets_heads_below(opening.stretch, sill, at, &openings, gaps.head) {
                    cut(Edge::Sill, at, i64::MAX, sill, opening.has_sides());
                }
            }
            if let Some(head) = opening.head {
                let (at, end) = (head + gaps.head, end_of(top.lowest(opening.stretch)));
                let sill = lowest_sill_above(opening.stretch, head, at, &openings, gaps.sill);
                if let Some(sill) = sill.filter(|_| at < end) {
                    cut(Edge::Head, at, end.min(sill), head, opening.has_sides());
                }
            }
        }
        let end = top.flats().iter().map(|(_, height)| *height).chain(top.peaks()).max().map_or(i64::MIN, end_of);
        let flat = top.flats().iter().map(|(_, height)| *height).max().map(end_of);
        self.walls.push(ExactWall { end, flat });
        Ok(())
    }

    /// Checks that every wall has a course at the lowest start, and none more than a rod can show.
    pub(super) fn check_walls(&self, building: &Building, lowest_mm: i64) -> Result<(), CoursesError> {
        let lowest = lowest_mm * TICKS_IN_MM - self.overhang;
        for (wall, given) in self.walls.iter().zip(&building.walls) {
            let key = given.key.clone();
            if wall.end <= lowest {
                let top_mm = given.top.highest_mm();
                return Err(CoursesError::BelowStart { wall: key, top_mm, lowest_mm: lowest_mm as f64 });
            }
            let count = (wall.end - lowest) / self.cover;
            if count > MOST_COURSES {
                return Err(CoursesError::TooManyCourses { wall: key, count });
            }
        }
        Ok(())
    }

    /// The notches that a rod leaves lower than `least`, each once: what is cut off a course under a head's edge, or over a
    /// sill's, as far as it is seen.
    ///
    /// By the place of the wall, the edge and its height.
    pub(super) fn low_notches(&self, rod: &Rod, least: i64) -> BTreeMap<(usize, Edge, i64), i64> {
        let notched = self.cuts.iter().filter(|cut| cut.is_notched && cut.at > rod.lowest());
        let height = |cut: &Cut| match cut.edge {
            Edge::Sill => rod.above(cut.at - 1) - cut.at,
            _ => cut.at - rod.below(cut.at + 1),
        };
        let notches = notched.map(|cut| ((cut.wall, cut.edge, cut.given), height(cut)));
        notches.filter(|(_, height)| (1..least).contains(height)).collect()
    }

    /// How many sills, heads and level tops a line above the lowest meets.
    pub(super) fn met(&self, rod: &Rod) -> usize {
        let kinds = self.cuts.iter().filter(|cut| matches!(cut.edge, Edge::Top | Edge::Sill | Edge::Head));
        kinds.filter(|cut| cut.at > rod.lowest() && rod.below(cut.at + 1) == cut.at).count()
    }

    /// The edges without those that leave the same piece as one before.
    pub(super) fn distinct(&self) -> Vec<Cut> {
        let mut seen = std::collections::BTreeSet::new();
        self.cuts.iter().filter(|cut| seen.insert((cut.is_over(), cut.at, cut.stop))).copied().collect()
    }
}

/// The smallest piece on a rod and its edge, or `None` as soon as it can't beat `best`.
pub(super) fn smallest(cuts: &[Cut], rod: &Rod, best: Option<i64>) -> Option<(i64, Cut)> {
    let mut smallest: Option<(i64, Cut)> = None;
    for cut in cuts {
        let Some(piece) = cut.piece(rod) else { continue };
        if best.is_some_and(|best| piece <= best) {
            return None;
        }
        if smallest.is_none_or(|(least, _)| piece < least) {
            smallest = Some((piece, *cut));
        }
    }
    smallest
}

fn openings(building: &Building, place: usize, ends: Option<(i64, i64)>) -> Result<Vec<ExactOpening>, CoursesError> {
    let Some(wall) = building.walls.get(place) else { return Ok(Vec::new()) };
    let read = |(number, opening): (usize, &Opening)| {
        let length = |what: &'static str, mm: Option<f64>| {
            let error = |error: LengthError| CoursesError::WallLength { wall: wall.key.clone(), error };
            mm.map(|mm| ticks_signed(what, mm)).transpose().map_err(error)
        };
        let stretch = (length("left side", opening.from_mm)?, length("right side", opening.to_mm)?);
        let (sill, head) = (length("sill", opening.sill_mm)?, length("head", opening.head_mm)?);
        if let (Some(sill_mm), Some(head_mm)) = (opening.sill_mm, opening.head_mm)
            && sill >= head
        {
            return Err(CoursesError::OpeningUpsideDown { wall: wall.key.clone(), number, sill_mm, head_mm });
        }
        if let (Some(from), Some(to)) = stretch
            && from >= to
        {
            return Err(CoursesError::OpeningBackwards { wall: wall.key.clone(), number });
        }
        let before = |place: Option<i64>, bound: i64| place.is_some_and(|place| place < bound);
        let after = |place: Option<i64>, bound: i64| place.is_some_and(|place| place > bound);
        if ends.is_some_and(|(left, right)| before(stretch.0, left) || after(stretch.1, right)) {
            return Err(CoursesError::OpeningOutside { wall: wall.key.clone(), number });
        }
        Ok(ExactOpening { stretch, sill, head })
    };
    (1..).zip(&wall.openings).map(read).collect()
}

/// Where the piece over a head or a base ends at the latest for a sill above it: `i64::MAX` where none shares some of its
/// length, `None` where the gaps of openings above meet its own along the whole of it, so that no piece is left.
fn lowest_sill_above(stretch: Stretch, edge: i64, at: i64, openings: &[ExactOpening], gap: i64) -> Option<i64> {
    let above = openings.iter().filter_map(|other| {
        let shared = shared(stretch, other.stretch)?;
        other.sill.filter(|sill| *sill >= edge).map(|sill| (shared, sill - gap))
    });
    let (free, meeting): (Vec<_>, Vec<_>) = above.partition(|(_, sill)| *sill > at);
    let taken = meeting.into_iter().map(|(shared, _)| shared).collect();
    let lowest = free.into_iter().map(|(_, sill)| sill).min().unwrap_or(i64::MAX);
    (!is_covered(stretch, taken)).then_some(lowest)
}

/// Whether the gaps of openings below a sill meet its own along the whole of it, so that no piece is left under it.
fn meets_heads_below(stretch: Stretch, sill: i64, at: i64, openings: &[ExactOpening], gap: i64) -> bool {
    let meeting = openings.iter().filter(|other| other.head.is_some_and(|head| head <= sill && head + gap >= at));
    is_covered(stretch, meeting.filter_map(|other| shared(stretch, other.stretch)).collect())
}

/// What two stretches share, where they do.
fn shared(one: Stretch, other: Stretch) -> Option<(i64, i64)> {
    let from = one.0.unwrap_or(i64::MIN).max(other.0.unwrap_or(i64::MIN));
    let to = one.1.unwrap_or(i64::MAX).min(other.1.unwrap_or(i64::MAX));
    (from < to).then_some((from, to))
}

/// Whether some parts of a stretch are the whole of it.
fn is_covered(stretch: Stretch, mut parts: Vec<(i64, i64)>) -> bool {
    parts.sort_unstable();
    let (from, to) = (stretch.0.unwrap_or(i64::MIN), stretch.1.unwrap_or(i64::MAX));
    let reach = parts.iter().fold(from, |reach, (begin, end)| if *begin <= reach { reach.max(*end) } else { reach });
    reach >= to
}
