//! The field of a wall, and what is cut out of it, in whole steps of half a nanometre.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::{IntOverlayOptions, Overlay};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;

use super::{FloorJoint, Gap, MOST_OPENINGS, PanelsError, Profile, SetOut, WallOpening};
use crate::setout::exact::{TICKS_IN_MM, mm, nearest_tick};

/// Steps in a tick: a slope meets a line between two ticks.
const STEPS: i64 = 1_000;
/// Steps in a millimetre.
pub(super) const STEPS_IN_MM: f64 = (STEPS * TICKS_IN_MM) as f64;
/// Steps in millimetres.
pub(super) fn steps_in_mm(steps: i64) -> f64 {
    steps as f64 / STEPS_IN_MM
}

/// Beyond any wall, in steps.
const FAR: i64 = 1_000_000 * TICKS_IN_MM * STEPS;

pub(super) type Point = IntPoint<i64>;
pub(super) type Ring = Vec<Point>;
/// An outline, anticlockwise, and its holes.
pub(super) type Shape = Vec<Ring>;

/// A length in ticks that has to have some size.
pub(super) fn size(what: &'static str, given_mm: f64) -> Result<i64, PanelsError> {
    let ticks = nearest_tick(what, given_mm)?;
    if ticks > 0 { Ok(ticks) } else { Err(PanelsError::NoSize { what, given_mm }) }
}

/// A length in ticks that can't be negative.
pub(super) fn not_negative(what: &'static str, given_mm: f64) -> Result<i64, PanelsError> {
    let ticks = nearest_tick(what, given_mm)?;
    if ticks >= 0 { Ok(ticks) } else { Err(PanelsError::Negative { what, given_mm }) }
}

/// A rectangle in steps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Rect {
    pub(super) left: i64,
    pub(super) right: i64,
    pub(super) bottom: i64,
    pub(super) top: i64,
}

impl Rect {
    /// The rectangle round some points.
    pub(super) fn round(points: &[Point]) -> Option<Self> {
        let first = points.first()?;
        let start = Self { left: first.x, right: first.x, bottom: first.y, top: first.y };
        Some(points.iter().fold(start, |rect, point| Self {
            left: rect.left.min(point.x),
            right: rect.right.max(point.x),
            bottom: rect.bottom.min(point.y),
            top: rect.top.max(point.y),
        }))
    }

    /// A rectangle in ticks in steps.
    fn in_steps(self) -> Self {
        let Self { left, right, bottom, top } = self;
        Self { left: left * STEPS, right: right * STEPS, bottom: bottom * STEPS, top: top * STEPS }
    }

    pub(super) fn ring(self) -> Ring {
        let Self { left, right, bottom, top } = self;
        [(left, bottom), (right, bottom), (right, top), (left, top)].map(|(x, y)| Point::new(x, y)).to_vec()
    }

    fn meets(&self, other: &Self) -> bool {
        self.left < other.right && other.left < self.right && self.bottom < other.top && other.bottom < self.top
    }
}

/// One course, in steps.
#[derive(Debug, Clone, Copy)]
pub(super) struct Band {
    /// Its line.
    pub(super) bottom: i64,
    /// The line of the course above: what lies over it is hidden.
    pub(super) face_top: i64,
    /// Where a whole board ends.
    pub(super) top: i64,
}

/// The courses of a wall, whose cladding ends at `end` ticks at the highest.
pub(super) fn bands(wall: &SetOut, end: i64) -> Result<Vec<Band>, PanelsError> {
    let height = size("board height", wall.board_height_mm)?;
    let lines = wall.courses_mm.iter().map(|line| Ok(nearest_tick("course line", *line)?));
    let lines = lines.collect::<Result<Vec<i64>, PanelsError>>()?;
    let joints = floor_joints(wall)?;
    // A course that ends at a floor line reaches behind no other.
    let joint_over = |line: i64, above: i64| joints.iter().find(|joint| line < joint.0 && joint.1 <= above);
    for (course, pair) in (1..).zip(lines.windows(2)) {
        let gain = pair[1] - pair[0];
        if gain <= 0 {
            return Err(PanelsError::Backwards { what: "course", number: course });
        }
        if let Some(joint) = joint_over(pair[0], pair[1]) {
            if pair[0] + height < joint.0 {
                return Err(PanelsError::TooFewCourses { reach_mm: mm(pair[0] + height), end_mm: mm(joint.0) });
            }
            continue;
        }
        if gain > height {
            return Err(PanelsError::BoardTooLow { course, board_mm: wall.board_height_mm, gain_mm: mm(gain) });
        }
        if height - gain >= gain {
            return Err(PanelsError::Lap { lap_mm: mm(height - gain), gain_mm: mm(gain) });
        }
    }
    if let Some(reach) = lines.last().map(|last| last + height).filter(|reach| *reach < end) {
        return Err(PanelsError::TooFewCourses { reach_mm: mm(reach), end_mm: mm(end) });
    }
    let above = lines.iter().skip(1).copied().map(Some).chain([None]);
    let band = |(line, above): (&i64, Option<i64>)| {
        let at_joint = above.filter(|above| joint_over(*line, *above).is_some());
        let top = at_joint.map_or(line + height, |above| above.min(line + height));
        let face_top = if at_joint.is_some() { top } else { above.unwrap_or(top) };
        Band { bottom: line * STEPS, face_top: face_top * STEPS, top: top * STEPS }
    };
    Ok(lines.iter().zip(above).map(band).collect())
}

