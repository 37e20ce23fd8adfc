//! What was typed in the name of others, and what they did about it.

use std::collections::HashMap;

use crate::day::{Book, Defect, Grade, HoldStatus, Saying, holds_listed, sayings};
use crate::digest::from_hex;
use crate::handover::model::Confirmation;
use crate::handover::signature::check_signature;
use crate::record::{Body, Confirmed, Entry, EntryId};

/// Every release, refusal, closing and concession in the name of somebody else, and how far they stand behind it.
pub fn confirmations(book: &Book) -> Vec<Confirmation> {
    let in_time = book.in_time();
    let mut given: HashMap<&EntryId, Vec<(&Entry, &Confirmed)>> = HashMap::new();
    for entry in &in_time {
        if let Body::SayingConfirmed(it) = &entry.body {
            given.entry(&it.entry).or_default().push((entry, &it.how));
        }
    }
    let line = |saying: Saying| {
        let entry = book.entry(&saying.entry)?;
        let graded = given.get(&saying.entry).into_iter().flatten().filter_map(|(by, how)| {
            let (grade, how) = grade(how, &entry.hash)?;
            Some((grade, by.happened_at, how))
        });
        // The strongest counts, of two alike the first.
        let best = graded.min_by_key(|(grade, at, _)| (*grade, *at));
        Some(Confirmation {
            hash: entry.hash.clone(),
            grade: best.as_ref().map_or(Grade::Typed, |(grade, ..)| *grade),
            at: best.as_ref().map(|(_, at, _)| *at),
            how: best.map(|(.., how)| how),
            saying,
        })
    };
    sayings(book).into_iter().filter_map(line).collect()
}

/// Every hold point on every subject, and how far whoever released or refused it stands behind that.
pub fn graded_holds(book: &Book) -> Vec<HoldStatus> {
    let mut holds = holds_listed(&book.state);
    grade_holds(&mut holds, &confirmations(book));
    holds
}

/// Writes beside each hold point how far whoever released or refused it stands behind that.
pub fn grade_holds(holds: &mut [HoldStatus], confirmations: &[Confirmation]) {
    let grades = grades(confirmations);
    holds.iter_mut().for_each(|hold| hold.grade = hold.entry.as_ref().and_then(|entry| grades.get(entry)).copied());
}

/// Writes beside each defect how far whoever closed or conceded it stands behind that.
pub fn grade_defects(defects: &mut [Defect], confirmations: &[Confirmation]) {
    let grades = grades(confirmations);
    defects.iter_mut().for_each(|one| one.grade = one.ended_by.as_ref().and_then(|entry| grades.get(entry)).copied());
}

fn grades(confirmations: &[Confirmation]) -> HashMap<&EntryId, Grade> {
    confirmations.iter().map(|one| (&one.saying.entry, one.grade)).collect()
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
