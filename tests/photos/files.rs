//! The files themselves: sorts, wholeness, the camera's notes, small pictures, copies without a place.

use std::sync::atomic::{AtomicU64, Ordering};

use chrono_tz::Pacific::Auckland;
use chrono_tz::Tz;
use cladlog::photos::{
    Direction, LARGE_PX, PhotoError, PhotoSort, Place, Room, SMALL_PX, alike, camera, each, look, small, stripped,
};
use image::{ImageFormat, Rgb, RgbImage};
use proptest::prelude::*;

use crate::harness::pictures::{Notes, encoded, jpeg, photo};

fn picture() -> RgbImage {
    RgbImage::from_fn(120, 80, |x, y| Rgb([x as u8 * 2, y as u8 * 3, 90]))
}

/// The parts that a HEIC file begins with, and no picture that anybody could read.
pub(super) fn heic() -> Vec<u8> {
    b"\0\0\0\x18ftypheic\0\0\0\0mif1heic\0\0\0\x0cmeta\0\0\0\0\0\0\0\x0cmdatabcd".to_vec()
}

fn notes() -> Notes {
    Notes {
        place: Some((-43.532_05, 172.636_22)),
        looking: Some(181.5),
        turned: Some(6),
        ..Notes::taken("2026:03:02 10:40:00")
    }
}

#[test]
fn a_photo_is_known_by_what_is_in_it() {
    let all = [
        (photo(1, None), PhotoSort::Jpeg),
        (encoded(&picture(), ImageFormat::Png), PhotoSort::Png),
        (encoded(&picture(), ImageFormat::WebP), PhotoSort::Webp),
    ];
    for (bytes, sort) in &all {
        let facts = look(bytes, Tz::UTC).unwrap();
        assert_eq!((facts.format, facts.bytes), (*sort, bytes.len() as u64));
        assert!(facts.width_px.is_some() && facts.height_px.is_some() && facts.taken_at.is_none());
    }
    let facts = look(&heic(), Tz::UTC).unwrap();
    assert_eq!((facts.format, facts.width_px), (PhotoSort::Heic, None));
    assert_eq!(small(&heic(), SMALL_PX), Ok(None), "the picture of HEIC is not read");
    assert_eq!(look(b"", Tz::UTC), Err(PhotoError::Empty));
    let no_photo = "is not a photo; use JPEG, PNG, WebP or HEIC";
    assert_eq!(look(b"a text file called wall.jpg", Tz::UTC).unwrap_err().to_string(), no_photo);
}

#[test]
fn a_photo_cut_short_anywhere_is_refused() {
    let whole = [
        photo(1, Some(&notes())),
        encoded(&picture(), ImageFormat::Png),
        encoded(&picture(), ImageFormat::WebP),
        heic(),
    ];
    for bytes in whole {
        assert!(look(&bytes, Tz::UTC).is_ok());
        for end in 0..bytes.len() {
            assert!(look(&bytes[..end], Tz::UTC).is_err(), "cut at {end} of {}", bytes.len());
        }
    }
}

#[test]
fn a_picture_that_would_fill_the_memory_is_refused_unread() {
    // A PNG whose header claims 60,000 by 60,000 pixels.
    let mut bomb = encoded(&picture(), ImageFormat::Png);
    bomb[16..20].copy_from_slice(&60_000_u32.to_be_bytes());
    bomb[20..24].copy_from_slice(&60_000_u32.to_be_bytes());
    let error = look(&bomb, Tz::UTC).unwrap_err();
    assert_eq!(error.to_string(), "has too many pixels (60000 × 60000): at most 220 million");
}

#[test]
fn the_camera_tells_when_where_and_which_way() {
    let read = camera(&photo(1, Some(&notes())));
    assert_eq!(read.place, Some(Place { lat_deg: -43.532_05, lon_deg: 172.636_22 }));
    assert_eq!(read.place.unwrap().to_string(), "43.53205° S 172.63622° E");
    assert_eq!(read.direction, Some(Direction { deg: 181.5, magnetic: false }));
    assert_eq!(read.turned, 6);
    let facts = look(&photo(1, Some(&notes())), Auckland).unwrap();
    assert_eq!(facts.taken_at.unwrap().to_string(), "2026-03-02T10:40:00+13:00");
    assert!(!facts.site_offset);
    // Without an offset the site's clocks count; an hour that summer time skips is no time.
    let plain = Notes { taken: Some("2026:07:02 10:40:00"), ..Notes::default() };
    let facts = look(&photo(1, Some(&plain)), Auckland).unwrap();
    assert_eq!((facts.taken_at.unwrap().to_string().as_str(), facts.site_offset), ("2026-07-02T10:40:00+12:00", true));
    let skipped = Notes { taken: Some("2026:09:27 02:30:00"), ..Notes::default() };
    assert_eq!(look(&photo(1, Some(&skipped)), Auckland).unwrap().taken_at, None);
    // Notes that lie are left out, and the photo is taken.
    for taken in ["0000:00:00 00:00:00", "2026:13:45 99:99:99", "yesterday"] {
        let notes = Notes { taken: Some(taken), offset: Some("+99:99"), ..Notes::default() };
        assert_eq!(look(&photo(1, Some(&notes)), Auckland).unwrap().taken_at, None, "{taken}");
    }
    let nowhere = Notes { place: Some((95.0, 200.0)), looking: Some(720.0), ..Notes::default() };
    let read = camera(&photo(1, Some(&nowhere)));
    assert_eq!((read.place, read.direction), (None, None));
}

