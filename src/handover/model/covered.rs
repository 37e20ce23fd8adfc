//! What is behind the cladding now: every hold point that has to be released before work is covered, place by place.

use std::collections::BTreeSet;

use super::album::{Photo, Picture};
use super::number::Number;
use crate::building::{SubjectIx, SubjectKind};
use crate::day::{HoldStatus, State};
use crate::sequence::{HoldIx, Sequence};

/// A hold point on a subject, released or not, with the photos of the work that it covers.
#[derive(Debug)]
pub struct Covered<'d> {
    /// Where it stands.
    pub status: &'d HoldStatus,
    /// Index of the hold point.
    pub hold: HoldIx,
    /// Index of the subject.
    pub on: SubjectIx,
    /// Photos of it.
    pub photos: BTreeSet<Number>,
    /// Photos of it that are flagged: they can't show what they are there to show.
    pub flagged: BTreeSet<Number>,
}

/// The index of a hold point in force that stops work on the building, so that what it releases is covered; nothing for one
/// that stops papers alone, as the last acceptance does.
pub fn covers_work(sequence: &Sequence, hold: &HoldStatus) -> Option<HoldIx> {
    let index = sequence.hold(&hold.key).filter(|_| hold.dropped_by.is_none())?;
    let stops = &sequence.holds[index].holds;
    stops.iter().any(|step| sequence.steps[*step].on.iter().any(|kind| *kind != SubjectKind::Job)).then_some(index)
}

/// Every hold point before work is covered, in the order of `holds`.
pub fn covered<'d>(
    state: &'d State,
    holds: &'d [HoldStatus],
    photos: &'d [Photo<'_>],
) -> impl Iterator<Item = Covered<'d>> {
    holds.iter().filter_map(move |status| {
        let sequence = state.sequence();
        let (hold, on) = (covers_work(sequence, status)?, state.subjects.index(&status.subject)?);
        let after = &sequence.holds[hold].after;
        let is_of_step = |key: &str| after.iter().any(|step| sequence.steps[*step].key == key);
        let is_there = |id: &String| {
            state.subjects.index(id).is_some_and(|index| index == on || state.subjects.walls_of(index).contains(&on))
        };
        let of = photos
            .iter()
            .filter(|it| it.photo.step.as_deref().is_some_and(is_of_step) && it.subjects.iter().any(is_there));
        let (flagged, clean): (Vec<&Photo<'_>>, Vec<&Photo<'_>>) = of.partition(|it| !it.photo.flags.is_empty());
        let numbers =
            |photos: Vec<&Photo<'_>>| photos.into_iter().filter_map(|it| it.picture.map(Picture::label)).collect();
        Some(Covered { status, hold, on, photos: numbers(clean), flagged: numbers(flagged) })
    })
}
