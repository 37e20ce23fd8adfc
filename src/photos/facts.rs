//! What the record keeps of a photo.

use chrono_tz::Tz;
use serde::{Deserialize, Serialize};

use super::camera::camera;
use super::container::whole;
use super::format::{MOST_BYTES, PhotoError, PhotoSort};
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

/// Checks a file: its format, that it is whole, and what the record keeps of it. Whether its picture can be read is for
/// [`small`](super::small) to say.
///
/// # Errors
/// [`PhotoError`]: not a photo, empty, cut short, or larger than is taken.
pub fn look(bytes: &[u8], zone: Tz) -> Result<PhotoFacts, PhotoError> {
    if bytes.is_empty() {
        return Err(PhotoError::Empty);
    }
    if bytes.len() as u64 > MOST_BYTES {
        return Err(PhotoError::TooLarge);
    }
    let format = PhotoSort::of(bytes).ok_or(PhotoError::NoPhoto)?;
    let size = whole(format, bytes)?;
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