#[test]
fn a_small_picture_is_turned_as_the_camera_was_held() {
    let wide = RgbImage::from_fn(1200, 800, |x, _| if x < 600 { Rgb([200, 0, 0]) } else { Rgb([0, 0, 200]) });
    let upright = small(&jpeg(&wide, 80, None), SMALL_PX).unwrap().unwrap();
    assert_eq!((upright.width_px, upright.height_px), (400, 267));
    let turned = small(&jpeg(&wide, 80, Some(&notes())), SMALL_PX).unwrap().unwrap();
    assert_eq!((turned.width_px, turned.height_px), (267, 400));
    // Turned by a quarter to the right, what was left is up.
    let seen = image::load_from_memory(&turned.jpeg).unwrap().to_rgb8();
    assert!(seen.get_pixel(133, 20)[0] > 150 && seen.get_pixel(133, 380)[2] > 150);
    // Another quality stands for another machine's rounding.
    let again = small(&jpeg(&wide, 95, Some(&notes())), SMALL_PX).unwrap().unwrap();
    assert!(alike(&again.jpeg, &turned) && !alike(&turned.jpeg, &upright));
    let other = RgbImage::from_fn(1200, 800, |x, _| if x < 500 { Rgb([200, 0, 0]) } else { Rgb([0, 0, 200]) });
    assert!(!alike(&upright.jpeg, &small(&jpeg(&other, 80, None), SMALL_PX).unwrap().unwrap()));
}

/// A picture with detail down to single pixels, by a fixed sum.
fn detailed(width: u32, height: u32) -> RgbImage {
    RgbImage::from_fn(width, height, |x, y| {
        let grain = (x.wrapping_mul(2_654_435_761) ^ y.wrapping_mul(40_503)).wrapping_mul(2_246_822_519) >> 27;
        let large = ((x / 40 + y / 30) % 5) * 40;
        Rgb([(large + grain) as u8, (x * 200 / width + grain) as u8, (y * 200 / height + grain) as u8])
    })
}

#[test]
fn a_jpeg_read_at_a_fraction_of_its_size_shows_the_same_as_one_read_whole() {
    // Halves, quarters and eighths; sides that are no multiple of eight; as it is; and one long and low.
    for (width, height) in [(1801, 1203), (1203, 1801), (6500, 601), (801, 640), (401, 300)] {
        let bytes = jpeg(&detailed(width, height), 90, None);
        let made = small(&bytes, SMALL_PX).unwrap().unwrap();
        assert_eq!(made.width_px.max(made.height_px), 400, "{width} × {height}");
        // How small pictures were made before, and still are of PNG and WebP.
        let whole = image::load_from_memory(&bytes).unwrap().thumbnail(400, 400).to_rgb8();
        assert_eq!((made.width_px, made.height_px), whole.dimensions());
        let before = jpeg(&whole, 78, None);
        assert!(alike(&before, &made), "{width} × {height}: a pack made before has to hold still");
        assert_eq!(small(&bytes, SMALL_PX).unwrap().unwrap(), made, "the same on every run");
        // A spot of twelve pixels painted over is found.
        let mut painted = whole.clone();
        let (x, y) = (painted.width() / 2, painted.height() / 2);
        (0..144).for_each(|at| painted.put_pixel(x + at % 12, y - 6 + at / 12, Rgb([255, 0, 0])));
        assert!(!alike(&jpeg(&painted, 78, None), &made), "{width} × {height}: painted over");
    }
}

#[test]
fn a_large_picture_is_made_like_a_small_one() {
    for (width, height, wanted) in [(4000, 3000, (1600, 1200)), (1700, 900, (1600, 847)), (900, 700, (900, 700))] {
        let made = small(&jpeg(&detailed(width, height), 90, None), LARGE_PX).unwrap().unwrap();
        assert_eq!((made.width_px, made.height_px), wanted);
        assert!(alike(&made.jpeg, &made));
    }
}

#[test]
fn a_grey_jpeg_and_a_tiny_one_are_read_too() {
    let grey = image::GrayImage::from_fn(1700, 900, |x, y| image::Luma([(x / 9 + y / 20) as u8]));
    let mut bytes = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 90).encode_image(&grey).unwrap();
    let made = small(&bytes, SMALL_PX).unwrap().unwrap();
    let seen = image::load_from_memory(&made.jpeg).unwrap().to_rgb8();
    assert_eq!(seen.dimensions(), (400, 212));
    let [r, g, b] = seen.get_pixel(200, 106).0;
    let wanted = (850 / 9 + 450 / 20) as u8;
    assert!(r.abs_diff(wanted) < 4 && g == r && b == r, "{r} {g} {b}, {wanted} wanted");
    let one = small(&jpeg(&RgbImage::new(1, 1), 90, None), SMALL_PX).unwrap().unwrap();
    assert_eq!((one.width_px, one.height_px), (1, 1));
}

