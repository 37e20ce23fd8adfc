//! From the pieces of a set-out to what the saw and the merchant need to know of them.

use std::collections::BTreeMap;

use super::cuts::{CutRequest, Piece};
use super::takeoff::WallQuantities;
use crate::building::{Corner, Job, Panel, Wall};
use crate::setout::of_job::corner_at_mm;
use crate::setout::panels::{self, Panels, SetOut, WallOpening};
use crate::units::number::show;

/// The pieces of a wall for the cut plan, and what else the saw does to each, by label.
///
/// Labels name wall, course and column: `N/C3-2`. A length with a part of a millimetre is rounded up. A ripped piece
/// takes a whole board's height: what is left of its height is not counted on.
pub fn pieces_of(wall: &str, set_out: &Panels) -> (Vec<Piece>, BTreeMap<String, String>) {
    let mut pieces = Vec::with_capacity(set_out.pieces.len());
    let mut notes = BTreeMap::new();
    for piece in &set_out.pieces {
        let label = format!("{wall}/{}", piece.label);
        let note = note_of(piece);
        if !note.is_empty() {
            notes.insert(label.clone(), note);
        }
        let length_mm = (piece.length_mm - 1e-6).ceil().max(0.0) as u32;
        pieces.push(Piece { label, length_mm, count: 1 });
    }
    (pieces, notes)
}

/// "rip to 566; notch 825 x 310 at 0, 290", from the piece's lower left corner; where a cut slopes, every corner.
fn note_of(piece: &panels::Piece) -> String {
    let mut parts = Vec::new();
    if piece.ripped {
        parts.push(format!("rip to {}", show(piece.height_mm)));
    }
    if piece.angles_deg.is_empty() {
        for notch in &piece.notches {
            let (across, up) = (show(notch.from_left_mm), show(notch.from_bottom_mm));
            parts.push(format!("notch {} x {} at {across}, {up}", show(notch.length_mm), show(notch.height_mm)));
        }
        return parts.join("; ");
    }
    let (left, bottom) = (piece.from_mm(), piece.bottom_mm());
    let corners = |ring: &Vec<[f64; 2]>| {
        let corners = ring.iter().map(|[along, up]| format!("{}, {}", show(along - left), show(up - bottom)));
        corners.collect::<Vec<_>>().join("; ")
    };
    let mut angles: Vec<String> = piece.angles_deg.iter().map(|angle| format!("{angle:.1}°")).collect();
    angles.dedup();
    parts.push(format!("{} from level; corners {}", angles.join(", "), corners(&piece.outline_mm)));
    parts.extend(piece.holes_mm.iter().map(|hole| format!("hole {}", corners(hole))));
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
    let lowest_mm = set_out.courses_mm.first().copied().unwrap_or_default();
    // How high cladding stands at a place, its openings not taken off.
    let foot_mm = |along: f64| set_out.base.as_ref().map_or(lowest_mm, |base| base.height_mm(along).max(lowest_mm));
    let height_mm = |along: f64| (set_out.top.height_mm(along) - foot_mm(along)).max(0.0);
    let columns = set_out.columns.first().map_or(&[][..], Vec::as_slice);
    // Ends of lapped boards are staggered, course by course, and make no joint from bottom to top.
    let staggered = set_out.columns.len() > 1;
    let between = columns.windows(2).filter(|_| !staggered);
    let joints: Vec<f64> = between.map(|pair| (pair[0].to_mm + pair[1].from_mm) / 2.0).collect();
    let reach_mm = columns.windows(2).map(|pair| (pair[1].from_mm - pair[0].to_mm) / 2.0).fold(0.0, f64::max);
    let mut studs: Vec<f64> = wall.studs_mm.clone();
    studs.extend(joints.iter().filter(|joint| !wall.studs_mm.contains(joint)));
    let behind = |piece: &panels::Piece| {
        // The edges of pieces are rounded to 0.001 mm.
        let reach_mm = reach_mm + 1e-3;
        let (from, to) = (piece.from_mm() - reach_mm, piece.from_mm() + piece.length_mm + reach_mm);
        studs.iter().filter(|stud| (from..=to).contains(*stud)).count() as u32
    };
    let extent_of =
        |opening: &WallOpening| OpeningExtent::of(opening, set_out, foot_mm((opening.from_mm + opening.to_mm) / 2.0));
    let opened: Vec<OpeningExtent> = set_out.openings.iter().map(extent_of).collect();
    let covered_mm = |joint: f64| -> f64 {
        let gap_mm = set_out.gaps.gap_mm;
        let crossed = opened.iter().filter(|o| (o.from_mm - gap_mm..=o.to_mm + gap_mm).contains(&joint));
        crossed.map(OpeningExtent::height_mm).sum()
    };
    let joint_mm: f64 = joints.iter().map(|at| (height_mm(*at) - covered_mm(*at)).max(0.0)).sum();
    let (left_mm, right_mm) = (columns.first().map_or(0.0, |c| c.from_mm), columns.last().map_or(0.0, |c| c.to_mm));
    let doors_mm: f64 = opened.iter().filter(|opening| !opening.has_sill).map(OpeningExtent::width_mm).sum();
    let charged = |walls_of: &[String]| walls.iter().find(|key| walls_of.contains(key)) == Some(&wall.key);
    let corners = || job.corners.iter().filter(|corner| charged(&corner.walls));
    // Where bearings don't say at which end a corner stands, the higher one is taken: too long is cut, too short is no use.
    let corner_mm = |corner: &Corner| match corner_at_mm(job, corner, wall) {
        Some(at) => height_mm(at.clamp(left_mm, right_mm)),
        None => height_mm(left_mm).max(height_mm(right_mm)),
    };
    let sides = job.corners.iter().filter(|corner| !corner.dry && corner.walls.contains(&wall.key));
    WallQuantities {
        wall: wall.key.clone(),
        boards: Vec::new(),
        area_m2: pieces.area_m2,
        crossings: pieces.pieces.iter().map(behind).sum(),
        starter_m: (right_mm - left_mm - doors_mm).max(0.0) / 1e3,
        corners: corners().count() as u32,
        corner_m: corners().map(corner_mm).sum::<f64>() / 1e3,
        corner_side_m: sides.map(corner_mm).sum::<f64>() / 1e3,
        joints: joints.len() as u32,
        joint_m: joint_mm / 1e3,
        openings: set_out.openings.len() as u32,
        opening_m: opened.iter().map(OpeningExtent::edge_mm).sum::<f64>() / 1e3,
        head_m: opened.iter().map(OpeningExtent::head_mm).sum::<f64>() / 1e3,
        cut_edge_m: pieces.cut_edge_m,
        packers: Vec::new(),
    }
}

