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

/// The pages of a pack.
pub fn pack(document: &Document<'_>, sections: &[Section], pictures: &Pictures) -> String {
    let job = &document.state().job;
    let head = html! {
        h1 { bdi { (visible(&job.name)) } }
        @for line in about_pack(document) { p class="where" { (line) } }
        @if document.is_rehearsal() { p class="rehearsal" { (REHEARSAL) } }
        p class={ "verdict" @if document.is_complete() { " complete" } } { (verdict(document)) }
    };
    let contents = html! {
        nav id="contents" aria-label="Contents" {
            details {
                summary { "Contents" }
                ul { @for section in sections { li { a href={ "#" (section.id) } { (visible(&section.title)) } } } }
            }
        }
    };
    let foot = html! {
        "Job " (job.key) ", record of " (count(document.book.entries.len(), "entry")) ", pack made "
        (when(&document.made_at)) " by " (GENERATOR) "."
        @if document.is_rehearsal() { " " (REHEARSAL) }
    };
    page(&format!("Handover: {}", visible(&job.name)), &html! {}, &head, &contents, sections, pictures, &foot)
}

/// The page of a site day's report.
pub fn evening(evening: &Evening, sections: &[Section]) -> String {
    let day = evening.date.format("%A %-d %B %Y").to_string();
    let head = html! {
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
    page(&title, &html! {}, &head, &html! {}, sections, &Pictures::default(), &foot)
}

/// A page of lists that somebody leaves open; where `every_s` says so, the browser reads it anew every so many seconds.
pub fn lists(title: &str, about: &[String], sections: &[Section], every_s: Option<u32>) -> String {
    let head = html! {
        h1 { (visible(title)) }
        @for line in about { p class="where" { (visible(line)) } }
    };
    let foot = html! { "Made by " (GENERATOR) "." };
    // Read from across a room, on whatever screen there is.
    let look = html! {
        @if let Some(seconds) = every_s { meta http-equiv="refresh" content=(seconds); }
        style { "header, main, footer { max-width: none; }" }
    };
    page(title, &look, &head, &html! {}, sections, &Pictures::default(), &foot)
}

fn page(
    title: &str,
    look: &Markup,
    head: &Markup,
    contents: &Markup,
    sections: &[Section],
    pictures: &Pictures,
    foot: &Markup,
) -> String {
    let markup = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="generator" content=(GENERATOR);
                title { (title) }
                style { (PreEscaped(STYLE)) }
                (look)
            }
            body {
                a class="skip" href="#main" { "Skip to content" }
                header { (head) }
                (contents)
                main id="main" {
                    @for section in sections {
                        section aria-labelledby=(section.id) {
                            h2 id=(section.id) { (visible(&section.title)) }
                            @for block in &section.blocks { (self::block(block, pictures)) }
                            @if !contents.0.is_empty() { p class="back" { a href="#contents" { "Contents" } } }
                        }
                    }
                }
                footer { p { (foot) } }
            }
        }
    };
    markup.into_string() + "\n"
}

fn block(block: &Block, pictures: &Pictures) -> Markup {
    match block {
        Block::Text { text } => html! { p { (text) } },
        Block::Note { text } => html! { p class="note" { (text) } },
        Block::Tick { text } => html! { p class="by-hand" { "☐ " (text) } },
        Block::List { items } => html! { ul { @for item in items { li { (item) } } } },
        Block::Facts { facts } => html! { dl { @for (term, value) in facts { dt { (term) } dd { (value) } } } },
        Block::Table(table) => self::table(table),
        Block::Drawing { file } => html! {
            @if let Some(drawing) = pictures.drawings.iter().find(|drawing| &drawing.path == file) {
                // Our own drawing, with every text in it escaped where it was written.
                figure class="drawing" aria-label=(drawing.described) tabindex="0" { (PreEscaped(&drawing.svg)) }
            }
        },
        Block::Photos { photos, large } => html! {
            div class={ "photos" @if *large { " large" } } { @for photo in photos { (self::photo(photo, pictures)) } }
        },
    }
}

/// A photo with its caption; the small picture is in the page itself.
fn photo(photo: &Figure, pictures: &Pictures) -> Markup {
    let small = pictures.small.get(&photo.picture);
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

/// A table. Its parts carry their roles in words, since the style for phones takes the table's own away.
fn table(table: &Table) -> Markup {
    let whole: u32 = table.columns.iter().map(|(_, share)| u32::from(*share)).sum();
    let share = |share: u8| (u32::from(share) * 1000 / whole.max(1)) as f64 / 10.0;
    let written = table.columns.len() - table.by_hand;
    let by_hand = |column: usize| (column >= written).then_some("by-hand");
    html! {
        table role="table" {
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
                            td role="cell" data-head=(name) class=[by_hand(column)] { (cell) }
                        }
                        @if let Some(link) = table.links.get(place) {
                            td role="cell" data-head="More" { a href={ "#" (link.to) } { (link.name) } }
                        }
                    }
                }
            }
        }
        @if table.by_hand > 0 { p class="on-screen" { "Printed, this table has room to be filled in by hand." } }
    }
}
