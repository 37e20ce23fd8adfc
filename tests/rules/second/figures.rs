//! Figures of the job in the place of the sequence's own bounds, from when each was recorded.

use chrono::TimeDelta;
use cladlog::building::Job;
use cladlog::record::{Body, Entry};
use cladlog::sequence::{FigureKeys, Sequence};

use super::Second;

impl Second<'_> {
    /// The sequence as its bounds stand before a place.
    pub(super) fn bounds(&self, before: usize) -> &Sequence {
        &self.in_force.iter().rfind(|(from, _)| *from <= before).unwrap().1
    }
}

/// The sequence with the figures that the job was set up with, and again after each revision.
pub(super) fn in_force(job: &Job, sequence: &Sequence, entries: &[&Entry]) -> Vec<(usize, Sequence)> {
    let revised = (1..).zip(entries).filter_map(|(from, entry)| match &entry.body {
        Body::JobRevised(it) => Some((from, with_figures(sequence, &it.building))),
        _ => None,
    });
    std::iter::once((0, with_figures(sequence, job))).chain(revised).collect()
}

fn with_figures(sequence: &Sequence, job: &Job) -> Sequence {
    let mut sequence = sequence.clone();
    let value = |keys: &FigureKeys, bound: &str| job.figure(keys.get(bound)?).map(|figure| figure.value);
    let minutes = |keys: &FigureKeys, bound: &str| value(keys, bound).map(|value| TimeDelta::minutes(value as i64));
    for ask in sequence.steps.iter_mut().flat_map(|step| &mut step.asks) {
        let mut own = cladlog::sequence::Ask::clone(ask);
        own.tolerance.least = value(&own.figures, "least").or(own.tolerance.least);
        own.tolerance.most = value(&own.figures, "most").or(own.tolerance.most);
        *ask = own.into();
    }
    for window in sequence.windows.iter_mut() {
        window.earliest = minutes(&window.figures, "earliest").or(window.earliest);
        window.latest = minutes(&window.figures, "latest").or(window.latest);
    }
    for limit in sequence.limits.iter_mut() {
        limit.wind_kmh = value(&limit.figures, "wind_most_kmh").or(limit.wind_kmh);
    }
    sequence
}
