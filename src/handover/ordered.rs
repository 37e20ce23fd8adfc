//! What was ordered and how it was to be cut, as the pack tells it: the take-offs and cut plans that the job has kept.

use serde::Serialize;
use serde_json::Value;

use super::document::Document;
use super::sheets::{Block, Section, lines, table, text};
use super::text::when;
use crate::day::{Order, OrderLine, Plan, State};
use crate::moment::Moment;
use crate::units::number::show;

/// The take-offs and cut plans in force.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Ordered {
    /// Take-offs: the whole job's, then those of walls in building order.
    pub takeoffs: Vec<Order>,
    /// Cut plans, in the same order.
    pub cuts: Vec<CutsTold>,
}

/// A cut plan.
#[derive(Debug, Clone, Serialize)]
pub struct CutsTold {
    /// Id of the entry.
    pub entry: String,
    /// When it was kept.
    pub at: Moment,
    /// A wall, or the job.
    pub on: String,
    /// Boards bought.
    pub boards: u64,
    /// Their length together, mm.
    pub bought_mm: u64,
    /// No plan buys less than this, mm.
    pub lower_bound_mm: u64,
    /// Whether the length is proved least.
    pub proven: bool,
    /// Offcuts of earlier walls that are used up.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub offcuts_used: Vec<String>,
    /// Offcuts that are kept after it, with their lengths in mm.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub offcuts_left: Vec<String>,
}

impl Ordered {
    /// What a state has kept. A plan that does not read as one is left out: its entry still stands in the log.
    pub(super) fn of(state: &State) -> Self {
        let kept = state.plans().filter(|(sum, ..)| *sum == "cuts");
        let cuts = kept.filter_map(|(_, subject, plan)| cuts(plan, state.subjects.get(subject).to_string()));
        Self { takeoffs: state.orders(), cuts: cuts.collect() }
    }
}

fn list<'v>(value: &'v Value, key: &str) -> &'v [Value] {
    value.get(key).and_then(Value::as_array).map_or(&[], Vec::as_slice)
}

fn said(value: &Value, key: &str) -> Option<String> {
    value.get(key)?.as_str().map(str::to_owned)
}

fn cuts(plan: &Plan, on: String) -> Option<CutsTold> {
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

/// The section; none where nothing of the sort was kept.
pub(super) fn section(document: &Document) -> Option<Section> {
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

fn waste(line: &OrderLine) -> String {
    if line.waste_pct > 0.0 { format!("and {} % waste", show(line.waste_pct)) } else { String::new() }
}

fn heading(columns: &[&str]) -> Vec<Vec<String>> {
    vec![columns.iter().map(|column| (*column).to_owned()).collect()]
}

/// The lines of the take-offs.
pub(super) fn takeoff_csv(document: &Document) -> Vec<Vec<String>> {
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
pub(super) fn cuts_csv(document: &Document) -> Vec<Vec<String>> {
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
