//! The key that signs packs, put on record when it is first used and when it is another one.

use super::context::{Context, DecideError, Decision, Request};
use crate::day::book::Book;
use crate::record::{Body, UseKey};

impl Request for UseKey {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        let known = key_on_record(context.book) == Some(self.fingerprint.as_str());
        // Another program may have put it there just now.
        let bodies = if known { Vec::new() } else { vec![Body::KeyUsed(self.clone())] };
        Ok(bodies.into())
    }
}

/// The fingerprint of the key that signed last, as the entries say that are not struck.
pub fn key_on_record(book: &Book) -> Option<&str> {
    book.entries.iter().rev().find_map(|entry| match &entry.body {
        Body::KeyUsed(key) if !book.state.is_struck(entry) => Some(key.fingerprint.as_str()),
        _ => None,
    })
}
