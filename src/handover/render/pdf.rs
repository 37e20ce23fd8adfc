//! handover.pdf: the same pages on paper, PDF/A-3b with tags, the record attached byte for byte.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike, Timelike};
use serde_json::{Value, json};
use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook, FontWeight};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};

use crate::handover::model::{Document, Evening, when};
use crate::handover::page::{Block, Pictures, Section};
use crate::handover::sections::{REHEARSAL, about, verdict};
use crate::moment::Moment;
use crate::plain::visible;

/// Why there is no PDF.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the PDF can't be set: {0}")]
pub struct PdfError(String);

const TEMPLATE: &str = include_str!("pack.typ");

/// The family that the pages are set in; it has Latin, Greek and Cyrillic.
const FAMILY: &str = "Libertinus Serif";

/// Stands for a character that the family lacks.
const BOX: char = '\u{25a1}';

/// Longest run of letters that is left unbroken in a cell.
const UNBROKEN: usize = 18;

/// What is set, and what the file says of itself.
struct Printed<'p> {
    /// Everything that the template prints.
    data: Value,
    pictures: &'p Pictures,
    /// The record, to be attached.
    record: Option<&'p [u8]>,
    /// The same text is the same document.
    ident: String,
    program: &'p str,
    made_at: &'p Moment,
    standard: PdfStandard,
}

/// Sets the pages of the pack.
///
/// # Errors
/// [`PdfError`].
pub fn pdf(
    document: &Document,
    sections: &[Section],
    pictures: &Pictures,
    record: Option<&[u8]>,
) -> Result<Vec<u8>, PdfError> {
    pages(document, sections, pictures, record, PdfStandard::A_3b)
}

/// Sets the same pages as PDF/A-1b, which takes no attachments: for validators that know no later part.
///
/// # Errors
/// [`PdfError`].
pub fn pdf_a1b(document: &Document, sections: &[Section], pictures: &Pictures) -> Result<Vec<u8>, PdfError> {
    pages(document, sections, pictures, None, PdfStandard::A_1b)
}

fn pages(
    document: &Document,
    sections: &[Section],
    pictures: &Pictures,
    record: Option<&[u8]>,
    standard: PdfStandard,
) -> Result<Vec<u8>, PdfError> {
    let printed = Printed {
        data: data(document, sections, pictures),
        pictures,
        record,
        // The same record at the same moment is the same document.
        ident: format!("cladlog {} {}", document.record_sha256, document.made_at),
        program: &document.program,
        made_at: &document.made_at,
        standard,
    };
    written(&set(&printed)?, &printed)
}

/// Sizes that the evening report is tried in, points: the first that fits it on one page is taken.
const EVENING_SIZES: [f64; 4] = [10.0, 9.0, 8.0, 7.0];

/// Sets the evening report on one page, if any size lets it fit.
///
/// # Errors
/// [`PdfError`].
pub fn evening(evening: &Evening, sections: &[Section]) -> Result<Vec<u8>, PdfError> {
    let program = env!("CARGO_PKG_VERSION");
    let told: Vec<Value> = sections
        .iter()
        .map(|section| json!({ "title": visible(&section.title), "breaks": false, "blocks": section.blocks }))
        .collect();
    let name = visible(&evening.job);
    let day = evening.date.format("%A %-d %B %Y").to_string();
    let none = Pictures::default();
    let mut printed = Printed {
        data: json!({
            "title": format!("{name}: {day}"),
            "author": format!("cladlog {program}"),
            "description": format!("Report of the site day {day}"),
            "keywords": ["cladding", "site day"],
            "header": name,
            "mark": if evening.rehearsal { "REHEARSAL" } else { "" },
            "footer": format!("Report of {day}, as of {}", when(&evening.as_of)),
            "name": day,
            "about": about(evening),
            "rehearsal": evening.rehearsal.then_some(REHEARSAL),
            "verdict": null,
            "complete": false,
            "unset": null,
            "sections": told,
            "drawings": {},
        }),
        pictures: &none,
        record: None,
        ident: format!("cladlog evening {} {} {}", evening.job, evening.date, evening.as_of),
        program,
        made_at: &evening.as_of,
        standard: PdfStandard::A_3b,
    };
    let mut last = None;
    for size in EVENING_SIZES {
        printed.data["size"] = json!(size);
        let set = set(&printed)?;
        let fits = set.pages().len() <= 1;
        last = Some(set);
        if fits {
            break;
        }
    }
    let set = last.ok_or_else(|| PdfError("no size to set it in".to_owned()))?;
    written(&set, &printed)
}

/// What the pages of a pack are set from, by file name; the first is the template. The typst command sets the same
/// pages from them.
pub fn typesetting(
    document: &Document,
    sections: &[Section],
    pictures: &Pictures,
    record: &[u8],
) -> Vec<(String, Vec<u8>)> {
    let data = data(document, sections, pictures);
    let files = files(data, pictures, Some(record), &fonts());
    let template = ("pack.typ".to_owned(), TEMPLATE.as_bytes().to_vec());
    std::iter::once(template).chain(files.into_iter().map(|(name, bytes)| (name, bytes.to_vec()))).collect()
}

