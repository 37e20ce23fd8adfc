//! The drawings of a pack: each wall, each wall as set out, and the seal plans.

use super::elevation::{self, DefectMark, elevation};
use crate::building::Wall;
use crate::handover::model::{Document, count, part_of_id, when};
use crate::handover::page::{Drawing, seal_plan_name, set_out_name};
use crate::handover::sections::plan_in_words;
use crate::setout::drawing::{self, Elevation};
use crate::units::number::show;

/// Every drawing, in the order in which the pages show them.
pub fn drawings(document: &Document<'_>) -> Vec<Drawing> {
    let mut drawings = Vec::new();
    let walls = document.parts.iter().filter_map(|part| Some((part.wall?, &part.set_out)));
    // The number in front keeps "n" and "N" apart where capitals don't count in file names.
    for (number, (wall, set_out)) in (1..).zip(walls) {
        let bottoms = set_out.as_ref().map(|drawn| drawn.courses_mm.as_slice());
        drawings.push(of_wall(document, number, wall, bottoms));
        drawings.extend(set_out.as_ref().map(|drawn| Drawing {
            name: set_out_name(&wall.key),
            path: format!("drawings/set-out-{number}-{}.svg", wall.key),
            described: set_out_in_words(drawn),
            svg: drawing::elevation(drawn),
        }));
    }
    for (place, plan) in document.seal_plans.iter().enumerate() {
        drawings.extend(plan.svg.as_ref().map(|svg| Drawing {
            name: seal_plan_name(place),
            path: format!("drawings/seal-plan-{}.svg", place + 1),
            described: format!("Seal plan kept {}: {}", when(&plan.plan.at), plan_in_words(plan)),
            svg: svg.clone(),
        }));
    }
    drawings
}

fn of_wall(document: &Document<'_>, number: usize, wall: &Wall, bottoms_mm: Option<&[f64]>) -> Drawing {
    let state = document.state();
    let defects = (1..).zip(&state.defects).filter(|(_, defect)| part_of_id(state, &defect.subject) == wall.key);
    let mark = |(number, defect): (usize, &crate::day::Defect)| DefectMark {
        number,
        subject: defect.subject.clone(),
        open: defect.is_open(),
    };
    let marks: Vec<DefectMark> = defects.map(mark).collect();
    Drawing {
        name: wall.key.clone(),
        path: format!("drawings/wall-{number}-{}.svg", wall.key),
        described: elevation::described(wall, &marks),
        svg: elevation(wall, bottoms_mm, &marks),
    }
}

/// What the drawing shows, for those who can't see it.
fn set_out_in_words(drawn: &Elevation) -> String {
    format!(
        "{}: {}, {} from {} mm, {}, {} to add",
        drawn.title,
        count(drawn.columns.len(), "column"),
        count(drawn.courses_mm.len(), "course"),
        show(drawn.start_mm),
        count(drawn.openings.len(), "opening"),
        count(drawn.add_studs_mm.len(), "stud")
    )
}
