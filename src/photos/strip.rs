//! A copy of a photo without its place. The picture's own data is carried over byte by byte; everything that a
//! camera or a program may have written beside it is left out, since a place can hide in any of that. How the
//! picture is to be turned is put back.

use super::camera::camera;
use super::container::{jpeg, png_chunks, webp_chunks};
use super::format::PhotoSort;

/// A copy without its place; `None` where that can't be done without changing the picture (HEIC, or a file that
/// is not as its format has it).
pub fn stripped(bytes: &[u8]) -> Option<Vec<u8>> {
    match PhotoSort::of(bytes)? {
        PhotoSort::Jpeg => strip_jpeg(bytes),
        PhotoSort::Png => strip_png(bytes),
        PhotoSort::Webp => strip_webp(bytes),
        PhotoSort::Heic => None,
    }
}

/// Keeps JFIF, the colour profile, the mark of how colours are coded, and the picture up to its end.
fn strip_jpeg(bytes: &[u8]) -> Option<Vec<u8>> {
    let parts = jpeg(bytes).ok()?;
    let mut copy = vec![0xff, 0xd8];
    if let Some(exif) = turning(bytes) {
        copy.extend(b"\xff\xe1\x00\x22Exif\0\0");
        copy.extend(exif);
    }
    for (mark, range) in parts.segments {
        let part = bytes.get(range)?;
        let kept = match mark {
            0xe0 => part.get(4..9) == Some(b"JFIF\0"),
            0xe2 => part.get(4..16) == Some(b"ICC_PROFILE\0"),
            0xee => part.get(4..9) == Some(b"Adobe"),
            0xe1..=0xef | 0xfe => false,
            _ => true,
        };
        if kept {
            copy.extend_from_slice(part);
        }
    }
    Some(copy)
}

/// EXIF that says nothing but how the picture is to be turned (TIFF 6.0 section 2: one directory of one field); nothing
/// for a picture that lies as it was held.
fn turning(bytes: &[u8]) -> Option<[u8; 26]> {
    let turned = camera(bytes).turned;
    let mut exif = *b"MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\0\0\0\0\0\0\0";
    exif[19] = turned;
    (turned != 1).then_some(exif)
}

/// Keeps what the picture is made of and how its colours are meant.
fn strip_png(bytes: &[u8]) -> Option<Vec<u8>> {
    const KEPT: [&[u8; 4]; 16] = [
        b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"cHRM", b"gAMA", b"iCCP", b"sBIT", b"sRGB", b"cICP", b"pHYs",
        b"bKGD", b"acTL", b"fcTL", b"fdAT",
    ];
    let mut copy = bytes.get(..8)?.to_vec();
    let mut turning = turning(bytes);
    for (name, range) in png_chunks(bytes).ok()? {
        // Before the picture, as PNG (third edition) 11.3.3.4 has it.
        if &name == b"IDAT"
            && let Some(exif) = turning.take()
        {
            let chunk = [b"eXIf", &exif[..]].concat();
            copy.extend(26_u32.to_be_bytes());
            copy.extend(&chunk);
            copy.extend(crc32fast::hash(&chunk).to_be_bytes());
        }
        if KEPT.contains(&&name) {
            copy.extend_from_slice(bytes.get(range)?);
        }
    }
    Some(copy)
}

fn strip_webp(bytes: &[u8]) -> Option<Vec<u8>> {
    const KEPT: [&[u8; 4]; 7] = [b"VP8X", b"VP8 ", b"VP8L", b"ALPH", b"ANIM", b"ANMF", b"ICCP"];
    let mut copy = b"RIFF\0\0\0\0WEBP".to_vec();
    let turning = turning(bytes);
    for (name, range) in webp_chunks(bytes).ok()? {
        if !KEPT.contains(&&name) {
            continue;
        }
        let content = bytes.get(range)?;
        copy.extend_from_slice(&name);
        copy.extend_from_slice(&u32::try_from(content.len()).ok()?.to_le_bytes());
        let begins = copy.len();
        copy.extend_from_slice(content);
        if &name == b"VP8X" {
            // The flags for EXIF (0x08), which stays where the picture is to be turned, and XMP (0x04), which does not.
            *copy.get_mut(begins)? &= if turning.is_some() { !0x04 } else { !0x0c };
        }
        if content.len() % 2 == 1 {
            copy.push(0);
        }
    }
    if let Some(exif) = turning {
        copy.extend(b"EXIF");
        copy.extend(26_u32.to_le_bytes());
        copy.extend(exif);
    }
    let size = u32::try_from(copy.len() - 8).ok()?;
    copy.get_mut(4..8)?.copy_from_slice(&size.to_le_bytes());
    Some(copy)
}
