//! Pages as headings, paragraphs and tables: what HTML and PDF both print.

use std::collections::BTreeMap;

use serde::Serialize;

use super::model::Blob;
use crate::plain::visible;

/// A heading with what stands under it.
#[derive(Debug, Clone, Serialize)]
pub struct Section {
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
pub enum Block {
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
pub struct Table {
    /// What it shows.
    pub caption: String,
    /// Headings, each with its share of the width.
    pub columns: Vec<(String, u8)>,
    /// Rows.
    pub rows: Vec<Vec<String>>,
}

/// A photo on a page.
#[derive(Debug, Clone, Serialize)]
pub struct Shown {
    /// Path of its small picture in the pack; empty where there is none.
    pub picture: String,
    /// What it shows, for those who can't see it.
    pub described: String,
    /// What stands over it.
    pub title: String,
    /// What stands beside it.
    pub lines: Vec<String>,
    /// What a reader should know about it.
    pub flags: Vec<String>,
}

/// What the pages show.
#[derive(Default)]
pub struct Pictures {
    /// Drawings.
    pub drawings: Vec<Drawing>,
    /// Small pictures of photos (JPEG) by their path.
    pub small: BTreeMap<String, Vec<u8>>,
}

impl Pictures {
    pub fn of(drawings: Vec<Drawing>, photos: &[(String, Blob)]) -> Self {
        let small = photos.iter().filter_map(|(path, blob)| match blob {
            Blob::Held(bytes) => Some((path.clone(), bytes.clone())),
            Blob::Kept { .. } => None,
        });
        Self { drawings, small: small.collect() }
    }
}

/// A drawing of the pack.
pub struct Drawing {
    /// What the pages call it by: a wall's key, or its set-out's name.
    pub name: String,
    /// Path in the pack.
    pub path: String,
    /// What it shows, for those who can't see it.
    pub described: String,
    /// The drawing.
    pub svg: String,
}

pub fn section(id: &str, title: &str, blocks: Vec<Block>) -> Section {
    Section { id: id.to_owned(), title: title.to_owned(), blocks }
}

pub fn text(text: impl Into<String>) -> Block {
    Block::Text { text: visible(&text.into()) }
}

/// A table; when it has no rows, a sentence instead.
pub fn table(caption: &str, columns: &[(&str, u8)], rows: Vec<Vec<String>>, none: &str) -> Block {
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
pub fn lines<const N: usize>(parts: [String; N]) -> String {
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("\n")
}

/// "1 thing", "3 things".
pub fn count(many: usize, one: &str) -> String {
    format!("{many} {one}{}", if many == 1 { "" } else { "s" })
}

/// A hash in groups, so that it breaks where a line ends.
pub fn split_hash(hash: &str) -> String {
    let letters: Vec<char> = hash.chars().collect();
    letters.chunks(8).map(|part| part.iter().collect::<String>()).collect::<Vec<_>>().join(" ")
}

/// `N/C1 to C9`, `N/J1, J4`: subjects of one wall written short, the wall once.
pub fn shortly(subjects: &[&str]) -> String {
    let mut groups: Vec<(&str, &str, u32, u32)> = Vec::new();
    for subject in subjects {
        let stem = subject.trim_end_matches(|c: char| c.is_ascii_digit());
        let rowed = stem.ends_with("/C") || stem.ends_with("/J");
        let number = subject[stem.len()..].parse::<u32>().ok().filter(|_| rowed);
        match (number, groups.last_mut()) {
            (Some(number), Some(last)) if last.1 == stem && last.3 + 1 == number => last.3 = number,
            (Some(number), _) => groups.push((subject, stem, number, number)),
            (None, _) => groups.push((subject, "", 0, 0)),
        }
    }
    let mut words: Vec<String> = Vec::new();
    let mut wall = None;
    for (first, stem, from, to) in groups {
        let of = first.split_once('/').map(|(of, _)| of);
        // The wall is named with the first of its parts.
        let word = if of.is_some() && of == wall { &first[first.find('/').map_or(0, |at| at + 1)..] } else { first };
        wall = of;
        words.push(if from == to { word.to_owned() } else { format!("{word} to {}{to}", &stem[stem.len() - 1..]) });
    }
    words.join(", ")
}

#[cfg(test)]
mod tests {
    use super::shortly;

    #[test]
    fn subjects_are_written_short() {
        assert_eq!(shortly(&["N/C1", "N/C2", "N/C3", "N/C5"]), "N/C1 to C3, C5");
        assert_eq!(shortly(&["N/O1", "N/O2", "E/J4"]), "N/O1, O2, E/J4");
        assert_eq!(shortly(&["job"]), "job");
        assert_eq!(shortly(&["NE", "C1"]), "NE, C1");
    }
}

/// What the pages call the drawing of a wall as set out.
pub fn set_out_name(wall: &str) -> String {
    format!("{wall} as set out")
}

pub fn drawing_name(place: usize) -> String {
    format!("seal plan {}", place + 1)
}
