//! The photos of a pack.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use super::blob::Blob;
use super::number::Number;
use crate::day::PhotoUse;
use crate::photos::{Direction, Place, Small};
use crate::record::EntryId;

/// What the pack has of a photo.
#[derive(Debug, Clone, Copy, PartialEq, Eq, strum::IntoStaticStr)]
#[strum(serialize_all = "lowercase")]
pub enum PhotoState {
    /// The original is in it.
    Original,
    /// A copy without the location is in it.
    Copy,
    /// Left out: no copy can be made without the location.
    #[strum(serialize = "left out")]
    LeftOut,
    /// The original is gone, or is not the one that was recorded.
    Missing,
    /// Only its name and its hash were recorded.
    #[strum(serialize = "named only")]
    NamedOnly,
    /// Nobody looked for it.
    #[strum(serialize = "not looked at")]
    NotLookedAt,
}

impl PhotoState {
    /// The word, for tables.
    pub fn word(self) -> &'static str {
        self.into()
    }
}

/// A photo file of the pack.
#[derive(Debug, Clone)]
pub struct Picture {
    /// Its number, from 1.
    pub number: usize,
    /// Path of its file in the pack.
    pub path: String,
    /// Path of its small picture in the pack.
    pub small_path: String,
    /// What the pack has of it.
    pub state: PhotoState,
    /// Its file.
    pub file: Option<Blob>,
    /// Its small picture.
    pub small: Option<Small>,
    /// Path of its large picture in the pack.
    pub large_path: String,
    /// Its large picture, where it is printed large.
    pub large: Option<Small>,
    /// Why there is no small picture.
    pub why_no_small: Option<String>,
    /// Where it was taken.
    pub place: Option<Place>,
    /// Which way the camera looked.
    pub direction: Option<Direction>,
}

impl Picture {
    /// Its number, as the pages write it.
    pub fn label(&self) -> Number {
        Number::Photo(self.number)
    }

    /// SHA-256 of its file, where that is a copy.
    pub fn copy_sha256(&self) -> Option<String> {
        let copy = self.file.as_ref().filter(|_| self.state == PhotoState::Copy);
        copy.map(|file| file.sha256().into_owned())
    }
}

/// Whether the photos of a pack say where they were taken.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Locations {
    /// They are the originals.
    #[default]
    Kept,
    /// They are copies without that.
    Withheld,
}

/// The photo files of a pack, by the digest of the original.
#[derive(Debug, Clone, Default)]
pub struct Album {
    pub(crate) pictures: BTreeMap<String, Picture>,
    pub(crate) locations: Locations,
    pub(crate) looked: bool,
}

impl Album {
    /// The files of the pack that are photos, and their small pictures.
    pub(crate) fn files(&self) -> Vec<(String, Blob)> {
        let mut files = Vec::new();
        for picture in self.pictures.values() {
            files.extend(picture.file.clone().map(|file| (picture.path.clone(), file)));
            let small = picture.small.as_ref().map(|small| Arc::clone(&small.jpeg));
            files.extend(small.map(|small| (picture.small_path.clone(), Blob::Memory(small))));
            let large = picture.large.as_ref().map(|large| Arc::clone(&large.jpeg));
            files.extend(large.map(|large| (picture.large_path.clone(), Blob::Memory(large))));
        }
        files
    }

    /// The copies in the pack by their paths, each with the digest of the original that it was made from.
    pub(crate) fn originals(&self) -> HashMap<&str, &str> {
        let copies = self.pictures.iter().filter(|(_, picture)| picture.state == PhotoState::Copy);
        copies.map(|(sha256, picture)| (picture.path.as_str(), sha256.as_str())).collect()
    }
}

/// A photo, as the pack lists it: one that was recorded of several subjects at once is listed once.
#[derive(Debug)]
pub struct Photo<'b> {
    /// What the record says of it, for the first of its subjects.
    pub photo: PhotoUse,
    /// The part of the building.
    pub part: &'b str,
    /// Ids of the subjects.
    pub subjects: Vec<String>,
    /// Ids of the entries.
    pub entries: Vec<EntryId>,
    /// Title of the step that it shows.
    pub title: Option<&'b str>,
    /// What the pack has of it.
    pub state: PhotoState,
    /// Its file; absent where only its name was recorded.
    pub picture: Option<&'b Picture>,
}

/// Photos of a wall that are printed large on its page.
const LARGE: usize = 2;

/// The photos of a part of the building, those with a picture last and in the order in which they were taken.
pub fn of_part<'p, 'b>(photos: &'p [Photo<'b>], part: &str) -> Vec<&'p Photo<'b>> {
    let mut photos: Vec<&Photo<'_>> = photos.iter().filter(|photo| photo.part == part).collect();
    photos.sort_by_key(|photo| (photo.has_picture(), photo.photo.at));
    photos
}

/// Those of a wall that are printed large on its page: the newest.
pub fn large_of<'p, 'b>(photos: &'p [Photo<'b>], wall: &str) -> Vec<&'p Photo<'b>> {
    let photos = of_part(photos, wall);
    photos[photos.len().saturating_sub(LARGE)..].iter().copied().filter(|photo| photo.has_picture()).collect()
}

impl Photo<'_> {
    /// Whether there is a picture of it to be shown.
    pub fn has_picture(&self) -> bool {
        self.picture.is_some_and(|picture| picture.small.is_some())
    }
}
