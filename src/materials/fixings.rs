//! How many fixings a piece takes, by the table that the job holds: at each stud behind it, or so far apart along them,
//! and closer in the zones where the wind pulls harder.

use crate::building::{FixingTable, PerStud};
use crate::setout::panels::{Piece, SetOut};

/// The fixings of a piece on the studs behind it; one on each where the job has no table.
pub(super) fn fixings_of(piece: &Piece, studs: &[f64], set_out: &SetOut, table: Option<&FixingTable>) -> u32 {
    let Some(table) = table else { return studs.len() as u32 };
    studs.iter().map(|stud| on_stud(piece, *stud, set_out, table)).fold(0, u32::saturating_add)
}

fn on_stud(piece: &Piece, stud_mm: f64, set_out: &SetOut, table: &FixingTable) -> u32 {
    // At a joint the stud's middle lies beside the piece: what stands on it is the piece's end.
    let from = piece.from_mm();
    let along = stud_mm.max(from + 1e-3).min(from + piece.length_mm - 1e-3);
    let (left, right) = set_out.ends_mm();
    let at_end = stud_mm - left < table.edge_zone_mm || right - stud_mm < table.edge_zone_mm;
    let zone_from = if at_end { f64::MIN } else { set_out.top.height_mm(along) - table.edge_zone_mm };
    let edge = table.edge.unwrap_or(table.field);
    let stretches = stretches(piece, along);
    match (table.field, edge) {
        (PerStud::Each(field), PerStud::Each(edge)) => {
            let middle = stretches.first().zip(stretches.last()).map(|(first, last)| (first.0 + last.1) / 2.0);
            middle.map_or(0, |middle| if middle >= zone_from { edge } else { field })
        }
        (field, edge) => stretches
            .iter()
            .map(|(low, high)| {
                let parting = zone_from.max(*low).min(*high);
                // One at the foot of the stretch, and one at the end of each space.
                1u32.saturating_add(spaces(parting - low, field)).saturating_add(spaces(high - parting, edge))
            })
            .fold(0, u32::saturating_add),
    }
}

/// Into how many spaces a length is parted.
fn spaces(length_mm: f64, per_stud: PerStud) -> u32 {
    match per_stud {
        PerStud::Spacing(spacing_mm) => (length_mm / spacing_mm - 1e-9).ceil().max(0.0) as u32,
        PerStud::Each(each) => {
            if length_mm > 0.0 {
                each.saturating_sub(1)
            } else {
                0
            }
        }
    }
}

/// Where a piece stands over a place along the wall: from and to, from the bottom.
fn stretches(piece: &Piece, along_mm: f64) -> Vec<(f64, f64)> {
    let rings = std::iter::once(&piece.outline_mm).chain(&piece.holes_mm);
    let edges = rings.flat_map(|ring| ring.iter().zip(ring.iter().cycle().skip(1)));
    let crossing = |(a, b): (&[f64; 2], &[f64; 2])| {
        ((a[0] <= along_mm) != (b[0] <= along_mm)).then(|| a[1] + (b[1] - a[1]) * (along_mm - a[0]) / (b[0] - a[0]))
    };
    let mut heights: Vec<f64> = edges.filter_map(crossing).collect();
    heights.sort_by(f64::total_cmp);
    heights.chunks_exact(2).map(|pair| (pair[0], pair[1])).collect()
}
