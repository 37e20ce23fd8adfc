//! A copy for reading with people's names taken out, for where they don't belong.
//!
//! The record can't be changed, and it names people: so the copy goes without it, and can't be verified.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;

use super::gather::Originals;
use super::model::{Album, Blob, Document, Locations, PhotoState};
use super::pack::{PackError, Pages};
use crate::day::{Book, PhotoUse, ReplayError, photos};
use crate::moment::Moment;
use crate::record::{Body, Entry};

/// Names that are withheld, and the label for each.
#[derive(Debug, Clone, Default)]
pub struct Withheld {
    labels: BTreeMap<String, String>,
}

/// Why names can't be withheld.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum WithheldError {
    /// Nobody in the record has this name.
    #[error("nobody in this record is called '{0}': give the name in full, as it is written there")]
    Unknown(String),
    /// The record can't be replayed.
    #[error(transparent)]
    Replay(#[from] ReplayError),
    /// The pages can't be made.
    #[error(transparent)]
    Pack(#[from] PackError),
    /// An entry can't be written with the label.
    #[error("entry {entry} can't be written without the name: {why}")]
    Entry {
        /// Its id.
        entry: String,
        /// Why.
        why: String,
    },
}

/// A copy for reading, not written anywhere yet.
#[derive(Debug, Clone)]
pub struct ReadingCopy {
    /// Whether nothing is missing from the job.
    pub complete: bool,
    /// Whether something was written under a rehearsal clock.
    pub rehearsal: bool,
    /// How many names are withheld.
    pub withheld: usize,
    /// Every file with its path: pages, tables, drawings and photos; no record and no manifest.
    pub files: Vec<(String, Blob)>,
}

impl Withheld {
    /// The pages, tables, drawings and photos of the pack without the names. Of the photos copies without places; those are
    /// left out that name somebody in their file name or note. Who can be seen in one is not known.
    ///
    /// # Errors
    /// [`WithheldError`].
    pub fn copy(&self, book: &Book, made_at: Moment, from: &dyn Originals) -> Result<ReadingCopy, WithheldError> {
        let named: BTreeSet<String> =
            photos(book).into_iter().filter(|photo| self.names(photo)).map(|it| it.sha256).collect();
        let book = self.book(book)?;
        // Without what cameras write into photos: places, and at times the name of whoever took them.
        let mut album = Album::of(&book, from, Locations::Withheld, &mut |_, _| ());
        for (_, picture) in album.pictures.iter_mut().filter(|(sha256, _)| named.contains(*sha256)) {
            (picture.state, picture.file, picture.small, picture.large) = (PhotoState::LeftOut, None, None, None);
            picture.why_no_small = Some("left out: a withheld name stands in its file name or its note".to_owned());
        }
        let mut document = Document::of(&book, made_at, &album, None);
        document.withheld = self.len();
        let mut files = Pages::of(&document, &album.files()).files(&mut |_, _, _| ())?;
        files.extend(album.files());
        files.sort_by(|a, b| a.0.cmp(&b.0));
        let (complete, rehearsal) = (document.is_complete(), document.is_rehearsal());
        Ok(ReadingCopy { complete, rehearsal, withheld: document.withheld, files })
    }

    /// Whether one of the names stands in what was recorded of a photo.
    fn names(&self, photo: &PhotoUse) -> bool {
        [Some(&photo.file), photo.note.as_ref()].into_iter().flatten().any(|text| self.without(text) != *text)
    }

    /// Withholds these names; the people of the job all together where none is given.
    ///
    /// A label keeps the roles: "Person 2 (installer)". The number is the place among those withheld, people of the
    /// job first.
    ///
    /// # Errors
    /// [`WithheldError::Unknown`] for a name that is neither of the job nor in any entry.
    pub fn of(book: &Book, names: &[String]) -> Result<Self, WithheldError> {
        let people = &book.state.job.people;
        let spelled = |name: &String| book.state.job.person_meant(name).map_or(name, |person| &person.name).clone();
        let names: Vec<String> = names.iter().map(spelled).collect();
        let wanted = |name: &String| names.is_empty() || names.contains(name);
        let mut labels = BTreeMap::new();
        for person in people.iter().filter(|person| wanted(&person.name)) {
            let number = labels.len() + 1;
            labels.insert(person.name.clone(), format!("Person {number} ({})", person.roles.join(", ")));
        }
        for name in &names {
            if labels.contains_key(name) {
                continue;
            }
            let known = |entry: &Entry| entry.by == *name || entry.body.names().contains(&name.as_str());
            if !book.entries.iter().any(known) {
                return Err(WithheldError::Unknown(crate::units::number::shortened(name)));
            }
            let number = labels.len() + 1;
            labels.insert(name.clone(), format!("Person {number}"));
        }
        Ok(Self { labels })
    }

    /// How many names are withheld.
    pub fn len(&self) -> usize {
        self.labels.len()
    }

    /// Whether none is.
    pub fn is_empty(&self) -> bool {
        self.labels.is_empty()
    }

    /// The book with a label wherever one of the names stands in full, also inside remarks.
    ///
    /// Ids and hashes stay those of the record, so that whoever holds the record can look an entry up. A first name
    /// alone, or a name misspelt in a remark, is not found. The text of the sequence is left as it is.
    ///
    /// # Errors
    /// [`WithheldError`].
    pub fn book(&self, book: &Book) -> Result<Book, WithheldError> {
        let entries = book.entries.iter().map(|entry| self.entry(entry)).collect::<Result<_, _>>()?;
        Ok(Book::open(entries)?)
    }

    fn entry(&self, entry: &Entry) -> Result<Entry, WithheldError> {
        let error =
            |error: serde_json::Error| WithheldError::Entry { entry: entry.id().to_string(), why: error.to_string() };
        let body = match &entry.body {
            Body::Unknown { kind, body } => {
                let mut body = body.clone();
                self.replace(&mut body);
                Body::Unknown { kind: kind.clone(), body }
            }
            known => {
                let mut value = serde_json::to_value(known).map_err(error)?;
                self.replace(&mut value);
                serde_json::from_value(value).map_err(error)?
            }
        };
        Ok(Entry { by: self.without(&entry.by), body, ..entry.clone() })
    }

    fn replace(&self, value: &mut Value) {
        match value {
            Value::String(text) => *text = self.without(text),
            Value::Array(items) => items.iter_mut().for_each(|item| self.replace(item)),
            Value::Object(fields) => {
                let named: Vec<String> = fields.keys().filter(|key| self.labels.contains_key(*key)).cloned().collect();
                for name in named {
                    if let (Some(held), Some(label)) = (fields.remove(&name), self.labels.get(&name)) {
                        fields.insert(label.clone(), held);
                    }
                }
                // The sequence is pinned by its hash: a changed text would be another sequence.
                fields.iter_mut().filter(|(key, _)| *key != "sequence").for_each(|(_, field)| self.replace(field));
            }
            _ => {}
        }
    }

    /// A text with its names replaced, where each stands as a word of its own.
    fn without(&self, text: &str) -> String {
        // The longest first: "Ana Reid" before "Ana".
        let mut names: Vec<(&String, &String)> = self.labels.iter().collect();
        names.sort_by_key(|(name, _)| std::cmp::Reverse(name.len()));
        let mut out = String::with_capacity(text.len());
        let mut rest = text;
        while let Some(c) = rest.chars().next() {
            let apart = out.chars().next_back().is_none_or(|before| !before.is_alphanumeric());
            let found = names.iter().find(|(name, _)| {
                apart
                    && rest
                        .strip_prefix(name.as_str())
                        .is_some_and(|after| after.chars().next().is_none_or(|next| !next.is_alphanumeric()))
            });
            match found {
                Some((name, label)) => {
                    out.push_str(label);
                    rest = &rest[name.len()..];
                }
                None => {
                    out.push(c);
                    rest = &rest[c.len_utf8()..];
                }
            }
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_replaced_as_words_of_their_own() {
        let labels = [("Ana", "Person 1"), ("Ana Reid", "Person 2"), ("Lea", "Person 3")];
        let withheld = Withheld { labels: labels.map(|(name, label)| (name.to_owned(), label.to_owned())).into() };
        assert_eq!(
            withheld.without("Ana Reid told Ana's boss; Lean wall, Lea."),
            "Person 2 told Person 1's boss; Lean wall, Person 3."
        );
        assert_eq!(withheld.without("ÄAna Ana"), "ÄAna Person 1");
        let mut value = serde_json::json!({ "hours": { "Lea": 8.0 }, "sequence": "Lea", "crew": ["Lea", "Bo"] });
        withheld.replace(&mut value);
        assert_eq!(
            value,
            serde_json::json!({ "hours": { "Person 3": 8.0 }, "sequence": "Lea", "crew": ["Person 3", "Bo"] })
        );
    }
}
