//! What photo files are made of: whether one is whole, and the parts it consists of, by the marks and lengths that its
//! format sets down.
//!
//! Sources: ITU-T T.81 annex B (JPEG markers), W3C PNG 5.2 to 5.5, RFC 9649 section 2 (WebP), ISO/IEC 14496-12
//! section 4.2 (boxes of HEIC).

use std::io::Cursor;

use image::{ImageFormat, ImageReader};

use super::format::{MOST_PIXELS, PhotoError, PhotoSort};

/// Pixels of a picture, as stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Size {
    /// Across.
    pub width_px: u32,
    /// Down.
    pub height_px: u32,
}

/// Whether a file is whole; its size in pixels, where its format says that plainly.
///
/// # Errors
/// [`PhotoError::Damaged`], [`PhotoError::TooManyPixels`].
pub(super) fn whole(sort: PhotoSort, bytes: &[u8]) -> Result<Option<Size>, PhotoError> {
    let damaged = |why: &str| PhotoError::Damaged(sort, why.to_owned());
    let size = match sort {
        PhotoSort::Jpeg => jpeg(bytes).map_err(damaged)?.coded.map(|coded| coded.size),
        PhotoSort::Png => {
            let chunks = png_chunks(bytes).map_err(damaged)?;
            pictured(&chunks, &[b"IDAT"]).map_err(damaged)?;
            let head = chunks.first().filter(|(name, range)| name == b"IHDR" && range.len() == 25);
            let size = |at: usize| Some(Size { width_px: be32(bytes, at)?, height_px: be32(bytes, at + 4)? });
            head.and_then(|(_, range)| size(range.start + 8))
        }
        PhotoSort::Webp => {
            let chunks = webp_chunks(bytes).map_err(damaged)?;
            pictured(&chunks, &[b"VP8 ", b"VP8L", b"ANMF"]).map_err(damaged)?;
            let head = ImageReader::with_format(Cursor::new(bytes), ImageFormat::WebP);
            head.into_dimensions().ok().map(|(width_px, height_px)| Size { width_px, height_px })
        }
        PhotoSort::Heic => {
            boxes(bytes).map_err(damaged)?;
            return Ok(None);
        }
    };
    let size = size.ok_or_else(|| damaged("it does not say how large its picture is"))?;
    let (width, height) = (size.width_px, size.height_px);
    if width == 0 || height == 0 {
        return Err(damaged("its picture has no size"));
    }
    if u64::from(width) * u64::from(height) > MOST_PIXELS {
        return Err(PhotoError::TooManyPixels { width, height });
    }
    Ok(Some(size))
}

/// What a JPEG is made of: segments in order, and where its picture ends.
pub(super) struct Jpeg {
    /// Marker, and the bytes from its 0xff to the end of its segment; the picture data after a scan belongs to it.
    pub segments: Vec<(u8, std::ops::Range<usize>)>,
    /// How its picture is coded.
    pub coded: Option<Coded>,
}

/// How the picture of a JPEG is coded, by the head of its frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Coded {
    /// Pixels.
    pub size: Size,
    /// In many scans, each adding to the one before.
    pub progressive: bool,
    /// Samples in a hundred pixels: 300 of full colour, 150 where colour is kept of every fourth pixel only.
    pub samples_in_100: u32,
}

impl Coded {
    /// From a segment that is the head of a frame.
    fn of(mark: u8, content: &[u8]) -> Option<Self> {
        let is_frame = matches!(mark, 0xc0..=0xcf) && !matches!(mark, 0xc4 | 0xc8 | 0xcc);
        let [_, h1, h2, w1, w2, count, components @ ..] = content else { return None };
        if !is_frame {
            return None;
        }
        let pair = |a: u8, b: u8| u32::from(u16::from_be_bytes([a, b]));
        // Across and down, of each component; anything else than 1 to 4 is no factor.
        let factors = components.chunks_exact(3).take(usize::from(*count));
        let factors: Vec<(u32, u32)> =
            factors.map(|part| (u32::from(part[1] >> 4).clamp(1, 4), u32::from(part[1] & 15).clamp(1, 4))).collect();
        let across = factors.iter().map(|(across, _)| *across).max().unwrap_or(1);
        let down = factors.iter().map(|(_, down)| *down).max().unwrap_or(1);
        let samples: u32 = factors.iter().map(|(across, down)| across * down).sum();
        Some(Self {
            size: Size { width_px: pair(*w1, *w2), height_px: pair(*h1, *h2) },
            progressive: matches!(mark, 0xc2 | 0xc6 | 0xca | 0xce),
            samples_in_100: (100 * samples).div_ceil(across * down),
        })
    }
}

/// How the picture of a JPEG is coded, without looking any further than the head of its frame.
pub(super) fn coded(bytes: &[u8]) -> Option<Coded> {
    let mut at = 2;
    loop {
        at += bytes.get(at..)?.iter().position(|byte| *byte != 0xff)?;
        let (mark, length) = (*bytes.get(at)?, bytes.get(at + 1..at + 3)?);
        let to = at + 1 + usize::from(u16::from_be_bytes([length[0], length[1]])).max(2);
        match Coded::of(mark, bytes.get(at + 3..to)?) {
            Some(coded) => return Some(coded),
            None if mark == 0xda => return None,
            None => at = to,
        }
    }
}

