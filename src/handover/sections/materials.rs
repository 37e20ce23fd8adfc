//! Batches and papers.

use crate::day::{BatchLine, Line};
use crate::handover::model::{Document, Materials, when};
use crate::handover::page::{Block, Section, lines, section, some, table_or, text};
use crate::materials::product::{Amount, counted};

/// What was delivered, batch by batch, and where each is on the building.
pub fn materials(document: &Document<'_>) -> Section {
    let materials = &document.materials;
    let mut blocks = vec![text(
        "What was delivered, batch by batch; the page of each wall says where each batch is. Where nobody counted, what a \
         step took is worked out from the geometry of the job. What is left is delivered less used and gone: the \
         stack itself was not counted.",
    )];
    blocks.push(batches(materials));
    blocks.push(table_or(
        "The sequence asks for no papers.",
        "Papers",
        &document.papers,
        &[
            ("Asked for", 5, &|paper| paper.asked.to_owned()),
            ("On the job's list", 5, &|paper| paper.held.unwrap_or("NO").to_owned()),
        ],
    ));
    section("materials", "Materials and papers", blocks)
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
            ("Count", 3, &|(line, batch)| {
                let gone =
                    |amount: Amount, how: &str| some((amount != Amount::NONE).then(|| format!("{amount} {how}")));
                let by_hand = batch.taken.iter().all(|counted| counted.taken.count.is_some());
                let how = if by_hand { "used" } else { "used, worked out" };
                // Of some products neither anybody nor the geometry says how many went in: what is left is not known either.
                if line.all_taken().next().is_none() {
                    return "no use recorded".to_owned();
                }
                let is_counted = batch.taken.iter().all(|counted| counted.amount.is_some());
                let used = match (is_counted, batch.sums.used == Amount::NONE) {
                    (true, _) => format!("{} {how}", batch.sums.used),
                    (false, true) => "used, not counted".to_owned(),
                    (false, false) => format!("{} {how}, others not counted", batch.sums.used),
                };
                lines([
                    used,
                    gone(batch.sums.thrown_away, "thrown away"),
                    gone(batch.sums.sent_back, "sent back"),
                    some(is_counted.then(|| format!("{} left", batch.sums.left()))),
                ])
            }),
            ("Notes", 2, &|(line, batch)| materials.flags_of(line, batch).join("\n").replace('-', " ")),
        ],
    )
}
