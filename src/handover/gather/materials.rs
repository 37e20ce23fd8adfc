//! The stock, where each batch is, and the take-offs and cut plans that the job has kept.

use std::collections::BTreeSet;

use crate::building::SubjectIx;
use crate::day::{Ledger, State};
use crate::handover::model::{Materials, Trace, part_of};
use crate::moment::Moment;
use crate::table::grouped;

/// What a state says of materials at a moment.
pub fn materials(state: &State, now: Moment) -> Materials {
    let ledger = state.ledger(now);
    Materials {
        flags: state.flags_of(&ledger, now),
        compared: state.ordered_vs_used(&ledger),
        traces: traces(state, &ledger),
        takeoffs: state.all_kept(),
        cuts: state.all_kept(),
        ledger,
    }
}

/// Every wall, course, joint, opening and corner with what it is made of: one trace for a batch on a part of the building.
fn traces(state: &State, ledger: &Ledger) -> Vec<Trace> {
    let mut traces = Vec::new();
    for line in &ledger.lines {
        let on_the_wall = line.all_taken().map(|counted| &counted.taken).filter(|taken| taken.how.is_on_the_wall());
        let by_place = on_the_wall.map(|taken| {
            let batch = taken.batch.as_deref().and_then(|label| line.batch(label)).map(|found| &found.batch);
            ((part_of(state.subjects.get(taken.subject)), batch), (taken.subject, taken.at))
        });
        let mut of_line: Vec<Trace> = Vec::new();
        for ((_, batch), taken) in grouped(by_place) {
            let on: BTreeSet<SubjectIx> = taken.iter().map(|(subject, _)| *subject).collect();
            let times = || taken.iter().map(|(_, at)| *at);
            let Some((first_at, last_at)) = times().min().zip(times().max()) else { continue };
            of_line.push(Trace {
                product: line.product.clone(),
                on: on.into_iter().collect(),
                batch: batch.cloned(),
                first_at,
                last_at,
            });
        }
        of_line.sort_by_key(|trace| trace.on.first().copied());
        traces.append(&mut of_line);
    }
    traces
}
