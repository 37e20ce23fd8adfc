//! The order in which things happened, and what counts.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::moment::Moment;
use crate::record::{Body, Entry, EntryId};

/// Where an entry stands in time; the same in whatever order entries came in.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::day) struct Place {
    /// When it takes effect.
    pub at: Moment,
    recorded_at: Moment,
    rank: u64,
    device: Arc<str>,
    seq: u64,
}

impl Place {
    pub(in crate::day) fn of(entry: &Entry) -> Self {
        // Nobody worked by an edition, a revised building or a plan before it was recorded: each is in force from then.
        let at = match entry.body {
            Body::SequenceAdopted(_) | Body::JobRevised(_) | Body::PlanKept(_) => entry.recorded_at,
            _ => entry.happened_at,
        };
        let (rank, device) = (entry.causal_rank(), Arc::clone(&entry.device));
        Self { at, recorded_at: entry.recorded_at, rank, device, seq: entry.seq }
    }

    /// When it takes effect, and when it was recorded.
    pub(super) fn moment(&self) -> (Moment, Moment) {
        (self.at, self.recorded_at)
    }
}

/// Entries in the order in which things happened, without what is struck; those of one record follow one another.
pub(in crate::day) fn in_time<'e>(entries: &'e [Entry], struck: &BTreeMap<EntryId, EntryId>) -> Vec<&'e Entry> {
    let counts = |entry: &&Entry| struck.is_empty() || !struck.contains_key(&entry.id());
    let mut placed: Vec<(Place, &Entry)> = entries.iter().filter(counts).map(|e| (Place::of(e), e)).collect();
    placed.sort_by(|(a, _), (b, _)| a.cmp(b));
    let order: Vec<&Entry> = placed.into_iter().map(|(_, entry)| entry).collect();
    let moment = |entry: &Entry| (entry.happened_at, entry.recorded_at);
    order.chunk_by(|a, b| moment(a) == moment(b)).flat_map(joined).collect()
}

/// Entries of one moment, in order. Two crews may have recorded in the same second: what one recorded at once is not parted
/// by what the other did.
fn joined<'e>(entries: &[&'e Entry]) -> Vec<&'e Entry> {
    if entries.windows(2).all(|pair| pair[0].device == pair[1].device) {
        return entries.to_vec();
    }
    let mut left: BTreeMap<(&str, u64), &Entry> = entries.iter().map(|e| ((&*e.device, e.seq), *e)).collect();
    let mut order: Vec<&Entry> = Vec::with_capacity(entries.len());
    for entry in entries {
        let mut next = left.remove(&(&*entry.device, entry.seq));
        while let Some(found) = next {
            order.push(found);
            let key = (&*found.device, found.seq.saturating_add(1));
            next = left.get(&key).copied().filter(|entry| continues(found, entry));
            if next.is_some() {
                left.remove(&key);
            }
        }
    }
    order
}

/// Whether an entry is of the same record as the one before it: one step recorded on several subjects at once.
///
/// A record is known by its entries: of one device, with consecutive numbers, of the same times, person, step and
/// reason. What was recorded at once is judged at once.
pub(in crate::day) fn continues(before: &Entry, entry: &Entry) -> bool {
    let (Body::StepDone(one), Body::StepDone(other)) = (&before.body, &entry.body) else { return false };
    before.seq.checked_add(1) == Some(entry.seq)
        && before.device == entry.device
        && (before.happened_at, before.recorded_at) == (entry.happened_at, entry.recorded_at)
        && before.by == entry.by
        && (&one.step, &one.anyway, one.began) == (&other.step, &other.anyway, other.began)
}

/// The struck entries and what strikes each. A strike that is struck itself does not count.
pub(in crate::day) fn struck<'e>(entries: impl Iterator<Item = &'e Entry>) -> BTreeMap<EntryId, EntryId> {
    let strike = |entry: &'_ Entry| match &entry.body {
        Body::Struck(strike) => Some((entry.causal_rank(), entry.recorded_at, entry.id(), strike.entry.clone())),
        _ => None,
    };
    let mut strikes: Vec<_> = entries.filter_map(strike).collect();
    // A strike names an entry that was there before it: from the newest on, each is decided by those after it. Its rank
    // says which knew which; its time does not, where a clock was set back.
    strikes.sort_by(|a, b| b.cmp(a));
    let mut struck: BTreeMap<EntryId, EntryId> = BTreeMap::new();
    for (_, _, id, target) in strikes {
        if !struck.contains_key(&id) {
            struck.insert(target, id);
        }
    }
    struck
}
