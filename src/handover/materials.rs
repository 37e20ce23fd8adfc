//! Batches for the pack: what came, where each is on the building, what was counted, and what to know of it.

use chrono::NaiveDate;
use serde::Serialize;

use super::document::Document;
use super::sheets::{Block, Section, lines, table, text};
use super::text::when;
use crate::day::{Counted, Ledger, Line, OrderedVsUsed, State};
use crate::materials::product::{Amount, counted};
use crate::moment::Moment;
use crate::plain::visible;
use crate::record::StockUse;
use crate::units::number::show;

/// What the record says of materials.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Materials {
    /// Batches, product by product.
    pub batches: Vec<BatchTold>,
    /// Everything that was taken, product by product, batch by batch.
    pub taken: Vec<TakenTold>,
    /// Where each batch is on the building.
    pub traced: Vec<TracedTold>,
    /// What to know of them, what presses most first.
    pub flags: Vec<String>,
    /// Ordered against used, product by product.
    pub compared: Vec<OrderedVsUsed>,
}

/// A batch on a part of the building.
#[derive(Debug, Clone, Serialize)]
pub struct TracedTold {
    /// The product.
    pub product: String,
    /// The subjects, written short.
    pub on: String,
    /// The batch; absent where nobody named it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub batch: Option<String>,
    /// When the first of it was used there.
    pub first_at: Moment,
    /// When the last.
    pub last_at: Moment,
}

/// A batch.
#[derive(Debug, Clone, Serialize)]
pub struct BatchTold {
    /// The product.
    pub product: String,
    /// What stands on the label.
    pub batch: String,
    /// Its colour.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub colour: Option<String>,
    /// What it is counted in.
    pub unit: String,
    /// The last day on which it may be used.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub expires: Option<NaiveDate>,
    /// Its deliveries; none for one that never came.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub came: Vec<CameTold>,
    /// How many came.
    pub delivered: Amount,
    /// How many were used or cut up.
    pub used: Amount,
    /// How many were thrown away or sent back.
    pub gone: Amount,
    /// How many are left; less than nothing where more was used than came.
    pub left: Amount,
    /// What to know of this batch.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub flags: Vec<String>,
}

/// A delivery.
#[derive(Debug, Clone, Serialize)]
pub struct CameTold {
    /// When.
    pub at: Moment,
    /// How many.
    pub count: Amount,
    /// How it came, and remarks.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub said: String,
    /// Id of the entry.
    pub entry: String,
}

/// Something that was taken.
#[derive(Debug, Clone, Serialize)]
pub struct TakenTold {
    /// The product.
    pub product: String,
    /// The batch; absent where nobody named it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub batch: Option<String>,
    /// The subject.
    pub subject: String,
    /// What became of it.
    pub how: StockUse,
    /// The step that took it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub step: Option<String>,
    /// How many; absent where it is not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub count: Option<Amount>,
    /// By hand, or by the geometry.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub counted_by: Option<&'static str>,
    /// When.
    pub at: Moment,
    /// Who recorded it.
    pub by: String,
    /// Id of the entry.
    pub entry: String,
    /// A remark.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

impl Materials {
    /// What a state says of materials at a moment.
    pub(super) fn of(state: &State, now: Moment) -> Self {
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

fn taken(state: &State, ledger: &Ledger) -> Vec<TakenTold> {
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

/// The section of the pack.
pub(super) fn section(document: &Document) -> Section {
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
fn compared(materials: &Materials) -> Option<Block> {
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

/// Ordered against used, a row for each product.
pub(super) fn compared_csv(document: &Document) -> Vec<Vec<String>> {
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

fn batches(materials: &Materials) -> Block {
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

fn on_the_wall(taken: &TakenTold) -> bool {
    taken.how.is_on_the_wall()
}

/// Every wall, course, joint, opening and corner with what it is made of: one row for a batch on a part of the building.
fn traced(state: &State, ledger: &Ledger) -> Vec<TracedTold> {
    type Group = (Option<String>, String, Vec<usize>, Moment, Moment);
    let mut told = Vec::new();
    for line in &ledger.lines {
        let mut groups: Vec<Group> = Vec::new();
        for taken in line.all_taken().map(|counted| &counted.taken).filter(|taken| taken.how.is_on_the_wall()) {
            let part = super::gather::part_of(state.subjects.get(taken.subject));
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

fn traced_table(materials: &Materials) -> Block {
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

/// The table of the pack: a row for everything taken, and one for each batch of which nothing was.
pub(super) fn batches_csv(document: &Document) -> Vec<Vec<String>> {
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
