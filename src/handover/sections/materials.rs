//! Batches and where they are; ordered against used.

use crate::day::OrderedVsUsed;
use crate::handover::model::{Document, Materials, TakenTold, when};
use crate::handover::page::{Block, Section, lines, table, text};
use crate::materials::product::{Amount, counted};
use crate::units::number::show;

/// The section of the pack.
pub fn section(document: &Document) -> Section {
    let materials = &document.materials;
    let mut blocks = vec![text(
        "What came, batch by batch, and where each is on the building. Counts of what steps took are worked out from the \
         job's geometry where nobody counted; they are no weighing. What is left is what the record comes to: nobody's \
         count of the stack is in it.",
    )];
    if !materials.flags.is_empty() {
        blocks.push(Block::List { items: materials.flags.clone() });
    }
    blocks.extend(compared(materials));
    blocks.push(batches(materials));
    blocks.push(traced_table(materials));
    let others = materials.taken.iter().filter(|one| !on_the_wall(one)).map(|one| {
        let count = one.count.map(|count| count.to_string()).unwrap_or_default();
        vec![
            lines([one.product.clone(), one.batch.clone().unwrap_or_default()]),
            format!("{count} {}", one.how.word().replace('-', " ")),
            lines([when(&one.at), one.by.clone(), one.entry.clone()]),
            one.note.clone().unwrap_or_default(),
        ]
    });
    let others: Vec<Vec<String>> = others.collect();
    if !others.is_empty() {
        let columns = [("Product, batch", 3), ("What became of it", 3), ("When, by, entry", 3), ("Remark", 4)];
        blocks.push(table("Cut up, thrown away or sent back", &columns, others, ""));
    }
    Section { id: "materials".to_owned(), title: "Materials: batches and where they are".to_owned(), blocks }
}

/// One table of what was ordered, came, was used and is left; none where nothing is recorded of any.
pub fn compared(materials: &Materials) -> Option<Block> {
    const NOT: &str = "not recorded";
    let pct = |pct: Option<f64>, of: &str| pct.map(|pct| format!("{} % of {of}", show(pct))).unwrap_or_default();
    let row = |one: &OrderedVsUsed| {
        let amount =
            |amount: Option<Amount>| amount.map_or_else(|| NOT.to_owned(), |amount| counted(amount, &one.unit));
        let some = |amount: Amount, what: &str| match amount {
            Amount::NONE => String::new(),
            amount => format!("{amount} {what}"),
        };
        let ordered = match (one.ordered, one.ordered_by.is_empty()) {
            (None, false) => "in another unit".to_owned(),
            (ordered, _) => amount(ordered),
        };
        let waste = one.waste_allowed_pct.filter(|pct| *pct > 0.0);
        let waste = waste.map(|pct| format!("{} % waste in it", show(pct))).unwrap_or_default();
        let by_hand = match (one.used, one.used_counted) {
            (Some(used), Some(Amount::NONE)) if used > Amount::NONE => "worked out".to_owned(),
            (Some(used), Some(by_hand)) if by_hand < used => format!("{by_hand} counted, the rest worked out"),
            _ => String::new(),
        };
        vec![
            one.product.clone(),
            lines([ordered, waste]),
            lines([amount(one.delivered), pct(one.delivered_pct, "the order")]),
            lines([amount(one.used), pct(one.used_pct, "what came"), by_hand]),
            lines([
                some(one.thrown_away, "thrown away"),
                pct(one.thrown_away_pct, "what came"),
                some(one.sent_back, "sent back"),
            ]),
            lines([amount(one.left), pct(one.left_pct, "what came")]),
            one.notes.join("\n"),
        ]
    };
    let rows: Vec<Vec<String>> = materials.compared.iter().map(row).collect();
    let columns = [
        ("Product", 3),
        ("Ordered", 4),
        ("Came", 4),
        ("Used", 4),
        ("Gone", 4),
        ("Left by the book", 4),
        ("To know", 6),
    ];
    (!rows.is_empty()).then(|| table("Ordered against used", &columns, rows, ""))
}

pub fn batches(materials: &Materials) -> Block {
    let rows = materials.batches.iter().map(|batch| {
        let came = batch.came.iter().map(|came| {
            let said = if came.said.is_empty() { String::new() } else { format!(" ({})", came.said) };
            format!("{}: {}{said}", when(&came.at), counted(came.count, &batch.unit))
        });
        let came: Vec<String> = came.collect();
        let expires = batch.expires.map(|day| format!("use by {}", day.format("%-d %b %Y"))).unwrap_or_default();
        let gone = if batch.gone == Amount::NONE { String::new() } else { format!("{} gone", batch.gone) };
        vec![
            lines([batch.product.clone(), batch.batch.clone()]),
            lines([batch.colour.clone().unwrap_or_default(), expires]),
            if came.is_empty() { "NO DELIVERY RECORDED".to_owned() } else { came.join("\n") },
            lines([format!("{} used", batch.used), gone, format!("{} left", batch.left)]),
            batch.flags.join("\n").replace('-', " "),
        ]
    });
    let columns = [("Product, batch", 3), ("Colour, use by", 3), ("Came", 5), ("Count", 2), ("To know", 3)];
    table("Batches", &columns, rows.collect(), "No batch is recorded.")
}

pub fn on_the_wall(taken: &TakenTold) -> bool {
    taken.how.is_on_the_wall()
}

pub fn traced_table(materials: &Materials) -> Block {
    let rows = materials.traced.iter().map(|one| {
        let until = if one.first_at == one.last_at { String::new() } else { format!("to {}", when(&one.last_at)) };
        vec![
            one.product.clone(),
            one.on.clone(),
            one.batch.clone().unwrap_or_else(|| "BATCH NOT NAMED".to_owned()),
            lines([when(&one.first_at), until]),
        ]
    });
    let columns = [("Product", 2), ("Where", 5), ("Batch", 3), ("When", 3)];
    table("Where each batch is", &columns, rows.collect(), "No use of a batch is recorded.")
}
