//! Where an office keeps photos: a folder, or a store of objects.

use std::path::Path;

use rayon::prelude::*;

use crate::cli::failure::Failure;
use crate::cli::photos::{Came, Copied, Named, bar, copy_between, gathered};
use crate::office::{ObjectError, ObjectStore};
use crate::photos::{Kept, KeptError, MOST_BYTES, PhotoSort};

/// So many photos are asked for at a time: most of the time is spent waiting for a store far away.
const AT_A_TIME: usize = 8;

/// Where an office keeps photos.
pub enum OfficePhotos {
    Folder(Kept),
    Objects(Box<ObjectStore>),
}

impl From<ObjectError> for Failure {
    fn from(error: ObjectError) -> Self {
        match error {
            ObjectError::Address(_) => Self::input(error),
            ObjectError::Unreachable { .. } => Self::machine_hint(
                error,
                "the crew's own photos are untouched; try again: it goes on where it broke off",
            ),
            ObjectError::Refused { .. } => Self::input_hint(
                error,
                "give the bucket's name and region, and keys that may read and write in it, as AWS_ACCESS_KEY_ID and \
                 AWS_SECRET_ACCESS_KEY",
            ),
            ObjectError::Disk { .. } => Self::machine(error),
        }
    }
}

impl OfficePhotos {
    /// A folder, made by whoever sets the office up, since a mistyped path is no new folder; or an `s3://` address.
    pub fn open(place: &str) -> Result<Self, Failure> {
        if place.starts_with("s3://") {
            let store = ObjectStore::open(place, &|name| std::env::var(name).ok())?;
            return Ok(Self::Objects(Box::new(store)));
        }
        let folder = Path::new(place);
        if folder.is_dir() {
            return Ok(Self::Folder(Kept::at(folder)));
        }
        Err(Failure::input_hint(
            format!("{place}: is not a folder"),
            "make it first; or give an object store: s3://BUCKET/PREFIX?endpoint=https://HOST",
        ))
    }

    /// Takes photos from beside a crew's file.
    pub fn take(&self, from: &Kept, photos: &Named) -> Result<Copied, Failure> {
        match self {
            Self::Folder(to) => copy_between(from, to, photos),
            Self::Objects(store) => side_by_side(photos, |sha256, sort| {
                let file = from.place(sha256, sort);
                let name = name_of(&file);
                if store.has(name)? {
                    return Ok(Came::There);
                }
                if !from.has(sha256, sort) {
                    return Ok(Came::Missing);
                }
                store.put(name, &file, sha256)?;
                Ok(Came::New)
            }),
        }
    }

    /// Gives photos to beside a file.
    pub fn give(&self, to: &Kept, photos: &Named) -> Result<Copied, Failure> {
        match self {
            Self::Folder(from) => copy_between(from, to, photos),
            Self::Objects(store) => {
                let copied = side_by_side(photos, |sha256, sort| {
                    if to.has(sha256, sort) {
                        return Ok(Came::There);
                    }
                    let disk = |why| ObjectError::Disk { file: "a temporary file".to_owned(), why };
                    let mut file = tempfile::NamedTempFile::new().map_err(disk)?;
                    if !store.get(name_of(&to.place(sha256, sort)), MOST_BYTES + 1, &mut file)? {
                        return Ok(Came::Missing);
                    }
                    match to.keep(file.path(), sha256, sort) {
                        Ok(()) => Ok(Came::New),
                        // Not what the entry names: as good as none.
                        Err(KeptError::Changed(_)) => Ok(Came::Missing),
                        Err(error) => Err(error.into()),
                    }
                })?;
                if copied.new > 0 {
                    to.sync()?;
                }
                Ok(copied)
            }
        }
    }
}

fn name_of(file: &Path) -> &str {
    file.file_name().and_then(|name| name.to_str()).unwrap_or_default()
}

/// Several photos at a time; the first failure ends it.
fn side_by_side(
    photos: &Named,
    one: impl Fn(&str, PhotoSort) -> Result<Came, Failure> + Sync,
) -> Result<Copied, Failure> {
    let bar = bar("Copying photos", photos.len());
    let pool = rayon::ThreadPoolBuilder::new().num_threads(AT_A_TIME).build().map_err(Failure::machine)?;
    let photos: Vec<_> = photos.iter().collect();
    let came: Result<Vec<_>, Failure> = pool.install(|| {
        let each = photos.par_iter().map(|((sha256, sort), entry)| {
            let came = one(sha256, *sort)?;
            bar.inc(1);
            Ok((came, *entry))
        });
        each.collect()
    });
    bar.finish_and_clear();
    Ok(gathered(came?))
}
