//! Why a file is not taken as a photo.

use super::sort::{MOST_BYTES, MOST_PIXELS, PhotoSort};

/// Why a file is not taken as a photo; worded to follow its name.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PhotoError {
    /// Nothing in it.
    #[error("is empty")]
    Empty,
    /// Larger than is taken.
    #[error("is too large for a photo: at most {} MB", MOST_BYTES / 1_000_000)]
    TooLarge,
    /// Something else.
    #[error("is not a photo; use JPEG, PNG, WebP or HEIC")]
    NoPhoto,
    /// The end is missing, or its parts do not fit together.
    #[error("is a {0} file that is cut short or damaged: {1}")]
    Damaged(PhotoSort, String),
    /// A picture that would fill the memory.
    #[error("has too many pixels ({width} × {height}): at most {} million", MOST_PIXELS / 1_000_000)]
    TooManyPixels {
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
    },
}
