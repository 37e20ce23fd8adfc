//! From the pieces of a set-out to what the saw and the merchant need to know of them.

use std::collections::BTreeMap;

use super::cuts::{CutRequest, Piece};
use crate::building::Panel;
use crate::setout::panels::{self, Panels};
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
