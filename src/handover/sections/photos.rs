//! The photos of a part of the building.

use crate::handover::model::{Document, PhotoTold, clock_on, when};
use crate::handover::page::{Block, Shown, shortly, split_hash};
use crate::plain::visible;

/// The photos of a part of the building, each under the step that it shows.
pub fn block(document: &Document, part: &str) -> Option<Block> {
    let photos: Vec<Shown> = document.photos.iter().filter(|photo| photo.part == part).map(shown).collect();
    (!photos.is_empty()).then_some(Block::Photos { photos })
}

pub fn shown(photo: &PhotoTold) -> Shown {
    let on = shortly(&photo.subjects.iter().map(String::as_str).collect::<Vec<_>>());
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
