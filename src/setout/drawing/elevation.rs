//! One wall as a carpenter reads it: what goes where, with running dimensions from the left end.

use serde::Serialize;

use crate::setout::columns::Gap;
use crate::svg::{Anchor, Canvas, DASHED, MEDIUM, THICK, THIN, width_of};
use crate::units::number::show;

/// Room for the drawing itself on an A4 sheet laid flat, beside titles and dimensions.
const ROOM: (f64, f64) = (235.0, 135.0);
/// Room right of the wall for sills and heads, and the narrowest sheet, for the titles.
const RIGHT: f64 = 28.0;
const NARROWEST: f64 = 150.0;
/// Room left of the wall for heights, and above it for titles.
const LEFT: f64 = 34.0;
const ABOVE: f64 = 24.0;
/// Room below the wall for dimensions.
const BELOW: f64 = 40.0;
/// Text in the dimensions: still read at arm's length.
const SMALL: f64 = 3.4;
/// The usual scales of drawings, ISO 5455 and the ones between that trades use.
const SCALES: [f64; 11] = [5.0, 10.0, 20.0, 25.0, 50.0, 75.0, 100.0, 125.0, 200.0, 250.0, 500.0];

/// What the elevation shows. Lengths along from the left end as one faces the wall, heights above the datum, in
/// millimetres.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Elevation {
    /// The title, such as "Wall N".
    pub title: String,
    /// The wall's length.
    pub length_mm: f64,
    /// The start of the first course.
    pub start_mm: f64,
    /// Where the cladding ends.
    pub top_mm: f64,
    /// The columns of panels.
    pub columns: Vec<Gap>,
    /// What is seen of every piece, where the pieces are worked out: each outline along and up.
    #[serde(skip)]
    pub faces: Vec<Vec<[f64; 2]>>,
    /// The centre of each joint.
    pub joints_mm: Vec<f64>,
    /// The bottom of each course.
    pub courses_mm: Vec<f64>,
    /// Windows and doors.
    pub openings: Vec<DrawnOpening>,
    /// Studs for the framer to add.
    pub add_studs_mm: Vec<f64>,
    /// Packing worth showing.
    pub packs: Vec<PackMark>,
    /// Lines under the drawing: defects, notes.
    pub notes: Vec<String>,
}

/// A window or door as drawn.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DrawnOpening {
    /// Its name, such as "O1".
    pub label: String,
    /// Its left side.
    pub from_mm: f64,
    /// Its right side.
    pub to_mm: f64,
    /// Its bottom edge; a door has none.
    pub sill_mm: Option<f64>,
    /// Its top edge.
    pub head_mm: Option<f64>,
}

/// Packing at one fixing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PackMark {
    /// Along the wall.
    pub stud_mm: f64,
    /// Above the datum.
    pub height_mm: f64,
    /// How much.
    pub pack_mm: f64,
}

/// Where things on the wall come on the sheet.
struct View {
    scale: f64,
    start_mm: f64,
    foot: f64,
}

impl View {
    fn x(&self, along_mm: f64) -> f64 {
        LEFT + along_mm / self.scale
    }

    fn y(&self, height_mm: f64) -> f64 {
        self.foot - (height_mm - self.start_mm) / self.scale
    }
}

/// The elevation as SVG, to the largest usual scale that fits A4 laid flat.
///
/// Below the wall: the length of each column, and running dimensions from the left end to each joint's centre. Left of
/// it: the height of each course above the datum. Numbers that would run into one another are left out, never the
/// marks. What is not a number is drawn at 0.
pub fn elevation(wall: &Elevation) -> String {
    let height_mm = (wall.top_mm - wall.start_mm).max(1.0);
    let fits = |scale: &&f64| wall.length_mm / **scale <= ROOM.0 && height_mm / **scale <= ROOM.1;
    let even = || (wall.length_mm / ROOM.0).max(height_mm / ROOM.1).max(1.0);
    let scale = SCALES.iter().find(fits).copied().unwrap_or_else(even);
    let foot = ABOVE + height_mm / scale;
    let view = View { scale, start_mm: wall.start_mm, foot };
    let notes = wall.notes.len() as f64 * 4.6;
    let width = (LEFT + wall.length_mm / scale + RIGHT).max(NARROWEST);
    let mut canvas = Canvas::new(width, foot + BELOW + notes);
    canvas.text((LEFT, 10.0), 5.0, Anchor::Start, false, &wall.title);
    let about = format!(
        "Scale 1:{} on A4. Millimetres; heights above the datum, lengths from the left end.",
        show(scale.round())
    );
    canvas.text((LEFT, 16.0), 3.6, Anchor::Start, false, &about);
    face(&mut canvas, wall, &view);
    openings(&mut canvas, wall, &view);
    heights(&mut canvas, wall, &view);
    lengths(&mut canvas, wall, &view);
    for (line, note) in (0..).zip(&wall.notes) {
        canvas.text((LEFT, foot + BELOW - 4.0 + 4.6 * f64::from(line)), 3.6, Anchor::Start, false, note);
    }
    canvas.finish(&wall.title)
}

