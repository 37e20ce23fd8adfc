//! handover.html: one file, no script, no network; for a phone, a desk and paper.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::handover::model::{Document, Evening, when};
use crate::handover::page::{Block, Figure, Pictures, Section, Table};
use crate::handover::sections::{REHEARSAL, about, about_pack, verdict};
use crate::plain::{count, visible};

const STYLE: &str = include_str!("pack.css");

const GENERATOR: &str = concat!("cladlog ", env!("CARGO_PKG_VERSION"));

/// The sections that a reader on a phone looks for first: each has a link at the top.
const FIRST: [&str; 3] = ["missing", "reservations", "signatures"];

/// What differs from page to page.
struct Page<'p> {
    title: String,
    heading: Markup,
    sections: &'p [Section],
    foot: Markup,
    /// What the sections show.
    pictures: Option<&'p Pictures>,
    /// Whether the sections are listed at the top.
    has_contents: bool,
    /// More of the page's head.
    look: Option<Markup>,
}

/// The pages of a pack.
pub fn pack(document: &Document<'_>, sections: &[Section], pictures: &Pictures) -> String {
    let job = &document.state().job;
    let heading = html! {
        h1 { bdi { (visible(&job.name)) } }
        @for line in about_pack(document) { p class="where" { (line) } }
        @if document.is_rehearsal() { p class="rehearsal" { (REHEARSAL) } }
        p class={ "verdict" @if document.is_complete() { " complete" } } { (verdict(document)) }
    };
    let foot = html! {
        "Job " (job.key) ", record of " (count(document.book.entries.len(), "entry")) ", pack made "
        (when(&document.made_at)) " by " (GENERATOR) "."
        @if document.is_rehearsal() { " " (REHEARSAL) }
    };
    let title = format!("Handover: {}", visible(&job.name));
    Page { pictures: Some(pictures), has_contents: true, ..Page::of(title, heading, sections, foot) }.written()
}

/// The page of a site day's report.
pub fn evening(evening: &Evening, sections: &[Section]) -> String {
    let day = evening.date.format("%A %-d %B %Y").to_string();
    let heading = html! {
        h1 { (day) }
        @for line in about(evening) { p class="where" { bdi { (line) } } }
        @if evening.rehearsal { p class="rehearsal" { (REHEARSAL) } }
    };
    let foot = html! {
        "As of " (when(&evening.as_of)) ", by " (GENERATOR) "."
        // The code is the last word of the page.
        @if let Some(head) = &evening.head { " Check " (head) }
    };
    let title = format!("{}: {day}", visible(&evening.job));
    Page::of(title, heading, sections, foot).written()
}

/// A page of lists that somebody leaves open; where `every_s` says so, the browser reads it anew every so many seconds.
pub fn lists(title: &str, about: &[String], sections: &[Section], every_s: Option<u32>) -> String {
    let heading = html! {
        h1 { (visible(title)) }
        @for line in about { p class="where" { (visible(line)) } }
    };
    let foot = html! { "Made by " (GENERATOR) "." };
    // Read from across a room, on whatever screen there is.
    let look = html! {
        @if let Some(seconds) = every_s { meta http-equiv="refresh" content=(seconds); }
        style { "header, main, footer { max-width: none; }" }
    };
    Page { look: Some(look), ..Page::of(title.to_owned(), heading, sections, foot) }.written()
}

impl<'p> Page<'p> {
    fn of(title: String, heading: Markup, sections: &'p [Section], foot: Markup) -> Self {
        Self { title, heading, sections, foot, pictures: None, has_contents: false, look: None }
    }

