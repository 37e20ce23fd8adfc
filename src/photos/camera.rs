//! What the camera wrote into a photo: when, where, which way (EXIF).
//!
//! Tags by CIPA DC-008 (EXIF 2.32). Whatever is not as the standard has it is left out: EXIF is never a reason to
//! refuse a photo.

use chrono::{FixedOffset, NaiveDateTime, TimeZone};
use chrono_tz::Tz;
use exif::{In, Tag, Value};
use serde::Serialize;

use crate::moment::Moment;

/// Cameras write some hundred fields; a file with more than this many is not read.
const MOST_FIELDS: usize = 4096;

/// No clock on earth is as far from UTC as this, seconds.
const FARTHEST_OFFSET_S: i32 = 16 * 3600;

/// What the camera wrote.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Camera {
    /// By the camera's own clock.
    pub taken: Option<NaiveDateTime>,
    /// How far that clock is ahead of UTC, where the camera says so.
    pub offset: Option<FixedOffset>,
    /// Where.
    pub place: Option<Place>,
    /// Which way.
    pub direction: Option<Direction>,
    /// How the stored picture has to be turned, 1 to 8 as EXIF counts; 1 as it is.
    pub turned: u8,
}

/// A place on the earth.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Place {
    /// Latitude, degrees, south negative, to a millionth.
    pub lat_deg: f64,
    /// Longitude, degrees, west negative, to a millionth.
    pub lon_deg: f64,
}

/// Which way the camera looked.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Direction {
    /// Degrees clockwise from north, to a tenth.
    pub deg: f64,
    /// From magnetic north; else from true north.
    pub magnetic: bool,
}

impl std::fmt::Display for Place {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let half = |value: f64, plus: char, minus: char| (value.abs(), if value < 0.0 { minus } else { plus });
        let ((lat, ns), (lon, ew)) = (half(self.lat_deg, 'N', 'S'), half(self.lon_deg, 'E', 'W'));
        write!(f, "{lat:.5}° {ns} {lon:.5}° {ew}")
    }
}

impl std::fmt::Display for Direction {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "facing {:.0}°{}", self.deg, if self.magnetic { " (magnetic)" } else { "" })
    }
}

impl Camera {
    /// When it was taken, and whether the site's offset had to be assumed.
    pub fn taken_at(&self, zone: Tz) -> Option<(Moment, bool)> {
        let taken = self.taken?;
        match self.offset {
            Some(offset) => Some((offset.from_local_datetime(&taken).single()?.into(), false)),
            None => Some((zone.from_local_datetime(&taken).earliest()?.into(), true)),
        }
    }
}

/// Reads what the camera wrote; nothing where there is nothing to be read.
pub fn camera(bytes: &[u8]) -> Camera {
    let mut camera = Camera { turned: 1, ..Camera::default() };
    let read = exif::Reader::new().read_from_container(&mut std::io::Cursor::new(bytes));
    let Some(exif) = read.ok().filter(|exif| exif.fields().len() <= MOST_FIELDS) else { return camera };
    let field = |tag: Tag| exif.get_field(tag, In::PRIMARY).map(|field| &field.value);
    let time = |time: Tag, offset: Tag| {
        let taken = NaiveDateTime::parse_from_str(&text(field(time)?)?, "%Y:%m:%d %H:%M:%S").ok()?;
        let offset = field(offset).and_then(text).and_then(|text| text.parse::<FixedOffset>().ok());
        Some((taken, offset.filter(|offset| offset.local_minus_utc().abs() < FARTHEST_OFFSET_S)))
    };
    let taken = time(Tag::DateTimeOriginal, Tag::OffsetTimeOriginal);
    let taken = taken.or_else(|| time(Tag::DateTimeDigitized, Tag::OffsetTimeDigitized));
    (camera.taken, camera.offset) = taken.map_or((None, None), |(taken, offset)| (Some(taken), offset));
    let degrees = |tag: Tag, sign: Tag, minus: &str, most: f64| {
        let parts = rationals(field(tag)?)?;
        let [deg, min, sec] = *parts.get(..3)? else { return None };
        if min > 60.0 || sec > 60.0 {
            return None;
        }
        let value = deg + min / 60.0 + sec / 3600.0;
        let value = if text(field(sign)?)? == minus { -value } else { value };
        (value.abs() <= most).then_some((value * 1e6).round() / 1e6)
    };
    let lat = degrees(Tag::GPSLatitude, Tag::GPSLatitudeRef, "S", 90.0);
    let lon = degrees(Tag::GPSLongitude, Tag::GPSLongitudeRef, "W", 180.0);
    camera.place = lat.zip(lon).map(|(lat_deg, lon_deg)| Place { lat_deg, lon_deg });
    let towards = field(Tag::GPSImgDirection).and_then(rationals).and_then(|parts| parts.first().copied());
    camera.direction = towards.filter(|deg| (0.0..=360.0).contains(deg)).map(|deg| Direction {
        deg: (deg * 10.0).round() / 10.0,
        magnetic: field(Tag::GPSImgDirectionRef).and_then(text).as_deref() == Some("M"),
    });
    if let Some(turned @ 1..=8) = field(Tag::Orientation).and_then(|value| value.get_uint(0)) {
        camera.turned = u8::try_from(turned).unwrap_or(1);
    }
    camera
}

fn text(value: &Value) -> Option<String> {
    let Value::Ascii(parts) = value else { return None };
    Some(String::from_utf8_lossy(parts.first()?).trim_end_matches('\0').trim().to_owned())
}

fn rationals(value: &Value) -> Option<Vec<f64>> {
    let Value::Rational(parts) = value else { return None };
    let parts: Vec<f64> = parts.iter().map(exif::Rational::to_f64).collect();
    parts.iter().all(|part| part.is_finite()).then_some(parts)
}
