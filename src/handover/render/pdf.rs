//! handover.pdf: the same pages on paper, PDF/A-3b with tags, the record attached byte for byte.

use std::collections::BTreeMap;

use chrono::{Datelike, Timelike};
use serde_json::{Value, json};
use typst::foundations::{Datetime, Smart};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};

use super::typeset::{PdfError, set, sources};
use crate::handover::model::paths::PROGRAM;
use crate::handover::model::{Document, Evening, when};
use crate::handover::page::{Block, Pictures, Section, text};
use crate::handover::sections::{REHEARSAL, about, about_pack, verdict};
use crate::moment::Moment;
use crate::plain::visible;

/// Sizes that the evening report is tried in, points: the first that fits it on one page is taken.
const EVENING_SIZES: [f64; 4] = [10.0, 9.0, 8.0, 7.0];

/// Rows of one table that are printed: nobody reads more on paper, and each thousand takes the typesetter some seconds and a
/// fifth of a gigabyte.
const MOST_ROWS: usize = 1000;

/// Longest name in the header of a page.
const HEADER: usize = 70;

/// Sets the pages of the pack.
pub fn pack(document: &Document<'_>, sections: &[Section], pictures: &Pictures) -> Result<Vec<u8>, PdfError> {
    // A copy without names goes without the record.
    let record = (document.withheld == 0).then_some(&document.record);
    let set = set(data(document, sections, pictures), pictures, record)?;
    written(&set, ident(document), &document.made_at, PdfStandard::A_3b)
}

/// Sets the same pages as PDF/A-1b, which takes no attachments: for validators that know no later part.
pub fn pdf_a1b(document: &Document<'_>, sections: &[Section], pictures: &Pictures) -> Result<Vec<u8>, PdfError> {
    let set = set(data(document, sections, pictures), pictures, None)?;
    written(&set, ident(document), &document.made_at, PdfStandard::A_1b)
}

/// What the pages of a pack are set from, by file name; the first is the template.
pub fn typesetting(document: &Document<'_>, sections: &[Section], pictures: &Pictures) -> Vec<(String, Vec<u8>)> {
    sources(data(document, sections, pictures), pictures, &document.record)
}

/// Sets the evening report on one page, if any size lets it fit.
pub fn evening(evening: &Evening, sections: &[Section]) -> Result<Vec<u8>, PdfError> {
    let name = visible(&evening.job);
    let day = evening.date.format("%A %-d %B %Y").to_string();
    let mut data = json!({
        "title": format!("{name}: {day}"),
        "author": format!("cladlog {PROGRAM}"),
        "description": format!("Report of the site day {day}"),
        "keywords": ["cladding", "site day"],
        "header": name,
        "mark": if evening.rehearsal { "REHEARSAL" } else { "" },
        "footer": format!("Report of {day}, as at {}.", when(&evening.as_of)),
        "check": evening.head,
        "name": day,
        "about": about(evening),
        "rehearsal": evening.rehearsal.then_some(REHEARSAL),
        "verdict": null,
        "complete": false,
        "sections": sections.iter().map(section_data).collect::<Vec<_>>(),
        "drawings": {},
    });
    let mut pages = None;
    for size in EVENING_SIZES {
        data["size"] = json!(size);
        let set = set(data.clone(), &Pictures::default(), None)?;
        let fits = set.pages().len() <= 1;
        pages = Some(set);
        if fits {
            break;
        }
    }
    let pages = pages.ok_or_else(|| PdfError("no size to set it in".to_owned()))?;
    let ident = format!("cladlog evening {} {} {}", evening.job, evening.date, evening.as_of);
    written(&pages, ident, &evening.as_of, PdfStandard::A_3b)
}

/// The same record at the same moment is the same document.
fn ident(document: &Document<'_>) -> String {
    format!("cladlog {} {}", document.record_sha256, document.made_at)
}

