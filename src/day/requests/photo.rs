//! A photo that a person gives.

use std::path::{Path, PathBuf};

use chrono_tz::Tz;

use crate::digest::sha256_hex;
use crate::photos::{MOST_BYTES, PhotoError, PhotoFacts, PhotoSort, SMALL_PX, look, room_for_file, small};
use crate::record::Answer;

/// A photo that was looked over, to be kept when the request is granted.
#[derive(Debug, Clone)]
pub struct Photo {
    /// Its name.
    pub file: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// What the record keeps of it.
    pub facts: PhotoFacts,
    /// Where it lies.
    pub source: PathBuf,
}

/// Why a file is not taken as a photo.
#[derive(Debug, thiserror::Error)]
pub enum NoPhoto {
    /// It can't be read.
    #[error("can't be read: {0}")]
    Unread(#[from] std::io::Error),
    /// It is none that is taken.
    #[error(transparent)]
    Photo(#[from] PhotoError),
    /// It is one that nobody can look at.
    #[error("is a {0} file whose picture can't be read: {1}")]
    Picture(PhotoSort, String),
}

impl Photo {
    /// Looks a file over that was given under this name. `zone` is the site's, for cameras that give no offset.
    ///
    /// # Errors
    /// [`NoPhoto`]: a file that nobody can look at is not evidence.
    pub fn looked_over(source: &Path, file: String, zone: Tz) -> Result<Self, NoPhoto> {
        let length = std::fs::metadata(source)?.len();
        if length > MOST_BYTES {
            return Err(PhotoError::TooLarge.into());
        }
        let _share = room_for_file(length);
        let bytes = std::fs::read(source)?;
        let facts = look(&bytes, zone)?;
        small(&bytes, SMALL_PX).map_err(|why| NoPhoto::Picture(facts.format, why.to_string()))?;
        Ok(Self { file, sha256: sha256_hex(&bytes), facts, source: source.to_owned() })
    }

    /// The photo as an answer.
    pub fn answer(&self) -> Answer {
        let photo = Some(Box::new(self.facts.clone()));
        Answer::File { file: self.file.clone(), sha256: self.sha256.clone(), photo }
    }
}
