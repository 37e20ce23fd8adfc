//! The pages of the pack as headings, paragraphs and tables: what HTML and PDF both print.

use serde::Serialize;

use super::costs;
use super::document::{Document, HoldTold};
use super::photo_pages::Shown;
use super::sheets_parts as parts;
use super::text::{clock_on, when};
use crate::plain::visible;
use crate::units::number::show;

/// A heading with what stands under it.
#[derive(Debug, Clone, Serialize)]
pub(super) struct Section {
    /// For links.
    pub id: String,
    /// Heading.
    pub title: String,
    /// In order.
    pub blocks: Vec<Block>,
}

/// One thing on a page.
#[derive(Debug, Clone, Serialize)]
#[serde(tag = "sort", rename_all = "lowercase")]
pub(super) enum Block {
    /// A paragraph.
    Text { text: String },
    /// A paragraph in a box.
    Note { text: String },
    /// A list.
    List { items: Vec<String> },
    /// Words and what they stand for.
    Facts { facts: Vec<(String, String)> },
    /// A table.
    Table(Table),
    /// A drawing of the pack, by its name.
    Drawing { name: String },
    /// Photos.
    Photos { photos: Vec<Shown> },
}

/// A table. A cell may hold several lines.
#[derive(Debug, Clone, Serialize)]
pub(super) struct Table {
    /// What it shows.
    pub caption: String,
    /// Headings, each with its share of the width.
    pub columns: Vec<(String, u8)>,
    /// Rows.
    pub rows: Vec<Vec<String>>,
}

pub(super) fn text(text: impl Into<String>) -> Block {
    Block::Text { text: visible(&text.into()) }
}

/// A table; when it has no rows, a sentence instead.
pub(super) fn table(caption: &str, columns: &[(&str, u8)], rows: Vec<Vec<String>>, none: &str) -> Block {
    if rows.is_empty() {
        return text(none);
    }
    Block::Table(Table {
        caption: caption.to_owned(),
        columns: columns.iter().map(|(name, share)| ((*name).to_owned(), *share)).collect(),
        rows: rows.into_iter().map(|row| row.iter().map(|cell| visible(cell)).collect()).collect(),
    })
}

/// Lines of one cell, the empty ones left out.
pub(super) fn lines<const N: usize>(parts: [String; N]) -> String {
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("\n")
}

/// "1 thing", "3 things".
pub(super) fn count(many: usize, one: &str) -> String {
    format!("{many} {one}{}", if many == 1 { "" } else { "s" })
}

/// The sentence that stands at the top.
pub(super) fn verdict(document: &Document) -> String {
    if document.complete {
        "COMPLETE: every step is done, every hold point is released and no defect is open.".to_owned()
    } else {
        let many = document.missing.len();
        let is = if many == 1 { "is" } else { "are" };
        format!("NOT COMPLETE: {} {is} missing. They come first below.", count(many, "thing"))
    }
}

/// What is said wherever a rehearsal could be taken for the real thing.
pub(super) const REHEARSAL: &str =
    "REHEARSAL: this record was written with a set clock, for training or testing. It is evidence of nothing.";

/// Every section, in order.
pub(super) fn sections(document: &Document) -> Vec<Section> {
    let mut sections = Vec::new();
    if let Some(withheld) = withheld(document) {
        sections.push(section("withheld", "Names are withheld", vec![Block::Note { text: withheld }]));
    }
    if !document.complete || !document.remarks.is_empty() {
        sections.push(missing(document));
    }
    sections.push(glance(document));
    sections.push(holds(document));
    sections.push(parts::defects(document));
    sections.extend(parts::parts(document));
    sections.extend(super::sealing::section(document));
    sections.extend(super::ordered::section(document));
    sections.push(super::materials::section(document));
    sections.push(people(document));
    sections.push(cautions(document));
    sections.push(late_and_struck(document));
    sections.push(costs::stoppages_and_extras(document));
    sections.push(costs::quantities(document));
    sections.push(care(document));
    sections.push(is_not(document));
    sections.push(super::signing::section(document));
    sections.push(how_to_verify(document));
    sections
}

fn section(id: &str, title: &str, blocks: Vec<Block>) -> Section {
    Section { id: id.to_owned(), title: title.to_owned(), blocks }
}

