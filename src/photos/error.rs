//! Why a file is not taken as a photo.

use super::sort::{MOST_BYTES, MOST_PIXELS, PhotoSort};

/// Why a file is not taken as a photo; worded to stand behind its name.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PhotoError {
    /// Nothing in it.
    #[error("is empty: no photo")]
    Empty,
    /// Larger than is taken.
    #[error("is larger than {} MB, the most that is taken as a photo", MOST_BYTES / 1_000_000)]
    TooLarge,
    /// Something else.
    #[error("is no photo: JPEG, PNG, WebP and HEIC are taken, by what is in the file")]
    NoPhoto,
    /// The end is missing, or its parts do not fit together.
    #[error("is a {0} file that is cut short or damaged: {1}")]
    Damaged(PhotoSort, String),
    /// A picture that would fill the memory.
    #[error("has {width} × {height} pixels: at most {} million are taken", MOST_PIXELS / 1_000_000)]
    TooManyPixels {
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
    },
}