/// An opening as far as cladding reaches beside it.
struct OpeningExtent {
    from_mm: f64,
    to_mm: f64,
    bottom_mm: f64,
    top_mm: f64,
    has_sill: bool,
    has_head: bool,
}

impl OpeningExtent {
    fn of(opening: &WallOpening, set_out: &SetOut, foot_mm: f64) -> Self {
        let top_mm = set_out.top.height_mm((opening.from_mm + opening.to_mm) / 2.0);
        Self {
            from_mm: opening.from_mm,
            to_mm: opening.to_mm,
            bottom_mm: opening.sill_mm.unwrap_or(foot_mm).max(foot_mm),
            top_mm: opening.head_mm.unwrap_or(top_mm).min(top_mm),
            has_sill: opening.sill_mm.is_some_and(|sill| sill > foot_mm),
            has_head: opening.head_mm.is_some_and(|head| head < top_mm),
        }
    }

    fn width_mm(&self) -> f64 {
        self.to_mm - self.from_mm
    }

    fn height_mm(&self) -> f64 {
        (self.top_mm - self.bottom_mm).max(0.0)
    }

    /// The edge over the head, where panels pass above it.
    fn head_mm(&self) -> f64 {
        if self.has_head { self.width_mm() } else { 0.0 }
    }

    /// The edge along which panels meet it: both sides, the head, and the sill where it has one.
    fn edge_mm(&self) -> f64 {
        let sill_mm = if self.has_sill { self.width_mm() } else { 0.0 };
        2.0 * self.height_mm() + self.head_mm() + sill_mm
    }
}
