//! Batches and where they are; ordered against used.

use crate::day::{BatchLine, Line, OrderedVsUsed};
use crate::handover::model::{Document, Materials, when};
use crate::handover::page::{Block, Section, lines, list, section, some, table, table_or, text};
use crate::materials::product::{Amount, counted};
use crate::units::number::show;

/// What was delivered, batch by batch, and where each is on the building.
pub fn materials(document: &Document<'_>) -> Section {
    let materials = &document.materials;
    let mut blocks = vec![text(
        "What was delivered, batch by batch, and where each batch is on the building. Where nobody counted, what a step \
         took is worked out from the geometry of the job. What is left is delivered less used and gone: the stack \
         itself was not counted.",
    )];
    blocks.extend(list(materials.flags.iter().map(|flag| format!("{}.", flag.says))));
    blocks.extend(ordered_against_used(materials));
    blocks.push(batches(materials));
    blocks.push(traces(document));
    blocks.extend(gone(materials));
    section("materials", "Materials: batches and where they are", blocks)
}

/// One table of what was ordered, delivered, used and is left; none where nothing is recorded of any.
fn ordered_against_used(materials: &Materials) -> Option<Block> {
    let pct = |pct: Option<f64>, of: &str| some(pct.map(|pct| format!("{} % of {of}", show(pct))));
    let amount = |amount: Option<Amount>, one: &OrderedVsUsed| {
        amount.map_or_else(|| "not recorded".to_owned(), |amount| counted(amount, &one.unit))
    };
    let gone = |amount: Amount, what: &str| match amount {
        Amount::NONE => String::new(),
        amount => format!("{amount} {what}"),
    };
    let by_hand = |one: &OrderedVsUsed| match (one.used, one.used_counted) {
        (Some(used), Some(Amount::NONE)) if used > Amount::NONE => "worked out".to_owned(),
        (Some(used), Some(by_hand)) if by_hand < used => format!("{by_hand} counted, the rest worked out"),
        _ => String::new(),
    };
    table(
        "Ordered and used",
        &materials.compared,
        &[
            ("Product", 3, &|one| one.product.clone()),
            ("Ordered", 4, &|one| {
                let other_unit = one.ordered.is_none() && !one.ordered_by.is_empty();
                let ordered = if other_unit { "in another unit".to_owned() } else { amount(one.ordered, one) };
                let waste = one.waste_allowed_pct.filter(|pct| *pct > 0.0);
                lines([ordered, some(waste.map(|pct| format!("with {} % waste", show(pct))))])
            }),
            ("Delivered", 4, &|one| lines([amount(one.delivered, one), pct(one.delivered_pct, "the order")])),
            ("Used", 4, &|one| lines([amount(one.used, one), pct(one.used_pct, "delivered"), by_hand(one)])),
            ("Wasted or returned", 4, &|one| {
                lines([
                    gone(one.thrown_away, "thrown away"),
                    pct(one.thrown_away_pct, "delivered"),
                    gone(one.sent_back, "sent back"),
                ])
            }),
            ("Expected on hand", 4, &|one| lines([amount(one.left, one), pct(one.left_pct, "delivered")])),
            ("Notes", 6, &|one| one.notes.join("\n")),
        ],
    )
}

fn batches(materials: &Materials) -> Block {
    let all = materials.ledger.lines.iter().flat_map(|line| line.batches.iter().map(move |batch| (line, batch)));
    let deliveries = |batch: &BatchLine, line: &Line| {
        let delivery = |came: &crate::day::Delivery| {
            let notes: Vec<&str> = came.condition.iter().chain(&came.note).map(String::as_str).collect();
            let notes = if notes.is_empty() { String::new() } else { format!(" ({})", notes.join("; ")) };
            format!("{}: {}{notes}", when(&came.at), counted(came.count, &line.unit))
        };
        match batch.deliveries.is_empty() {
            true => "NO DELIVERY RECORDED".to_owned(),
            false => batch.deliveries.iter().map(delivery).collect::<Vec<_>>().join("\n"),
        }
    };
    table_or(
        "No batch is recorded.",
        "Batches",
        all,
        &[
            ("Product, batch", 3, &|(line, batch)| lines([line.product.clone(), batch.batch.clone()])),
            ("Colour, use by", 3, &|(_, batch)| {
                let use_by = batch.expires.map(|day| format!("use by {}", day.format("%-d %b %Y")));
                lines([some(batch.colour.as_ref()), some(use_by)])
            }),
            ("Delivered", 5, &|(line, batch)| deliveries(batch, line)),
            ("Count", 2, &|(_, batch)| {
                let gone = batch.thrown_away + batch.sent_back;
                let gone = if gone == Amount::NONE { String::new() } else { format!("{gone} gone") };
                lines([format!("{} used", batch.used), gone, format!("{} left", batch.left())])
            }),
            ("Notes", 3, &|(line, batch)| materials.flags_of(line, batch).join("\n").replace('-', " ")),
        ],
    )
}

fn traces(document: &Document<'_>) -> Block {
    table_or(
        "No use of a batch is recorded.",
        "Where each batch is",
        &document.materials.traces,
        &[
            ("Product", 2, &|one| one.product.clone()),
            ("Where", 5, &|one| document.state().subjects.shortly(&one.on)),
            ("Batch", 3, &|one| one.batch.clone().unwrap_or_else(|| "BATCH NOT NAMED".to_owned())),
            ("When", 3, &|one| {
                let until = (one.first_at != one.last_at).then(|| format!("to {}", when(&one.last_at)));
                lines([when(&one.first_at), some(until)])
            }),
        ],
    )
}

/// What never got onto the wall.
fn gone(materials: &Materials) -> Option<Block> {
    table(
        "Cut up, thrown away or sent back",
        materials.taken().filter(|(_, counted)| !counted.taken.how.is_on_the_wall()),
        &[
            ("Product, batch", 3, &|(line, counted)| lines([line.product.clone(), some(counted.taken.batch.as_ref())])),
            ("What became of it", 3, &|(_, counted)| {
                let how = counted.taken.how.word().replace('-', " ");
                format!("{} {how}", some(counted.count()))
            }),
            ("When, by, entry", 3, &|(_, counted)| {
                let taken = &counted.taken;
                lines([when(&taken.at), taken.by.clone(), taken.entry.to_string()])
            }),
            ("Remark", 4, &|(_, counted)| some(counted.taken.note.as_ref())),
        ],
    )
}
