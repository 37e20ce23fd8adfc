//! From the pieces of a set-out to what the saw and the merchant need to know of them.

use std::collections::BTreeMap;

use super::cuts::{CutRequest, Piece};
use super::takeoff::{OfSize, WallQuantities};
use crate::building::{Job, Panel, Wall};
use crate::setout::panels::{self, Panels, SetOut, WallOpening};
use crate::units::number::show;

/// The pieces of a wall for the cut plan, and what else the saw does to each, by label.
///
/// Labels name wall, course and column: `N/C3-2`. A length with a part of a millimetre is rounded up. A ripped piece
/// takes a whole board's height: what is left of its height is not counted on.
pub fn pieces_of(wall: &str, set_out: &Panels) -> (Vec<Piece>, BTreeMap<String, String>) {
    let mut pieces = Vec::with_capacity(set_out.pieces.len());
    let mut notes = BTreeMap::new();
    for (line, piece) in (1..).zip(&set_out.pieces) {
        let label = format!("{wall}/{}", piece.label);
        let note = note_of(piece);
        if !note.is_empty() {
            notes.insert(label.clone(), note);
        }
        let length_mm = (piece.length_mm - 1e-6).ceil().max(0.0) as u32;
        pieces.push(Piece { label, length_mm, count: 1, line });
    }
    (pieces, notes)
}

/// "rip to 566; notch 825 x 310 at 0, 290", from the piece's lower left corner.
fn note_of(piece: &panels::Piece) -> String {
    let mut parts = Vec::new();
    if piece.ripped {
        parts.push(format!("rip to {}", show(piece.height_mm)));
    }
    for notch in &piece.notches {
        let (across, up) = (show(notch.from_left_mm), show(notch.from_bottom_mm));
        parts.push(format!("notch {} x {} at {across}, {up}", show(notch.length_mm), show(notch.height_mm)));
    }
    parts.join("; ")
}

/// How the boards of a job are bought and cut, as far as the job file says; pieces are for the caller to add.
pub fn settings_of(panel: &Panel) -> CutRequest {
    let usual = CutRequest::default();
    let own = [panel.length_mm.floor().max(0.0) as u32];
    CutRequest {
        stock_mm: if panel.stock_mm.is_empty() { own.to_vec() } else { panel.stock_mm.clone() },
        square_mm: panel.square_end_mm.unwrap_or(usual.square_mm),
        kerf_mm: panel.kerf_mm.unwrap_or(usual.kerf_mm),
        bundle: panel.bundle.unwrap_or(usual.bundle),
        offcut_mm: panel.least_offcut_mm.unwrap_or(usual.offcut_mm),
        ..usual
    }
}

/// The quantities of a wall, but for its boards and packers, which come from plans of their own.
///
/// A corner is charged to the first of its walls that is among `walls`, in their order. A stud stands behind every
/// joint, whether it has been added yet or not.
pub fn quantities_of(job: &Job, wall: &Wall, walls: &[String], set_out: &SetOut, pieces: &Panels) -> WallQuantities {
    let start_mm = set_out.courses_mm.first().copied().unwrap_or(set_out.top_mm);
    let height_mm = (set_out.top_mm - start_mm).max(0.0);
    let joints: Vec<f64> = set_out.columns.windows(2).map(|pair| (pair[0].to_mm + pair[1].from_mm) / 2.0).collect();
    let half_joint =
        |at: usize| set_out.columns.get(at..at + 2).map_or(0.0, |pair| (pair[1].from_mm - pair[0].to_mm) / 2.0);
    let reach_mm = (0..joints.len()).map(half_joint).fold(0.0, f64::max);
    let mut studs: Vec<f64> = wall.studs_mm.clone();
    studs.extend(joints.iter().filter(|joint| !wall.studs_mm.contains(joint)));
    let behind = |piece: &panels::Piece| {
        let (from, to) = (piece.from_mm - reach_mm, piece.from_mm + piece.length_mm + reach_mm);
        studs.iter().filter(|stud| (from..=to).contains(*stud)).count() as u32
    };
    let joint_mm: f64 = joints.iter().map(|at| height_mm - covered_mm(set_out, *at, start_mm)).sum();
    let length_mm = set_out.columns.last().map_or(0.0, |column| column.to_mm);
    let doors = set_out.openings.iter().filter(|opening| opening.sill_mm.is_none_or(|sill| sill <= start_mm));
    let doors_mm: f64 = doors.map(|door| door.to_mm - door.from_mm).sum();
    let charged = |walls_of: &[String]| walls.iter().find(|key| walls_of.contains(key)) == Some(&wall.key);
    let corners = job.corners.iter().filter(|corner| charged(&corner.walls)).count() as u32;
    WallQuantities {
        wall: wall.key.clone(),
        boards: Vec::new(),
        area_m2: pieces.area_m2,
        crossings: pieces.pieces.iter().map(behind).sum(),
        starter_m: (length_mm - doors_mm).max(0.0) / 1e3,
        corners,
        corner_m: f64::from(corners) * height_mm / 1e3,
        joints: joints.len() as u32,
        joint_m: joint_mm.max(0.0) / 1e3,
        openings: set_out.openings.len() as u32,
        opening_m: set_out.openings.iter().map(|opening| edge_mm(opening, start_mm, set_out.top_mm)).sum::<f64>() / 1e3,
        head_m: set_out.openings.iter().map(|opening| head_mm(opening, set_out.top_mm)).sum::<f64>() / 1e3,
        cut_edge_m: pieces.cut_edge_m,
        packers: Vec::new(),
    }
}

/// How much of a joint's height openings take.
fn covered_mm(set_out: &SetOut, at_mm: f64, start_mm: f64) -> f64 {
    let crossed =
        |opening: &&WallOpening| (opening.from_mm - set_out.gap_mm..=opening.to_mm + set_out.gap_mm).contains(&at_mm);
    set_out.openings.iter().filter(crossed).map(|opening| span_mm(opening, start_mm, set_out.top_mm)).sum()
}

/// The height of an opening within the cladding.
fn span_mm(opening: &WallOpening, start_mm: f64, top_mm: f64) -> f64 {
    let bottom = opening.sill_mm.unwrap_or(start_mm).max(start_mm);
    (opening.head_mm.unwrap_or(top_mm).min(top_mm) - bottom).max(0.0)
}

/// The edge along which panels meet an opening: both sides, the head, and the sill where it has one.
fn edge_mm(opening: &WallOpening, start_mm: f64, top_mm: f64) -> f64 {
    let width = opening.to_mm - opening.from_mm;
    let sill = if opening.sill_mm.is_some_and(|sill| sill > start_mm) { width } else { 0.0 };
    2.0 * span_mm(opening, start_mm, top_mm) + head_mm(opening, top_mm) + sill
}

/// The edge over an opening's head, where panels pass above it.
fn head_mm(opening: &WallOpening, top_mm: f64) -> f64 {
    if opening.head_mm.is_some_and(|head| head < top_mm) { opening.to_mm - opening.from_mm } else { 0.0 }
}

/// So many of each size, smallest first.
pub fn counted(sizes: impl Iterator<Item = (f64, u32)>) -> Vec<OfSize> {
    let mut all: Vec<OfSize> = Vec::new();
    for (size_mm, count) in sizes {
        match all.iter_mut().find(|sized| sized.size_mm == size_mm) {
            Some(sized) => sized.count = sized.count.saturating_add(count),
            None => all.push(OfSize { size_mm, count }),
        }
    }
    all.sort_by(|a, b| a.size_mm.total_cmp(&b.size_mm));
    all
}