fn missing(document: &Document) -> Section {
    let rows = document
        .missing
        .iter()
        .map(|one| vec![one.what.clone(), one.on.clone(), one.stands.clone()])
        .collect::<Vec<_>>();
    let mut blocks = Vec::new();
    if !rows.is_empty() {
        blocks.push(table("Missing", &[("What", 6), ("Where", 3), ("How it stands", 3)], rows, ""));
    }
    if !document.remarks.is_empty() {
        blocks.push(text("To know besides:"));
        blocks.push(Block::List { items: document.remarks.clone() });
    }
    section("missing", if document.complete { "To know first" } else { "What is missing" }, blocks)
}

fn glance(document: &Document) -> Section {
    let sum = &document.summary;
    let with = |many: usize, said: &str| if many == 0 { String::new() } else { format!("; {many} {said}") };
    let counted = |many: usize, one: &str| if many == 0 { String::new() } else { format!("; {}", count(many, one)) };
    let facts = vec![
        ("Steps", format!("{} of {} complete", sum.steps_complete, sum.steps_asked)),
        ("Hold points", format!("{} of {} released", sum.holds_released, sum.holds)),
        (
            "Defects",
            if sum.defects == 0 {
                "none opened".to_owned()
            } else {
                format!(
                    "{} opened: {} open, {} put right, {} conceded",
                    sum.defects, sum.defects_open, sum.defects_closed, sum.defects_conceded
                )
            },
        ),
        (
            "Time windows",
            format!(
                "{} begun: {} met{}{}{}",
                sum.windows,
                sum.windows_met,
                with(sum.windows_lapsed, "lapsed or begun again"),
                with(sum.windows_broken, "done out of time"),
                with(sum.windows_running, "running")
            ),
        ),
        (
            "Measurements",
            format!("{} taken, {} out of tolerance when first read", sum.measurements, sum.measurements_out),
        ),
        ("Record", format!("{} entries: {} recorded late, {} struck", sum.entries, sum.late, sum.struck)),
        (
            "Work",
            format!(
                "{} on site, {} hours{}{}",
                count(document.days.len(), "day"),
                show(sum.hours),
                counted(document.costs.stoppages.len(), "stoppage"),
                counted(document.costs.extras.len(), "extra")
            ),
        ),
    ];
    let facts = facts.into_iter().map(|(word, said)| (word.to_owned(), said)).collect();
    section("glance", "At a glance", vec![Block::Facts { facts }])
}

fn holds(document: &Document) -> Section {
    let who = |hold: &HoldTold| match (&hold.person, &hold.role) {
        (Some(person), Some(role)) => format!("{person} ({role})"),
        (Some(person), None) => person.clone(),
        (None, _) => format!("nobody yet; it takes {}", hold.roles.join(" or ")),
    };
    let row = |hold: &HoldTold| {
        vec![
            hold.title.clone(),
            hold.subject.clone(),
            hold.state.to_uppercase(),
            lines([who(hold), hold.at.as_ref().map(when).unwrap_or_default()]),
            lines([
                hold.how.clone().unwrap_or_default(),
                hold.evidence.as_ref().map(|shows| format!("Evidence: {shows}")).unwrap_or_default(),
                hold.asked_at.as_ref().map(|asked| format!("Asked for {}", when(asked))).unwrap_or_default(),
                hold.entry.as_ref().map(|entry| format!("Entry {entry}")).unwrap_or_default(),
            ]),
        ]
    };
    let rows = document.holds.iter().map(row).collect();
    let columns = [("Hold point", 8), ("On", 3), ("State", 5), ("By whom, when", 7), ("How", 8)];
    let none = "This sequence has no hold points.";
    section("holds", "Hold points", vec![table("Hold points and who released them", &columns, rows, none)])
}

