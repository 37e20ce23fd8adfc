//! The photos of a part of the building.

use crate::handover::model::{Document, Photo, PhotoState, clock_on, when};
use crate::handover::page::{Block, Figure, split_hash};
use crate::plain::visible;

/// The photos of a part of the building, each under the step that it shows.
pub fn block(document: &Document<'_>, part: &str) -> Option<Block> {
    let of_part = document.photos.iter().filter(|photo| photo.part == part);
    let photos: Vec<Figure> = of_part.map(|photo| figure(document, photo)).collect();
    (!photos.is_empty()).then_some(Block::Photos { photos })
}

fn figure(document: &Document<'_>, it: &Photo<'_>) -> Figure {
    let subjects = &document.state().subjects;
    let on = subjects.ids_shortly(it.subjects.iter().map(String::as_str));
    let number = it.picture.map(|picture| format!("Photo {}. ", picture.number)).unwrap_or_default();
    let of = it.title.or(it.photo.step.as_deref()).unwrap_or("Photo");
    let small = it.picture.filter(|picture| picture.small.is_some());
    Figure {
        picture: small.map(|picture| picture.small_path.clone()).unwrap_or_default(),
        title: visible(&format!("{number}{of}: {on}")),
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
    let place = it.picture.and_then(|picture| picture.place).map(|place| place.to_string());
    let direction = it.picture.and_then(|picture| picture.direction).map(|direction| direction.to_string());
    let by_camera: Vec<String> = place.into_iter().chain(direction).collect();
    if !by_camera.is_empty() {
        lines.push(format!("Camera: {}.", by_camera.join(", ")));
    }
    let entries: Vec<String> = it.entries.iter().map(ToString::to_string).collect();
    lines.push(format!("{}, entry {}", photo.file, entries.join(", ")));
    let path = it.picture.map(|picture| picture.path.as_str()).unwrap_or_default();
    lines.extend(match it.state {
        PhotoState::Original => Some(format!("In this pack: {path}")),
        PhotoState::Copy => Some(format!(
            "In this pack: {path}, a copy without the location and the camera's other notes; the picture is the same"
        )),
        PhotoState::LeftOut => Some("Not in this pack: a HEIC file can't be copied without its location.".to_owned()),
        PhotoState::Missing => Some("NOT IN THIS PACK: file missing, or not the one that was recorded.".to_owned()),
        PhotoState::NamedOnly => Some("Only its name and its SHA-256 were recorded.".to_owned()),
        PhotoState::NotLookedAt => None,
    });
    let why_no_small = it.picture.and_then(|picture| picture.why_no_small.as_ref());
    lines.extend(why_no_small.map(|why| format!("Not shown here; {why}.")));
    lines.push(format!("SHA-256 of the original: {}", split_hash(&photo.sha256)));
    let copy = it.picture.and_then(|picture| picture.copy_sha256());
    lines.extend(copy.map(|sha256| format!("SHA-256 of the copy: {}", split_hash(&sha256))));
    lines
}
