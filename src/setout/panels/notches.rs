//! The rectangles that are cut out of a piece, as they are marked on it.

use i_overlay::core::overlay_rule::OverlayRule;
use serde::Serialize;

use super::field::{Rect, Ring, Shape, combine, edges, steps_in_mm as mm};

/// A rectangle that is cut out of a piece, measured from the piece's lower left corner.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Notch {
    /// From the left edge of the piece.
    pub from_left_mm: f64,
    /// From the bottom edge of the piece.
    pub from_bottom_mm: f64,
    /// Its length.
    pub length_mm: f64,
    /// Its height.
    pub height_mm: f64,
}

/// What is missing from a piece's rectangle over all, in as few rectangles as rows of one width make; what a sloping cut
/// takes is not among them.
pub(super) fn notches(shape: &Shape, over_all: Rect) -> Vec<Notch> {
    if shape.len() == 1 && shape.iter().all(|ring| ring.len() == 4 && is_square(ring)) {
        return Vec::new();
    }
    let missing = combine(&[over_all.ring()], shape, OverlayRule::Difference);
    let square: Vec<Ring> = missing.into_iter().filter(|shape| shape.iter().all(is_square)).flatten().collect();
    let mut heights: Vec<i64> = square.iter().flatten().map(|point| point.y).collect();
    heights.sort_unstable();
    heights.dedup();
    let mut found: Vec<Rect> = Vec::new();
    for pair in heights.windows(2) {
        let row = Rect { bottom: pair[0], top: pair[1], ..over_all };
        let parts = combine(&square, &[row.ring()], OverlayRule::Intersect);
        for part in parts.iter().filter_map(|part| Rect::round(part.first()?)) {
            let under = found
                .iter_mut()
                .find(|under| under.left == part.left && under.right == part.right && under.top == part.bottom);
            match under {
                Some(under) => under.top = part.top,
                None => found.push(part),
            }
        }
    }
    let notch = |rect: &Rect| Notch {
        from_left_mm: mm(rect.left - over_all.left),
        from_bottom_mm: mm(rect.bottom - over_all.bottom),
        length_mm: mm(rect.right - rect.left),
        height_mm: mm(rect.top - rect.bottom),
    };
    found.iter().map(notch).collect()
}

/// Whether every edge is level or upright.
fn is_square(ring: &Ring) -> bool {
    edges(ring).all(|(a, b)| a.x == b.x || a.y == b.y)
}
