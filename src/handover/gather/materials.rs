//! The stock, where each batch is, and the take-offs and cut plans that the job has kept.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::day::{Ledger, Plan, State};
use crate::handover::model::{CutPlan, Materials, Trace, part_of};
use crate::moment::Moment;
use crate::table::grouped;
use crate::units::number::show;

/// What a state says of materials at a moment.
pub fn materials(state: &State, now: Moment) -> Materials {
    let ledger = state.ledger(now);
    // A plan that does not read as one is left out: its entry is in the log all the same.
    let kept = state.plans().filter(|(sum, ..)| *sum == "cuts");
    let cuts = kept.filter_map(|(_, subject, plan)| cut_plan(plan, state.subjects.get(subject).to_string())).collect();
    Materials {
        flags: state.flags_of(&ledger, now),
        compared: state.ordered_vs_used(&ledger),
        traces: traces(state, &ledger),
        takeoffs: state.orders(),
        cuts,
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
        let trace = |((_, batch), taken): ((&str, Option<&String>), Vec<(usize, Moment)>)| {
            let on: BTreeSet<usize> = taken.iter().map(|(subject, _)| *subject).collect();
            let times = || taken.iter().map(|(_, at)| *at);
            Some(Trace {
                product: line.product.clone(),
                on: on.into_iter().collect(),
                batch: batch.cloned(),
                first_at: times().min()?,
                last_at: times().max()?,
            })
        };
        let mut of_line: Vec<Trace> = grouped(by_place).into_iter().filter_map(trace).collect();
        of_line.sort_by_key(|trace| trace.on.first().copied());
        traces.append(&mut of_line);
    }
    traces
}

fn cut_plan(plan: &Plan, on: String) -> Option<CutPlan> {
    let result = &plan.result;
    let number = |key: &str| result.get(key)?.as_u64();
    let list = |key: &str| result.get(key).and_then(Value::as_array).into_iter().flatten();
    let left = |cut: &Value| Some(format!("{} {}", cut.get("id")?.as_str()?, show(cut.get("length_mm")?.as_f64()?)));
    Some(CutPlan {
        entry: plan.entry.clone(),
        at: plan.at,
        on,
        boards: number("boards")?,
        bought_mm: number("bought_mm")?,
        lower_bound_mm: number("lower_bound_mm")?,
        proven: result.get("proven")?.as_bool()?,
        offcuts_used: list("from_offcuts").filter_map(|cut| Some(cut.get("offcut")?.as_str()?.to_owned())).collect(),
        offcuts_left: list("offcuts_left").filter_map(left).collect(),
    })
}
