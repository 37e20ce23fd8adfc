//! The photos of a part of the building.

use crate::handover::model::{Document, Photo, PhotoState, Picture, clock_on, large_of, of_part, when};
use crate::handover::page::{Block, Figure};
use crate::plain::visible;

/// The newest photos of a wall, large.
pub fn newest(document: &Document<'_>, wall: &str) -> Option<Block> {
    let photos: Vec<Figure> =
        large_of(&document.photos, wall).into_iter().map(|photo| figure(document, photo)).collect();
    (!photos.is_empty()).then_some(Block::Photos { photos, large: true })
}

/// Every photo that is not large on the page of a wall; none where there is no other.
pub fn others(document: &Document<'_>) -> Option<Block> {
    let mut all = Vec::new();
    for part in &document.parts {
        let mut photos = of_part(&document.photos, part.key);
        if part.wall.is_some() {
            photos.truncate(photos.len() - large_of(&document.photos, part.key).len());
        }
        all.extend(photos.into_iter().map(|photo| figure(document, photo)));
    }
    (!all.is_empty()).then_some(Block::Photos { photos: all, large: false })
}

fn figure(document: &Document<'_>, it: &Photo<'_>) -> Figure {
    let subjects = &document.state().subjects;
    let on = subjects.ids_shortly(it.subjects.iter().map(String::as_str));
    let number = it.picture.map(Picture::label);
    let of = it.title.or(it.photo.step.as_deref()).unwrap_or("Photo");
    let small = it.picture.filter(|picture| picture.small.is_some());
    let held = it.picture.filter(|picture| picture.file.is_some());
    Figure {
        anchor: number.map(|number| number.to_string()).unwrap_or_default(),
        photo: held.map(|picture| picture.path.clone()).unwrap_or_default(),
        picture: small.map(|picture| picture.small_path.clone()).unwrap_or_default(),
        large: it.picture.filter(|it| it.large.is_some()).map(|it| it.large_path.clone()).unwrap_or_default(),
        title: visible(&match number {
            Some(number) => format!("{number}. {of}: {on}"),
            None => format!("{of}: {on}"),
        }),
        lines: lines(it).iter().map(|line| visible(line)).collect(),
        flags: it.photo.flags.iter().map(|flag| visible(&format!("Note: {flag}."))).collect(),
    }
}

fn lines(it: &Photo<'_>) -> Vec<String> {
    let photo = &it.photo;
    let mut lines: Vec<String> = photo.note.iter().cloned().collect();
    let happened = if photo.step.is_some() { "Step done" } else { "Recorded as of" };
    lines.push(match photo.facts.as_ref().and_then(|facts| facts.taken_at) {
        Some(taken) => {
            let taken = taken.at_offset(photo.at.offset());
            format!("Taken {}. {happened} {}.", when(&taken), clock_on(&photo.at, &taken))
        }
        None => format!("{happened} {}.", when(&photo.at)),
    });
    lines.extend(match it.state {
        PhotoState::Original | PhotoState::NotLookedAt => None,
        PhotoState::Copy => Some("A copy without the location and the camera's other notes.".to_owned()),
        // Where it was left out for another reason, that stands in its picture's place.
        PhotoState::LeftOut if it.picture.is_some_and(|it| it.why_no_small.is_some()) => None,
        PhotoState::LeftOut => Some("Not in this pack: a HEIC file can't be copied without its location.".to_owned()),
        PhotoState::Missing => Some("NOT IN THIS PACK: file missing, or not the one that was recorded.".to_owned()),
        PhotoState::NamedOnly => Some("Only its name and its SHA-256 were recorded.".to_owned()),
    });
    let why_no_small = it.picture.and_then(|picture| picture.why_no_small.as_ref());
    lines.extend(why_no_small.map(|why| format!("Not shown here; {why}.")));
    lines
}