/// The joints at floor lines, in ticks: where the cladding below ends, less the lift-in, and where that above begins.
fn floor_joints(wall: &SetOut) -> Result<Vec<(i64, i64)>, PanelsError> {
    let lift_in = not_negative("lift-in", wall.gaps.lift_in_mm)?;
    let joint = |(number, joint): (usize, &FloorJoint)| {
        let (floor, above) = (nearest_tick("floor line", joint.floor_mm)?, nearest_tick("floor line", joint.above_mm)?);
        if above < floor {
            return Err(PanelsError::Backwards { what: "floor line", number });
        }
        Ok((floor - lift_in, above))
    };
    (1..).zip(&wall.floors).map(joint).collect()
}

/// What cladding covers.
pub(super) struct Field {
    /// Left and right of every column, by course; one list for all courses.
    columns: Vec<Vec<(i64, i64)>>,
    /// What is not clad, each with the rectangle round it.
    cutouts: Vec<(Rect, Ring)>,
    /// The highest end, in ticks.
    highest_end: i64,
}

impl Field {
    pub(super) fn of(wall: &SetOut) -> Result<Self, PanelsError> {
        let top = Profile::read("top", &wall.top)?;
        let base = wall.base.as_ref().map(|base| Profile::read("base", base)).transpose()?;
        if let Some(base) = &base {
            base.check_below(&top)?;
        }
        let gaps = &wall.gaps;
        let lift_in = not_negative("lift-in", gaps.lift_in_mm)?;
        let base_gap = not_negative("base gap", gaps.base_gap_mm)?;
        let step_gap = not_negative("step gap", gaps.step_gap_mm)?;
        let columns = wall.columns.iter().map(|columns| read_columns(columns)).collect::<Result<Vec<_>, _>>()?;
        let sides = columns.iter().flatten();
        let ends = sides.copied().reduce(|ends, side| (ends.0.min(side.0), ends.1.max(side.1)));
        let Some(ends) = ends.filter(|_| columns.len() == 1 || columns.len() == wall.courses_mm.len()) else {
            return Err(PanelsError::Lists { lists: columns.len(), courses: wall.courses_mm.len() });
        };
        let mut cutouts: Vec<Ring> = Vec::new();
        // What lies over the top and under the base.
        let in_steps = (ends.0 * STEPS, ends.1 * STEPS);
        let line = |profile: &Profile, up: i64| -> Ring {
            profile.line(in_steps, STEPS).into_iter().map(|(x, y)| Point::new(x, y + up * STEPS)).collect()
        };
        let sky = line(&top, -lift_in);
        cutouts.extend(closed(sky, FAR));
        if let Some(base) = &base {
            cutouts.extend(closed(line(base, base_gap), -FAR).map(|ring| ring.into_iter().rev().collect()));
        }
        // Beside a step cladding keeps clear of the face that stands over the lower top, or of the one over the lower
        // base.
        let mut beside = |x: i64, low: i64, high: i64, to_right: bool| {
            let (left, right) = if to_right { (x, x + step_gap) } else { (x - step_gap, x) };
            cutouts.push(Rect { left, right, bottom: low, top: high }.in_steps().ring());
        };
        if step_gap > 0 {
            for (x, before, after) in top.steps() {
                beside(x, before.min(after) - lift_in, before.max(after) - lift_in, after > before);
            }
            for (x, before, after) in base.iter().flat_map(Profile::steps) {
                beside(x, before.min(after) + base_gap, before.max(after) + base_gap, after < before);
            }
        }
        for (bottom, top) in floor_joints(wall)? {
            cutouts.push(Rect { left: ends.0, right: ends.1, bottom, top }.in_steps().ring());
        }
        cutouts.extend(read_openings(wall, &top, base.as_ref())?.iter().map(|rect| rect.ring()));
        let highest_end = top.highest((Some(ends.0), Some(ends.1))) - lift_in;
        let cutouts = cutouts.into_iter().filter_map(|ring| Some((Rect::round(&ring)?, ring))).collect();
        Ok(Self { columns, cutouts, highest_end })
    }

