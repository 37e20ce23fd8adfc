//! What the document says, section by section.

mod closing;
mod costs;
mod evening;
mod front;
mod materials;
mod ordered;
mod parts;
mod people;
mod photos;
mod record;
mod sealing;

pub use evening::{about, sections as evening};
pub use front::{REHEARSAL, verdict};
pub use sealing::plan_in_words;

use super::model::Document;
use super::page::Section;

/// Every section, in order.
pub fn sections(document: &Document<'_>) -> Vec<Section> {
    let mut sections = Vec::new();
    sections.extend(front::withheld_section(document));
    sections.extend(front::missing(document));
    sections.extend(front::reservations(document));
    sections.push(front::glance(document));
    sections.push(front::holds(document));
    sections.push(front::defects(document));
    sections.extend(parts::parts(document));
    sections.extend(sealing::plans_and_forecasts(document));
    sections.extend(ordered::orders_and_cuts(document));
    sections.push(materials::materials(document));
    sections.push(people::people(document));
    sections.push(people::cautions(document));
    sections.push(record::late_and_struck(document));
    sections.push(costs::stoppages_and_extras(document));
    sections.push(costs::quantities(document));
    sections.push(closing::care(document));
    sections.push(closing::is_not(document));
    sections.push(closing::signatures(document));
    sections.push(closing::how_to_verify(document));
    sections
}