#[test]
fn a_picture_that_takes_too_much_memory_is_refused_by_what_it_takes() {
    // A PNG of nothing but black: small as a file, 300 MB when it is read.
    let mut header = encoded(&picture(), ImageFormat::Png)[..33].to_vec();
    header[16..20].copy_from_slice(&10_000_u32.to_be_bytes());
    header[20..24].copy_from_slice(&10_000_u32.to_be_bytes());
    let mut sum = flate2::Crc::new();
    sum.update(&header[12..29]);
    header[29..33].copy_from_slice(&sum.sum().to_be_bytes());
    header.extend(b"\0\0\0\0IDAT\x35\xaf\x06\x1e\0\0\0\0IEND\xae\x42\x60\x82");
    assert!(look(&header, Tz::UTC).is_ok());
    let why = small(&header, SMALL_PX).unwrap_err();
    assert_eq!(why, "10000 × 10000 pixels need 300 MB of memory; the limit is 260 MB");
}

#[test]
fn memory_is_shared_out_and_given_back() {
    let room = Room::of(10);
    let (running, most) = (AtomicU64::new(0), AtomicU64::new(0));
    let sizes: Vec<u64> = (0..40).map(|at| 1 + at * 7 % 13).collect();
    let work = |size: &u64| {
        let _share = room.take(*size);
        // More than there is counts as all of it, and is had alone.
        let size = (*size).min(10);
        most.fetch_max(running.fetch_add(size, Ordering::SeqCst) + size, Ordering::SeqCst);
        std::thread::yield_now();
        running.fetch_sub(size, Ordering::SeqCst);
        size
    };
    let done = each(&sizes, work, &mut |_| ());
    assert_eq!(done.len(), sizes.len());
    assert!(most.load(Ordering::SeqCst) <= 10);
}

#[test]
fn a_copy_without_its_place_has_the_same_picture() {
    let mut with_more = photo(3, Some(&notes()));
    // A second block of notes, and what some phones put behind the end of the picture.
    with_more.splice(2..2, *b"\xff\xe1\x00\x20http://ns.adobe.com/xap/1.0GPS");
    with_more.extend(b"MotionPhoto GPSLatitude");
    let copy = stripped(&with_more).unwrap();
    let read = camera(&copy);
    assert_eq!((read.place, read.direction, read.taken, read.turned), (None, None, None, 6));
    assert!(!copy.windows(3).any(|at| at == b"GPS"));
    let pixels = |bytes: &[u8]| image::load_from_memory(bytes).unwrap().to_rgb8();
    assert!(pixels(&copy) == pixels(&with_more));
    assert_eq!(stripped(&copy).as_ref(), Some(&copy), "there is nothing more to take out");

    let mut png = encoded(&picture(), ImageFormat::Png);
    // A text chunk behind the header; nobody reads its check sum here.
    png.splice(33..33, *b"\0\0\0\x0btEXtcomment\0GPSabcd");
    let copy = stripped(&png).unwrap();
    assert!(!copy.windows(3).any(|at| at == b"GPS") && pixels(&copy) == picture());
    assert_eq!(stripped(&copy).as_ref(), Some(&copy));

    let plain = encoded(&picture(), ImageFormat::WebP);
    let mut webp = plain.clone();
    webp.extend(b"EXIF\x04\0\0\0GPS!");
    let size = u32::try_from(webp.len() - 8).unwrap();
    webp[4..8].copy_from_slice(&size.to_le_bytes());
    let copy = stripped(&webp).unwrap();
    assert!(!copy.windows(3).any(|at| at == b"GPS") && pixels(&copy) == pixels(&plain));
    assert_eq!(stripped(&heic()), None, "HEIC can't be copied without its place");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    /// Whatever a file holds, it is looked over without harm.
    #[test]
    fn no_damage_to_a_photo_does_harm(sort in 0_usize..4, at in any::<prop::sample::Index>(), put in any::<[u8; 4]>()) {
        let mut bytes = match sort {
            0 => photo(5, Some(&notes())),
            1 => encoded(&picture(), ImageFormat::Png),
            2 => encoded(&picture(), ImageFormat::WebP),
            _ => heic(),
        };
        // Mostly in the first bytes, where the lengths and the notes are.
        let at = at.index(bytes.len().min(260) - 4);
        bytes[at..at + 4].copy_from_slice(&put);
        let _ = camera(&bytes);
        if look(&bytes, Tz::UTC).is_ok() {
            let _ = small(&bytes, SMALL_PX);
        }
        if let Some(copy) = stripped(&bytes) {
            prop_assert_eq!(camera(&copy).place, None);
        }
    }
}
