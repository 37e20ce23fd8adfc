//! The drawings of a pack: each wall, each wall as set out, and the seal plans.

use super::elevation::{self, DefectMark, elevation};
use crate::building::Wall;
use crate::handover::model::{Document, when};
use crate::handover::page::{Drawing, drawing_name, set_out_name};
use crate::setout::drawing::Elevation;

pub fn drawings(document: &Document) -> Vec<Drawing> {
    let mut drawings = Vec::new();
    let walls = document.parts.iter().filter_map(|part| Some((part.wall.as_ref()?, &part.set_out)));
    // The number in front keeps "n" and "N" apart where capitals don't count in file names.
    for (index, (wall, set_out)) in walls.enumerate() {
        let bottoms = set_out.as_ref().map(|drawn| drawn.courses_mm.as_slice());
        drawings.push(drawing(document, index + 1, wall, bottoms));
        drawings.extend(set_out.as_ref().map(|drawn| Drawing {
            name: set_out_name(&wall.key),
            path: format!("drawings/set-out-{}-{}.svg", index + 1, wall.key),
            described: set_out_described(drawn),
            svg: crate::setout::drawing::elevation(drawn),
        }));
    }
    drawings.extend(seal_plans(document));
    drawings
}

pub fn drawing(document: &Document, number: usize, wall: &Wall, bottoms_mm: Option<&[f64]>) -> Drawing {
    let mut marks: Vec<DefectMark> = document
        .defects
        .iter()
        .filter(|defect| defect.part == wall.key)
        .map(|defect| DefectMark {
            number: defect.number,
            subject: defect.subject.clone(),
            open: defect.state == "open",
        })
        .collect();
    marks.sort_by_key(|mark| mark.number);
    Drawing {
        name: wall.key.clone(),
        path: format!("drawings/wall-{number}-{}.svg", wall.key),
        described: elevation::described(wall, &marks),
        svg: elevation(wall, bottoms_mm, &marks),
    }
}

/// What the drawing shows, for those who can't see it.
pub fn set_out_described(drawn: &Elevation) -> String {
    format!(
        "{}: {} columns, {} courses from {} mm, {} openings, {} studs to add",
        drawn.title,
        drawn.columns.len(),
        drawn.courses_mm.len(),
        crate::units::number::show(drawn.start_mm),
        drawn.openings.len(),
        drawn.add_studs_mm.len()
    )
}

/// The drawings of the plans.
pub fn seal_plans(document: &Document) -> Vec<Drawing> {
    let drawn = document.seal_plans.iter().enumerate().filter(|(_, plan)| !plan.svg.is_empty());
    drawn
        .map(|(place, plan)| Drawing {
            name: drawing_name(place),
            path: format!("drawings/seal-plan-{}.svg", place + 1),
            described: format!("Seal plan kept {}: {}", when(&plan.at), plan.says),
            svg: plan.svg.clone(),
        })
        .collect()
}
