//! What the pack says of each photo.

use serde::Serialize;

use super::document::{Document, Missing, PhotoTold};
use super::pictures::{Album, Found, Picture};
use super::sheets::{Block, split_hash};
use super::text::{clock_on, when};
use crate::day::{Book, PhotoUse, photos};
use crate::plain::visible;

/// A photo on a page.
#[derive(Debug, Clone, Serialize)]
pub(super) struct Shown {
    /// Path of its small picture in the pack; empty where there is none.
    pub picture: String,
    /// What it shows, for those who can't see it.
    pub described: String,
    /// What stands over it.
    pub title: String,
    /// What stands beside it.
    pub lines: Vec<String>,
    /// What a reader should know about it.
    pub flags: Vec<String>,
}

/// Every photo of the record; one that was recorded of several subjects at once is told once.
pub(super) fn told(book: &Book, album: &Album) -> Vec<PhotoTold> {
    let mut all: Vec<PhotoTold> = Vec::new();
    for photo in photos(book) {
        let part = super::gather::part_of_id(&book.state, &photo.subject);
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

fn one(book: &Book, album: &Album, photo: PhotoUse, part: String) -> PhotoTold {
    let picture: Option<&Picture> = album.pictures.get(&photo.sha256);
    let in_pack = picture.filter(|picture| picture.file.is_some());
    let stands = match (picture.map(|picture| picture.found), &photo.facts) {
        (Some(Found::Whole), _) => "original",
        (Some(Found::Copy), _) => "copy",
        (Some(Found::LeftOut), _) => "left out",
        (Some(Found::Missing), _) => "missing",
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
            .filter(|picture| picture.found == Found::Copy)
            .and_then(|picture| picture.file.as_ref().map(|file| file.sha256().into_owned())),
        small: picture.filter(|picture| picture.small.is_some()).map(|picture| picture.small_path.clone()),
        why_no_small: picture.and_then(|picture| picture.why_no_small.clone()),
        place: picture.and_then(|picture| picture.place),
        direction: picture.and_then(|picture| picture.direction),
    }
}

/// Photos that the record names and that are gone: the pack is not whole without them.
pub(super) fn missing(photos: &[PhotoTold]) -> Vec<Missing> {
    let gone = photos.iter().filter(|photo| photo.stands == "missing");
    gone.map(|photo| Missing {
        sort: "photo",
        on: photo.subjects.join(", "),
        what: format!("Photo {} of entry {}", photo.file, photo.entries.join(", ")),
        stands: "its file is gone, or is not the one that was recorded".to_owned(),
    })
    .collect()
}

/// The photos of a part of the building, each under the step that it shows.
pub(super) fn block(document: &Document, part: &str) -> Option<Block> {
    let photos: Vec<Shown> = document.photos.iter().filter(|photo| photo.part == part).map(shown).collect();
    (!photos.is_empty()).then_some(Block::Photos { photos })
}

fn shown(photo: &PhotoTold) -> Shown {
    let on = super::sheets_parts::shortly(&photo.subjects.iter().map(String::as_str).collect::<Vec<_>>());
    let of = photo.title.clone().unwrap_or_else(|| "Photo".to_owned());
    let number = photo.number.map(|number| format!("Photo {number}. ")).unwrap_or_default();
    let mut lines: Vec<String> = photo.note.iter().cloned().collect();
    let happened = if photo.step.is_some() { "Step done" } else { "Recorded as of" };
    lines.push(match &photo.taken_at {
        Some(taken) => {
            let taken = taken.at_offset(photo.at.offset());
            format!("Taken {}. {happened} {}.", when(&taken), clock_on(&photo.at, &taken))
        }
        None => format!("{happened} {}.", when(&photo.at)),
    });
    let place: Vec<String> =
        photo.place.map(|it| it.to_string()).into_iter().chain(photo.direction.map(|it| it.to_string())).collect();
    if !place.is_empty() {
        lines.push(format!("By the camera: {}.", place.join(", ")));
    }
    lines.push(format!("{}, entry {}", photo.file, photo.entries.join(", ")));
    match photo.stands {
        "original" => lines.extend(photo.path.iter().map(|path| format!("In this pack: {path}"))),
        "copy" => lines.extend(photo.path.iter().map(|path| {
            format!(
                "In this pack: {path}, a copy without the place and the camera's other notes; the picture is the same"
            )
        })),
        "left out" => lines.push("Not in this pack: a HEIC file can't be copied without its place.".to_owned()),
        "missing" => lines.push("NOT IN THIS PACK: its file is gone, or is not the one that was recorded.".to_owned()),
        "named only" => lines.push("Only its name and its SHA-256 were recorded.".to_owned()),
        _ => {}
    }
    lines.extend(photo.why_no_small.as_ref().map(|why| format!("Not shown here; {why}.")));
    lines.push(format!("SHA-256 of the original: {}", split_hash(&photo.sha256)));
    lines.extend(photo.copy_sha256.iter().map(|sha256| format!("SHA-256 of the copy: {}", split_hash(sha256))));
    Shown {
        picture: photo.small.clone().unwrap_or_default(),
        described: visible(&format!("{number}{of} on {on}")),
        title: visible(&format!("{number}{of} on {on}")),
        lines: lines.iter().map(|line| visible(line)).collect(),
        flags: photo.flags.iter().map(|flag| visible(&format!("Mind: {flag}."))).collect(),
    }
}

/// The table of photos.
pub(super) fn rows(document: &Document) -> Vec<Vec<String>> {
    let mut heading =
        vec!["number", "entries", "subjects", "step", "happened_at", "taken_at", "file", "stands", "path"];
    heading.extend(["sha256", "copy_sha256", "flags", "note"]);
    if !document.no_places {
        heading.extend(["lat_deg", "lon_deg", "direction_deg", "north"]);
    }
    let mut rows = vec![heading.into_iter().map(str::to_owned).collect()];
    for photo in &document.photos {
        let or_empty = |text: &Option<String>| text.clone().unwrap_or_default();
        let mut row = vec![
            photo.number.map(|number| number.to_string()).unwrap_or_default(),
            photo.entries.join(" "),
            photo.subjects.join(" "),
            or_empty(&photo.step),
            photo.at.to_string(),
            photo.taken_at.map(|at| at.to_string()).unwrap_or_default(),
            photo.file.clone(),
            photo.stands.to_owned(),
            or_empty(&photo.path),
            photo.sha256.clone(),
            or_empty(&photo.copy_sha256),
            photo.flags.join("; "),
            or_empty(&photo.note),
        ];
        if !document.no_places {
            row.push(photo.place.map(|place| place.lat_deg.to_string()).unwrap_or_default());
            row.push(photo.place.map(|place| place.lon_deg.to_string()).unwrap_or_default());
            row.push(photo.direction.map(|direction| direction.deg.to_string()).unwrap_or_default());
            let north = photo.direction.map(|direction| if direction.magnetic { "magnetic" } else { "true" });
            row.push(north.unwrap_or_default().to_owned());
        }
        rows.push(row);
    }
    rows
}
