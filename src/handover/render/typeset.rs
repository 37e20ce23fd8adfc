//! Setting pages with typst: what it may see, the fonts, and the letters that they lack.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use serde_json::{Value, json};
use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook, FontStyle, FontWeight};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};
use typst_layout::PagedDocument;

use crate::handover::model::paths::RECORD;
use crate::handover::page::Pictures;

/// Why there is no PDF.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the PDF can't be set: {0}")]
pub struct PdfError(pub(super) String);

impl PdfError {
    /// The first of the typesetter's errors.
    pub(super) fn first(errors: &[SourceDiagnostic]) -> Self {
        Self(errors.first().map(|error| error.message.to_string()).unwrap_or_default())
    }
}

const TEMPLATE: &str = include_str!("pack.typ");

/// The family that the pages are set in; it has Latin, Greek and Cyrillic.
const FAMILY: &str = "Libertinus Serif";

/// In place of a character that the family lacks.
const BOX: char = '\u{25a1}';

/// Fields that name something of the template, and are no words of the record; a check code is copied as it is.
const KEYS: [&str; 10] = ["kind", "file", "picture", "large", "photo", "id", "links", "anchor", "anchors", "check"];

/// Longest run of letters that is left unbroken in a cell.
const UNBROKEN: usize = 18;

/// Sets pages from the data of the template.
pub(super) fn set(data: Value, pictures: &Pictures, record: Option<&Arc<[u8]>>) -> Result<PagedDocument, PdfError> {
    let fonts = fonts();
    let files = files(data, pictures, record, &fonts);
    typst::compile(&Files::new(fonts, files)?).output.map_err(|errors| PdfError::first(&errors))
}

/// What pages are set from, by file name; the first is the template. The typst command sets the same pages from them.
pub(super) fn sources(data: Value, pictures: &Pictures, record: &Arc<[u8]>) -> Vec<(String, Vec<u8>)> {
    let files = files(data, pictures, Some(record), &fonts());
    let template = ("pack.typ".to_owned(), TEMPLATE.as_bytes().to_vec());
    std::iter::once(template).chain(files.into_iter().map(|(name, bytes)| (name, bytes.to_vec()))).collect()
}

/// The files that the template reads.
fn files(mut data: Value, pictures: &Pictures, record: Option<&Arc<[u8]>>, fonts: &[Font]) -> BTreeMap<String, Bytes> {
    let mut letters = Letters::of(fonts);
    letters.fit(&mut data);
    data["unset"] = json!(letters.unset.then_some(
        "A box stands for a character that the fonts of this PDF lack. The HTML page and the record show every \
         character."
    ));
    data["attached"] = json!(record.is_some());
    let drawings = pictures.drawings.iter();
    let mut files: BTreeMap<String, Bytes> =
        drawings.map(|drawing| (drawing.path.clone(), Bytes::from_string(drawing.svg.clone()))).collect();
    files.insert("data.json".to_owned(), Bytes::from_string(data.to_string()));
    files.extend(record.map(|record| (RECORD.to_owned(), Bytes::new(Arc::clone(record)))));
    files.extend(pictures.small.iter().map(|(path, small)| (path.clone(), Bytes::new(Arc::clone(small)))));
    files
}

/// The letters that can be set.
struct Letters {
    set: BTreeSet<u32>,
    /// A character was left out.
    unset: bool,
}

impl Letters {
    /// Those that every weight in use has.
    fn of(fonts: &[Font]) -> Self {
        let mut set: Option<BTreeSet<u32>> = None;
        for font in fonts {
            let covered: BTreeSet<u32> = font.info().coverage.iter().collect();
            set = Some(match set {
                Some(set) => set.intersection(&covered).copied().collect(),
                None => covered,
            });
        }
        Self { set: set.unwrap_or_default(), unset: false }
    }

    /// Puts a box for every character that can't be set, and breaks long runs where a line may end.
    fn fit(&mut self, value: &mut Value) {
        match value {
            Value::String(text) => *text = self.fitted(text),
            Value::Array(items) => items.iter_mut().for_each(|item| self.fit(item)),
            Value::Object(fields) => {
                for (key, field) in fields.iter_mut() {
                    // Keys of the template, not words of the record.
                    if !KEYS.contains(&key.as_str()) {
                        self.fit(field);
                    }
                }
            }
            _ => {}
        }
    }

    fn fitted(&mut self, text: &str) -> String {
        let mut fitted = String::with_capacity(text.len());
        let mut run = 0;
        for c in text.chars() {
            if is_ignorable(c) {
                continue;
            }
            let kept = c == '\n' || self.set.contains(&u32::from(c));
            let put = match (kept, c) {
                (true, c) => c,
                (false, '\t') => ' ',
                (false, _) => {
                    self.unset = true;
                    if self.set.contains(&u32::from(BOX)) { BOX } else { '?' }
                }
            };
            run = if put.is_whitespace() { 0 } else { run + 1 };
            if run > UNBROKEN {
                fitted.push('\u{200b}');
                run = 1;
            }
            fitted.push(put);
        }
        fitted
    }
}

/// Characters that show nothing by themselves: joiners, marks of direction, variation selectors, soft hyphens.
fn is_ignorable(c: char) -> bool {
    matches!(c,
        '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{180b}'..='\u{180f}' | '\u{200b}'..='\u{200f}' | '\u{2060}'..='\u{206f}'
        | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{e0000}'..='\u{e0fff}')
}

fn fonts() -> Vec<Font> {
    typst_assets::fonts()
        .flat_map(|data| Font::iter(Bytes::new(data)))
        .filter(|font| {
            let info = font.info();
            let weight = info.variant.weight;
            info.family == FAMILY
                && info.variant.style == FontStyle::Normal
                && (weight == FontWeight::REGULAR || weight == FontWeight::BOLD)
        })
        .collect()
}

/// What the typesetter may see: the template, the data, the drawings, the record. No disk, no clock, no network.
struct Files {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    template: Source,
    files: BTreeMap<String, Bytes>,
}

impl Files {
    fn new(fonts: Vec<Font>, files: BTreeMap<String, Bytes>) -> Result<Self, PdfError> {
        let path = VirtualPath::new("pack.typ").map_err(|error| PdfError(format!("{error:?}")))?;
        let id = FileId::new(RootedPath::new(VirtualRoot::Project, path));
        Ok(Self {
            library: LazyHash::new(Library::default()),
            book: LazyHash::new(FontBook::from_fonts(&fonts)),
            fonts,
            template: Source::new(id, TEMPLATE.to_owned()),
            files,
        })
    }
}

impl World for Files {
    fn library(&self) -> &LazyHash<Library> {
        &self.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.book
    }

    fn main(&self) -> FileId {
        self.template.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.template.id() { Ok(self.template.clone()) } else { Err(FileError::AccessDenied) }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        let path = id.get().vpath().get_without_slash().to_owned();
        self.files.get(&path).cloned().ok_or_else(|| FileError::NotFound(path.into()))
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.fonts.get(index).cloned()
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        None
    }
}
