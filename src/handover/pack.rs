//! Every file of the pack, as bytes.

use super::files::{FileLine, Manifest, ManifestError};
use super::gather::{Album, Originals};
use super::model::paths::{HTML, MANIFEST, PDF, RECORD};
use super::model::{Blob, Document};
use super::page::Pictures;
use super::signature::{PUBLIC_KEY, SIGNATURE, Signer};
use super::{render, sections};
use crate::day::Book;
use crate::moment::Moment;

/// Whether this build writes the PDF.
pub const fn has_pdf() -> bool {
    cfg!(feature = "pdf")
}

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
    /// The manifest can't be written.
    #[error("the manifest of the pack can't be written: {0}")]
    Manifest(#[from] ManifestError),
    /// The PDF can't be set.
    #[error(transparent)]
    #[cfg(feature = "pdf")]
    Pdf(#[from] render::PdfError),
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
pub fn lines_of(files: &[(String, Blob)], album: &Album) -> Vec<FileLine> {
    let line = |(path, blob): &(String, Blob)| FileLine {
        path: path.clone(),
        sha256: blob.sha256().into_owned(),
        bytes: blob.len(),
        copy_of: album.original_of(path).map(str::to_owned),
    };
    files.iter().map(line).collect()
}

/// Every file but the manifest, its signature and its key.
pub fn files_of(
    document: &Document,
    book: &Book,
    album: &Album,
    told: &mut Told<'_>,
) -> Result<Vec<(String, Blob)>, PackError> {
    let record = crate::record::jsonl(&book.entries).into_bytes();
    let photos = album.files();
    let pictures = Pictures::of(render::drawings(document), &photos);
    let sections = sections::sections(document);
    told(HTML, 0, 0);
    let mut files = vec![(HTML.to_owned(), render::html(document, &sections, &pictures).into_bytes().into())];
    told("tables", 0, 0);
    files.extend(render::tables(document).into_iter().map(|(path, bytes)| (path, bytes.into())));
    #[cfg(feature = "pdf")]
    {
        told(PDF, 0, 0);
        files.push((PDF.to_owned(), render::pdf(document, &sections, &pictures, Some(&record))?.into()));
    }
    files.push((RECORD.to_owned(), record.into()));
    files.extend(pictures.drawings.into_iter().map(|drawing| (drawing.path, drawing.svg.into_bytes().into())));
    files.extend(photos);
    files.sort_by(|a, b| a.0.cmp(&b.0));
    Ok(files)
}

/// The pages, tables and drawings alone, for a copy that goes without the record and the photos.
pub fn pages_of(document: &Document) -> Result<Vec<(String, Vec<u8>)>, PackError> {
    let pictures = Pictures::of(render::drawings(document), &[]);
    let sections = sections::sections(document);
    let mut files = vec![(HTML.to_owned(), render::html(document, &sections, &pictures).into_bytes())];
    files.extend(render::tables(document));
    #[cfg(feature = "pdf")]
    files.push((PDF.to_owned(), render::pdf(document, &sections, &pictures, None)?));
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
        let pictures = Pictures::of(render::drawings(document), &album.files());
        render::pdf_a1b(document, &sections::sections(document), &pictures).map(Some).map_err(PackError::from)
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
    let pictures = Pictures::of(render::drawings(&document), &album.files());
    let record = crate::record::jsonl(&book.entries).into_bytes();
    render::typesetting(&document, &sections::sections(&document), &pictures, &record)
}
