//! Pages as headings, paragraphs and tables: what HTML and PDF both print.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::Serialize;

use super::model::Blob;
use crate::plain::visible;

/// A heading with what is under it.
#[derive(Debug, Clone, Serialize)]
pub struct Section {
    /// For links.
    pub id: String,
    /// Heading.
    pub title: String,
    /// In order.
    pub blocks: Vec<Block>,
    /// Begins a page of its own on paper.
    pub new_page: bool,
    /// Of an appendix: set small, for whoever looks something up.
    pub appendix: bool,
}

impl Section {
    /// On a page of its own.
    pub fn on_new_page(self) -> Self {
        Self { new_page: true, ..self }
    }

    /// In the appendix, under a letter.
    pub fn in_appendix(self, letter: char) -> Self {
        Self { appendix: true, title: format!("{letter}. {}", self.title), ..self }
    }
}

/// One thing on a page.
#[derive(Debug, Clone, Serialize)]
#[serde(tag = "kind", rename_all = "lowercase")]
pub enum Block {
    /// A paragraph.
    Text { text: String },
    /// A paragraph in a box.
    Note { text: String },
    /// A paragraph on paper alone, about what is filled in by hand.
    Paper { text: String },
    /// A line with a box in front, to tick by hand on paper.
    Tick { text: String },
    /// A paragraph on a screen alone.
    Screen { text: String },
    /// A list.
    List { items: Vec<String> },
    /// Terms, each with its value.
    Facts { facts: Vec<(String, String)> },
    /// A table.
    Table(Table),
    /// A drawing, by its path in the pack.
    Drawing { file: String },
    /// Photos; two beside each other where they are large.
    Photos { photos: Vec<Figure>, large: bool },
}

