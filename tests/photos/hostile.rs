//! Files that are cut short, and notes of the camera that lie or explode.

use chrono_tz::Pacific::Auckland;
use chrono_tz::Tz;
use cladlog::photos::{Camera, camera, look, small};
use image::{ImageFormat, Rgb, RgbImage};

use crate::harness::pictures::{Notes, encoded, photo};
use crate::photos::files::heic;
use crate::rules::site;

/// A field of a TIFF directory, big-endian: tag, type, count, value or offset.
type Field = (u16, u16, u32, u32);

const ASCII: u16 = 2;
const SHORT: u16 = 3;
const LONG: u16 = 4;
const RATIONAL: u16 = 5;

const EXIF: u16 = 0x8769;
const GPS: u16 = 0x8825;
const TAKEN: u16 = 0x9003;
const ORIENTATION: u16 = 0x0112;

/// A photo whose notes are directories at the places given, the first at 8, and text or numbers behind them.
fn with_notes(directories: &[(usize, &[Field], u32)], data: &[(usize, &[u8])]) -> Vec<u8> {
    let mut tiff = b"MM\0\x2a\0\0\0\x08".to_vec();
    let mut put = |at: usize, bytes: &[u8]| {
        tiff.resize(tiff.len().max(at + bytes.len()), 0);
        tiff[at..at + bytes.len()].copy_from_slice(bytes);
    };
    for (at, fields, next) in directories {
        let mut bytes = u16::try_from(fields.len()).unwrap().to_be_bytes().to_vec();
        for (tag, kind, count, value) in *fields {
            bytes.extend(tag.to_be_bytes());
            bytes.extend(kind.to_be_bytes());
            bytes.extend(count.to_be_bytes());
            bytes.extend(value.to_be_bytes());
        }
        bytes.extend(next.to_be_bytes());
        put(*at, &bytes);
    }
    data.iter().for_each(|(at, bytes)| put(*at, bytes));
    let mut bytes = photo(7, None);
    let mut segment = vec![0xff, 0xe1];
    segment.extend(u16::try_from(tiff.len() + 8).unwrap().to_be_bytes());
    segment.extend(b"Exif\0\0");
    segment.extend(tiff);
    bytes.splice(2..2, segment);
    bytes
}

fn rationals(parts: &[(u32, u32)]) -> Vec<u8> {
    parts.iter().flat_map(|(num, denom)| [num.to_be_bytes(), denom.to_be_bytes()].concat()).collect()
}

/// Latitude and longitude as given, in degrees, minutes and seconds.
fn placed(lat: &[(u32, u32)], lon: &[(u32, u32)]) -> Vec<u8> {
    let fields = [
        (1, ASCII, 2, u32::from_be_bytes(*b"S\0\0\0")),
        (2, RATIONAL, u32::try_from(lat.len()).unwrap(), 200),
        (3, ASCII, 2, u32::from_be_bytes(*b"E\0\0\0")),
        (4, RATIONAL, u32::try_from(lon.len()).unwrap(), 300),
    ];
    with_notes(&[(8, &[(GPS, LONG, 1, 50)], 0), (50, &fields, 0)], &[(200, &rationals(lat)), (300, &rationals(lon))])
}

#[test]
fn a_place_that_is_none_is_left_out() {
    let right = camera(&placed(&[(41, 1), (17, 1), (20, 1)], &[(174, 1), (46, 1), (31, 1)]));
    assert_eq!(right.place.map(|place| place.to_string()).as_deref(), Some("41.28889° S 174.77528° E"));
    let east = [(174, 1), (46, 1), (31, 1)];
    for lat in [
        &[(91, 1), (0, 1), (0, 1)][..],          // beyond the pole
        &[(90, 1), (0, 1), (1, 1)],              // by a second
        &[(41, 1), (75, 1), (0, 1)],             // more minutes than there are
        &[(41, 1), (0, 1), (4_000_000_000, 1)],  // more seconds than there are
        &[(41, 0), (17, 1), (20, 1)],            // divided by nothing
        &[(0, 0), (0, 0), (0, 0)],               // what a phone without a fix writes
        &[(u32::MAX, 1), (u32::MAX, 1), (0, 1)], //
        &[(41, 1)],                              // minutes and seconds missing
        &[],                                     // nothing at all
    ] {
        assert_eq!(camera(&placed(lat, &east)).place, None, "{lat:?}");
    }
}

