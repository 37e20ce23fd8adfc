//! A wall as it was set out: the plans that the job has kept, as one drawing.

use serde_json::Value;

use crate::building::Wall;
use crate::day::State;
use crate::setout::columns::Gap;
use crate::setout::drawing::{DrawnOpening, Elevation, PackMark};
use crate::setout::of_job::set_out_of;
use crate::setout::panels::faces;

/// Packing of less than this is not drawn: the numbers would hide the wall.
const LEAST_PACK_MM: f64 = 2.0;

/// The wall as set out, where the job has kept its columns and courses and knows its length and height.
pub fn of(state: &State, wall: &Wall) -> Option<Elevation> {
    let place = state.subjects.index(&wall.key)?;
    let (columns, courses) = (state.plan("columns", place)?, state.plan("courses", place)?);
    let walls = courses.result.get("walls")?.as_array()?;
    let rod = walls.iter().find(|found| found.get("key").and_then(Value::as_str) == Some(&wall.key))?;
    let courses_mm = numbers(rod.get("courses_mm")?);
    let gaps = columns.result.get("columns")?.as_array()?;
    let gap = |gap: &Value| Some(Gap { from_mm: number(gap, "from_mm")?, to_mm: number(gap, "to_mm")? });
    let packing = state.plan("packing", place);
    let packs = packing.and_then(|plan| plan.result.get("fixings")?.as_array()).into_iter().flatten();
    let mut notes = vec![format!("Courses kept as entry {}, columns as entry {}.", courses.entry, columns.entry)];
    if let Some(rip) = number(rod, "top_rip_mm") {
        notes[0] += &format!(" Top piece {} mm.", crate::units::number::show(rip));
    }
    notes.extend(
        packing
            .map(|plan| format!("Dots: packing of {LEAST_PACK_MM} mm and more, in mm; kept as entry {}.", plan.entry)),
    );
    let columns_mm: Vec<Gap> = gaps.iter().map(gap).collect::<Option<_>>()?;
    // A wall whose pieces can't be worked out is drawn in plain columns and courses.
    let pieces = set_out_of(&state.job, &wall.key, columns_mm.clone(), courses_mm.clone());
    let faces = pieces.ok().and_then(|pieces| faces(&pieces).ok()).unwrap_or_default();
    Some(Elevation {
        title: format!("Wall {} as set out", wall.key),
        length_mm: wall.length_mm?,
        start_mm: *courses_mm.first()?,
        top_mm: wall.height_mm?,
        columns: columns_mm,
        faces,
        joints_mm: numbers(columns.result.get("joints_mm")?),
        courses_mm,
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
        add_studs_mm: numbers(columns.result.get("add_studs_mm")?),
        clip_lines_mm: Vec::new(),
        packs: packs
            .filter_map(|fixing| {
                let mark = PackMark {
                    stud_mm: number(fixing, "stud_mm")?,
                    height_mm: number(fixing, "height_mm")?,
                    pack_mm: number(fixing, "pack_mm")?,
                };
                (mark.pack_mm >= LEAST_PACK_MM).then_some(mark)
            })
            .collect(),
        notes,
    })
}

pub fn number(value: &Value, key: &str) -> Option<f64> {
    value.get(key)?.as_f64()
}

pub fn numbers(list: &Value) -> Vec<f64> {
    list.as_array().map(|list| list.iter().filter_map(Value::as_f64).collect()).unwrap_or_default()
}
