//! Every file of the pack, as bytes.

use std::collections::BTreeMap;

use super::blob::Blob;
use super::document::Document;
use super::elevation::{DefectMark, elevation};
use super::manifest::{FileLine, MANIFEST, Manifest, ManifestError};
use super::pictures::{Album, Originals};
use super::signature::{PUBLIC_KEY, SIGNATURE, Signer};
use super::{html, sheets, tables};
use crate::building::Wall;
use crate::day::Book;
use crate::moment::Moment;

/// Whether this build writes the PDF.
pub const fn has_pdf() -> bool {
    cfg!(feature = "pdf")
}

/// Path of the record in the pack.
pub(super) const RECORD: &str = "record.jsonl";
/// Path of the pages in the pack.
pub(super) const HTML: &str = "handover.html";
/// Path of the printed pages in the pack.
pub(super) const PDF: &str = "handover.pdf";

/// A pack, not written anywhere yet.
#[derive(Debug, Clone)]
pub struct Pack {
    /// What it says.
    pub document: Document,
    /// Every file with its path, in the order of the paths, the manifest, its signature and its key included.
    pub files: Vec<(String, Blob)>,
}

/// What a pack is made from besides the record.
pub struct Making<'m> {
    /// Where the photos are.
    pub originals: &'m dyn Originals,
    /// Photos go in as copies without their places.
    pub no_places: bool,
    /// Who signs.
    pub signer: &'m Signer,
}

/// Whoever hears how far it is: what is being made, how many of how many are done.
pub type Told<'t> = dyn FnMut(&str, usize, usize) + Send + 't;

/// Why there is no pack.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PackError {
    /// A table can't be written.
    #[error("a table of the pack can't be written: {0}")]
    Csv(String),
    /// The manifest can't be written.
    #[error("the manifest of the pack can't be written: {0}")]
    Manifest(#[from] ManifestError),
    /// The PDF can't be set.
    #[error("the PDF of the pack can't be set: {0}")]
    Pdf(String),
}

/// Makes the pack of a job at a moment. `told` hears what is being made.
///
/// # Errors
/// [`PackError`].
pub fn pack(book: &Book, made_at: Moment, making: &Making<'_>, told: &mut Told<'_>) -> Result<Pack, PackError> {
    let album = Album::of(book, making.originals, making.no_places, &mut |done, all| told("photos", done, all));
    let document = Document::with(book, made_at, &album, Some(making.signer.fingerprint()));
    let mut files = files_of(&document, book, &album, told)?;
    told(MANIFEST, 0, 0);
    let manifest = Manifest::of(&document, lines_of(&files, &album))?.bytes()?;
    files.push((SIGNATURE.to_owned(), making.signer.sign(&manifest).to_vec().into()));
    files.push((PUBLIC_KEY.to_owned(), making.signer.public_pem().into_bytes().into()));
    files.push((MANIFEST.to_owned(), manifest.into()));
    files.sort_by(|a, b| a.0.cmp(&b.0));
    Ok(Pack { document, files })
}

/// The lines of the manifest for these files.
pub(super) fn lines_of(files: &[(String, Blob)], album: &Album) -> Vec<FileLine> {
    let line = |(path, blob): &(String, Blob)| FileLine {
        path: path.clone(),
        sha256: blob.sha256().into_owned(),
        bytes: blob.len(),
        copy_of: album.original_of(path).map(str::to_owned),
    };
    files.iter().map(line).collect()
}

/// Every file but the manifest, its signature and its key.
pub(super) fn files_of(
    document: &Document,
    book: &Book,
    album: &Album,
    told: &mut Told<'_>,
) -> Result<Vec<(String, Blob)>, PackError> {
    let record = crate::record::jsonl(&book.entries).into_bytes();
    let photos = album.files();
    let pictures = Pictures::of(drawings(document), &photos);
    let sections = sheets::sections(document);
    told(HTML, 0, 0);
    let mut files = vec![(HTML.to_owned(), html::page(document, &sections, &pictures).into_bytes().into())];
    told("tables", 0, 0);
    files.extend(tables::tables(document)?.into_iter().map(|(path, bytes)| (path, bytes.into())));
    #[cfg(feature = "pdf")]
    {
        told(PDF, 0, 0);
        files.push((PDF.to_owned(), super::pdf::pdf(document, &sections, &pictures, Some(&record))?.into()));
    }
    files.push((RECORD.to_owned(), record.into()));
    files.extend(pictures.drawings.into_iter().map(|drawing| (drawing.path, drawing.svg.into_bytes().into())));
    files.extend(photos);
    files.sort_by(|a, b| a.0.cmp(&b.0));
    Ok(files)
}

