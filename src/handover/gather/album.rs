//! The photos of a pack: each original or its copy without the place, and a small picture for the pages.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::day::{Book, PhotoUse, photos};
use crate::digest::sha256_hex;
use crate::handover::model::Blob;
use crate::handover::model::paths::PHOTOS;
use crate::photos::{Direction, Kept, PhotoSort, Place, Small, alike, camera, each, room_for_file, small, stripped};

/// Where originals come from: the folder beside the database, or a pack that is being checked.
pub trait Originals: Sync {
    /// The file of a photo, by its digest and sort or by its path in the pack; nothing where there is none.
    fn file(&self, sha256: &str, sort: PhotoSort, path: &str) -> Option<Blob>;
    /// The small picture that stands at this path already.
    fn small(&self, path: &str) -> Option<Vec<u8>>;
}

/// A pack of a record whose photos are nowhere.
pub struct NoOriginals;

impl Originals for NoOriginals {
    fn file(&self, _: &str, _: PhotoSort, _: &str) -> Option<Blob> {
        None
    }

    fn small(&self, _: &str) -> Option<Vec<u8>> {
        None
    }
}

impl Originals for Kept {
    fn file(&self, sha256: &str, sort: PhotoSort, _: &str) -> Option<Blob> {
        let place = self.place(sha256, sort);
        let bytes = std::fs::metadata(&place).ok().filter(std::fs::Metadata::is_file)?.len();
        Some(Blob::Kept { sha256: sha256.to_owned(), bytes, read: Arc::new(move || std::fs::read(&place)) })
    }

    fn small(&self, _: &str) -> Option<Vec<u8>> {
        None
    }
}

/// How a photo stands in the pack.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PhotoState {
    /// The original is in it.
    Whole,
    /// A copy without the place is in it.
    Copy,
    /// Left out: no copy can be made without the place.
    LeftOut,
    /// The original is gone, or is not the one that was recorded.
    Missing,
}

/// A photo of the pack.
#[derive(Debug, Clone)]
pub struct Picture {
    /// Its number, from 1.
    pub number: usize,
    /// Path of its file in the pack.
    pub path: String,
    /// Path of its small picture in the pack.
    pub small_path: String,
    /// How it stands.
    pub found: PhotoState,
    /// Its file.
    pub file: Option<Blob>,
    /// Its small picture.
    pub small: Option<Small>,
    /// Why there is no small picture.
    pub why_no_small: Option<String>,
    /// Where it was taken.
    pub place: Option<Place>,
    /// Which way the camera looked.
    pub direction: Option<Direction>,
}

/// The photos of a pack, by the digest of the original.
#[derive(Debug, Clone, Default)]
pub struct Album {
    pub(crate) pictures: BTreeMap<String, Picture>,
    pub(crate) no_places: bool,
    pub(crate) looked: bool,
}

impl Album {
    /// Gathers the photos of a record. `told` hears how many of how many are done.
    pub fn of(book: &Book, from: &dyn Originals, no_places: bool, told: &mut (dyn FnMut(usize, usize) + Send)) -> Self {
        let mut first: Vec<PhotoUse> = Vec::new();
        for photo in photos(book) {
            if photo.facts.is_some() && first.iter().all(|other| other.sha256 != photo.sha256) {
                first.push(photo);
            }
        }
        let numbered: Vec<(usize, PhotoUse)> = first.into_iter().enumerate().map(|(at, one)| (at + 1, one)).collect();
        let all = numbered.len();
        let work = |(number, photo): &(usize, PhotoUse)| picture(*number, photo, from, no_places);
        let made = each(&numbered, work, &mut |done| told(done, all));
        let pictures = numbered.iter().map(|(_, photo)| photo.sha256.clone()).zip(made).collect();
        Self { pictures, no_places, looked: true }
    }

    /// The files of the pack that are photos, and their small pictures.
    pub(crate) fn files(&self) -> Vec<(String, Blob)> {
        let mut files = Vec::new();
        for picture in self.pictures.values() {
            files.extend(picture.file.clone().map(|file| (picture.path.clone(), file)));
            let small = picture.small.as_ref().map(|small| small.jpeg.clone());
            files.extend(small.map(|small| (picture.small_path.clone(), Blob::Held(small))));
        }
        files
    }

    /// The original that a copy in the pack was made from.
    pub(crate) fn original_of(&self, path: &str) -> Option<&str> {
        let copied = |picture: &Picture| picture.found == PhotoState::Copy && picture.path == path;
        self.pictures.iter().find(|(_, picture)| copied(picture)).map(|(sha256, _)| sha256.as_str())
    }
}

/// A name in the pack: number, subject, step.
pub fn stem(number: usize, photo: &PhotoUse) -> String {
    let subject = photo.subject.replace('/', "-");
    let step = photo.step.as_ref().map(|step| format!("-{step}")).unwrap_or_default();
    let plain = |c: char| if c.is_alphanumeric() || c == '-' { c } else { '-' };
    format!("{number:03}-{subject}{step}").chars().map(plain).collect()
}

pub fn picture(number: usize, photo: &PhotoUse, from: &dyn Originals, no_places: bool) -> Picture {
    let sort = photo.facts.as_ref().map_or(PhotoSort::Jpeg, |facts| facts.format);
    let stem = stem(number, photo);
    let mut picture = Picture {
        number,
        path: format!("{PHOTOS}{stem}.{}", sort.ending()),
        small_path: format!("{PHOTOS}small/{stem}.jpg"),
        found: PhotoState::Missing,
        file: None,
        small: None,
        why_no_small: None,
        place: None,
        direction: None,
    };
    if no_places && sort == PhotoSort::Heic {
        picture.found = PhotoState::LeftOut;
        return picture;
    }
    let Some(file) = from.file(&photo.sha256, sort, &picture.path) else { return picture };
    let _share = room_for_file(file.len());
    // One that was changed is as good as gone.
    let Ok(bytes) = file.read() else { return picture };
    // Reading it has held it to its digest.
    let original = file.sha256() == photo.sha256;
    if no_places {
        let Some(copy) = stripped(&bytes) else { return picture };
        if !original && copy != *bytes {
            return picture;
        }
        picture.found = PhotoState::Copy;
        let (sha256, length) = (sha256_hex(&copy), copy.len() as u64);
        let again = file.clone();
        let read = move || -> std::io::Result<Vec<u8>> {
            let bytes = again.read()?;
            stripped(&bytes).ok_or_else(|| std::io::Error::other("a photo was changed meanwhile"))
        };
        picture.file = Some(Blob::Kept { sha256, bytes: length, read: Arc::new(read) });
    } else {
        if !original {
            return picture;
        }
        picture.found = PhotoState::Whole;
        let notes = camera(&bytes);
        picture.place = notes.place;
        picture.direction = notes.direction;
        picture.file = Some(file.clone());
    }
    match small_of(&bytes, from.small(&picture.small_path)) {
        Ok(Some(small)) => picture.small = Some(small),
        Ok(None) => picture.why_no_small = Some(format!("no small picture: {sort} is kept as a file only")),
        Err(why) => picture.why_no_small = Some(format!("no small picture: {why}")),
    }
    picture
}

/// The small picture that is there already, if it shows the photo; or a new one.
pub fn small_of(bytes: &[u8], there: Option<Vec<u8>>) -> Result<Option<Small>, String> {
    let Some(jpeg) = there else { return small(bytes) };
    let made = small(bytes)?;
    Ok(made.map(|made| if alike(&jpeg, &made) { Small { jpeg, ..made } } else { made }))
}
