//! One piece: its outline in millimetres, and what is measured on it.

use serde::Serialize;

use super::field::{Band, Point, Rect, Ring, STEPS_IN_MM, Shape, edges, steps_in_mm as mm, straightened};
use super::notches::{Notch, notches};
use crate::setout::exact::TICKS_IN_MM;

/// One piece as it goes on the wall.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Piece {
    /// What is written on its back: course, column, and a letter where an opening leaves several.
    pub label: String,
    /// Its course, counted from 1 at the lowest line.
    pub course: usize,
    /// Its column, counted from 1 at the left.
    pub column: usize,
    /// Its outline, anticlockwise from its lowest corner, in the wall's own axes, to 0.001 mm.
    pub outline_mm: Vec<[f64; 2]>,
    /// Its holes, clockwise.
    pub holes_mm: Vec<Vec<[f64; 2]>>,
    /// Its length over all, long point to long point.
    pub length_mm: f64,
    /// Its height over all.
    pub height_mm: f64,
    /// Its area, in square metres.
    pub area_m2: f64,
    /// The edge that was cut and has to be sealed, in metres.
    pub cut_edge_m: f64,
    /// The angle of each sloping cut from level, in degrees.
    pub angles_deg: Vec<f64>,
    /// Whether it is ripped: less high than a whole board.
    pub ripped: bool,
    /// The rectangles that are cut out of it.
    pub notches: Vec<Notch>,
}

impl Piece {
    /// Measures a shape; `None` for a sliver that is nothing to 0.001 mm.
    pub(super) fn of(
        shape: &Shape,
        label: String,
        (course, column): (usize, usize),
        band: &Band,
        panel: Option<i64>,
    ) -> Option<Self> {
        let shape: Shape = shape.iter().map(|ring| straightened(ring)).collect();
        let (outline, holes) = shape.split_first()?;
        let over_all = Rect::round(outline)?;
        let outline_mm = rounded(outline);
        if outline_mm.len() < 3 {
            return None;
        }
        let area: f64 = shape.iter().map(area_mm2).sum();
        Some(Self {
            label,
            course,
            column,
            outline_mm,
            holes_mm: holes.iter().map(rounded).filter(|ring| ring.len() > 2).collect(),
            length_mm: mm(over_all.right - over_all.left),
            height_mm: mm(over_all.top - over_all.bottom),
            area_m2: area / 1e6,
            cut_edge_m: cut_edge_mm(&shape, over_all, band, panel) / 1e3,
            angles_deg: shape.iter().flat_map(|ring| edges(ring)).filter_map(angle_deg).collect(),
            ripped: over_all.top - over_all.bottom < band.top - band.bottom,
            notches: notches(&shape, over_all),
        })
    }

    /// Its left end along the wall, in millimetres.
    pub fn from_mm(&self) -> f64 {
        self.outline_mm.iter().map(|[along, _]| *along).fold(f64::INFINITY, f64::min)
    }

    /// Its lowest edge above the datum, in millimetres.
    pub fn bottom_mm(&self) -> f64 {
        self.outline_mm.iter().map(|[_, height]| *height).fold(f64::INFINITY, f64::min)
    }

    /// Whether it is shorter or lower than so many ticks.
    pub(super) fn is_below(&self, least: i64) -> bool {
        let least = least as f64 / TICKS_IN_MM as f64;
        self.length_mm < least || self.height_mm < least
    }
}

fn to_thousandths(steps: i64) -> f64 {
    // Zero has no sign.
    (mm(steps) * 1000.0).round() / 1000.0 + 0.0
}

/// A ring to 0.001 mm, from its lowest and then leftmost point, without points that have come to coincide.
pub(super) fn rounded(ring: &Ring) -> Vec<[f64; 2]> {
    let first = (0..ring.len()).min_by_key(|place| ring.get(*place).map(|point| (point.y, point.x))).unwrap_or(0);
    let points = ring.iter().cycle().skip(first).take(ring.len());
    let mut points: Vec<[f64; 2]> = points.map(|point| [to_thousandths(point.x), to_thousandths(point.y)]).collect();
    points.dedup();
    if points.len() > 1 && points.first() == points.last() {
        points.pop();
    }
    points
}

/// The area of a ring, negative for a hole.
fn area_mm2(ring: &Ring) -> f64 {
    let twice: i128 =
        edges(ring).map(|(a, b)| i128::from(a.x) * i128::from(b.y) - i128::from(b.x) * i128::from(a.y)).sum();
    twice as f64 / 2.0 / STEPS_IN_MM / STEPS_IN_MM
}

fn length_mm((a, b): (&Point, &Point)) -> f64 {
    mm(b.x - a.x).hypot(mm(b.y - a.y))
}

fn angle_deg((a, b): (&Point, &Point)) -> Option<f64> {
    let (run, rise) = (mm((b.x - a.x).abs()), mm((b.y - a.y).abs()));
    // A millionth of a degree: finer than any saw.
    (run > 0.0 && rise > 0.0).then(|| (rise.atan2(run).to_degrees() * 1e6).round() / 1e6)
}

/// Outline and holes, less what is the board's own: bottom and top of the band, and the ends.
fn cut_edge_mm(shape: &Shape, over_all: Rect, band: &Band, panel: Option<i64>) -> f64 {
    let all = || shape.iter().flat_map(|ring| edges(ring));
    let level = |y: i64| all().filter(|(a, b)| a.y == y && b.y == y).map(length_mm).sum::<f64>();
    let upright = |x: i64| all().filter(|(a, b)| a.x == x && b.x == x).map(length_mm).sum::<f64>();
    let (left, right) = (upright(over_all.left), upright(over_all.right));
    let own_ends = match panel {
        Some(panel) if mm(over_all.right - over_all.left) == panel as f64 / TICKS_IN_MM as f64 => left + right,
        Some(_) => left.max(right),
        None => 0.0,
    };
    (all().map(length_mm).sum::<f64>() - level(band.bottom) - level(band.top) - own_ends).max(0.0)
}
