//! What was ordered and how it was to be cut.

use crate::day::OrderLine;
use crate::handover::model::{Document, when};
use crate::handover::page::{Block, Section, lines, table, text};
use crate::units::number::show;

/// The section; none where nothing of the sort was kept.
pub fn section(document: &Document) -> Option<Section> {
    let ordered = &document.ordered;
    if ordered.takeoffs.is_empty() && ordered.cuts.is_empty() {
        return None;
    }
    let mut blocks = vec![text(
        "The sums that the crew ordered and cut by, as kept in the record. What came and what was used stands under \
         Materials.",
    )];
    for takeoff in &ordered.takeoffs {
        let rows = takeoff.lines.iter().map(|line| {
            vec![
                line.item.clone(),
                line.in_words(),
                lines([format!("{} {}", show(line.needed), line.unit), waste(line)]),
                line.rule.clone(),
            ]
        });
        let columns = [("Item", 3), ("Order", 4), ("Needed", 3), ("Counted from", 5)];
        let caption = format!("Take-off for {}, kept {}, entry {}", takeoff.on, when(&takeoff.at), takeoff.entry);
        blocks.push(table(&caption, &columns, rows.collect(), "The take-off has no lines."));
        if !takeoff.notes.is_empty() {
            blocks.push(Block::List { items: takeoff.notes.iter().map(|note| crate::plain::visible(note)).collect() });
        }
    }
    if !ordered.cuts.is_empty() {
        let rows = ordered.cuts.iter().map(|plan| {
            vec![
                lines([plan.on.clone(), when(&plan.at), plan.entry.clone()]),
                lines([format!("{} boards", plan.boards), format!("{} mm", plan.bought_mm)]),
                match plan.proven {
                    true => format!("{} mm, proved least", plan.lower_bound_mm),
                    false => format!("{} mm, not proved least", plan.lower_bound_mm),
                },
                plan.offcuts_used.join("\n"),
                plan.offcuts_left.join("\n"),
            ]
        });
        let columns = [
            ("Wall, when, entry", 3),
            ("Bought", 3),
            ("No plan buys less than", 3),
            ("Offcuts used", 3),
            ("Offcuts kept after it, mm", 3),
        ];
        blocks.push(table("Cut plans", &columns, rows.collect(), ""));
    }
    Some(Section { id: "ordered".to_owned(), title: "Ordered and cut by".to_owned(), blocks })
}

pub fn waste(line: &OrderLine) -> String {
    if line.waste_pct > 0.0 { format!("and {} % waste", show(line.waste_pct)) } else { String::new() }
}
