//! The drawings of a pack: each wall, and the seal plans.

use crate::building::Wall;
use crate::day::State;
use crate::handover::gather::{Letters, as_built};
use crate::handover::model::paths::{seal_plan_drawing, wall_drawing};
use crate::handover::model::{Document, when};
use crate::handover::page::Drawing;
use crate::handover::sections::plan_in_words;
use crate::setout::drawing::{Sheet, elevation, elevation_with_links};

/// Every drawing, in the order in which the pages show them.
pub fn drawings(document: &Document<'_>) -> Vec<Drawing> {
    let walls = document.walls().filter_map(|(number, wall, part)| Some((number, wall, part.drawn.as_ref()?)));
    let mut drawings: Vec<Drawing> = walls
        .map(|(number, wall, drawn)| Drawing {
            path: wall_drawing(number, &wall.key),
            described: drawn.described(),
            svg: elevation(drawn, &Sheet::PAGE),
        })
        .collect();
    for (place, plan) in document.seal_plans.iter().enumerate() {
        drawings.extend(plan.svg.as_ref().map(|svg| Drawing {
            path: seal_plan_drawing(place),
            described: format!("Seal plan kept {}: {}", when(&plan.plan.at), plan_in_words(plan)),
            svg: svg.clone(),
        }));
    }
    drawings
}

/// The drawing of a wall for a phone.
pub struct PhoneDrawing {
    /// The drawing, with a link on each of its places, as [`elevation_with_links`] makes it.
    pub svg: String,
    /// What it shows, in words.
    pub described: String,
    /// Whether it is wider than a phone's screen.
    pub is_wide: bool,
}

/// The drawing of a wall for a phone.
pub fn wall_with_links(state: &State, wall: &Wall, link: &dyn Fn(&str) -> String) -> PhoneDrawing {
    let drawn = as_built(state, wall, &Letters::of(state), &[]);
    let sheet = Sheet::for_phone(&drawn);
    PhoneDrawing {
        svg: elevation_with_links(&drawn, &sheet, link),
        described: drawn.described(),
        is_wide: sheet.width() > Sheet::PHONE.width(),
    }
}
