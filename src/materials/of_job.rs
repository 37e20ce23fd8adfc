//! From the pieces of a set-out to what the saw and the merchant need to know of them.

use std::collections::BTreeMap;

use super::allowances::Measure;
use super::cuts::{CutRequest, Piece};
use super::fixings::fixings_of;
use super::runs::Run;
use super::takeoff::{CornerQuantity, WallQuantities};
use super::wall_runs::{runs_of, wrapped};
use crate::building::{Corner, Job, Opening, OpeningEdges, Panel, Wall};
use crate::setout::framer::Framer;
use crate::setout::of_job::corner_at_mm;
use crate::setout::panels::{self, Panels, SetOut};
use crate::units::number::show_mm;

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

/// What the note of a piece begins with that is less high than a board.
pub const RIPPED: &str = "rip to";

/// "rip to 566; notch 825 x 310 at 0, 290", from the piece's lower left corner; where a cut slopes, every corner.
fn note_of(piece: &panels::Piece) -> String {
    let mut parts = Vec::new();
    if piece.ripped {
        parts.push(format!("{RIPPED} {}", show_mm(piece.height_mm)));
    }
    if piece.angles_deg.is_empty() {
        for notch in &piece.notches {
            let (across, up) = (show_mm(notch.from_left_mm), show_mm(notch.from_bottom_mm));
            parts.push(format!("notch {} x {} at {across}, {up}", show_mm(notch.length_mm), show_mm(notch.height_mm)));
        }
        return parts.join("; ");
    }
    let (left, bottom) = (piece.from_mm(), piece.bottom_mm());
    let corners = |ring: &Vec<[f64; 2]>| {
        let corners = ring.iter().map(|[along, up]| format!("{}, {}", show_mm(along - left), show_mm(up - bottom)));
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
/// A corner is charged to the first of its walls that is among `walls`, in their order. Studs that the
/// framer has yet to add are counted as if they stood.
pub fn quantities_of(
    job: &Job,
    wall: &Wall,
    walls: &[String],
    set_out: &SetOut,
    framer: &Framer,
    pieces: &Panels,
) -> WallQuantities {
    let columns = set_out.columns.first().map_or(&[][..], Vec::as_slice);
    // Ends of lapped boards are staggered, course by course, and make no joint from bottom to top.
    let staggered = set_out.columns.len() > 1;
    let between = columns.windows(2).filter(|_| !staggered);
    let joints: Vec<f64> = between.map(|pair| (pair[0].to_mm + pair[1].from_mm) / 2.0).collect();
    let reach_mm = columns.windows(2).map(|pair| (pair[1].from_mm - pair[0].to_mm) / 2.0).fold(0.0, f64::max);
    let mut studs: Vec<f64> = wall.studs_mm.clone();
    studs.extend(framer.studs.iter().map(|stud| stud.at_mm));
    let behind = |piece: &panels::Piece| -> Vec<f64> {
        // The edges of pieces are rounded to 0.001 mm.
        let reach_mm = reach_mm + 1e-3;
        let (from, to) = (piece.from_mm() - reach_mm, piece.from_mm() + piece.length_mm + reach_mm);
        studs.iter().copied().filter(|stud| (from..=to).contains(stud)).collect()
    };
    let reach = |at: f64| (set_out.foot_mm(at), set_out.top.height_mm(at));
    // A set-out has the openings of its wall, in their order.
    let with_edges = wall.openings.iter().zip(&set_out.openings).filter_map(|(opening, placed)| {
        let (foot, top) = reach((placed.from_mm + placed.to_mm) / 2.0);
        Some((opening, opening.edges_mm(foot, top)?, placed.to_mm - placed.from_mm))
    });
    let openings: Vec<(&Opening, OpeningEdges, f64)> = with_edges.collect();
    let joint_mm = |at: &f64| {
        let (foot, top) = reach(*at);
        wall.joint_mm(Some(*at), foot, top)
    };
    let (left_mm, right_mm) = set_out.ends_mm();
    let charged = |corner: &&Corner| walls.iter().find(|key| corner.walls.contains(key)) == Some(&wall.key);
    // Where bearings don't say at which end a corner stands, the higher one is taken: too long is cut, too short is no use.
    let corner_at = |corner: &Corner| match corner_at_mm(job, corner, wall) {
        Some(at) => at.clamp(left_mm, right_mm),
        None if set_out.height_mm(left_mm) >= set_out.height_mm(right_mm) => left_mm,
        None => right_mm,
    };
    let corner = |corner: &Corner| {
        let at = corner_at(corner);
        let length_mm = set_out.height_mm(at);
        let (per, place) = (Measure::CornerFlashing, format!("corner {}", corner.key));
        let run = Run { per, place, length_mm, stop_ends: 0 };
        CornerQuantity { kind: corner.kind, height_m: length_mm / 1e3, courses: courses_at(set_out, at), run }
    };
    let sides = job.corners.iter().filter(|corner| !corner.dry && corner.walls.contains(&wall.key));
    let names: Vec<String> = wall.openings.iter().map(|opening| opening.key.clone()).collect();
    let fixings = |piece| fixings_of(piece, &behind(piece), set_out, job.fixing.as_ref());
    WallQuantities {
        wall: wall.key.clone(),
        boards: Vec::new(),
        area_m2: pieces.area_m2,
        crossings: pieces.pieces.iter().map(|piece| behind(piece).len() as u32).sum(),
        fixings: pieces.pieces.iter().map(fixings).fold(0, u32::saturating_add),
        starter_m: wall.starter_mm(|at| set_out.foot_mm(at)).unwrap_or_default() / 1e3,
        floor_m: set_out.floors.iter().flat_map(|it| set_out.along_mm(it.floor_mm)).map(|(a, b)| b - a).sum::<f64>()
            / 1e3,
        ripped_m: pieces.pieces.iter().map(|piece| ripped_mm(piece, set_out)).sum::<f64>() / 1e3,
        board_ends: set_out
            .columns
            .iter()
            .filter(|_| staggered)
            .map(|course| course.len().saturating_sub(1) as u32)
            .sum(),
        corners: job.corners.iter().filter(charged).map(corner).collect(),
        corner_side_m: sides.map(|corner| set_out.height_mm(corner_at(corner))).sum::<f64>() / 1e3,
        joints: joints.len() as u32,
        joint_m: joints.iter().map(joint_mm).sum::<f64>() / 1e3,
        openings: set_out.openings.len() as u32,
        opening_m: openings.iter().map(|(_, edges, _)| edges.sealed_mm() + edges.head_mm).sum::<f64>() / 1e3,
        head_m: openings.iter().map(|(_, edges, _)| edges.head_mm).sum::<f64>() / 1e3,
        opening_sealed_m: openings
            .iter()
            .filter(|(it, ..)| !it.dry)
            .map(|(_, edges, _)| edges.sealed_mm())
            .sum::<f64>()
            / 1e3,
        cut_edge_m: pieces.cut_edge_m,
        packers: Vec::new(),
        runs: runs_of(set_out, &names, &wall.studs_mm, framer),
        wrapped: Some(wrapped(set_out, openings.iter().map(|(_, edges, width)| width * edges.sides_mm / 2.0).sum())),
    }
}

/// How many courses meet a place: those whose face stands between the foot of the cladding and its end there.
fn courses_at(set_out: &SetOut, along_mm: f64) -> u32 {
    let (foot, end) = (set_out.foot_mm(along_mm), set_out.top.height_mm(along_mm) - set_out.gaps.lift_in_mm);
    let tops = set_out.courses_mm.iter().skip(1).copied().chain([f64::MAX]);
    set_out.courses_mm.iter().zip(tops).filter(|(line, top)| **line < end && *top > foot).count() as u32
}

/// How much of a piece's face is cut off below the top of its board: under the top of the wall, and under sills.
fn ripped_mm(piece: &panels::Piece, set_out: &SetOut) -> f64 {
    let line = |course: usize| set_out.courses_mm.get(course).copied();
    let board_top = line(piece.course.saturating_sub(1)).unwrap_or_default() + set_out.board_height_mm;
    // What is hidden behind the course above is cut with that one's face.
    let face_top = line(piece.course).unwrap_or(board_top) + 1e-3;
    let rings = std::iter::once(&piece.outline_mm).chain(&piece.holes_mm);
    let edges = rings.flat_map(|ring| ring.iter().zip(ring.iter().cycle().skip(1)));
    let cut = |(a, b): (&[f64; 2], &[f64; 2])| {
        let (low, high) = (a[1].min(b[1]), a[1].max(b[1]));
        // An outline runs anticlockwise and a hole clockwise: what runs to the left has the piece below it.
        if b[0] >= a[0] || low > board_top - 1e-3 || low > face_top {
            return 0.0;
        }
        let seen = if high > face_top { (face_top - low) / (high - low) } else { 1.0 };
        seen * (a[0] - b[0]).hypot(a[1] - b[1])
    };
    edges.map(cut).sum()
}
