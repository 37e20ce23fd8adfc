//! Batches, ordered against used, take-offs and cut plans.

use super::heading;
use crate::handover::model::{BatchTold, Document, TakenTold};
use crate::materials::product::Amount;
use crate::units::number::show;

/// Ordered against used, a row for each product.
pub fn compared(document: &Document) -> Vec<Vec<String>> {
    let columns = [
        "product",
        "unit",
        "ordered",
        "ordered_by",
        "waste_allowed_pct",
        "delivered",
        "delivered_pct_of_ordered",
        "used",
        "used_counted",
        "used_pct_of_delivered",
        "thrown_away",
        "thrown_away_pct_of_delivered",
        "sent_back",
        "left",
        "left_pct_of_delivered",
        "unaccounted",
        "notes",
    ];
    let mut rows = vec![columns.iter().map(|column| (*column).to_owned()).collect::<Vec<_>>()];
    let exact = |amount: Option<Amount>| amount.map(|amount| show(amount.units())).unwrap_or_default();
    let pct = |pct: Option<f64>| pct.map(show).unwrap_or_default();
    rows.extend(document.materials.compared.iter().map(|one| {
        vec![
            one.product.clone(),
            one.unit.clone(),
            exact(one.ordered),
            one.ordered_by.iter().map(ToString::to_string).collect::<Vec<_>>().join(" "),
            pct(one.waste_allowed_pct),
            exact(one.delivered),
            pct(one.delivered_pct),
            exact(one.used),
            exact(one.used_counted),
            pct(one.used_pct),
            exact(Some(one.thrown_away)),
            pct(one.thrown_away_pct),
            exact(Some(one.sent_back)),
            exact(one.left),
            pct(one.left_pct),
            exact(one.unaccounted),
            one.notes.join("; "),
        ]
    }));
    rows
}

/// The table of the pack: a row for everything taken, and one for each batch of which nothing was.
pub fn batches(document: &Document) -> Vec<Vec<String>> {
    let columns = [
        "product",
        "batch",
        "colour",
        "expires",
        "unit",
        "delivered",
        "delivered_at",
        "used",
        "thrown_away_or_sent_back",
        "left",
        "flags",
        "subject",
        "how",
        "step",
        "count",
        "counted_by",
        "at",
        "by",
        "entry",
        "note",
    ];
    let mut rows = vec![columns.iter().map(|column| (*column).to_owned()).collect::<Vec<_>>()];
    let exact = |amount: Amount| crate::units::number::show(amount.units());
    let of_batch = |batch: &BatchTold| {
        let came: Vec<String> = batch.came.iter().map(|came| came.at.to_string()).collect();
        vec![
            batch.product.clone(),
            batch.batch.clone(),
            batch.colour.clone().unwrap_or_default(),
            batch.expires.map(|day| day.to_string()).unwrap_or_default(),
            batch.unit.clone(),
            exact(batch.delivered),
            came.join(" "),
            exact(batch.used),
            exact(batch.gone),
            exact(batch.left),
            batch.flags.join(" "),
        ]
    };
    let of_taken = |one: &TakenTold| {
        let some = |text: &Option<String>| text.clone().unwrap_or_default();
        vec![
            one.subject.clone(),
            one.how.word().to_owned(),
            some(&one.step),
            one.count.map(exact).unwrap_or_default(),
            one.counted_by.unwrap_or_default().to_owned(),
            one.at.to_string(),
            one.by.clone(),
            one.entry.clone(),
            some(&one.note),
        ]
    };
    let materials = &document.materials;
    let same = |batch: &BatchTold, one: &TakenTold| {
        batch.product == one.product
            && one.batch.as_ref().is_some_and(|label| crate::day::same_label(label, &batch.batch))
    };
    for batch in &materials.batches {
        let taken: Vec<&TakenTold> = materials.taken.iter().filter(|one| same(batch, one)).collect();
        for one in &taken {
            rows.push(of_batch(batch).into_iter().chain(of_taken(one)).collect());
        }
        if taken.is_empty() {
            rows.push(of_batch(batch).into_iter().chain(std::iter::repeat_n(String::new(), 9)).collect());
        }
    }
    for one in materials.taken.iter().filter(|one| one.batch.is_none()) {
        let mut row = vec![one.product.clone()];
        row.extend(std::iter::repeat_n(String::new(), 10));
        row.extend(of_taken(one));
        rows.push(row);
    }
    rows
}

/// The lines of the take-offs.
pub fn takeoff(document: &Document) -> Vec<Vec<String>> {
    let mut rows =
        heading(&["entry", "kept_at", "on", "item", "order", "sold_as", "needed", "unit", "waste_pct", "rule"]);
    for takeoff in &document.ordered.takeoffs {
        rows.extend(takeoff.lines.iter().map(|line| {
            vec![
                takeoff.entry.to_string(),
                takeoff.at.to_string(),
                takeoff.on.clone(),
                line.item.clone(),
                show(line.order),
                line.sold_as.clone(),
                show(line.needed),
                line.unit.clone(),
                show(line.waste_pct),
                line.rule.clone(),
            ]
        }));
    }
    rows
}

/// The cut plans, a row each.
pub fn cuts(document: &Document) -> Vec<Vec<String>> {
    let columns = ["entry", "kept_at", "on", "boards", "bought_mm", "lower_bound_mm", "proven", "offcuts_used"];
    let mut rows = heading(&[columns.as_slice(), &["offcuts_left_mm"]].concat());
    rows.extend(document.ordered.cuts.iter().map(|plan| {
        vec![
            plan.entry.clone(),
            plan.at.to_string(),
            plan.on.clone(),
            plan.boards.to_string(),
            plan.bought_mm.to_string(),
            plan.lower_bound_mm.to_string(),
            if plan.proven { "yes" } else { "no" }.to_owned(),
            plan.offcuts_used.join("; "),
            plan.offcuts_left.join("; "),
        ]
    }));
    rows
}
