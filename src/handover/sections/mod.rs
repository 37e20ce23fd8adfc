//! What the document says, section by section: first what whoever accepts the work reads, then a page for each wall, then
//! the appendix.

mod acceptance;
mod appendix;
mod closing;
mod defects;
mod evening;
mod extras;
mod front;
mod materials;
mod people;
mod phone;
mod photos;
mod record;
mod sealing;
mod walls;

pub use evening::{about, sections as evening};
pub use front::{REHEARSAL, verdict};
pub use sealing::plan_in_words;

use super::model::Document;
use super::page::{Section, section};

/// Every section, in order.
pub fn sections(document: &Document<'_>) -> Vec<Section> {
    let mut sections = Vec::new();
    sections.extend(front::withheld_section(document));
    sections.extend(front::missing(document));
    sections.push(acceptance::built(document));
    sections.extend(acceptance::reservations(document));
    sections.push(acceptance::vouch(document));
    sections.push(acceptance::covered(document));
    sections.push(acceptance::signatures(document));
    sections.extend(walls::walls(document));
    sections.push(defects::defects(document));
    sections.push(materials::materials(document));
    sections.push(closing::care(document));
    sections.push(closing::is_not(document));
    let appendix = [
        appendix::log(document),
        appendix::measurements(document),
        appendix::time_limits(document),
        appendix::conditions(document),
        appendix::basis(document),
        record::late_and_struck(document),
        extras::stoppages_and_extras(document),
        people::people(document),
    ];
    let photos = photos::others(document).map(|photos| section("photos", "I. More photos", vec![photos]));
    let appendix = appendix.into_iter().chain(photos).chain([closing::how_to_verify(document)]);
    sections.extend(appendix.map(Section::in_appendix));
    sections
}
