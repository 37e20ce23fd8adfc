//! What the pack says of each photo.

use super::work::step_title;
use crate::day::{Book, PhotoUse, photos};
use crate::handover::model::{Album, Missing, MissingKind, Photo, PhotoState, part_of_id};

/// Every photo of the record; one that was recorded of several subjects at once is listed once.
pub fn photos_of<'b>(book: &'b Book, album: &'b Album) -> Vec<Photo<'b>> {
    let mut all: Vec<Photo> = Vec::new();
    for photo in photos(book) {
        let part = part_of_id(&book.state, &photo.subject);
        let same = |other: &&mut Photo| {
            let one = &other.photo;
            other.part == part
                && (&one.sha256, &one.step, one.at, &one.note, &one.flags)
                    == (&photo.sha256, &photo.step, photo.at, &photo.note, &photo.flags)
                && !other.subjects.contains(&photo.subject)
        };
        match all.iter_mut().rev().take(40).find(same) {
            Some(other) => {
                other.subjects.push(photo.subject);
                other.entries.push(photo.entry);
            }
            None => all.push(one(book, album, photo, part)),
        }
    }
    all
}

fn one<'b>(book: &'b Book, album: &'b Album, photo: PhotoUse, part: &'b str) -> Photo<'b> {
    let picture = album.pictures.get(&photo.sha256);
    Photo {
        part,
        subjects: vec![photo.subject.clone()],
        entries: vec![photo.entry.clone()],
        title: photo.step.as_ref().and_then(|step| step_title(&book.state, step)),
        state: match picture {
            Some(picture) => picture.state,
            None if photo.facts.is_some() && !album.looked => PhotoState::NotLookedAt,
            None => PhotoState::NamedOnly,
        },
        picture,
        photo,
    }
}

/// Photos that the record names and that are gone: the pack is not whole without them.
pub fn missing(photos: &[Photo<'_>]) -> Vec<Missing> {
    let gone = photos.iter().filter(|photo| photo.state == PhotoState::Missing);
    gone.map(|photo| {
        let entries: Vec<String> = photo.entries.iter().map(ToString::to_string).collect();
        Missing {
            kind: MissingKind::Photo,
            on: photo.subjects.join(", "),
            what: format!("Photo {} of entry {}", photo.photo.file, entries.join(", ")),
            status: "file missing, or not the one that was recorded".to_owned(),
        }
    })
    .collect()
}