fn written(pages: &PagedDocument, ident: String, made_at: &Moment, standard: PdfStandard) -> Result<Vec<u8>, PdfError> {
    let options = PdfOptions {
        ident: Smart::Custom(ident),
        creator: Smart::Custom(Some(format!("cladlog {PROGRAM}"))),
        timestamp: timestamp(made_at),
        standards: PdfStandards::new(&[standard]).map_err(|error| PdfError(error.message().to_string()))?,
        tagged: true,
        ..PdfOptions::default()
    };
    typst_pdf::pdf(pages, &options).map_err(|errors| PdfError::first(&errors))
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

fn section_data(section: &Section) -> Value {
    json!({
        "id": section.id,
        "title": visible(&section.title),
        "breaks": section.new_page,
        "appendix": section.appendix,
        "blocks": section.blocks.iter().flat_map(printed).collect::<Vec<Value>>(),
    })
}

/// A block as it is printed: of a table that is too long the beginning, and where the rest is.
fn printed(block: &Block) -> Vec<Value> {
    match block {
        Block::Screen { .. } => Vec::new(),
        Block::Paper { text } => vec![json!(self::text(text))],
        Block::Table(table) if table.rows.len() > MOST_ROWS => {
            let all = table.rows.len();
            let mut table = table.clone();
            table.rows.truncate(MOST_ROWS);
            let rest = text(format!("Printed here: the first {MOST_ROWS} of {all}. All of them are in handover.html."));
            vec![json!(rest), json!(Block::Table(table))]
        }
        other => vec![json!(other)],
    }
}

/// Everything that the template prints.
fn data(document: &Document<'_>, sections: &[Section], pictures: &Pictures) -> Value {
    let job = &document.state().job;
    let sections: Vec<Value> = sections.iter().map(section_data).collect();
    let drawings = pictures.drawings.iter();
    let drawings: BTreeMap<&str, &str> =
        drawings.map(|drawing| (drawing.path.as_str(), drawing.described.as_str())).collect();
    let name = visible(&job.name);
    let header: String = if name.chars().count() > HEADER {
        name.chars().take(HEADER - 1).chain(['…']).collect()
    } else {
        name.clone()
    };
    let mark = match (document.is_rehearsal(), document.is_complete()) {
        (true, _) => "REHEARSAL",
        (false, false) => "NOT COMPLETE",
        (false, true) => "",
    };
    json!({
        "title": format!("Handover: {name}"),
        "author": format!("cladlog {PROGRAM}"),
        "description": verdict(document),
        "keywords": ["cladding", "handover", job.key],
        "header": header,
        "mark": mark,
        "footer": format!("Handover pack of job {}, {}", job.key, when(&document.made_at)),
        "name": name,
        "about": about_pack(document),
        "rehearsal": document.is_rehearsal().then_some(REHEARSAL),
        "verdict": verdict(document),
        "complete": document.is_complete(),
        "sections": sections,
        "drawings": drawings,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::handover::page::{section, table};

    #[test]
    fn of_a_table_of_thousands_of_rows_the_first_are_printed_and_the_rest_is_said() {
        let printed = |rows: usize| {
            let table = table("Notes", 0..rows, &[("No.", 1, &|row| row.to_string())]);
            section_data(&section("notes", "Notes", table.into_iter().map(Block::from).collect()))["blocks"].clone()
        };
        let whole = printed(MOST_ROWS);
        assert_eq!(whole.as_array().unwrap().len(), 1);
        assert_eq!(whole[0]["rows"].as_array().unwrap().len(), MOST_ROWS);
        let cut = printed(MOST_ROWS + 1);
        assert_eq!(cut[0]["text"], "Printed here: the first 1000 of 1001. All of them are in handover.html.");
        assert_eq!(cut[1]["rows"].as_array().unwrap().len(), MOST_ROWS);
        assert_eq!(cut[1]["rows"][MOST_ROWS - 1], json!(["999"]));
    }
}
