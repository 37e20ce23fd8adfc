//! Every file of the pack, as bytes.

use std::sync::Arc;

use super::files::{FileLine, Manifest, ManifestError};
use super::gather::Originals;
#[cfg(feature = "pdf")]
use super::model::paths::PDF;
use super::model::paths::{HTML, MANIFEST, README, RECORD, is_plain, sequence_file, stamp_answer, stamp_certificates};
use super::model::{Album, Blob, Document, Locations, Missing, Reservation};
use super::page::{Pictures, Section};
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
    /// What is missing from the job; nothing where it is complete.
    pub missing: Vec<Missing>,
    /// What whoever accepts the work should know before they sign.
    pub reservations: Vec<Reservation>,
    /// Every file with its path, in the order of the paths, the manifest, its signature and its key included.
    pub files: Vec<(String, Blob)>,
    /// The pages as PDF/A-1b, where they were asked for and this build writes a PDF.
    pub pdf_a1b: Option<Vec<u8>>,
}

/// What a pack is made from besides the record.
pub struct PackOptions<'m> {
    /// Where the photos are.
    pub originals: &'m dyn Originals,
    /// Whether the photos go in with the places where they were taken.
    pub locations: Locations,
    /// Who signs.
    pub signer: &'m Signer,
    /// Also the pages alone as PDF/A-1b (ISO 19005-1), without the record, which that part does not let be attached: for
    /// validators that accept only PDF/A-1.
    pub pdf_a1b: bool,
}

/// Called with what is being made, and how many of how many are done.
pub type Progress<'t> = dyn FnMut(&str, usize, usize) + Send + 't;

/// Why there is no pack.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PackError {
    /// The manifest can't be written.
    #[error("the manifest of the pack can't be written: {0}")]
    Manifest(#[from] ManifestError),
    /// A file would lie outside the pack.
    #[error("the record gives the pack a file named '{}', which is not a plain path", .0.escape_debug())]
    Path(String),
    /// The PDF can't be set.
    #[cfg(feature = "pdf")]
    #[error(transparent)]
    Pdf(#[from] render::PdfError),
}

/// Makes the pack of a job at a moment.
///
/// # Errors
/// [`PackError`].
pub fn pack(
    book: &Book,
    made_at: Moment,
    options: &PackOptions<'_>,
    progress: &mut Progress<'_>,
) -> Result<Pack, PackError> {
    let album = Album::of(book, options.originals, options.locations, &mut |done, all| progress("photos", done, all));
    let document = Document::of(book, made_at, &album, Some(options.signer.fingerprint()));
    let pages = Pages::of(&document, &album.files());
    let mut files = pages.with_record(&album, progress)?;
    let pdf_a1b = if options.pdf_a1b { pages.pdf_a1b()? } else { None };
    progress(MANIFEST, 0, 0);
    let manifest = Manifest::of(&document, lines_of(&files, &album))?.bytes()?;
    files.push((SIGNATURE.to_owned(), options.signer.sign(&manifest).to_vec().into()));
    files.push((PUBLIC_KEY.to_owned(), options.signer.public_pem().into_bytes().into()));
    files.push((MANIFEST.to_owned(), manifest.into()));
    files.sort_by(|a, b| a.0.cmp(&b.0));
    Ok(Pack { missing: document.missing, reservations: document.reservations, files, pdf_a1b })
}

/// The lines of the manifest for these files.
fn lines_of(files: &[(String, Blob)], album: &Album) -> Vec<FileLine> {
    let originals = album.originals();
    let line = |(path, blob): &(String, Blob)| FileLine {
        path: path.clone(),
        sha256: blob.sha256().into_owned(),
        bytes: blob.len(),
        copy_of: originals.get(path.as_str()).map(|original| (*original).to_owned()),
    };
    files.iter().map(line).collect()
}

/// What the files of a pack are made from.
pub(super) struct Pages<'d> {
    document: &'d Document<'d>,
    sections: Vec<Section>,
    pictures: Pictures,
}

