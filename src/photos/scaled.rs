//! JPEGs read at a fraction of their size: of each block of 8 × 8 pixels only as much is worked out as is wanted.
//!
//! Source: ITU-T T.81; the lowest frequencies of a block are the block, smaller.

use image::{DynamicImage, GrayImage, RgbImage};
use jpeg_decoder::{CodingProcess, Decoder, Error, PixelFormat};

use super::container::Coded;

/// The longest side of a picture that the decoder reckons with 16 bits of without running over, pixels.
const LONGEST_SIDE: u32 = 65_000;

/// The sizes at which a block can be worked out, pixels along its side.
const SCALES: [u32; 4] = [1, 2, 4, 8];

/// Bytes of memory that it takes to read a JPEG down to a longer side of `wanted` pixels.
pub(super) fn memory(coded: &Coded, wanted: u32) -> u64 {
    let longer = coded.size.width_px.max(coded.size.height_px);
    let scale = SCALES.into_iter().find(|scale| (longer * scale).div_ceil(8) >= wanted).unwrap_or(8);
    let pixels = u64::from(coded.size.width_px) * u64::from(coded.size.height_px);
    // Three planes and the picture that is put together from them.
    let planes = pixels * 6 * u64::from(scale * scale) / 64;
    // A progressive picture is held as coefficients of two bytes until its last scan; its rows are copied to be worked out.
    let held = if coded.progressive { 4 * pixels * u64::from(coded.samples_in_100) / 100 } else { 0 };
    planes + held
}

/// Reads a JPEG down to a longer side of at least `wanted` pixels, if it has so many; `None` for a way of coding that is not
/// read like this: CMYK, arithmetic coding, twelve bits.
///
/// # Errors
/// Why it can't be read, in words.
pub(super) fn read(bytes: &[u8], coded: &Coded, wanted: u16) -> Result<Option<DynamicImage>, String> {
    if coded.size.width_px.max(coded.size.height_px) > LONGEST_SIDE {
        return Ok(None);
    }
    let mut decoder = Decoder::new(bytes);
    match decoder.scale(wanted, wanted) {
        Err(Error::Unsupported(_)) => return Ok(None),
        other => other.map_err(|error| error.to_string())?,
    };
    let Some(info) = decoder.info() else { return Ok(None) };
    // Lossless pictures are not made of blocks, so that no part of them can be left out.
    if info.coding_process == CodingProcess::Lossless || info.pixel_format == PixelFormat::CMYK32 {
        return Ok(None);
    }
    let pixels = match decoder.decode() {
        Err(Error::Unsupported(_)) => return Ok(None),
        other => other.map_err(|error| error.to_string())?,
    };
    let (width, height) = (u32::from(info.width), u32::from(info.height));
    let picture = match info.pixel_format {
        PixelFormat::L8 => GrayImage::from_raw(width, height, pixels).map(DynamicImage::ImageLuma8),
        PixelFormat::RGB24 => RgbImage::from_raw(width, height, pixels).map(DynamicImage::ImageRgb8),
        PixelFormat::L16 | PixelFormat::CMYK32 => return Ok(None),
    };
    picture.map(Some).ok_or_else(|| "it holds fewer pixels than it says".to_owned())
}
