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
pub use front::{REHEARSAL, about_pack, verdict};
pub use sealing::plan_in_words;

use std::collections::{HashMap, HashSet};

use super::model::Document;
use super::page::{Block, Link, Section, section};
use crate::handover::model::{More, Number};

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
    let photos = photos::others(document).map(|photos| section("photos", "More photos", vec![photos]));
    let appendix = appendix.into_iter().chain(photos).chain([closing::how_to_verify(document)]);
    sections.extend(('A'..).zip(appendix).map(|(letter, section)| section.in_appendix(letter)));
    tie(&mut sections);
    sections
}

/// The link to what says more.
fn link(more: &More) -> Link {
    match more {
        More::Section(id) => Link { to: id.clone(), name: String::new() },
        More::Numbered(number) => numbered(*number),
    }
}

fn numbered(number: Number) -> Link {
    Link { to: number.to_string(), name: number.in_words() }
}

/// Names each link to a section by its title, and leaves each photo its id where it stands first: it may stand twice.
fn tie(sections: &mut [Section]) {
    let titles: HashMap<String, String> = sections.iter().map(|it| (it.id.clone(), it.title.clone())).collect();
    let mut seen = HashSet::new();
    for block in sections.iter_mut().flat_map(|section| &mut section.blocks) {
        match block {
            Block::Table(table) => {
                for link in table.links.iter_mut().filter(|link| link.name.is_empty()) {
                    link.name = titles.get(&link.to).cloned().unwrap_or_default();
                }
            }
            Block::Photos { photos, .. } => {
                photos.iter_mut().filter(|photo| !seen.insert(photo.anchor.clone())).for_each(|it| it.anchor.clear());
            }
            _ => {}
        }
    }
}