impl<'d> Pages<'d> {
    /// The pages of a document, which show the small pictures among these files.
    pub(super) fn of(document: &'d Document<'d>, photos: &[(String, Blob)]) -> Self {
        let pictures = Pictures::of(render::drawings(document), photos);
        Self { document, sections: sections::sections(document), pictures }
    }

    /// Every file but the manifest, its signature and its key, in the order of the paths.
    pub(super) fn with_record(
        &self,
        album: &Album,
        progress: &mut Progress<'_>,
    ) -> Result<Vec<(String, Blob)>, PackError> {
        let mut files = self.files(progress)?;
        files.push((RECORD.to_owned(), Blob::Memory(Arc::clone(&self.document.record))));
        files.extend(album.files());
        files.push((README.to_owned(), render::README.as_bytes().to_vec().into()));
        files.extend(self.sequences());
        for stamp in &self.document.stamps {
            files.push((stamp_answer(&stamp.entry), stamp.answer.clone().into()));
            files.push((stamp_certificates(&stamp.entry), stamp.stamp.certificates_pem().into_bytes().into()));
        }
        files.sort_by(|a, b| a.0.cmp(&b.0));
        match files.iter().find(|(path, _)| !is_plain(path)) {
            Some((path, _)) => Err(PackError::Path(path.clone())),
            None => Ok(files),
        }
    }

    /// The texts of the sequences that the job was built by, each once; where two of one edition differ the later ones are
    /// numbered.
    fn sequences(&self) -> Vec<(String, Blob)> {
        let mut files: Vec<(String, Blob)> = Vec::new();
        let mut seen = Vec::new();
        for sequence in self.document.editions.iter().map(|edition| edition.sequence) {
            if seen.contains(&&sequence.sha256) {
                continue;
            }
            seen.push(&sequence.sha256);
            let name = |number: usize| match number {
                1 => sequence_file(&sequence.key, &sequence.edition),
                number => sequence_file(&sequence.key, &format!("{}-{number}", sequence.edition)),
            };
            let path = (1..).map(name).find(|name| files.iter().all(|(path, _)| path != name));
            files.extend(path.map(|path| (path, sequence.text.clone().into_bytes().into())));
        }
        files
    }

    /// The pages, tables and drawings.
    pub(super) fn files(&self, progress: &mut Progress<'_>) -> Result<Vec<(String, Blob)>, PackError> {
        let Self { document, sections, pictures } = self;
        progress(HTML, 0, 0);
        let html = render::pack_html(document, sections, pictures).into_bytes();
        let mut files: Vec<(String, Blob)> = vec![(HTML.to_owned(), html.into())];
        progress("tables", 0, 0);
        files.extend(render::tables(document).into_iter().map(|(path, bytes)| (path, bytes.into())));
        let drawings = pictures.drawings.iter();
        files.extend(drawings.map(|drawing| (drawing.path.clone(), drawing.svg.clone().into_bytes().into())));
        #[cfg(feature = "pdf")]
        {
            progress(PDF, 0, 0);
            files.push((PDF.to_owned(), render::pack_pdf(document, sections, pictures)?.into()));
        }
        Ok(files)
    }

    #[cfg(feature = "pdf")]
    fn pdf_a1b(&self) -> Result<Option<Vec<u8>>, PackError> {
        Ok(Some(render::pdf_a1b(self.document, &self.sections, &self.pictures)?))
    }

    #[cfg(not(feature = "pdf"))]
    fn pdf_a1b(&self) -> Result<Option<Vec<u8>>, PackError> {
        Ok(None)
    }
}

/// What the printed pages of a job are set from at a moment: the template and every file that it reads, by name. The
/// typst command sets the same pages from them; see docs/benchmarks.md.
#[cfg(feature = "pdf")]
pub fn typesetting(book: &Book, made_at: Moment, options: &PackOptions<'_>) -> Vec<(String, Vec<u8>)> {
    let album = Album::of(book, options.originals, options.locations, &mut |_, _| {});
    let document = Document::of(book, made_at, &album, Some(options.signer.fingerprint()));
    let Pages { sections, pictures, .. } = Pages::of(&document, &album.files());
    render::typesetting(&document, &sections, &pictures)
}
