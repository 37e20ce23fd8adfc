//! What the pack says of each photo.

use super::album::{Album, PhotoState, Picture};
use super::part_of_id;
use crate::day::{Book, PhotoUse, photos};
use crate::handover::model::{Missing, PhotoTold};

/// Every photo of the record; one that was recorded of several subjects at once is told once.
pub fn told(book: &Book, album: &Album) -> Vec<PhotoTold> {
    let mut all: Vec<PhotoTold> = Vec::new();
    for photo in photos(book) {
        let part = part_of_id(&book.state, &photo.subject);
        let same = |other: &&mut PhotoTold| {
            other.sha256 == photo.sha256
                && other.step == photo.step
                && other.at == photo.at
                && other.part == part
                && other.note == photo.note
                && other.flags == photo.flags
                && !other.subjects.contains(&photo.subject)
        };
        match all.iter_mut().rev().take(40).find(same) {
            Some(other) => {
                other.subjects.push(photo.subject);
                other.entries.push(photo.entry.to_string());
            }
            None => all.push(one(book, album, photo, part)),
        }
    }
    all
}

pub fn one(book: &Book, album: &Album, photo: PhotoUse, part: String) -> PhotoTold {
    let picture: Option<&Picture> = album.pictures.get(&photo.sha256);
    let in_pack = picture.filter(|picture| picture.file.is_some());
    let stands = match (picture.map(|picture| picture.found), &photo.facts) {
        (Some(PhotoState::Whole), _) => "original",
        (Some(PhotoState::Copy), _) => "copy",
        (Some(PhotoState::LeftOut), _) => "left out",
        (Some(PhotoState::Missing), _) => "missing",
        (None, Some(_)) if !album.looked => "not looked at",
        (None, _) => "named only",
    };
    let title = photo.step.as_ref().map(|key| {
        let editions = book.state.editions.iter().rev();
        let found = editions.clone().find_map(|one| one.step(key).map(|at| one.steps[at].title.clone()));
        found.unwrap_or_else(|| key.clone())
    });
    PhotoTold {
        number: picture.map(|picture| picture.number),
        part,
        subjects: vec![photo.subject],
        step: photo.step,
        title,
        at: photo.at,
        file: photo.file,
        sha256: photo.sha256,
        taken_at: photo.facts.as_ref().and_then(|facts| facts.taken_at),
        note: photo.note,
        flags: photo.flags,
        entries: vec![photo.entry.to_string()],
        stands,
        path: in_pack.map(|picture| picture.path.clone()),
        copy_sha256: in_pack
            .filter(|picture| picture.found == PhotoState::Copy)
            .and_then(|picture| picture.file.as_ref().map(|file| file.sha256().into_owned())),
        small: picture.filter(|picture| picture.small.is_some()).map(|picture| picture.small_path.clone()),
        why_no_small: picture.and_then(|picture| picture.why_no_small.clone()),
        place: picture.and_then(|picture| picture.place),
        direction: picture.and_then(|picture| picture.direction),
    }
}

/// Photos that the record names and that are gone: the pack is not whole without them.
pub fn missing(photos: &[PhotoTold]) -> Vec<Missing> {
    let gone = photos.iter().filter(|photo| photo.stands == "missing");
    gone.map(|photo| Missing {
        sort: "photo",
        on: photo.subjects.join(", "),
        what: format!("Photo {} of entry {}", photo.file, photo.entries.join(", ")),
        stands: "its file is gone, or is not the one that was recorded".to_owned(),
    })
    .collect()
}
