//! Photos for tests: small drawings with what a camera would write beside them.

use exif::experimental::Writer;
use exif::{Field, In, Rational, Tag, Value};
use image::codecs::jpeg::JpegEncoder;
use image::{Rgb, RgbImage};

/// What the camera writes.
#[derive(Debug, Clone, Default)]
pub struct Notes {
    /// `2026:03-02 10:40:00` as EXIF has it: `2026:03:02 10:40:00`.
    pub taken: Option<&'static str>,
    /// `+13:00`.
    pub offset: Option<&'static str>,
    /// Latitude and longitude, degrees.
    pub place: Option<(f64, f64)>,
    /// Degrees from true north.
    pub looking: Option<f64>,
    /// How it is to be turned.
    pub turned: Option<u16>,
}

impl Notes {
    /// Taken at a time, with the site's offset.
    pub fn taken(at: &'static str) -> Self {
        Self { taken: Some(at), offset: Some("+13:00"), ..Self::default() }
    }

    /// The notes as the TIFF block of an EXIF segment.
    pub fn tiff(&self) -> Vec<u8> {
        let ascii = |text: &str| Value::Ascii(vec![text.as_bytes().to_vec()]);
        let mut fields = Vec::new();
        let mut put = |tag: Tag, value: Value| fields.push(Field { tag, ifd_num: In::PRIMARY, value });
        put(Tag::Make, ascii("Invented"));
        if let Some(turned) = self.turned {
            put(Tag::Orientation, Value::Short(vec![turned]));
        }
        if let Some(taken) = self.taken {
            put(Tag::DateTimeOriginal, ascii(taken));
        }
        if let Some(offset) = self.offset {
            put(Tag::OffsetTimeOriginal, ascii(offset));
        }
        if let Some((lat, lon)) = self.place {
            put(Tag::GPSLatitudeRef, ascii(if lat < 0.0 { "S" } else { "N" }));
            put(Tag::GPSLatitude, degrees(lat));
            put(Tag::GPSLongitudeRef, ascii(if lon < 0.0 { "W" } else { "E" }));
            put(Tag::GPSLongitude, degrees(lon));
        }
        if let Some(deg) = self.looking {
            put(Tag::GPSImgDirectionRef, ascii("T"));
            put(Tag::GPSImgDirection, Value::Rational(vec![Rational { num: (deg * 10.0) as u32, denom: 10 }]));
        }
        let mut writer = Writer::new();
        fields.iter().for_each(|field| writer.push_field(field));
        let mut block = std::io::Cursor::new(Vec::new());
        writer.write(&mut block, false).unwrap();
        block.into_inner()
    }
}

fn degrees(value: f64) -> Value {
    let whole = (value.abs() * 3_600_000.0).round() as u32;
    let part = |num: u32, denom: u32| Rational { num, denom };
    Value::Rational(vec![part(whole / 3_600_000, 1), part(whole / 60_000 % 60, 1), part(whole % 60_000, 1000)])
}

/// A picture as JPEG, with notes.
pub fn jpeg(picture: &RgbImage, quality: u8, notes: Option<&Notes>) -> Vec<u8> {
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, quality).encode_image(picture).unwrap();
    let Some(notes) = notes else { return bytes };
    let tiff = notes.tiff();
    let mut segment = vec![0xff, 0xe1];
    segment.extend(u16::try_from(tiff.len() + 8).unwrap().to_be_bytes());
    segment.extend(b"Exif\0\0");
    segment.extend(tiff);
    bytes.splice(2..2, segment);
    bytes
}

/// A small grey picture that no other `shade` gives, as JPEG.
pub fn photo(shade: u8, notes: Option<&Notes>) -> Vec<u8> {
    let pixel = |x: u32, y: u32| Rgb([shade, (x * 2) as u8, (y * 2) as u8]);
    jpeg(&RgbImage::from_fn(96, 64, pixel), 80, notes)
}

/// A picture as PNG or WebP.
pub fn encoded(picture: &RgbImage, format: image::ImageFormat) -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut bytes, format).unwrap();
    bytes.into_inner()
}