/// Takes a JPEG apart.
pub(super) fn jpeg(bytes: &[u8]) -> Result<Jpeg, &'static str> {
    const CUT: &str = "it is cut short";
    let mut at = 2;
    let mut found = Jpeg { segments: Vec::new(), coded: None };
    loop {
        let from = at;
        if *bytes.get(at).ok_or(CUT)? != 0xff {
            return Err("a marker is missing");
        }
        // Any number of 0xff may stand before a mark.
        while *bytes.get(at).ok_or(CUT)? == 0xff {
            at += 1;
        }
        let mark = bytes[at];
        at += 1;
        match mark {
            0xd9 => {
                found.segments.push((mark, from..at));
                return if found.coded.is_some() { Ok(found) } else { Err("it has no picture") };
            }
            0x01 | 0xd0..=0xd7 => continue,
            0x00 | 0xd8 => return Err("there is a mark where none belongs"),
            _ => {}
        }
        let length = usize::from(u16::from_be_bytes([*bytes.get(at).ok_or(CUT)?, *bytes.get(at + 1).ok_or(CUT)?]));
        let content = bytes.get(at + 2..at + length.max(2)).ok_or(CUT)?;
        at += length.max(2);
        found.coded = found.coded.or_else(|| Coded::of(mark, content));
        if mark == 0xda {
            at = past_scan(bytes, at).ok_or(CUT)?;
        }
        found.segments.push((mark, from..at));
    }
}

/// Where the picture data of a scan ends: at the next mark that is neither stuffing nor a restart.
fn past_scan(bytes: &[u8], mut at: usize) -> Option<usize> {
    loop {
        at += bytes.get(at..)?.iter().position(|byte| *byte == 0xff)?;
        match bytes.get(at + 1)? {
            0x00 | 0xd0..=0xd7 => at += 2,
            0xff => at += 1,
            _ => return Some(at),
        }
    }
}

fn be32(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_be_bytes(bytes.get(at..at.checked_add(4)?)?.try_into().ok()?))
}

fn le32(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_le_bytes(bytes.get(at..at.checked_add(4)?)?.try_into().ok()?))
}

/// The name of a chunk and where it lies.
pub(super) type Chunk = ([u8; 4], std::ops::Range<usize>);

/// The chunks of a PNG, each with its name and all its bytes, to the end of its picture.
pub(super) fn png_chunks(bytes: &[u8]) -> Result<Vec<Chunk>, &'static str> {
    const CUT: &str = "it is cut short";
    let mut at = 8;
    let mut chunks = Vec::new();
    loop {
        let length = be32(bytes, at).ok_or(CUT)? as usize;
        let name: [u8; 4] = bytes.get(at + 4..at + 8).and_then(|name| name.try_into().ok()).ok_or(CUT)?;
        let end = length.checked_add(at + 12).filter(|end| *end <= bytes.len()).ok_or(CUT)?;
        chunks.push((name, at..end));
        at = end;
        if &name == b"IEND" {
            return Ok(chunks);
        }
    }
}

/// The chunks of a WebP, each with its name and its content.
pub(super) fn webp_chunks(bytes: &[u8]) -> Result<Vec<Chunk>, &'static str> {
    const CUT: &str = "it is cut short";
    let end = le32(bytes, 4).and_then(|size| (size as usize).checked_add(8)).ok_or(CUT)?;
    if end > bytes.len() {
        return Err(CUT);
    }
    let mut at = 12;
    let mut chunks = Vec::new();
    while at + 8 <= end {
        let name: [u8; 4] = bytes.get(at..at + 4).and_then(|name| name.try_into().ok()).ok_or(CUT)?;
        let length = le32(bytes, at + 4).ok_or(CUT)? as usize;
        let to = length.checked_add(at + 8).filter(|to| *to <= end).ok_or(CUT)?;
        chunks.push((name, at + 8..to));
        at = to + length % 2;
    }
    Ok(chunks)
}

fn pictured(chunks: &[Chunk], pictures: &[&[u8; 4]]) -> Result<(), &'static str> {
    if chunks.iter().any(|(name, _)| pictures.contains(&name)) { Ok(()) } else { Err("it has no picture") }
}

/// Walks the boxes of a HEIC file.
fn boxes(bytes: &[u8]) -> Result<(), &'static str> {
    const CUT: &str = "it ends in the middle of a box";
    let (mut at, mut meta, mut data) = (0_usize, false, false);
    while at < bytes.len() {
        let short = be32(bytes, at).ok_or(CUT)?;
        let name = bytes.get(at + 4..at + 8).ok_or(CUT)?;
        meta |= name == b"meta";
        data |= name == b"mdat";
        let length = match short {
            0 => bytes.len() - at,
            1 => {
                let long = bytes.get(at + 8..at + 16).and_then(|long| long.try_into().ok()).map(u64::from_be_bytes);
                long.and_then(|long| usize::try_from(long).ok()).filter(|long| *long >= 16).ok_or(CUT)?
            }
            short if short < 8 => return Err("a box of it is shorter than its own name"),
            short => short as usize,
        };
        at = at.checked_add(length).filter(|end| *end <= bytes.len()).ok_or(CUT)?;
    }
    if meta && data { Ok(()) } else { Err("it has no picture") }
}
