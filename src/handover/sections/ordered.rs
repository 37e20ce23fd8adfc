//! What was ordered and how it was to be cut.

use crate::day::Kept;
use crate::handover::model::{Document, when};
use crate::handover::page::{Block, Section, lines, list, section, table, table_or, text};
use crate::materials::cuts::WallCuts;
use crate::materials::takeoff::{TakeOff, TakeoffLine};
use crate::plain::count;
use crate::units::number::show;

/// The take-offs and cut plans; no section where none was kept.
pub fn orders_and_cuts(document: &Document<'_>) -> Option<Section> {
    let materials = &document.materials;
    if materials.takeoffs.is_empty() && materials.cuts.is_empty() {
        return None;
    }
    let mut blocks = vec![text(
        "The sums that the crew ordered and cut by, as saved in the record. What was delivered and used is under \
         Materials.",
    )];
    for takeoff in &materials.takeoffs {
        blocks.push(takeoff_table(takeoff));
        blocks.extend(list(&takeoff.notes));
    }
    blocks.extend(cuts_table(&materials.cuts));
    Some(section("ordered", "Orders and cut plans", blocks))
}

fn takeoff_table(takeoff: &Kept<TakeOff>) -> Block {
    let waste = |line: &TakeoffLine| match line.waste_pct > 0.0 {
        true => format!("and {} % waste", show(line.waste_pct)),
        false => String::new(),
    };
    table_or(
        "The take-off has no lines.",
        format!("Take-off for {}, saved {}, entry {}", takeoff.subject, when(&takeoff.at), takeoff.entry),
        &takeoff.lines,
        &[
            ("Item", 3, &|line| line.item.clone()),
            ("Order", 4, &|line| line.in_words()),
            ("Needed", 3, &|line| lines([format!("{} {}", show(line.needed), line.unit), waste(line)])),
            ("Counted from", 5, &|line| line.rule.clone()),
        ],
    )
}

fn cuts_table(cuts: &[Kept<WallCuts>]) -> Option<Block> {
    table(
        "Cut plans",
        cuts,
        &[
            ("Wall, when, entry", 3, &|cuts| lines([cuts.subject.clone(), when(&cuts.at), cuts.entry.to_string()])),
            ("Bought", 3, &|cuts| {
                let boards = usize::try_from(cuts.plan.boards).unwrap_or(usize::MAX);
                lines([count(boards, "board"), format!("{} mm", cuts.plan.bought_mm)])
            }),
            ("Least possible", 3, &|cuts| {
                let proved = if cuts.plan.proven { "proved" } else { "not proved" };
                format!("{} mm, {proved}", cuts.plan.lower_bound_mm)
            }),
            ("Offcuts used", 3, &|cuts| cuts.offcuts_used().join("\n")),
            ("Offcuts kept after it, mm", 3, &|cuts| cuts.offcuts_left_in_words().join("\n")),
        ],
    )
}
