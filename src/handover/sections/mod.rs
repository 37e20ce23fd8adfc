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

use super::model::Document;
use super::page::{Block, Section, section};
use front::withheld;

/// Every section, in order.
pub fn sections(document: &Document) -> Vec<Section> {
    let mut sections = Vec::new();
    if let Some(withheld) = withheld(document) {
        sections.push(section("withheld", "Names are withheld", vec![Block::Note { text: withheld }]));
    }
    if !document.complete || !document.remarks.is_empty() {
        sections.push(front::missing(document));
    }
    sections.push(front::glance(document));
    sections.push(front::holds(document));
    sections.push(front::defects(document));
    sections.extend(parts::parts(document));
    sections.extend(sealing::section(document));
    sections.extend(ordered::section(document));
    sections.push(materials::section(document));
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