fn set(printed: &Printed<'_>) -> Result<PagedDocument, PdfError> {
    let fonts = fonts();
    let files = files(printed.data.clone(), printed.pictures, printed.record, &fonts);
    let sheets = Sheets::new(fonts, files)?;
    typst::compile(&sheets).output.map_err(|errors| told(&errors))
}

/// The files that the template reads.
fn files(mut data: Value, pictures: &Pictures, record: Option<&[u8]>, fonts: &[Font]) -> BTreeMap<String, Bytes> {
    let mut letters = Letters::of(fonts);
    letters.fit(&mut data);
    if letters.unset {
        data["unset"] = json!(
            "A box stands for a character that the letters of this PDF lack. The page for browsers (HTML) and the \
             record show every character."
        );
    }
    data["attached"] = json!(record.is_some());
    let mut files: BTreeMap<String, Bytes> = BTreeMap::new();
    files.insert("data.json".to_owned(), Bytes::from_string(data.to_string()));
    if let Some(record) = record {
        files.insert("record.jsonl".to_owned(), Bytes::new(record.to_vec()));
    }
    for (index, drawing) in pictures.drawings.iter().enumerate() {
        files.insert(drawing_file(index), Bytes::from_string(drawing.svg.clone()));
    }
    for (path, small) in &pictures.small {
        files.insert(path.clone(), Bytes::new(small.clone()));
    }
    files
}

fn written(set: &PagedDocument, printed: &Printed<'_>) -> Result<Vec<u8>, PdfError> {
    let standards = PdfStandards::new(&[printed.standard]).map_err(|error| PdfError(error.message().to_string()))?;
    let options = PdfOptions {
        ident: Smart::Custom(printed.ident.clone()),
        creator: Smart::Custom(Some(format!("cladlog {}", printed.program))),
        timestamp: timestamp(printed.made_at),
        standards,
        tagged: true,
        ..PdfOptions::default()
    };
    typst_pdf::pdf(set, &options).map_err(|errors| told(&errors))
}

fn told(errors: &[typst::diag::SourceDiagnostic]) -> PdfError {
    PdfError(errors.first().map_or_else(String::new, |error| error.message.to_string()))
}

fn drawing_file(index: usize) -> String {
    format!("drawing-{index}.svg")
}

fn timestamp(at: &Moment) -> Option<Timestamp> {
    let at = at.instant();
    let part = |value: u32| u8::try_from(value).ok();
    let time = Datetime::from_ymd_hms(
        at.year(),
        part(at.month())?,
        part(at.day())?,
        part(at.hour())?,
        part(at.minute())?,
        part(at.second())?,
    )?;
    Timestamp::new_local(time, at.offset().local_minus_utc() / 60)
}

/// Everything that the template prints.
fn data(document: &Document, sections: &[Section], pictures: &Pictures) -> Value {
    let job = &document.job;
    let mut about = Vec::new();
    about.extend(job.address.as_ref().map(|address| visible(address)));
    about.extend(job.builder.as_ref().map(|builder| format!("For {}", visible(builder))));
    about.push(format!("Cladding handover pack, as the record stood on {}", when(&document.made_at)));
    about.push(format!("Times by the site's clocks ({})", job.time_zone));
    let told: Vec<Value> = sections
        .iter()
        .map(|section| {
            // Each wall begins a page of its own, so that it can be pulled out and read alone.
            let breaks = section.blocks.iter().any(|block| matches!(block, Block::Drawing { .. }));
            json!({ "title": visible(&section.title), "breaks": breaks, "blocks": section.blocks })
        })
        .collect();
    let drawn: BTreeMap<&str, Value> = pictures
        .drawings
        .iter()
        .enumerate()
        .map(|(index, one)| (one.name.as_str(), json!({ "file": drawing_file(index), "described": one.described })))
        .collect();
    let name = visible(&job.name);
    let short: String =
        if name.chars().count() > 70 { name.chars().take(69).chain(['…']).collect() } else { name.clone() };
    let state = match (document.rehearsal, document.complete) {
        (true, _) => "REHEARSAL",
        (false, false) => "NOT COMPLETE",
        (false, true) => "",
    };
    json!({
        "title": format!("Handover: {name}"),
        "author": format!("cladlog {}", document.program),
        "description": verdict(document),
        "keywords": ["cladding", "handover", job.key],
        "header": short,
        "mark": state,
        "footer": format!("Handover pack of job {}, {}", job.key, when(&document.made_at)),
        "name": name,
        "about": about,
        "rehearsal": document.rehearsal.then_some(REHEARSAL),
        "verdict": verdict(document),
        "complete": document.complete,
        "unset": null,
        "sections": told,
        "drawings": drawn,
    })
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
                    if key != "sort" && key != "file" && key != "wall" && key != "picture" {
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
                && info.variant.style == typst::text::FontStyle::Normal
                && (weight == FontWeight::REGULAR || weight == FontWeight::BOLD)
        })
        .collect()
}

/// What the typesetter may see: the template, the data, the drawings, the record. No disk, no clock, no network.
struct Sheets {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    template: Source,
    files: BTreeMap<String, Bytes>,
}

impl Sheets {
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

impl World for Sheets {
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
