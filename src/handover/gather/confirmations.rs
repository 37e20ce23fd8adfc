//! What was typed in the name of others, and what they did about it.

use std::collections::HashMap;

use crate::day::{Book, Saying};
use crate::digest::from_hex;
use crate::handover::model::{Confirmation, Grade};
use crate::handover::signature::check_signature;
use crate::record::{Body, Confirmed, Entry, EntryId};

/// Every release, refusal, closing and concession in the name of somebody else, and how far they stand behind it.
pub fn confirmations(book: &Book, sayings: &[Saying]) -> Vec<Confirmation> {
    let in_time = book.in_time();
    let mut given: HashMap<&EntryId, Vec<(&Entry, &Confirmed)>> = HashMap::new();
    for entry in &in_time {
        if let Body::SayingConfirmed(it) = &entry.body {
            given.entry(&it.entry).or_default().push((entry, &it.how));
        }
    }
    let line = |saying: &Saying| {
        let entry = book.entry(&saying.entry)?;
        let graded = given.get(&saying.entry).into_iter().flatten().filter_map(|(by, how)| {
            let (grade, how) = grade(how, &entry.hash)?;
            Some((grade, by.happened_at, how))
        });
        // The strongest counts, of two alike the first.
        let best = graded.min_by_key(|(grade, at, _)| (*grade, *at));
        Some(Confirmation {
            entry: saying.entry.clone(),
            hash: entry.hash.clone(),
            what: entry.body.in_words(),
            person: saying.person.clone(),
            noted_by: entry.by.clone(),
            grade: best.as_ref().map_or(Grade::Typed, |(grade, ..)| *grade),
            at: best.as_ref().map(|(_, at, _)| *at),
            how: best.map(|(.., how)| how),
        })
    };
    sayings.iter().filter_map(line).collect()
}

/// The grade of a confirmation, and its words; nothing where a signature does not hold: the record may come from anybody.
fn grade(how: &Confirmed, hash: &str) -> Option<(Grade, String)> {
    match how {
        Confirmed::Reply(text) => Some((Grade::Reply, text.clone())),
        Confirmed::SignedPaper { file, sha256 } => Some((Grade::SignedPaper, format!("{file}, SHA-256 {sha256}"))),
        Confirmed::OwnKey { public, signature } => {
            let fingerprint = check_signature(hash.as_bytes(), &from_hex(signature)?, public.as_bytes()).ok()?;
            Some((Grade::OwnKey, fingerprint))
        }
    }
}
