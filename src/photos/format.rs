//! The formats of photo files: which one a file is, what is taken, and why a file is not.

use serde::{Deserialize, Serialize};

/// The largest file that is taken as a photo, bytes. Common practice, no source: phones stay below 40 MB.
pub const MOST_BYTES: u64 = 100_000_000;

/// The most pixels that are taken. Common practice, no source: the largest phone cameras give 200 million.
pub const MOST_PIXELS: u64 = 220_000_000;

/// A sort of photo file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, strum::Display)]
#[serde(rename_all = "lowercase")]
pub enum PhotoSort {
    /// JPEG.
    #[strum(to_string = "JPEG")]
    Jpeg,
    /// PNG.
    #[strum(to_string = "PNG")]
    Png,
    /// WebP.
    #[strum(to_string = "WebP")]
    Webp,
    /// HEIC: kept as it is; its picture is not read.
    #[strum(to_string = "HEIC")]
    Heic,
}

impl PhotoSort {
    /// The sort of a file, by its first bytes.
    pub fn of(bytes: &[u8]) -> Option<Self> {
        if bytes.starts_with(&[0xff, 0xd8, 0xff]) {
            return Some(Self::Jpeg);
        }
        if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
            return Some(Self::Png);
        }
        if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
            return Some(Self::Webp);
        }
        let brands = bytes.get(8..32.min(bytes.len()))?;
        let is_heic = |brand: &[u8]| matches!(brand, b"heic" | b"heix" | b"heim" | b"heis" | b"hevc" | b"hevx");
        let boxed = bytes.get(4..8) == Some(b"ftyp");
        (boxed && brands.chunks(4).any(is_heic)).then_some(Self::Heic)
    }

    /// How its name ends in the folder of originals and in a pack.
    pub fn ending(self) -> &'static str {
        match self {
            Self::Jpeg => "jpg",
            Self::Png => "png",
            Self::Webp => "webp",
            Self::Heic => "heic",
        }
    }
}

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