fn people(document: &Document) -> Section {
    let people = document
        .people
        .iter()
        .map(|one| {
            let hours = if one.hours == 0.0 { String::new() } else { format!("{} h", show(one.hours)) };
            vec![one.name.clone(), one.roles.join(", "), hours]
        })
        .collect();
    let days = document
        .days
        .iter()
        .map(|day| {
            let closed = day.closed_at.as_ref().map_or("not closed".to_owned(), |at| clock_on(at, &day.opened_at));
            let crew = day.crew.iter().map(|one| {
                let hours = one.hours.map(|hours| format!(", {} h", show(hours))).unwrap_or_default();
                format!("{} from {}{hours}", one.name, clock_on(&one.since, &day.opened_at))
            });
            let mut said: Vec<String> = day.talk.iter().map(|talk| format!("Talk: {talk}")).collect();
            said.extend(day.hazards.iter().map(|hazard| format!("Hazard: {hazard}")));
            said.extend(day.note.iter().map(|note| format!("Remark: {note}")));
            vec![
                format!("{}\n{} to {closed}", day.opened_at.format("%a %-d %b %Y"), day.opened_at.format("%H:%M")),
                crew.collect::<Vec<_>>().join("\n"),
                said.join("\n"),
            ]
        })
        .collect();
    let papers = document
        .papers
        .iter()
        .map(|paper| {
            let asked = if paper.asked.is_empty() { &paper.key } else { &paper.asked };
            vec![asked.clone(), paper.held.clone().unwrap_or_else(|| "NOT LISTED on the job".to_owned())]
        })
        .collect();
    section(
        "people",
        "People, days and papers",
        vec![
            table("People and what each may do", &[("Name", 4), ("Roles", 4), ("Hours", 1)], people, ""),
            table(
                "Site days",
                &[("Day", 3), ("On site", 4), ("Talk, hazards, remarks", 5)],
                days,
                "No site day was opened.",
            ),
            table("Papers", &[("Asked for", 5), ("Held", 5)], papers, "The sequence asks for no papers."),
        ],
    )
}

fn cautions(document: &Document) -> Section {
    let mut rows: Vec<Vec<String>> = Vec::new();
    for one in &document.cautions {
        let said = format!("{} {}", one.person, one.at.format("%H:%M"));
        let day = one.at.format("%a %-d %b %Y").to_string();
        match rows.last_mut().filter(|row| row[0] == day && row[1] == one.title) {
            Some(row) => row[2] = format!("{}, {said}", row[2]),
            None => rows.push(vec![day, one.title.clone(), said]),
        }
    }
    let columns = [("Day", 2), ("Hazard", 3), ("Acknowledged by, at", 6)];
    let none = "No caution was acknowledged.";
    section("cautions", "Cautions acknowledged", vec![table("Cautions acknowledged, day by day", &columns, rows, none)])
}

fn late_and_struck(document: &Document) -> Section {
    let late = document
        .late
        .iter()
        .map(|one| {
            vec![
                when(&one.happened_at),
                when(&one.recorded_at),
                one.what.clone(),
                lines([one.by.clone(), one.entry.clone()]),
            ]
        })
        .collect();
    let struck = document
        .struck
        .iter()
        .map(|one| {
            vec![
                lines([
                    when(&one.happened_at),
                    if one.late { "recorded late".to_owned() } else { String::new() },
                    one.entry.clone(),
                ]),
                one.what.clone(),
                one.why.clone(),
                lines([one.by.clone(), when(&one.struck_at), one.struck_by.clone()]),
            ]
        })
        .collect();
    let notes = document
        .log
        .iter()
        .filter(|entry| entry.kind == "noted" && entry.struck_by.is_none())
        .map(|entry| vec![when(&entry.happened_at), entry.what.clone(), lines([entry.by.clone(), entry.id.clone()])])
        .collect::<Vec<_>>();
    let mut blocks = vec![
        table(
            "Recorded more than a quarter of an hour after it happened",
            &[("Happened", 3), ("Recorded", 3), ("What", 5), ("By, entry", 3)],
            late,
            "Nothing was recorded late.",
        ),
        table(
            "Struck: crossed out, and still readable",
            &[("Happened, entry", 3), ("What it said", 4), ("Why it was struck", 4), ("Struck by", 3)],
            struck,
            "Nothing was struck.",
        ),
    ];
    if !notes.is_empty() {
        blocks.push(table("Notes", &[("When", 2), ("Note", 6), ("By, entry", 3)], notes, ""));
    }
    if !document.not_understood.is_empty() {
        blocks.push(text(format!(
            "Entries that this version of the program does not understand, kept in the record as they are: {}.",
            document.not_understood.join(", ")
        )));
    }
    section("late", "Late and struck entries, notes", blocks)
}

