//! The record inside handover.pdf: what travels by mail is often the PDF alone.

use std::io::Read;

use flate2::read::ZlibDecoder;

use super::unzip::MOST_RECORD;

/// The start of every PDF (ISO 32000-1, 7.5.2).
const HEAD: &[u8] = b"%PDF-";

/// Why there is no record to be read from a PDF.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum AttachedError {
    /// Nothing is attached.
    #[error("no record is attached to this PDF: it is not a handover.pdf, or another program rewrote it")]
    None,
    /// More than one file is attached: which of them is the record is not known.
    #[error("several files are attached to this PDF: another program added to it")]
    Several,
    /// What is attached can't be unpacked.
    #[error("the record attached to this PDF is damaged")]
    Damaged,
}

/// Whether bytes are a PDF.
pub fn is_pdf(bytes: &[u8]) -> bool {
    bytes.starts_with(HEAD)
}

/// The file attached to a PDF that this program wrote: the only embedded file stream (ISO 32000-1, 7.11.4), deflated and
/// with its length in its own dictionary, as the typesetter writes it.
///
/// # Errors
/// [`AttachedError`].
pub fn attached(pdf: &[u8]) -> Result<Vec<u8>, AttachedError> {
    let mut streams = find_all(pdf, b"/EmbeddedFile").filter_map(|at| stream(pdf, at));
    let packed = streams.next().ok_or(AttachedError::None)?;
    if streams.next().is_some() {
        return Err(AttachedError::Several);
    }
    let mut record = Vec::new();
    let read = ZlibDecoder::new(packed).take(MOST_RECORD + 1).read_to_end(&mut record);
    match read {
        Ok(_) if record.len() as u64 <= MOST_RECORD => Ok(record),
        _ => Err(AttachedError::Damaged),
    }
}

/// Where each of some words stands.
fn find_all<'p>(pdf: &'p [u8], word: &'static [u8]) -> impl Iterator<Item = usize> + 'p {
    let mut from = 0;
    std::iter::from_fn(move || {
        let at = from + pdf.get(from..)?.windows(word.len()).position(|part| part == word)?;
        from = at + word.len();
        Some(at)
    })
}

/// The bytes of the stream whose dictionary has this place in it; nothing where that is no dictionary of a stream.
fn stream(pdf: &[u8], at: usize) -> Option<&[u8]> {
    // Behind the name there may be more letters: /EmbeddedFiles is the list of them.
    if pdf.get(at + b"/EmbeddedFile".len()).is_some_and(u8::is_ascii_alphanumeric) {
        return None;
    }
    let begins = pdf[..at].windows(4).rposition(|part| part == b" obj")?;
    let rest = pdf.get(begins..)?;
    let ends = rest.windows(6).position(|part| part == b"stream")?;
    let dictionary = std::str::from_utf8(&rest[..ends]).ok()?;
    let (_, length) = dictionary.rsplit_once("/Length ")?;
    let digits = length.find(|c: char| !c.is_ascii_digit()).unwrap_or(length.len());
    let length: usize = length[..digits].parse().ok()?;
    let content = rest[ends + 6..].strip_prefix(b"\r\n").or_else(|| rest[ends + 6..].strip_prefix(b"\n"))?;
    content.get(..length)
}
