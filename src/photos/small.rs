//! Small pictures of photos, for pages: turned as the camera was held, the same on every run.

use std::io::Cursor;
use std::sync::Arc;

use image::codecs::jpeg::JpegEncoder;
use image::imageops::FilterType;
use image::metadata::Orientation;
use image::{DynamicImage, ImageDecoder, ImageReader, Limits, RgbImage};

use super::camera::camera;
use super::container::{Size, coded};
use super::format::{PhotoError, PhotoSort};
use super::room::{MOST_PICTURE_MEMORY, PICTURES, Share};
use super::scaled;

/// The longer side of a small picture, pixels.
pub const SMALL_PX: u32 = 400;

/// The longer side of a picture that is printed large, pixels: enough to tell a lap by.
pub const LARGE_PX: u32 = 1600;

/// JPEG quality of a small picture, 1 to 100.
const QUALITY: u8 = 78;

/// The farthest apart that two readings of one picture may be in any cell, in steps of 255 per colour on average.
/// Decoders differ by rounding, under 1, ways of making a picture smaller by up to 3; another picture differs by tens.
const ALIKE: f64 = 6.0;

/// Pixels along the side of a cell that is compared; a few more where the picture does not come out even.
const CELL_PX: u32 = 16;

/// A photo, made smaller.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Small {
    /// As JPEG.
    pub jpeg: Arc<[u8]>,
    /// Pixels across.
    pub width_px: u32,
    /// Pixels down.
    pub height_px: u32,
}

/// Makes a picture of a photo whose longer side has so many pixels, or as many as there are; `None` for HEIC, whose picture
/// is not read.
///
/// # Errors
/// Why the picture can't be read, in words.
pub fn small(bytes: &[u8], longer_px: u32) -> Result<Option<Small>, String> {
    let mut picture = match PhotoSort::of(bytes) {
        Some(PhotoSort::Jpeg) => scaled_jpeg(bytes, longer_px)?,
        Some(PhotoSort::Png) => whole(image::ImageFormat::Png, bytes, longer_px)?,
        Some(PhotoSort::Webp) => whole(image::ImageFormat::WebP, bytes, longer_px)?,
        Some(PhotoSort::Heic) => return Ok(None),
        None => return Err(PhotoError::NoPhoto.to_string()),
    };
    picture.apply_orientation(Orientation::from_exif(camera(bytes).turned).unwrap_or(Orientation::NoTransforms));
    let picture = picture.to_rgb8();
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, QUALITY).encode_image(&picture).map_err(|error| error.to_string())?;
    Ok(Some(Small { jpeg: jpeg.into(), width_px: picture.width(), height_px: picture.height() }))
}

/// The small picture of a JPEG: read at a fraction of its size where its way of coding allows.
fn scaled_jpeg(bytes: &[u8], longer_px: u32) -> Result<DynamicImage, String> {
    let Some(coded) = coded(bytes) else { return Err("it does not say how large its picture is".to_owned()) };
    // What is left to the last step is at least a halving, so that the coarse sums of the blocks are not seen.
    let read_px = 2 * longer_px;
    let share = room(coded.size, scaled::memory(&coded, read_px))?;
    match scaled::read(bytes, &coded, u16::try_from(read_px).unwrap_or(u16::MAX))? {
        Some(read) if read.width() == coded.size.width_px => Ok(shrunk(read, longer_px)),
        // Its weights are a polynomial: no sine whose last digit may differ from machine to machine.
        Some(read) => Ok(read.resize(longer_px, longer_px, FilterType::CatmullRom)),
        None => {
            drop(share);
            whole(image::ImageFormat::Jpeg, bytes, longer_px)
        }
    }
}

/// The small picture of one that is read whole.
fn whole(format: image::ImageFormat, bytes: &[u8], longer_px: u32) -> Result<DynamicImage, String> {
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format);
    let mut limits = Limits::default();
    limits.max_alloc = Some(MOST_PICTURE_MEMORY);
    reader.limits(limits);
    let decoder = reader.into_decoder().map_err(|error| error.to_string())?;
    let (width_px, height_px) = decoder.dimensions();
    // What readers hold beside the picture that they give: nothing for PNG, as much again for WebP, and up to twice that
    // much for the coefficients of a JPEG.
    let times = match format {
        image::ImageFormat::Png => 1,
        image::ImageFormat::WebP => 2,
        _ => 3,
    };
    let _share = room(Size { width_px, height_px }, decoder.total_bytes().saturating_mul(times))?;
    DynamicImage::from_decoder(decoder).map(|read| shrunk(read, longer_px)).map_err(|error| error.to_string())
}

/// A picture that was read whole, made small: a small one stays as it is.
fn shrunk(picture: DynamicImage, longer_px: u32) -> DynamicImage {
    let is_large = picture.width().max(picture.height()) > longer_px;
    if is_large { picture.thumbnail(longer_px, longer_px) } else { picture }
}

/// Waits for room in memory for a picture.
fn room(size: Size, bytes: u64) -> Result<Share<'static>, String> {
    if bytes > MOST_PICTURE_MEMORY {
        return Err(format!(
            "{} × {} pixels need {} MB of memory; the limit is {} MB",
            size.width_px,
            size.height_px,
            bytes.div_ceil(1_000_000),
            MOST_PICTURE_MEMORY / 1_000_000
        ));
    }
    Ok(PICTURES.take(bytes))
}

/// Whether a small picture shows the same as another. Not byte by byte: another machine may round otherwise where
/// it reads the photo, and another way of making it smaller shows edges otherwise. So cells of some sixteen pixels a side
/// are compared, each by the mean of each colour: what is painted over is found, however little it is of the whole.
pub fn alike(jpeg: &[u8], wanted: &Small) -> bool {
    let read = |jpeg: &[u8]| {
        let mut reader = ImageReader::with_format(Cursor::new(jpeg), image::ImageFormat::Jpeg);
        let mut limits = Limits::default();
        (limits.max_image_width, limits.max_image_height) = (Some(LARGE_PX), Some(LARGE_PX));
        reader.limits(limits);
        reader.decode().map(|picture| picture.to_rgb8())
    };
    let (Ok(given), Ok(wanted)) = (read(jpeg), read(&wanted.jpeg)) else { return false };
    given.dimensions() == wanted.dimensions()
        && cells(&given).zip(cells(&wanted)).all(|(a, b)| a.iter().zip(b).all(|(a, b)| (a - b).abs() <= ALIKE))
}

/// The mean of each colour in each cell of a picture.
fn cells(picture: &RgbImage) -> impl Iterator<Item = [f64; 3]> {
    let (width, height) = picture.dimensions();
    let edges = |length: u32| -> Vec<(u32, u32)> {
        let cells = (length / CELL_PX).max(1);
        (0..cells).map(|at| (at * length / cells, (at + 1) * length / cells)).collect()
    };
    let (across, down) = (edges(width), edges(height));
    down.into_iter().flat_map(move |rows| across.clone().into_iter().map(move |columns| (rows, columns))).map(
        move |((top, bottom), (left, right))| {
            let mut sums = [0_u32; 3];
            for y in top..bottom {
                for x in left..right {
                    let pixel = picture.get_pixel(x, y).0;
                    sums.iter_mut().zip(pixel).for_each(|(sum, value)| *sum += u32::from(value));
                }
            }
            let pixels = f64::from((bottom - top) * (right - left)).max(1.0);
            sums.map(|sum| f64::from(sum) / pixels)
        },
    )
}