#[test]
fn notes_that_explode_are_left_out_and_the_photo_is_taken() {
    let loops = [
        // A directory that is its own next one, its own subdirectory, and two that follow one another.
        with_notes(&[(8, &[(ORIENTATION, SHORT, 1, 6 << 16)], 8)], &[]),
        with_notes(&[(8, &[(EXIF, LONG, 1, 8), (GPS, LONG, 1, 8)], 0)], &[]),
        with_notes(&[(8, &[(EXIF, LONG, 1, 60)], 60), (60, &[(EXIF, LONG, 1, 8)], 8)], &[]),
    ];
    let offsets = [
        // Values, subdirectories and directories past the end, at the very end, and beyond four gigabytes.
        with_notes(&[(8, &[(EXIF, LONG, 1, 40)], 0), (40, &[(TAKEN, ASCII, 20, 0xffff_fff0)], 0)], &[]),
        with_notes(&[(8, &[(EXIF, LONG, 1, 0xffff_ffff)], 0)], &[]),
        with_notes(&[(8, &[(GPS, LONG, 1, 26)], 0xffff_fffe)], &[]),
        with_notes(&[(8, &[(EXIF, LONG, 1, 40)], 0), (40, &[(TAKEN, ASCII, 20, 57)], 0)], &[]),
    ];
    let counts = [
        // Four thousand million letters, numbers, fractions.
        with_notes(&[(8, &[(EXIF, LONG, 1, 40)], 0), (40, &[(TAKEN, ASCII, u32::MAX, 60)], 0)], &[]),
        with_notes(&[(8, &[(ORIENTATION, SHORT, u32::MAX, 26)], 0)], &[]),
        with_notes(&[(8, &[(GPS, LONG, 1, 40)], 0), (40, &[(2, RATIONAL, 0x2000_0001, 60)], 0)], &[]),
        // A directory of 65,535 fields of which there is one.
        with_notes(&[(8, &[(ORIENTATION, SHORT, 1, 6 << 16)], 0)], &[(8, &[0xff, 0xff])]),
        // Types that there are none of; a subdirectory that is a word.
        with_notes(&[(8, &[(ORIENTATION, 99, 1, 6), (ORIENTATION, 0, 1, 6), (EXIF, ASCII, 4, 0x41_41_41_41)], 0)], &[]),
    ];
    for (nth, bytes) in loops.iter().chain(&offsets).chain(&counts).enumerate() {
        let read = camera(bytes);
        assert_eq!((read.taken, read.place, read.direction), (None, None, None), "{nth}");
        assert!((1..=8).contains(&read.turned), "{nth}");
        let facts = look(bytes, Tz::UTC).unwrap();
        assert_eq!(facts.taken_at, None, "{nth}");
        assert!(small(bytes, cladlog::photos::SMALL_PX).unwrap().is_some(), "{nth}");
    }
    // As many fields as a segment holds, each of them the same: no notes, and no time lost over them.
    let many: Vec<Field> = vec![(TAKEN, SHORT, 1, 0); 5400];
    assert_eq!(camera(&with_notes(&[(8, &many, 0)], &[])), Camera { turned: 1, ..Camera::default() });
    // Orientations that there are none of.
    for turned in [0_u32, 9, 65_535] {
        assert_eq!(camera(&with_notes(&[(8, &[(ORIENTATION, SHORT, 1, turned << 16)], 0)], &[])).turned, 1);
    }
}

#[test]
fn a_time_that_is_none_is_left_out_and_one_to_come_is_flagged() {
    let at = |taken, offset| {
        let notes = Notes { taken: Some(taken), offset: Some(offset), ..Notes::default() };
        look(&photo(1, Some(&notes)), Auckland).unwrap()
    };
    for taken in ["2026:02:30 10:00:00", "2026:03:02 24:00:01", "99999:01:01 00:00:00", "", "2026-03-02T10:00:00Z"] {
        assert_eq!(at(taken, "+13:00").taken_at, None, "{taken}");
    }
    // An offset that is none counts as not given: the site's clocks are taken.
    for offset in ["+25:00", "13:00", "+13:60", "+-1:00", "+13", "Z", "   :  ", "+1e:00", "\u{202e}+13:00"] {
        let facts = at("2026:03:02 10:00:00", offset);
        let taken = facts.taken_at.unwrap().to_string();
        assert_eq!((taken.as_str(), facts.site_offset), ("2026-03-02T10:00:00+13:00", true), "{offset}");
    }
    let site = site::open("2026-03-02T10:40:00+13:00");
    let to_come = Notes::taken("2036:03:02 10:40:00");
    std::fs::write(site.path("later.jpg"), photo(1, Some(&to_come))).unwrap();
    let told = site.ok(["photo", "add", "later.jpg", "--on", "N"]);
    assert_eq!(told["warnings"].as_array().unwrap().len(), 1, "{told}");
}

#[test]
fn each_sort_cut_short_is_one_message_and_nothing_is_written() {
    let site = site::open("2026-03-02T10:40:00+13:00");
    let picture = RgbImage::from_fn(300, 200, |x, y| Rgb([(x * y) as u8, y as u8, 90]));
    let png = encoded(&picture, ImageFormat::Png);
    let webp = encoded(&picture, ImageFormat::WebP);
    let real = include_bytes!("fixtures/wall.heic");
    // What is left of each file, with the end that its format asks for put back where there is one.
    let mut patched_png = png[..png.len() / 2].to_vec();
    let length = u32::try_from(patched_png.len() - 41).unwrap();
    patched_png[33..37].copy_from_slice(&length.to_be_bytes());
    patched_png.extend(b"\0\0\0\0\0\0\0\0IEND\xae\x42\x60\x82");
    let mut patched_webp = webp[..webp.len() / 4 * 2].to_vec();
    let length = u32::try_from(patched_webp.len()).unwrap();
    patched_webp[4..8].copy_from_slice(&(length - 8).to_le_bytes());
    patched_webp[16..20].copy_from_slice(&(length - 20).to_le_bytes());
    for (name, bytes) in [
        ("a.jpg", &photo(1, None)[..400]),
        ("b.png", &png[..png.len() - 20]),
        ("c.png", &patched_png[..]),
        ("d.webp", &webp[..webp.len() - 2]),
        ("e.webp", &patched_webp[..]),
        ("f.heic", &real[..real.len() - 1]),
        ("g.heic", &heic()[..36]),
        ("h.jpg", b"\xff\xd8\xff\xd9"),
        ("i.jpg", b"\xff\xd8\xff"),
    ] {
        std::fs::write(site.path(name), bytes).unwrap();
        let said = site.bad(["photo", "add", name, "--on", "N"]);
        assert_eq!(said.matches(name).count(), 1, "one message: {said}");
        assert!(!site.path("job.db.photos").exists());
    }
}