fn care(document: &Document) -> Section {
    let first = "What the makers of the panels, coatings and sealants say about care comes first, wherever it says \
                 otherwise. What follows is only what is usual.";
    section("care", "Looking after the cladding", vec![text(first), Block::List { items: document.care.clone() }])
}

fn is_not(document: &Document) -> Section {
    let mut blocks = vec![text(
        "This pack shows what the crew recorded, when and by whom. It is no approval, no consent, no design and no \
         engineering, and it proves compliance with nothing. Tolerances and times rest on what stands beside them; \
         where that is common practice, there is no published source.",
    )];
    blocks.push(text(document.job.comes_first.split_whitespace().collect::<Vec<_>>().join(" ")));
    let rows = document
        .job
        .editions
        .iter()
        .map(|edition| {
            let why = edition.why.as_ref().map(|why| format!("Adopted because: {why}")).unwrap_or_default();
            vec![
                lines([format!("{}, edition {}", edition.title, edition.edition), why]),
                when(&edition.since),
                lines([edition.key.clone(), split_hash(&edition.sha256)]),
            ]
        })
        .collect();
    let columns = [("Sequence", 5), ("In force since", 2), ("Key, SHA-256 of its text", 5)];
    blocks.push(table("The install sequence that the job was built by", &columns, rows, ""));
    section("is-not", "What this pack is not", blocks)
}

/// A hash in groups, so that it breaks where a line ends.
pub(super) fn split_hash(hash: &str) -> String {
    let letters: Vec<char> = hash.chars().collect();
    letters.chunks(8).map(|part| part.iter().collect::<String>()).collect::<Vec<_>>().join(" ")
}

/// What is said first of a copy without names.
pub(super) fn withheld(document: &Document) -> Option<String> {
    let many = count(document.withheld, "name");
    let is = if document.withheld == 1 { "is" } else { "are" };
    (document.withheld > 0).then(|| {
        format!(
            "COPY FOR READING: {many} {is} withheld; roles stand in their place. The record names people and can't be \
             changed, so it is not in this copy, and nobody can verify it. The whole pack is with the crew."
        )
    })
}

fn how_to_verify(document: &Document) -> Section {
    if let Some(withheld) = withheld(document) {
        let hash =
            format!("SHA-256 of the record that these pages were made from: {}", split_hash(&document.record_sha256));
        return section("verify", "Why this copy can't be checked", vec![text(withheld), text(hash)]);
    }
    let heads: Vec<Vec<String>> = {
        let mut last: std::collections::BTreeMap<&str, (&str, &str)> = std::collections::BTreeMap::new();
        for entry in &document.log {
            let device = entry.id.rsplit_once('-').map_or("", |(device, _)| device);
            last.insert(device, (&entry.id, &entry.hash));
        }
        last.into_iter().map(|(device, (id, hash))| vec![device.to_owned(), id.to_owned(), split_hash(hash)]).collect()
    };
    section(
        "verify",
        "How to check this pack",
        vec![
            text(
                "On any machine with the program: cladlog verify FOLDER, or the zip. It checks the hash of every file \
                 and entry, the chain that ties each entry to the one before it and the signature, holds each photo \
                 against the SHA-256 that was recorded, then writes pages, tables and drawings again from the record \
                 and compares them.",
            ),
            text(
                "Without the program: each line of record.jsonl is one entry. Its hash is the SHA-256 of the RFC 8785 \
                 form of the line without 'hash'; its 'prev' is the hash of the entry before it on the same device. \
                 manifest.json lists the SHA-256 of every file. The same record.jsonl is attached to the PDF.",
            ),
            text(
                "The hashes show that nothing was changed since the last entry below was written down somewhere else, \
                 such as on signed paper. They do not show who typed it.",
            ),
            text(format!("SHA-256 of record.jsonl: {}", split_hash(&document.record_sha256))),
            table("The last entry of each device", &[("Device", 3), ("Last entry", 3), ("Hash", 6)], heads, ""),
        ],
    )
}