    /// Where cladding ends at the highest, in ticks.
    pub(super) fn highest_end(&self) -> i64 {
        self.highest_end
    }

    /// Left and right of each column of a course, counted from 1.
    pub(super) fn columns(&self, course: usize) -> &[(i64, i64)] {
        let place = if self.columns.len() == 1 { 0 } else { course - 1 };
        self.columns.get(place).map_or(&[], Vec::as_slice)
    }

    /// What is seen of one course of one column.
    pub(super) fn faces(&self, band: &Band, (left, right): (i64, i64)) -> Vec<Shape> {
        let (left, right) = (left * STEPS, right * STEPS);
        self.clad(&[Rect { left, right, bottom: band.bottom, top: band.face_top }])
    }

    /// What is clad of one course of one column: each piece, from the bottom left.
    pub(super) fn cut(&self, band: &Band, sides: (i64, i64)) -> Vec<Shape> {
        let mut shapes = self.faces(band, sides);
        if band.top > band.face_top {
            shapes = shapes.into_iter().flat_map(|shape| self.with_lap(shape, band)).collect();
        }
        shapes.sort_by_key(|shape| {
            let rect = shape.first().and_then(|outline| Rect::round(outline));
            rect.map(|rect| (rect.bottom, rect.left))
        });
        shapes
    }

    /// What of some rectangles is clad.
    fn clad(&self, rects: &[Rect]) -> Vec<Shape> {
        let met = |(round, _): &&(Rect, Ring)| rects.iter().any(|rect| rect.meets(round));
        let cutouts: Vec<Ring> = self.cutouts.iter().filter(met).map(|(_, ring)| ring.clone()).collect();
        let rings: Vec<Ring> = rects.iter().map(|rect| rect.ring()).collect();
        if cutouts.is_empty() && rings.len() < 2 {
            return rings.into_iter().map(|ring| vec![ring]).collect();
        }
        combine(&rings, &cutouts, OverlayRule::Difference)
    }

    /// A face with what of its board is hidden behind the course above.
    fn with_lap(&self, face: Shape, band: &Band) -> Vec<Shape> {
        let reaches = |(one, other): (&Point, &Point)| {
            let on_line = one.y == band.face_top && other.y == band.face_top;
            on_line.then_some(Rect {
                left: one.x.min(other.x),
                right: one.x.max(other.x),
                bottom: band.face_top,
                top: band.top,
            })
        };
        let behind: Vec<Rect> =
            face.first().into_iter().flat_map(|outline| edges(outline)).filter_map(reaches).collect();
        if behind.is_empty() {
            return vec![face];
        }
        let hidden: Vec<Ring> = self.clad(&behind).into_iter().flatten().collect();
        let whole = combine(&face, &hidden, OverlayRule::Union);
        // What an opening cuts off the hidden strip has no face to hang on.
        let has_face = |shape: &Shape| shape.iter().flatten().any(|point| point.y < band.face_top);
        whole.into_iter().filter(has_face).collect()
    }
}

/// The edges of a ring.
pub(super) fn edges(ring: &[Point]) -> impl Iterator<Item = (&Point, &Point)> {
    ring.iter().zip(ring.iter().cycle().skip(1))
}

/// How far rounding may put a point beside an edge, in steps: two nanometres.
const ROUNDING: f64 = 4.0;

/// A ring without the points that rounding put on its edges or beside its corners, as where a slope was cut in two.
///
/// One point goes at a time, the one that is least missed, and each is judged by the neighbours that are left: of two
/// points a step apart at one corner, each lies on the edge over the other, but only one of them may go.
pub(super) fn straightened(ring: &[Point]) -> Ring {
    let mut ring = ring.to_vec();
    loop {
        let before = ring.iter().cycle().skip(ring.len().saturating_sub(1));
        let after = ring.iter().cycle().skip(1);
        let off = ring.iter().zip(before.zip(after)).map(|(at, (before, after))| off_edge(*at, *before, *after));
        let least = off.enumerate().min_by(|(_, one), (_, other)| one.total_cmp(other));
        match least {
            Some((place, off)) if off <= ROUNDING => ring.remove(place),
            _ => return ring,
        };
    }
}

