//! Batches, where each is, and the take-offs and cut plans that the job has kept.

use serde_json::Value;

use super::part_of;
use crate::day::{Counted, Ledger, Line, Plan, State};
use crate::handover::model::{BatchTold, CameTold, CutsTold, Materials, Ordered, TakenTold, TracedTold};
use crate::moment::Moment;
use crate::plain::visible;
use crate::record::StockUse;
use crate::units::number::show;

impl Materials {
    /// What a state says of materials at a moment.
    pub(crate) fn of(state: &State, now: Moment) -> Self {
        let ledger = state.ledger(now);
        let flags = state.flags_of(&ledger, now);
        let mut told = Self::default();
        for line in &ledger.lines {
            for batch in &line.batches {
                let own = flags.iter().filter(|flag| flag.product == line.product);
                let own = own.filter(|flag| flag.batch.as_deref() == Some(&batch.batch));
                told.batches.push(BatchTold {
                    product: line.product.clone(),
                    batch: batch.batch.clone(),
                    colour: batch.colour.clone(),
                    unit: line.unit.clone(),
                    expires: batch.expires,
                    came: batch
                        .deliveries
                        .iter()
                        .map(|came| CameTold {
                            at: came.at,
                            count: came.count,
                            said: came.condition.iter().chain(&came.note).cloned().collect::<Vec<_>>().join("; "),
                            entry: came.entry.to_string(),
                        })
                        .collect(),
                    delivered: batch.delivered,
                    used: batch.used,
                    gone: batch.thrown_away + batch.sent_back,
                    left: batch.left(),
                    flags: own.map(|flag| flag.kind.word().to_owned()).collect(),
                });
            }
        }
        told.taken = taken(state, &ledger);
        told.traced = traced(state, &ledger);
        told.compared = state.ordered_vs_used(&ledger);
        told.flags = flags.iter().map(|flag| visible(&format!("{}.", flag.says))).collect();
        told
    }
}

pub fn taken(state: &State, ledger: &Ledger) -> Vec<TakenTold> {
    let of = |line: &Line, counted: &Counted| {
        let taken = &counted.taken;
        let by = if taken.count.is_some() { "hand" } else { "geometry" };
        let count = if taken.how == StockUse::OffCut { taken.count } else { counted.amount };
        TakenTold {
            product: line.product.clone(),
            batch: taken.batch.clone(),
            subject: state.subjects.get(taken.subject).to_string(),
            how: taken.how,
            step: taken.step.clone(),
            count,
            counted_by: count.map(|_| by),
            at: taken.at,
            by: taken.by.clone(),
            entry: taken.entry.to_string(),
            note: taken.note.clone(),
        }
    };
    ledger.lines.iter().flat_map(|line| line.all_taken().map(move |counted| of(line, counted))).collect()
}

/// Every wall, course, joint, opening and corner with what it is made of: one row for a batch on a part of the building.
pub fn traced(state: &State, ledger: &Ledger) -> Vec<TracedTold> {
    type Group = (Option<String>, String, Vec<usize>, Moment, Moment);
    let mut told = Vec::new();
    for line in &ledger.lines {
        let mut groups: Vec<Group> = Vec::new();
        for taken in line.all_taken().map(|counted| &counted.taken).filter(|taken| taken.how.is_on_the_wall()) {
            let part = part_of(state.subjects.get(taken.subject));
            let label =
                |label: &Option<String>| label.as_deref().and_then(|label| line.batch(label)).map(|b| b.batch.clone());
            let batch = label(&taken.batch);
            match groups.iter_mut().find(|group| group.0 == batch && group.1 == part) {
                Some((_, _, on, first, last)) => {
                    on.push(taken.subject);
                    (*first, *last) = ((*first).min(taken.at), (*last).max(taken.at));
                }
                None => groups.push((batch, part, vec![taken.subject], taken.at, taken.at)),
            }
        }
        groups.iter_mut().for_each(|(_, _, on, ..)| {
            on.sort_unstable();
            on.dedup();
        });
        groups.sort_by_key(|(_, _, on, ..)| on.first().copied());
        told.extend(groups.into_iter().map(|(batch, _, on, first_at, last_at)| TracedTold {
            product: line.product.clone(),
            on: state.subjects.shortly(&on),
            batch,
            first_at,
            last_at,
        }));
    }
    told
}

impl Ordered {
    /// What a state has kept. A plan that does not read as one is left out: its entry still stands in the log.
    pub(crate) fn of(state: &State) -> Self {
        let kept = state.plans().filter(|(sum, ..)| *sum == "cuts");
        let cuts = kept.filter_map(|(_, subject, plan)| cuts(plan, state.subjects.get(subject).to_string()));
        Self { takeoffs: state.orders(), cuts: cuts.collect() }
    }
}

pub fn list<'v>(value: &'v Value, key: &str) -> &'v [Value] {
    value.get(key).and_then(Value::as_array).map_or(&[], Vec::as_slice)
}

pub fn said(value: &Value, key: &str) -> Option<String> {
    value.get(key)?.as_str().map(str::to_owned)
}

pub fn cuts(plan: &Plan, on: String) -> Option<CutsTold> {
    let result = &plan.result;
    let number = |key: &str| result.get(key)?.as_u64();
    let left = |offcut: &Value| Some(format!("{} {}", said(offcut, "id")?, show(offcut.get("length_mm")?.as_f64()?)));
    Some(CutsTold {
        entry: plan.entry.to_string(),
        at: plan.at,
        on,
        boards: number("boards")?,
        bought_mm: number("bought_mm")?,
        lower_bound_mm: number("lower_bound_mm")?,
        proven: result.get("proven")?.as_bool()?,
        offcuts_used: list(result, "from_offcuts").iter().filter_map(|cut| said(cut, "offcut")).collect(),
        offcuts_left: list(result, "offcuts_left").iter().filter_map(left).collect(),
    })
}