/// Panels, joints, studs to add and packing.
fn face(canvas: &mut Canvas, wall: &Elevation, view: &View) {
    let (foot, head) = (view.y(wall.start_mm), view.y(wall.top_mm));
    for face in &wall.faces {
        canvas.polygon(face.iter().map(|[along, up]| (view.x(*along), view.y(*up))), MEDIUM);
    }
    // Where the pieces are not worked out: plain columns and courses.
    for column in wall.columns.iter().filter(|_| wall.faces.is_empty()) {
        let (left, right) = (view.x(column.from_mm), view.x(column.to_mm));
        canvas.rect((left, head), (right, foot), MEDIUM, "");
        for &course in wall.courses_mm.iter().skip(1) {
            canvas.line((left, view.y(course)), (right, view.y(course)), THIN);
        }
    }
    for (number, &course) in (1..).zip(&wall.courses_mm) {
        let above = wall.courses_mm.get(number).copied().unwrap_or(wall.top_mm);
        if view.y(course) - view.y(above) >= SMALL + 0.6 {
            canvas.text((view.x(0.0) + 0.8, view.y(course) - 0.8), SMALL, Anchor::Start, false, &format!("C{number}"));
        }
    }
    for (number, &joint) in (1..).zip(&wall.joints_mm) {
        canvas.text((view.x(joint), head - 1.8), SMALL, Anchor::Middle, false, &format!("J{number}"));
    }
    for &stud in &wall.add_studs_mm {
        let x = view.x(stud);
        canvas.line((x, head - 1.0), (x, foot + 3.0), DASHED);
        canvas.text((x, head - 5.4), SMALL, Anchor::Middle, false, "stud");
    }
    for pack in &wall.packs {
        let at = (view.x(pack.stud_mm), view.y(pack.height_mm));
        canvas.dot(at, 0.6);
        canvas.text((at.0 + 1.0, at.1 - 0.6), SMALL, Anchor::Start, false, &show(pack.pack_mm));
    }
}

fn openings(canvas: &mut Canvas, wall: &Elevation, view: &View) {
    for opening in &wall.openings {
        let (left, right) = (view.x(opening.from_mm), view.x(opening.to_mm));
        let sill = view.y(opening.sill_mm.unwrap_or(wall.start_mm).max(wall.start_mm));
        let head = view.y(opening.head_mm.unwrap_or(wall.top_mm).min(wall.top_mm));
        canvas.rect((left, head), (right, sill), THICK, "#fff");
        canvas.line((left, sill), (right, head), THIN);
        canvas.line((left, head), (right, sill), THIN);
        let middle = (left + right) / 2.0;
        // In the upper and the lower quarter, clear of the cross.
        canvas.text((middle, head + (sill - head) * 0.22 + 1.2), 3.5, Anchor::Middle, false, &opening.label);
        let size = show(opening.to_mm - opening.from_mm);
        if width_of(&size, SMALL) < right - left {
            canvas.text((middle, sill - (sill - head) * 0.1), SMALL, Anchor::Middle, false, &size);
        }
    }
}

/// Course heights at the left, top and overall height; sills and heads at the right.
fn heights(canvas: &mut Canvas, wall: &Elevation, view: &View) {
    let edge = view.x(0.0);
    let mut left: Vec<f64> = wall.courses_mm.clone();
    left.push(wall.top_mm);
    let mut last = f64::INFINITY;
    for height in left {
        let y = view.y(height);
        canvas.line((edge - 4.0, y), (edge - 1.0, y), THIN);
        // The top always gets its number; a course gives way to it.
        let near_top = height != wall.top_mm && y - view.y(wall.top_mm) < SMALL + 0.4;
        if last - y >= SMALL + 0.4 && !near_top {
            canvas.text((edge - 5.0, y + 0.9), SMALL, Anchor::End, false, &show(height));
            last = y;
        }
    }
    let far = view.x(wall.length_mm);
    let mut edges: Vec<f64> = wall
        .openings
        .iter()
        .flat_map(|opening| [opening.sill_mm, opening.head_mm])
        .flatten()
        .filter(|&height| height > wall.start_mm && height < wall.top_mm)
        .collect();
    edges.sort_by(f64::total_cmp);
    edges.dedup();
    let mut last = f64::INFINITY;
    for height in edges {
        let y = view.y(height);
        canvas.line((far + 1.0, y), (far + 4.0, y), THIN);
        if last - y >= SMALL + 0.4 {
            canvas.text((far + 5.0, y + 0.9), SMALL, Anchor::Start, false, &show(height));
            last = y;
        }
    }
}

/// Column lengths, then running dimensions to each joint's centre, then openings.
fn lengths(canvas: &mut Canvas, wall: &Elevation, view: &View) {
    let foot = view.y(wall.start_mm);
    let row = foot + 7.0;
    canvas.line((view.x(0.0), row), (view.x(wall.length_mm), row), THIN);
    for column in &wall.columns {
        let (left, right) = (view.x(column.from_mm), view.x(column.to_mm));
        for end in [left, right] {
            canvas.line((end, foot + 4.0), (end, row + 1.5), THIN);
        }
        let text = show(column.to_mm - column.from_mm);
        if width_of(&text, SMALL) < right - left {
            canvas.text(((left + right) / 2.0, row - 0.8), SMALL, Anchor::Middle, false, &text);
        }
    }
    running(canvas, view, foot + 10.0, wall.joints_mm.iter().copied().chain([wall.length_mm]), "joints");
    let mut sides: Vec<f64> = wall.openings.iter().flat_map(|opening| [opening.from_mm, opening.to_mm]).collect();
    sides.sort_by(f64::total_cmp);
    if !sides.is_empty() {
        running(canvas, view, foot + 22.0, sides.into_iter(), "openings");
    }
}

/// One row of running dimensions, read from the right.
fn running(canvas: &mut Canvas, view: &View, top: f64, places: impl Iterator<Item = f64>, name: &str) {
    canvas.text((LEFT - 5.0, top + 6.0), SMALL, Anchor::End, false, name);
    let mut last = f64::NEG_INFINITY;
    for place in places {
        let x = view.x(place);
        canvas.line((x, top), (x, top + 1.5), THIN);
        if x - last >= SMALL + 0.4 {
            canvas.text((x + 0.9, top + 2.0), SMALL, Anchor::End, true, &show(place));
            last = x;
        }
    }
}
