//! A wall as it was set out: the plans that the job has kept, as one drawing.

use crate::building::Wall;
use crate::day::State;
use crate::setout::boards::Boards;
use crate::setout::columns::Columns;
use crate::setout::drawing::{DrawnOpening, Elevation, PackMark};
use crate::setout::packing::Packing;
use crate::setout::panels::faces;
use crate::units::number::show;

/// Packing of less than this is not drawn: the numbers would hide the wall.
const LEAST_PACK_MM: f64 = 2.0;

/// The wall as set out, where the job has kept its columns and courses and knows its length and height.
pub fn of(state: &State, wall: &Wall) -> Option<Elevation> {
    let place = state.subjects.index(&wall.key)?;
    let (set_out, rod) = (state.set_out_as_kept(place), state.rod(place)?);
    let columns = state.kept::<Columns>(place);
    let columns_mm = match (&set_out, &columns) {
        (Some(set_out), _) => set_out.columns.first().cloned().unwrap_or_default(),
        // A wall whose pieces can't be worked out is drawn in plain columns and courses.
        (None, kept) => kept.as_ref()?.columns.clone(),
    };
    let boards = state.kept::<Boards>(place).map(|kept| format!("board ends as entry {}", kept.entry));
    let kept = columns.as_ref().map(|kept| format!("columns as entry {}", kept.entry)).or(boards)?;
    let packing = state.kept::<Packing>(place);
    let mut notes = vec![format!("Courses kept as entry {}, {kept}.", rod.entry)];
    if let Some(rip) = rod.top_rip_mm {
        notes[0] += &format!(" Top piece {} mm.", show(rip));
    }
    let of_packing = |kept: &crate::day::Kept<Packing>| {
        format!("Dots: packing of {LEAST_PACK_MM} mm and more, in mm; kept as entry {}.", kept.entry)
    };
    notes.extend(packing.as_ref().map(of_packing));
    let faces = set_out.and_then(|set_out| faces(&set_out).ok()).unwrap_or_default();
    let (joints_mm, add_studs_mm) =
        columns.map(|kept| (kept.result.joints_mm, kept.result.add_studs_mm)).unwrap_or_default();
    let fixings = packing.into_iter().flat_map(|kept| kept.result.fixings);
    Some(Elevation {
        title: format!("Wall {} as set out", wall.key),
        length_mm: wall.length_mm?,
        start_mm: *rod.courses_mm.first()?,
        top_mm: wall.height_mm?,
        columns: columns_mm,
        faces,
        joints_mm,
        courses_mm: rod.result.courses_mm,
        openings: wall
            .openings
            .iter()
            .filter_map(|opening| {
                Some(DrawnOpening {
                    label: opening.key.clone(),
                    from_mm: opening.from_mm?,
                    to_mm: opening.to_mm?,
                    sill_mm: opening.sill_mm,
                    head_mm: opening.head_mm,
                })
            })
            .collect(),
        add_studs_mm,
        packs: fixings
            .filter(|fixing| fixing.pack_mm >= LEAST_PACK_MM)
            .map(|fixing| PackMark { stud_mm: fixing.stud_mm, height_mm: fixing.height_mm, pack_mm: fixing.pack_mm })
            .collect(),
        notes,
    })
}
