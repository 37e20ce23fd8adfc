//! The photos of a pack: each original or its copy without the location, and a small picture for the pages.

use std::collections::{BTreeSet, HashSet};
use std::sync::Arc;

use super::photos::photos_of;
use crate::day::{Book, PhotoUse, photos};
use crate::digest::sha256_hex;
use crate::handover::model::paths::PHOTOS;
use crate::handover::model::{Album, Blob, Locations, PhotoState, Picture, large_of};
use crate::photos::{
    Kept, LARGE_PX, MOST_BYTES, PhotoSort, SMALL_PX, Small, alike, camera, each, room_for_file, small, stripped,
};

/// Where originals come from: the folder beside the database, or a pack that is being checked.
pub trait Originals: Sync {
    /// The file of a photo, by its digest and sort or by its path in the pack; nothing where there is none.
    fn file(&self, sha256: &str, sort: PhotoSort, path: &str) -> Option<Blob>;
    /// The picture of a photo that is at this path already.
    fn picture(&self, _path: &str) -> Option<Vec<u8>> {
        None
    }
}

/// A pack of a record whose photos are nowhere.
pub struct NoOriginals;

impl Originals for NoOriginals {
    fn file(&self, _: &str, _: PhotoSort, _: &str) -> Option<Blob> {
        None
    }
}

impl Originals for Kept {
    fn file(&self, sha256: &str, sort: PhotoSort, _: &str) -> Option<Blob> {
        let place = self.place(sha256, sort);
        let bytes = std::fs::metadata(&place).ok().filter(std::fs::Metadata::is_file)?.len();
        Some(Blob::OnDisk { sha256: sha256.to_owned(), bytes, read: Arc::new(move || std::fs::read(&place)) })
    }
}

impl Album {
    /// Gathers the photos of a record; `progress` is called with how many of how many are done.
    pub fn of(
        book: &Book,
        from: &dyn Originals,
        locations: Locations,
        progress: &mut (dyn FnMut(usize, usize) + Send),
    ) -> Self {
        let mut seen = HashSet::new();
        let first = photos(book).into_iter().filter(|photo| photo.facts.is_some() && seen.insert(photo.sha256.clone()));
        let numbered: Vec<(usize, PhotoUse)> = (1..).zip(first).collect();
        let all = numbered.len();
        let work = |(number, photo): &(usize, PhotoUse)| picture(*number, photo, from, locations);
        let made = each(&numbered, work, &mut |done| progress(done, all));
        let pictures = numbered.iter().map(|(_, photo)| photo.sha256.clone()).zip(made).collect();
        let mut album = Self { pictures, locations, looked: true };
        album.add_large(book, from);
        album
    }

    /// Makes the pictures of those that are printed large.
    fn add_large(&mut self, book: &Book, from: &dyn Originals) {
        let photos = photos_of(book, self);
        let on_walls = book.state.job.walls.iter().flat_map(|wall| large_of(&photos, &wall.key));
        let wanted: BTreeSet<String> = on_walls.map(|photo| photo.photo.sha256.clone()).collect();
        let wanted: Vec<String> = wanted.into_iter().collect();
        let large = |sha256: &String| {
            let picture = self.pictures.get(sha256)?;
            let file = picture.file.as_ref()?;
            let _share = room_for_file(file.len());
            picture_of(&file.read().ok()?, LARGE_PX, from.picture(&picture.large_path)).ok()?
        };
        let made = each(&wanted, large, &mut |_| ());
        for (sha256, large) in wanted.iter().zip(made) {
            if let Some(picture) = self.pictures.get_mut(sha256) {
                picture.large = large;
            }
        }
    }
}

/// A name in the pack: number, subject, step.
pub fn stem(number: usize, photo: &PhotoUse) -> String {
    let subject = photo.subject.replace('/', "-");
    let step = photo.step.as_ref().map(|step| format!("-{step}")).unwrap_or_default();
    let plain = |c: char| if c.is_alphanumeric() || c == '-' { c } else { '-' };
    format!("{number:03}-{subject}{step}").chars().map(plain).collect()
}

fn picture(number: usize, photo: &PhotoUse, from: &dyn Originals, locations: Locations) -> Picture {
    let sort = photo.facts.as_ref().map_or(PhotoSort::Jpeg, |facts| facts.format);
    let stem = stem(number, photo);
    let mut picture = Picture {
        number,
        path: format!("{PHOTOS}{stem}.{}", sort.ending()),
        small_path: format!("{PHOTOS}small/{stem}.jpg"),
        state: PhotoState::Missing,
        file: None,
        small: None,
        large_path: format!("{PHOTOS}large/{stem}.jpg"),
        large: None,
        why_no_small: None,
        place: None,
        direction: None,
    };
    if locations == Locations::Withheld && sort == PhotoSort::Heic {
        picture.state = PhotoState::LeftOut;
        return picture;
    }
    // What is longer than any photo is none, and is not read.
    let file = from.file(&photo.sha256, sort, &picture.path).filter(|file| file.len() <= MOST_BYTES);
    let Some(file) = file else { return picture };
    let _share = room_for_file(file.len());
    let Some((state, file, shown)) = taken(file, &photo.sha256, locations) else { return picture };
    if state == PhotoState::Original {
        let notes = camera(&shown);
        (picture.place, picture.direction) = (notes.place, notes.direction);
    }
    (picture.state, picture.file) = (state, Some(file));
    match picture_of(&shown, SMALL_PX, from.picture(&picture.small_path)) {
        Ok(Some(small)) => picture.small = Some(small),
        Ok(None) => picture.why_no_small = Some(format!("no preview: {sort} files are stored but not shown")),
        Err(why) => picture.why_no_small = Some(format!("no preview: {why}")),
    }
    picture
}

/// What a pack takes of the file of a photo, with its bytes; nothing where it was changed, which is as good as gone.
fn taken(file: Blob, sha256: &str, locations: Locations) -> Option<(PhotoState, Blob, Vec<u8>)> {
    let bytes = file.read().ok()?.into_owned();
    // Reading it has compared it with its digest.
    let is_original = file.sha256() == sha256;
    if locations == Locations::Kept {
        return is_original.then_some((PhotoState::Original, file, bytes));
    }
    let copy = stripped(&bytes).filter(|copy| is_original || *copy == bytes)?;
    let read = move || -> std::io::Result<Vec<u8>> {
        let bytes = file.read()?;
        stripped(&bytes).ok_or_else(|| std::io::Error::other("a photo was changed meanwhile"))
    };
    let blob = Blob::OnDisk { sha256: sha256_hex(&copy), bytes: copy.len() as u64, read: Arc::new(read) };
    Some((PhotoState::Copy, blob, copy))
}

/// The picture of this size that is there already, if it shows the photo; or a new one.
fn picture_of(bytes: &[u8], longer_px: u32, there: Option<Vec<u8>>) -> Result<Option<Small>, String> {
    let made = small(bytes, longer_px)?;
    let Some(jpeg) = there else { return Ok(made) };
    Ok(made.map(|made| if alike(&jpeg, &made) { Small { jpeg: jpeg.into(), ..made } } else { made }))
}