/// How far a point lies from the edge between two others, in steps.
fn off_edge(at: Point, from: Point, to: Point) -> f64 {
    let (run, rise) = (i128::from(to.x - from.x), i128::from(to.y - from.y));
    let (along, up) = (i128::from(at.x - from.x), i128::from(at.y - from.y));
    let (on, squared) = (along * run + up * rise, run * run + rise * rise);
    if on <= 0 {
        return (along as f64).hypot(up as f64);
    }
    if on >= squared {
        return ((at.x - to.x) as f64).hypot((at.y - to.y) as f64);
    }
    (run * up - rise * along).unsigned_abs() as f64 / (squared as f64).sqrt()
}

/// Two sets of rings in one of the ways of Boolean algebra; outlines come out anticlockwise, holes clockwise.
pub(super) fn combine(subject: &[Ring], clip: &[Ring], rule: OverlayRule) -> Vec<Shape> {
    let options = IntOverlayOptions::ogc();
    Overlay::from_subj_and_clip_custom(subject, clip, options, Default::default()).overlay(rule, FillRule::NonZero)
}

/// A line closed far above or below the wall.
fn closed(line: Ring, far: i64) -> Option<Ring> {
    let (first, last) = (line.first()?.x, line.last()?.x);
    Some(line.into_iter().chain([Point::new(last, far), Point::new(first, far)]).collect())
}

fn read_columns(columns: &[Gap]) -> Result<Vec<(i64, i64)>, PanelsError> {
    let read = |(number, gap): (usize, &Gap)| {
        let (left, right) = (nearest_tick("column", gap.from_mm)?, nearest_tick("column", gap.to_mm)?);
        if right < left { Err(PanelsError::Backwards { what: "column", number }) } else { Ok((left, right)) }
    };
    let columns = (1..).zip(columns).map(read).collect::<Result<Vec<_>, PanelsError>>()?;
    match columns.windows(2).position(|pair| pair[1].0 < pair[0].1) {
        Some(place) => Err(PanelsError::Backwards { what: "column", number: place + 2 }),
        None => Ok(columns),
    }
}

/// The openings widened by their gaps, in steps.
fn read_openings(wall: &SetOut, top: &Profile, base: Option<&Profile>) -> Result<Vec<Rect>, PanelsError> {
    if wall.openings.len() > MOST_OPENINGS {
        return Err(PanelsError::TooMany { what: "openings", given: wall.openings.len(), most: MOST_OPENINGS });
    }
    let length = nearest_tick("length", wall.length_mm)?;
    let side_gap = not_negative("gap", wall.gaps.gap_mm)?;
    let head_gap = not_negative("head gap", wall.gaps.head_gap_mm)?;
    let sill_gap = not_negative("sill gap", wall.gaps.sill_gap_mm)?;
    let far = FAR / STEPS;
    let read = |(number, opening): (usize, &WallOpening)| {
        let edge = |edge: Option<f64>, open: i64| edge.map_or(Ok(open), |mm| nearest_tick("opening", mm));
        let rect = Rect {
            left: nearest_tick("opening", opening.from_mm)?,
            right: nearest_tick("opening", opening.to_mm)?,
            bottom: edge(opening.sill_mm, -far)?,
            top: edge(opening.head_mm, far)?,
        };
        if rect.right <= rect.left || rect.top <= rect.bottom {
            return Err(PanelsError::Backwards { what: "opening", number });
        }
        let along = (Some(rect.left), Some(rect.right));
        let over_top = opening.head_mm.is_some() && rect.top > top.lowest(along) || rect.bottom >= top.highest(along);
        let under_base = base.is_some_and(|base| rect.top <= base.lowest(along));
        let past = match (rect.left < 0 || rect.right > length, over_top, under_base) {
            (true, ..) => "an end",
            (_, true, _) => "the top",
            (.., true) => "the base",
            _ => return Ok(rect),
        };
        Err(PanelsError::Outside { number, past })
    };
    let openings = (1..).zip(&wall.openings).map(read).collect::<Result<Vec<_>, PanelsError>>()?;
    for (place, opening) in openings.iter().enumerate() {
        if let Some(other) = openings.iter().take(place).position(|other| other.meets(opening)) {
            return Err(PanelsError::Overlap { number: place + 1, other: other + 1 });
        }
    }
    let widened = |rect: &Rect| Rect {
        left: rect.left - side_gap,
        right: rect.right + side_gap,
        bottom: rect.bottom - sill_gap,
        top: rect.top + head_gap,
    };
    Ok(openings.iter().map(|rect| widened(rect).in_steps()).collect())
}
