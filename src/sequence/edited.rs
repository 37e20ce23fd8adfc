//! An edited copy of a shipped sequence under its key and edition: it may well be right for a job, and nobody should take it
//! for the shipped one, whose sources still stand beside its numbers.

use super::compare::{EditionChange, changes};
use super::model::Sequence;
use super::read::read;
use super::shipped::shipped;

impl Sequence {
    /// What differs from the shipped sequence of the same key and edition, of all that the rules go by; `None` for that one
    /// itself, and for a sequence that does not call itself by its name.
    pub fn edited(&self) -> Option<Vec<EditionChange>> {
        let shipped = shipped(&self.key).filter(|shipped| *shipped != self.text)?;
        let shipped = read(shipped).ok().filter(|shipped| shipped.edition == self.edition)?;
        // As it was read: figures of the job are no edits.
        Some(changes(&shipped, &read(&self.text).ok()?))
    }

    /// The same in a sentence.
    pub fn edited_in_words(&self) -> Option<String> {
        let changes = self.edited()?;
        let differ = if changes.is_empty() {
            "no number, hold point or window differs".to_owned()
        } else {
            changes.iter().map(EditionChange::in_words).collect::<Vec<_>>().join("; ")
        };
        let (key, edition) = (&self.key, &self.edition);
        Some(format!(
            "sequence {key}, edition {edition}, is an edited copy of the one that comes with cladlog: {differ}"
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sequence::SHIPPED;

    #[test]
    fn a_shipped_sequence_is_not_edited_and_a_copy_names_what_was_changed() {
        for (_, text) in SHIPPED {
            assert_eq!(read(text).unwrap().edited(), None);
            let commented = read(&format!("{text}\n# seen by the office\n")).unwrap();
            assert_eq!(commented.edited(), Some(Vec::new()));
            // Under an edition of its own it is another sequence.
            let own = text.replacen("edition = \"", "edition = \"office ", 1);
            assert_eq!(read(&own).unwrap().edited(), None);
            let first = text.find("most = 5\n").unwrap();
            let wide = format!("{}most = 500\n{}", &text[..first], &text[first + "most = 5\n".len()..]);
            let changes = read(&wide).unwrap().edited().unwrap();
            assert!(matches!(changes.as_slice(), [one] if one.in_words().contains("500")), "{changes:?}");
        }
    }
}
