//! Photos: which sort a file is, when and where it was taken, a small picture of it, a copy without its place,
//! and the folder beside the database in which originals are kept by their SHA-256.
//!
//! JPEG, PNG, WebP and HEIC are told apart by what is in the file, never by its name. Originals are never changed.

mod camera;
mod error;
mod kept;
mod room;
mod scaled;
mod small;
mod sort;
mod strip;

pub use camera::{Camera, Direction, Place, camera};
pub use error::PhotoError;
pub use kept::{Kept, KeptError};
pub use room::{MOST_PICTURE_MEMORY, Room, Share, each, room_for_file};
pub use small::{SMALL_PX, Small, alike, small};
pub use sort::{MOST_BYTES, MOST_PIXELS, PhotoSort, Size};
pub use strip::stripped;

use chrono_tz::Tz;
use serde::{Deserialize, Serialize};

use crate::moment::Moment;

/// What the record keeps of a photo besides its digest. Part of the record's format: add, never rename.
///
/// Neither the place nor anything else of the camera's notes is in it: those are read from the file, so that a
/// pack without places has none.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PhotoFacts {
    /// Which sort of file.
    pub format: PhotoSort,
    /// How many bytes.
    pub bytes: u64,
    /// Width, pixels as stored; absent for HEIC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width_px: Option<u32>,
    /// Height, pixels as stored; absent for HEIC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height_px: Option<u32>,
    /// When the camera says that it was taken.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub taken_at: Option<Moment>,
    /// The camera gives no offset: the site's is taken.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub site_offset: bool,
}

/// Looks a file over: its sort, that it is whole, and what the record keeps of it. Whether its picture can be
/// read is for [`small`] to say.
///
/// # Errors
/// [`PhotoError`]: no photo, empty, cut short, or larger than is taken.
pub fn look(bytes: &[u8], zone: Tz) -> Result<PhotoFacts, PhotoError> {
    if bytes.is_empty() {
        return Err(PhotoError::Empty);
    }
    if bytes.len() as u64 > MOST_BYTES {
        return Err(PhotoError::TooLarge);
    }
    let format = PhotoSort::of(bytes).ok_or(PhotoError::NoPhoto)?;
    let size = sort::whole(format, bytes)?;
    let camera = camera(bytes);
    let taken = camera.taken_at(zone).filter(|(moment, _)| moment.in_range());
    Ok(PhotoFacts {
        format,
        bytes: bytes.len() as u64,
        width_px: size.map(|size| size.width_px),
        height_px: size.map(|size| size.height_px),
        taken_at: taken.map(|(moment, _)| moment),
        site_offset: taken.is_some_and(|(_, assumed)| assumed),
    })
}
