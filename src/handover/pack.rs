//! Every file of the pack, as bytes.

use super::document::Document;
use super::elevation::{DefectMark, elevation};
use super::manifest::{MANIFEST, Manifest, ManifestFault};
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
    /// Every file with its path, in the order of the paths, the manifest included.
    pub files: Vec<(String, Vec<u8>)>,
}

/// Why there is no pack.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PackFault {
    /// A table can't be written.
    #[error("a table of the pack can't be written: {0}")]
    Csv(String),
    /// The manifest can't be written.
    #[error("the manifest of the pack can't be written: {0}")]
    Manifest(#[from] ManifestFault),
    /// The PDF can't be set.
    #[error("the PDF of the pack can't be set: {0}")]
    Pdf(String),
}

/// Makes the pack of a job at a moment. `told` is called before each file is made, with its path.
///
/// # Errors
/// [`PackFault`].
pub fn pack(book: &Book, made_at: Moment, told: &mut dyn FnMut(&str)) -> Result<Pack, PackFault> {
    let document = Document::of(book, made_at);
    let mut files = files_of(&document, book, told)?;
    told(MANIFEST);
    let manifest = Manifest::of(&document, &files)?.bytes()?;
    files.push((MANIFEST.to_owned(), manifest));
    files.sort_by(|a, b| a.0.cmp(&b.0));
    Ok(Pack { document, files })
}

/// Every file but the manifest.
pub(super) fn files_of(
    document: &Document,
    book: &Book,
    told: &mut dyn FnMut(&str),
) -> Result<Vec<(String, Vec<u8>)>, PackFault> {
    let record = crate::record::jsonl(&book.entries).into_bytes();
    let drawings = drawings(document);
    let sections = sheets::sections(document);
    told(HTML);
    let mut files = vec![(HTML.to_owned(), html::page(document, &sections, &drawings).into_bytes())];
    told("tables");
    files.extend(tables::tables(document)?);
    #[cfg(feature = "pdf")]
    {
        told(PDF);
        files.push((PDF.to_owned(), super::pdf::pdf(document, &sections, &drawings, Some(&record))?));
    }
    files.push((RECORD.to_owned(), record));
    files.extend(drawings.into_iter().map(|drawing| (drawing.path, drawing.svg.into_bytes())));
    files.sort_by(|a, b| a.0.cmp(&b.0));
    Ok(files)
}

/// The pages, tables and drawings alone, for a copy that goes without the record.
pub(super) fn pages_of(document: &Document) -> Result<Vec<(String, Vec<u8>)>, PackFault> {
    let drawings = drawings(document);
    let sections = sheets::sections(document);
    let mut files = vec![(HTML.to_owned(), html::page(document, &sections, &drawings).into_bytes())];
    files.extend(tables::tables(document)?);
    #[cfg(feature = "pdf")]
    files.push((PDF.to_owned(), super::pdf::pdf(document, &sections, &drawings, None)?));
    files.extend(drawings.into_iter().map(|drawing| (drawing.path, drawing.svg.into_bytes())));
    Ok(files)
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
        drawings.push(drawing(document, index + 1, wall));
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

fn drawing(document: &Document, number: usize, wall: &Wall) -> Drawing {
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
        svg: elevation(wall, &marks),
    }
}
