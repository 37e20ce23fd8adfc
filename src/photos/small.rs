//! Small pictures of photos, for pages: turned as the camera was held, the same on every run.

use std::io::Cursor;

use image::codecs::jpeg::JpegEncoder;
use image::{DynamicImage, ImageReader, Limits, RgbImage};

use super::camera::camera;
use super::sort::PhotoSort;

/// The longer side of a small picture, pixels.
pub const SMALL_PX: u32 = 400;

/// JPEG quality of a small picture, 1 to 100.
const QUALITY: u8 = 78;

/// A picture may take this much memory while it is read, bytes.
const MOST_MEMORY: u64 = 700_000_000;

/// The farthest apart that two readings of one picture may be, in steps of 255 per colour on average. Decoders
/// differ by rounding, well under 1; another picture differs by tens.
const ALIKE: f64 = 4.0;

/// A small picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Small {
    /// As JPEG.
    pub jpeg: Vec<u8>,
    /// Pixels across.
    pub width_px: u32,
    /// Pixels down.
    pub height_px: u32,
}

/// Makes the small picture of a photo; `None` for HEIC, whose picture is not read.
///
/// # Errors
/// Why the picture can't be read, in words.
pub fn small(bytes: &[u8]) -> Result<Option<Small>, String> {
    let Some(sort) = PhotoSort::of(bytes) else { return Err("it is no photo".to_owned()) };
    let Some(picture) = picture(sort, bytes)? else { return Ok(None) };
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, QUALITY).encode_image(&picture).map_err(|error| error.to_string())?;
    Ok(Some(Small { jpeg, width_px: picture.width(), height_px: picture.height() }))
}

fn picture(sort: PhotoSort, bytes: &[u8]) -> Result<Option<RgbImage>, String> {
    let format = match sort {
        PhotoSort::Jpeg => image::ImageFormat::Jpeg,
        PhotoSort::Png => image::ImageFormat::Png,
        PhotoSort::Webp => image::ImageFormat::WebP,
        PhotoSort::Heic => return Ok(None),
    };
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format);
    let mut limits = Limits::default();
    limits.max_alloc = Some(MOST_MEMORY);
    reader.limits(limits);
    let large = reader.decode().map_err(|error| error.to_string())?;
    let (width, height) = (large.width(), large.height());
    let small = if width.max(height) > SMALL_PX { large.thumbnail(SMALL_PX, SMALL_PX) } else { large };
    Ok(Some(turned(small, camera(bytes).turned).to_rgb8()))
}

/// Turns a picture as EXIF's orientation asks (CIPA DC-008, tag 274).
fn turned(picture: DynamicImage, turned: u8) -> DynamicImage {
    match turned {
        2 => picture.fliph(),
        3 => picture.rotate180(),
        4 => picture.flipv(),
        5 => picture.rotate90().fliph(),
        6 => picture.rotate90(),
        7 => picture.rotate270().fliph(),
        8 => picture.rotate270(),
        _ => picture,
    }
}

/// Whether a small picture shows the same as another. Not byte by byte: another machine may round otherwise where
/// it reads the photo.
pub fn alike(jpeg: &[u8], wanted: &Small) -> bool {
    let read = |jpeg: &[u8]| {
        let mut reader = ImageReader::with_format(Cursor::new(jpeg), image::ImageFormat::Jpeg);
        let mut limits = Limits::default();
        (limits.max_image_width, limits.max_image_height) = (Some(SMALL_PX), Some(SMALL_PX));
        reader.limits(limits);
        reader.decode().map(|picture| picture.to_rgb8())
    };
    let (Ok(given), Ok(wanted)) = (read(jpeg), read(&wanted.jpeg)) else { return false };
    if given.dimensions() != wanted.dimensions() {
        return false;
    }
    let apart: u64 = given.as_raw().iter().zip(wanted.as_raw()).map(|(a, b)| u64::from(a.abs_diff(*b))).sum();
    apart as f64 <= ALIKE * given.as_raw().len() as f64
}