    fn written(&self) -> String {
        let markup = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta name="generator" content=(GENERATOR);
                    title { (self.title) }
                    style { (PreEscaped(STYLE)) }
                    @if let Some(look) = &self.look { (look) }
                }
                body {
                    a class="skip" href="#main" { "Skip to content" }
                    header { (self.heading) }
                    @if self.has_contents { (self.contents()) }
                    main id="main" { @for section in self.sections { (self.section(section)) } }
                    footer { p { (self.foot) } }
                }
            }
        };
        markup.into_string() + "\n"
    }

    fn contents(&self) -> Markup {
        let link = |section: &Section| html! { li { a href={ "#" (section.id) } { (visible(&section.title)) } } };
        let first = self.sections.iter().filter(|section| FIRST.contains(&section.id.as_str()));
        html! {
            nav id="contents" aria-label="Contents" {
                ul { @for section in first { (link(section)) } }
                details {
                    summary { "Contents" }
                    ul { @for section in self.sections { (link(section)) } }
                }
            }
        }
    }

    /// A section. One of the appendix is folded: a phone would take a hundred screens for all of them.
    fn section(&self, section: &Section) -> Markup {
        let heading = html! { h2 id=(section.id) { (visible(&section.title)) } };
        let body = html! {
            @for block in &section.blocks { (self.block(block, section.appendix)) }
            @if self.has_contents { p class="back" { a href="#contents" { "Contents" } } }
        };
        html! {
            section aria-labelledby=(section.id) {
                @if section.appendix { details { summary { (heading) } (body) } } @else { (heading) (body) }
            }
        }
    }

    fn block(&self, block: &Block, in_appendix: bool) -> Markup {
        match block {
            Block::Text { text } => html! { p { (text) } },
            Block::Note { text } => html! { p class="note" { (text) } },
            Block::Paper { text } => html! { p class="by-hand" { (text) } },
            Block::Tick { text } => html! { p class="by-hand" { "☐ " (text) } },
            Block::Screen { text } => html! { p class="on-screen" { (text) } },
            Block::List { items } => html! { ul { @for item in items { li { (item) } } } },
            Block::Facts { facts } => html! { dl { @for (term, value) in facts { dt { (term) } dd { (value) } } } },
            Block::Table(table) => self::table(table, in_appendix),
            Block::Drawing { file } => {
                let drawings = self.pictures.iter().flat_map(|pictures| &pictures.drawings);
                html! {
                    @for drawing in drawings.filter(|drawing| &drawing.path == file) {
                        // Our own drawing, with every text in it escaped where it was written.
                        figure class="drawing" aria-label=(drawing.described) tabindex="0" { (PreEscaped(&drawing.svg)) }
                    }
                }
            }
            Block::Photos { photos, large } => html! {
                div class={ "photos" @if *large { " large" } } { @for photo in photos { (self.photo(photo)) } }
            },
        }
    }

    /// A photo with its caption; the small picture is in the page itself.
    fn photo(&self, photo: &Figure) -> Markup {
        let small = self.pictures.and_then(|pictures| pictures.small.get(&photo.picture));
        html! {
            figure class="photo" id=[(!photo.anchor.is_empty()).then_some(&photo.anchor)] {
                @if let Some(small) = small {
                    @let img = html! { img alt=(photo.title) src=(format!("data:image/jpeg;base64,{}", STANDARD.encode(small))); };
                    @if photo.photo.is_empty() { (img) } @else { a href=(photo.photo) { (img) } }
                }
                figcaption {
                    strong { (photo.title) }
                    @for flag in &photo.flags { p class="flag" { (flag) } }
                    @for line in &photo.lines { p { (line) } }
                }
            }
        }
    }
}

/// So many columns fit beside each other on a phone; of more, each row becomes a card there.
const NARROW: usize = 3;

/// Cells of no more letters don't say by themselves what they are: on a card the heading of their column stands before them.
const BARE: usize = 12;

/// A table. Its parts carry their roles in words, since the style for phones takes the table's own away. In the appendix rows
/// are compared, so there it stays a table and moves sideways in a frame of its own.
fn table(table: &Table, in_appendix: bool) -> Markup {
    let whole: u32 = table.columns.iter().map(|(_, share)| u32::from(*share)).sum();
    let share = |share: u8| (u32::from(share) * 1000 / whole.max(1)) as f64 / 10.0;
    let written = table.columns.len() - table.by_hand;
    let by_hand = |column: usize| (column >= written).then_some("by-hand");
    let shown = written + usize::from(!table.links.is_empty());
    let is_bare =
        |column: usize| table.rows.iter().filter_map(|row| row.get(column)).all(|cell| cell.chars().count() <= BARE);
    // What a card is about stands at its head.
    let named: Vec<bool> = (0..written).map(|column| column > 1 && is_bare(column)).collect();
    let class = |column: usize| match named.get(column) {
        None => Some("by-hand"),
        Some(true) => Some("named"),
        Some(false) => None,
    };
    let class_of_table = match (in_appendix, shown > NARROW, written == 1 && table.by_hand > 0) {
        // With nothing but its first column written it is a form.
        (_, _, true) => Some("by-hand"),
        (false, true, _) => Some("cards"),
        _ => None,
    };
    let markup = html! {
        table role="table" class=[class_of_table] {
            @if !table.caption.is_empty() { caption { (table.caption) } }
            colgroup {
                @for (place, (_, part)) in table.columns.iter().enumerate() {
                    col class=[by_hand(place)] style={ "width:" (share(*part)) "%" };
                }
                @if !table.links.is_empty() { col style="width:8rem"; }
            }
            thead role="rowgroup" {
                tr role="row" {
                    @for (place, (name, _)) in table.columns.iter().enumerate() {
                        th role="columnheader" scope="col" class=[by_hand(place)] { (name) }
                    }
                    @if !table.links.is_empty() { th role="columnheader" scope="col" { "More" } }
                }
            }
            tbody role="rowgroup" {
                @for (place, row) in table.rows.iter().enumerate() {
                    // A row with nothing in it but room to write is for paper alone.
                    @let blank = table.by_hand > 0 && row[..written].iter().all(|cell| cell.trim().is_empty());
                    tr role="row" id=[table.anchors.get(place)] class=[blank.then_some("by-hand")] {
                        @for (column, (cell, (name, _))) in row.iter().zip(&table.columns).enumerate() {
                            td role="cell" data-head=(name) class=[class(column)] { (cell) }
                        }
                        @if let Some(link) = table.links.get(place) {
                            td role="cell" data-head="More" { a href={ "#" (link.to) } { (link.name) } }
                        }
                    }
                }
            }
        }
    };
    if !in_appendix {
        return markup;
    }
    html! {
        div class="wide" role="region" aria-label=(table.caption) tabindex="0" style={ "--columns:" (shown) } { (markup) }
    }
}
