//! The drawings of a pack: each wall, each wall as set out, and the seal plans.

use super::elevation::{self, DefectMark, elevation};
use crate::building::Wall;
use crate::day::{Defect, DefectState, State};
use crate::handover::model::paths::{seal_plan_drawing, set_out_drawing, wall_drawing};
use crate::handover::model::{Document, part_of_id, when};
use crate::handover::page::Drawing;
use crate::handover::sections::plan_in_words;
use crate::plain::count;
use crate::setout::drawing::{self, Elevation};
use crate::units::number::show;

/// Every drawing, in the order in which the pages show them.
pub fn drawings(document: &Document<'_>) -> Vec<Drawing> {
    let mut drawings = Vec::new();
    for (number, wall, part) in document.walls() {
        let bottoms = part.set_out.as_ref().map(|drawn| drawn.courses_mm.as_slice());
        drawings.push(of_wall(document, number, wall, bottoms));
        drawings.extend(part.set_out.as_ref().map(|drawn| Drawing {
            path: set_out_drawing(number, &wall.key),
            described: set_out_in_words(drawn),
            svg: drawing::elevation(drawn),
        }));
    }
    for (place, plan) in document.seal_plans.iter().enumerate() {
        drawings.extend(plan.svg.as_ref().map(|svg| Drawing {
            path: seal_plan_drawing(place),
            described: format!("Seal plan kept {}: {}", when(&plan.plan.at), plan_in_words(plan)),
            svg: svg.clone(),
        }));
    }
    drawings
}

fn of_wall(document: &Document<'_>, number: usize, wall: &Wall, bottoms_mm: Option<&[f64]>) -> Drawing {
    let marks = marks(document.state(), wall);
    Drawing {
        path: wall_drawing(number, &wall.key),
        described: elevation::described(wall, &marks),
        svg: elevation(wall, bottoms_mm, &marks),
    }
}

/// The defects on a wall, as they are marked on its drawing.
fn marks(state: &State, wall: &Wall) -> Vec<DefectMark> {
    // A void one never was: its entry was struck.
    let is_marked =
        |defect: &Defect| defect.state != DefectState::Void && part_of_id(state, &defect.subject) == wall.key;
    let defects = (1..).zip(&state.defects).filter(|(_, defect)| is_marked(defect));
    let mark = |(number, defect): (usize, &Defect)| DefectMark {
        number,
        subject: defect.subject.clone(),
        open: defect.is_open(),
    };
    defects.map(mark).collect()
}

/// The drawing of a wall with a link on each of its places, as [`elevation::elevation_with_links`] makes it, and what it
/// shows in words.
pub fn wall_with_links(state: &State, wall: &Wall, link: &dyn Fn(&str) -> String) -> (String, String) {
    let (marks, rod) = (marks(state, wall), state.subjects.index(&wall.key).and_then(|place| state.rod(place)));
    let bottoms = rod.as_ref().map(|rod| rod.courses_mm.as_slice());
    (elevation::elevation_with_links(wall, bottoms, &marks, link), elevation::described(wall, &marks))
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