/// What the pages show.
#[derive(Default)]
pub(super) struct Pictures {
    /// Drawings.
    pub drawings: Vec<Drawing>,
    /// Small pictures of photos (JPEG) by their path.
    pub small: BTreeMap<String, Vec<u8>>,
}

impl Pictures {
    fn of(drawings: Vec<Drawing>, photos: &[(String, Blob)]) -> Self {
        let small = photos.iter().filter_map(|(path, blob)| match blob {
            Blob::Held(bytes) => Some((path.clone(), bytes.clone())),
            Blob::Kept { .. } => None,
        });
        Self { drawings, small: small.collect() }
    }
}

/// The pages, tables and drawings alone, for a copy that goes without the record and the photos.
pub(super) fn pages_of(document: &Document) -> Result<Vec<(String, Vec<u8>)>, PackError> {
    let pictures = Pictures::of(drawings(document), &[]);
    let sections = sheets::sections(document);
    let mut files = vec![(HTML.to_owned(), html::page(document, &sections, &pictures).into_bytes())];
    files.extend(tables::tables(document)?);
    #[cfg(feature = "pdf")]
    files.push((PDF.to_owned(), super::pdf::pdf(document, &sections, &pictures, None)?));
    files.extend(pictures.drawings.into_iter().map(|drawing| (drawing.path, drawing.svg.into_bytes())));
    Ok(files)
}

/// The pages alone as PDF/A-1b (ISO 19005-1), without the record attached, which that part does not allow: for
/// validators that know no later part. `None` where this build writes no PDF.
///
/// # Errors
/// [`PackError::Pdf`].
pub fn pdf_a1b(document: &Document, album: &Album) -> Result<Option<Vec<u8>>, PackError> {
    #[cfg(feature = "pdf")]
    {
        let pictures = Pictures::of(drawings(document), &album.files());
        super::pdf::pdf_a1b(document, &sheets::sections(document), &pictures).map(Some)
    }
    #[cfg(not(feature = "pdf"))]
    {
        let _ = (document, album);
        Ok(None)
    }
}

/// What the printed pages of a job are set from at a moment: the template and every file that it reads, by name. The
/// typst command sets the same pages from them; see docs/benchmarks.md.
#[cfg(feature = "pdf")]
pub fn typesetting(book: &Book, made_at: Moment, making: &Making<'_>) -> Vec<(String, Vec<u8>)> {
    let album = Album::of(book, making.originals, making.no_places, &mut |_, _| {});
    let document = Document::with(book, made_at, &album, Some(making.signer.fingerprint()));
    let pictures = Pictures::of(drawings(&document), &album.files());
    let record = crate::record::jsonl(&book.entries).into_bytes();
    super::pdf::typesetting(&document, &sheets::sections(&document), &pictures, &record)
}

/// A drawing of the pack.
pub(super) struct Drawing {
    /// What the pages call it by: a wall's key, or its set-out's name.
    pub name: String,
    /// Path in the pack.
    pub path: String,
    /// What it shows, for those who can't see it.
    pub described: String,
    /// The drawing.
    pub svg: String,
}

/// What the pages call the drawing of a wall as set out.
pub(super) fn set_out_name(wall: &str) -> String {
    format!("{wall} as set out")
}

fn drawings(document: &Document) -> Vec<Drawing> {
    let mut drawings = Vec::new();
    let walls = document.parts.iter().filter_map(|part| Some((part.wall.as_ref()?, &part.set_out)));
    // The number in front keeps "n" and "N" apart where capitals don't count in file names.
    for (index, (wall, set_out)) in walls.enumerate() {
        let bottoms = set_out.as_ref().map(|drawn| drawn.courses_mm.as_slice());
        drawings.push(drawing(document, index + 1, wall, bottoms));
        drawings.extend(set_out.as_ref().map(|drawn| Drawing {
            name: set_out_name(&wall.key),
            path: format!("drawings/set-out-{}-{}.svg", index + 1, wall.key),
            described: super::set_out::described(drawn),
            svg: crate::setout::drawing::elevation(drawn),
        }));
    }
    drawings.extend(super::sealing::drawings(document));
    drawings
}

fn drawing(document: &Document, number: usize, wall: &Wall, bottoms_mm: Option<&[f64]>) -> Drawing {
    let mut marks: Vec<DefectMark> = document
        .defects
        .iter()
        .filter(|defect| defect.part == wall.key)
        .map(|defect| DefectMark {
            number: defect.number,
            subject: defect.subject.clone(),
            open: defect.state == "open",
        })
        .collect();
    marks.sort_by_key(|mark| mark.number);
    Drawing {
        name: wall.key.clone(),
        path: format!("drawings/wall-{number}-{}.svg", wall.key),
        described: super::elevation::described(wall, &marks),
        svg: elevation(wall, bottoms_mm, &marks),
    }
}