/// A table. A cell may hold several lines.
#[derive(Debug, Clone, Serialize)]
pub struct Table {
    /// What it shows.
    pub caption: String,
    /// Headings, each with its share of the width.
    pub columns: Vec<(&'static str, u8)>,
    /// Rows.
    pub rows: Vec<Vec<String>>,
    /// For each row what says more; empty where no row has one.
    pub links: Vec<Link>,
    /// For each row an id of its own, for links; empty where no row has one.
    pub anchors: Vec<String>,
    /// So many of its last columns are filled in by hand, on paper.
    pub by_hand: usize,
}

/// A link within the pages.
#[derive(Debug, Clone, Serialize)]
pub struct Link {
    /// Id of the section, the row or the photo that it leads to.
    pub to: String,
    /// What that is; left empty, it is the title of the section.
    pub name: String,
}

/// A photo on a page.
#[derive(Debug, Clone, Serialize)]
pub struct Figure {
    /// Its id, for links; empty where it has none.
    pub anchor: String,
    /// Path of its small picture in the pack; empty where there is none.
    pub picture: String,
    /// Path of its large picture in the pack; empty where there is none.
    pub large: String,
    /// Path of the photo itself in the pack; empty where it is not in it.
    pub photo: String,
    /// Its caption, which also describes it to those who can't see it.
    pub title: String,
    /// The lines beside it.
    pub lines: Vec<String>,
    /// What a reader should note about it.
    pub flags: Vec<String>,
}

/// A drawing of the pack.
#[derive(Debug)]
pub struct Drawing {
    /// Path in the pack.
    pub path: String,
    /// What it shows, for those who can't see it.
    pub described: String,
    /// The drawing.
    pub svg: String,
}

/// What the pages show.
#[derive(Debug, Default)]
pub struct Pictures {
    /// Drawings.
    pub drawings: Vec<Drawing>,
    /// Small and large pictures of photos (JPEG) by their path.
    pub small: BTreeMap<String, Arc<[u8]>>,
}

impl Pictures {
    /// Drawings, and the small and large pictures among some files.
    pub fn of(drawings: Vec<Drawing>, photos: &[(String, Blob)]) -> Self {
        let small = photos.iter().filter_map(|(path, blob)| match blob {
            Blob::Memory(bytes) => Some((path.clone(), Arc::clone(bytes))),
            Blob::OnDisk { .. } => None,
        });
        Self { drawings, small: small.collect() }
    }
}

/// One column of a table: its heading, its share of the width, and its cell in a row.
pub type Column<'c, R> = (&'static str, u8, &'c dyn Fn(&R) -> String);

/// A table of some rows; none where there are no rows.
pub fn table<R>(
    caption: impl Into<String>,
    rows: impl IntoIterator<Item = R>,
    columns: &[Column<'_, R>],
) -> Option<Table> {
    let row = |row: R| columns.iter().map(|(_, _, cell)| visible(&cell(&row))).collect();
    let rows: Vec<Vec<String>> = rows.into_iter().map(row).collect();
    let columns = columns.iter().map(|(heading, share, _)| (*heading, *share)).collect();
    (!rows.is_empty()).then(|| Table {
        caption: caption.into(),
        columns,
        rows,
        links: Vec::new(),
        anchors: Vec::new(),
        by_hand: 0,
    })
}

impl Table {
    /// With links from its rows to what says more.
    pub fn with_links(self, links: impl IntoIterator<Item = Link>) -> Self {
        Self { links: links.into_iter().collect(), ..self }
    }

    /// With an id for each of its rows.
    pub fn with_anchors(self, anchors: impl IntoIterator<Item = impl ToString>) -> Self {
        Self { anchors: anchors.into_iter().map(|anchor| anchor.to_string()).collect(), ..self }
    }

    /// With so many last columns to fill in by hand.
    pub fn by_hand(self, columns: usize) -> Self {
        Self { by_hand: columns, ..self }
    }
}

impl From<Table> for Block {
    fn from(table: Table) -> Self {
        Self::Table(table)
    }
}

/// A table of some rows; where there are none, a sentence instead.
pub fn table_or<R>(
    none: &str,
    caption: impl Into<String>,
    rows: impl IntoIterator<Item = R>,
    columns: &[Column<'_, R>],
) -> Block {
    table(caption, rows, columns).map_or_else(|| text(none), Block::from)
}

/// A heading with what is under it.
pub fn section(id: impl Into<String>, title: impl Into<String>, blocks: Vec<Block>) -> Section {
    Section { id: id.into(), title: title.into(), blocks, new_page: false, appendix: false }
}

/// A paragraph.
pub fn text(text: impl AsRef<str>) -> Block {
    Block::Text { text: visible(text.as_ref()) }
}

/// A paragraph on paper alone.
pub fn paper(text: impl AsRef<str>) -> Block {
    Block::Paper { text: visible(text.as_ref()) }
}

/// A paragraph on a screen alone.
pub fn screen(text: impl AsRef<str>) -> Block {
    Block::Screen { text: visible(text.as_ref()) }
}

/// A line to tick on paper.
pub fn tick(text: impl AsRef<str>) -> Block {
    Block::Tick { text: visible(text.as_ref()) }
}

/// A list; none where it has no items.
pub fn list(items: impl IntoIterator<Item = impl AsRef<str>>) -> Option<Block> {
    let items: Vec<String> = items.into_iter().map(|item| visible(item.as_ref())).collect();
    (!items.is_empty()).then_some(Block::List { items })
}

/// Lines of one cell, the empty ones left out.
pub fn lines<const N: usize>(parts: [String; N]) -> String {
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("\n")
}

/// Text that may be absent.
pub fn some(text: Option<impl ToString>) -> String {
    text.map(|text| text.to_string()).unwrap_or_default()
}

/// A hash in groups, so that it breaks where a line ends.
pub fn split_hash(hash: &str) -> String {
    let letters: Vec<char> = hash.chars().collect();
    letters.chunks(8).map(|part| part.iter().collect::<String>()).collect::<Vec<_>>().join(" ")
}
