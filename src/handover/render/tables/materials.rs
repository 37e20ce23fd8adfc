//! Batches, ordered against used, take-offs and cut plans.

use super::words;
use crate::day::{BatchLine, Counted, Line};
use crate::handover::model::Document;
use crate::materials::product::Amount;
use crate::record::EntryId;
use crate::table::{Cell, CsvColumn, csv_of};

fn exact(amount: Amount) -> Cell {
    amount.units().into()
}

fn ids(ids: &[EntryId]) -> Cell {
    Cell::text(ids.iter().map(ToString::to_string).collect::<Vec<_>>().join(" "))
}

/// A row for everything taken, and one for each batch of which nothing was.
pub fn batches(document: &Document<'_>) -> Vec<u8> {
    type Row<'d> = (&'d Line, Option<&'d BatchLine>, Option<&'d Counted>);
    let (materials, subjects) = (&document.materials, &document.state().subjects);
    let mut rows: Vec<Row> = Vec::new();
    for line in &materials.ledger.lines {
        for batch in &line.batches {
            rows.extend(batch.taken.iter().map(|counted| (line, Some(batch), Some(counted))));
            if batch.taken.is_empty() {
                rows.push((line, Some(batch), None));
            }
        }
    }
    for line in &materials.ledger.lines {
        rows.extend(line.not_named.iter().map(|counted| (line, None, Some(counted))));
    }
    let counted_by = |one: &Counted| one.count().map(|_| if one.taken.count.is_some() { "hand" } else { "geometry" });
    let columns: [CsvColumn<'_, Row>; 20] = [
        ("product", &|(line, ..)| (&line.product).into()),
        ("batch", &|(_, batch, _)| batch.map(|it| &it.batch).into()),
        ("colour", &|(_, batch, _)| batch.and_then(|it| it.colour.as_ref()).into()),
        ("expires", &|(_, batch, _)| words(batch.and_then(|it| it.expires))),
        ("unit", &|(line, batch, _)| batch.map(|_| &line.unit).into()),
        ("delivered", &|(_, batch, _)| batch.map_or(Cell::Absent, |it| exact(it.sums.delivered))),
        ("delivered_at", &|(_, batch, _)| {
            let came = batch.iter().flat_map(|it| &it.deliveries).map(|came| came.at.to_string());
            Cell::text(came.collect::<Vec<_>>().join(" "))
        }),
        ("used", &|(_, batch, _)| batch.map_or(Cell::Absent, |it| exact(it.sums.used))),
        ("thrown_away_or_sent_back", &|(_, batch, _)| batch.map_or(Cell::Absent, |it| exact(it.sums.gone()))),
        ("left", &|(_, batch, _)| batch.map_or(Cell::Absent, |it| exact(it.sums.left()))),
        ("flags", &|(line, batch, _)| words(batch.map(|it| materials.flags_of(line, it).join(" ")))),
        ("subject", &|(.., one)| words(one.map(|it| subjects.get(it.taken.subject)))),
        ("how", &|(.., one)| one.map(|it| it.taken.how.word()).into()),
        ("step", &|(.., one)| one.and_then(|it| it.taken.step.as_ref()).into()),
        ("count", &|(.., one)| one.and_then(Counted::count).map_or(Cell::Absent, exact)),
        ("counted_by", &|(.., one)| one.and_then(counted_by).into()),
        ("at", &|(.., one)| one.map(|it| it.taken.at).into()),
        ("by", &|(.., one)| one.map(|it| &it.taken.by).into()),
        ("entry", &|(.., one)| words(one.map(|it| &it.taken.entry))),
        ("note", &|(.., one)| one.and_then(|it| it.taken.note.as_ref()).into()),
    ];
    csv_of(rows, &columns)
}

/// A row for each product.
pub fn ordered_used(document: &Document<'_>) -> Vec<u8> {
    let maybe = |amount: Option<Amount>| amount.map_or(Cell::Absent, exact);
    csv_of(
        &document.materials.compared,
        &[
            ("product", &|it| (&it.product).into()),
            ("unit", &|it| (&it.unit).into()),
            ("ordered", &|it| maybe(it.ordered)),
            ("ordered_by", &|it| ids(&it.ordered_by)),
            ("waste_allowed_pct", &|it| it.waste_allowed_pct.into()),
            ("delivered", &|it| maybe(it.delivered)),
            ("delivered_pct_of_ordered", &|it| it.delivered_pct.into()),
            ("used", &|it| maybe(it.used)),
            ("used_counted", &|it| maybe(it.used_counted)),
            ("used_pct_of_delivered", &|it| it.used_pct.into()),
            ("thrown_away", &|it| exact(it.thrown_away)),
            ("thrown_away_pct_of_delivered", &|it| it.thrown_away_pct.into()),
            ("sent_back", &|it| exact(it.sent_back)),
            ("left", &|it| maybe(it.left)),
            ("left_pct_of_delivered", &|it| it.left_pct.into()),
            ("unaccounted", &|it| maybe(it.unaccounted)),
            ("notes", &|it| it.notes.clone().into()),
        ],
    )
}

/// The lines of the take-offs.
pub fn takeoff(document: &Document<'_>) -> Vec<u8> {
    let takeoffs = document.materials.takeoffs.iter();
    csv_of(
        takeoffs.flat_map(|order| order.lines.iter().map(move |line| (order, line))),
        &[
            ("entry", &|(order, _)| Cell::text(order.entry.to_string())),
            ("kept_at", &|(order, _)| order.at.into()),
            ("on", &|(order, _)| (&order.subject).into()),
            ("item", &|(_, line)| (&line.item).into()),
            ("order", &|(_, line)| line.order.into()),
            ("sold_as", &|(_, line)| Cell::text(line.sold_as.to_string())),
            ("needed", &|(_, line)| line.needed.into()),
            ("unit", &|(_, line)| (&line.unit).into()),
            ("waste_pct", &|(_, line)| line.waste_pct.into()),
            ("rule", &|(_, line)| (&line.rule).into()),
        ],
    )
}

/// The cut plans, a row each.
pub fn cuts(document: &Document<'_>) -> Vec<u8> {
    csv_of(
        &document.materials.cuts,
        &[
            ("entry", &|it| Cell::text(it.entry.to_string())),
            ("kept_at", &|it| it.at.into()),
            ("on", &|it| (&it.subject).into()),
            ("boards", &|it| it.plan.boards.into()),
            ("bought_mm", &|it| it.plan.bought_mm.into()),
            ("lower_bound_mm", &|it| it.plan.lower_bound_mm.into()),
            ("proven", &|it| it.plan.proven.into()),
            ("offcuts_used", &|it| it.offcuts_used().into()),
            ("offcuts_left_mm", &|it| it.offcuts_left_in_words().into()),
        ],
    )
}
