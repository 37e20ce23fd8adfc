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
    let turned = camera(bytes).turned;
    if turned != 1 {
        copy.extend(turning(turned));
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

/// An EXIF segment that says nothing but how the picture is to be turned.
fn turning(turned: u8) -> [u8; 36] {
    let mut segment = *b"\xff\xe1\x00\x22Exif\0\0MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\0\0\0\0\0\0\0";
    segment[29] = turned;
    segment
}

/// Keeps what the picture is made of and how its colours are meant.
fn strip_png(bytes: &[u8]) -> Option<Vec<u8>> {
    const KEPT: [&[u8; 4]; 16] = [
        b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"cHRM", b"gAMA", b"iCCP", b"sBIT", b"sRGB", b"cICP", b"pHYs",
        b"bKGD", b"acTL", b"fcTL", b"fdAT",
    ];
    let mut copy = bytes.get(..8)?.to_vec();
    for (name, range) in png_chunks(bytes).ok()? {
        if KEPT.contains(&&name) {
            copy.extend_from_slice(bytes.get(range)?);
        }
    }
    Some(copy)
}

fn strip_webp(bytes: &[u8]) -> Option<Vec<u8>> {
    const KEPT: [&[u8; 4]; 7] = [b"VP8X", b"VP8 ", b"VP8L", b"ALPH", b"ANIM", b"ANMF", b"ICCP"];
    let mut copy = b"RIFF\0\0\0\0WEBP".to_vec();
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
            // The flags for EXIF (0x08) and XMP (0x04): neither is there any more.
            *copy.get_mut(begins)? &= !0x0c;
        }
        if content.len() % 2 == 1 {
            copy.push(0);
        }
    }
    let size = u32::try_from(copy.len() - 8).ok()?;
    copy.get_mut(4..8)?.copy_from_slice(&size.to_le_bytes());
    Some(copy)
}
