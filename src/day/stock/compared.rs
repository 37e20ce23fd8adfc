//! Ordered against used: one line for each product, from what the record holds and nothing else.
//!
//! What nobody recorded stays open, never nought: a product that no take-off orders has no `ordered`, one whose deliveries were not
//! written down has no `delivered`. No entry holds a count of the stack, so what is left is the book's.

use serde::Serialize;

use super::orders::Order;
use super::{How, Ledger, Line};
use crate::day::State;
use crate::materials::product::{Amount, counted, known_or_plain};
use crate::units::number::show;

/// One product: ordered, come, used, gone, left. Amounts are in `unit`, shares in per cent to a tenth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Compared {
    /// Its key.
    pub product: String,
    /// What it is counted in on the job.
    pub unit: String,
    /// What the kept take-off orders; absent where none does, or where it says so in another unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ordered: Option<Amount>,
    /// The entries of the take-offs that order it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub ordered_by: Vec<String>,
    /// What came; absent where no delivery is recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub delivered: Option<Amount>,
    /// What came, of what was ordered.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub delivered_pct: Option<f64>,
    /// What was used or cut up; absent where nothing in the record says.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub used: Option<Amount>,
    /// What was used, of what came.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub used_pct: Option<f64>,
    /// What was thrown away.
    pub thrown_away: Amount,
    /// What was thrown away, of what came.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub thrown_away_pct: Option<f64>,
    /// What was sent back.
    pub sent_back: Amount,
    /// What is left by the book: come, less used and gone. Absent where one of them is not recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub left: Option<Amount>,
    /// What is left, of what came.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub left_pct: Option<f64>,
    /// What was used or went, and never came by the book: nobody has accounted for it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unaccounted: Option<Amount>,
    /// What else to know, in words.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
}

impl State {
    /// Every product that was ordered, came or was taken: those of the count by their keys, then those only ordered.
    pub fn compared(&self, ledger: &Ledger) -> Vec<Compared> {
        let orders = in_force(self.orders());
        let ordered = |product: &str| {
            let lines = orders.iter().flat_map(|order| &order.lines);
            lines.into_iter().any(|line| line.product.as_deref() == Some(product))
        };
        let counted =
            ledger.lines.iter().filter(|line| line.kept || line.all_taken().next().is_some() || ordered(&line.product));
        let mut all: Vec<Compared> = counted.map(|line| self.compare(&line.product, Some(line), &orders)).collect();
        for line in orders.iter().flat_map(|order| &order.lines) {
            let Some(product) = &line.product else { continue };
            if all.iter().all(|one| one.product != *product) {
                all.push(self.compare(product, None, &orders));
            }
        }
        all
    }

    fn compare(&self, product: &str, line: Option<&Line>, orders: &[Order]) -> Compared {
        let unit = line.map_or_else(|| known_or_plain(product).unit.to_owned(), |line| line.unit.clone());
        let mut notes = Vec::new();
        let (ordered, ordered_by) = ordered(product, &unit, orders, &mut notes);
        let delivered = line.filter(|line| line.kept).map(|line| line.delivered);
        // What the sequence asks for is nought until a step takes some; what it never asks for is not known to be nought.
        let asked = self.sequence().products().any(|asked| asked == product);
        let used = line.filter(|line| asked || line.all_taken().next().is_some()).map(|line| line.used);
        let thrown_away = line.map_or(Amount::NONE, |line| line.thrown_away);
        let sent_back = line.map_or(Amount::NONE, |line| line.sent_back);
        let left = delivered.zip(used).map(|(came, used)| came - used - thrown_away - sent_back);
        if let Some(line) = line {
            notes.extend(worked_out(line));
            let uncounted = line.uncounted();
            if !uncounted.is_empty() {
                notes.push(format!("used and not counted: {}", self.subjects.shortly(&uncounted)));
            }
        }
        let unaccounted = left.filter(|left| *left < Amount::NONE).map(|left| Amount::NONE - left);
        if let Some(more) = unaccounted {
            notes.push(format!("{} used or gone that never came by the book", counted(more, &unit)));
        }
        let of_what_came = |part: Option<Amount>| share(part, delivered);
        Compared {
            product: product.to_owned(),
            ordered,
            ordered_by,
            delivered,
            delivered_pct: share(delivered, ordered),
            used,
            used_pct: of_what_came(used),
            thrown_away,
            thrown_away_pct: of_what_came((thrown_away > Amount::NONE).then_some(thrown_away)),
            sent_back,
            left,
            left_pct: of_what_came(left.filter(|left| *left >= Amount::NONE)),
            unaccounted,
            unit,
            notes,
        }
    }
}

/// How much of what was used nobody counted: the geometry takes a whole piece for each place, off-cuts or not.
fn worked_out(line: &Line) -> Option<String> {
    let of_stock = line.all_taken().filter(|counted| matches!(counted.taken.how, How::Used | How::CutUp));
    let counts: Amount = of_stock.filter_map(|counted| counted.taken.count).sum();
    let rest = line.used - counts;
    match (rest > Amount::NONE, counts > Amount::NONE) {
        (false, _) => None,
        (true, false) => Some("used: worked out from the drawings, not counted".to_owned()),
        (true, true) => Some(format!("used: {counts} counted, {rest} worked out from the drawings")),
    }
}

/// The whole job's take-off counts for all of it; without one, those of the walls together.
fn in_force(mut orders: Vec<Order>) -> Vec<Order> {
    if orders.iter().any(|order| order.on == "job") {
        orders.retain(|order| order.on == "job");
    }
    orders
}

fn ordered(product: &str, unit: &str, orders: &[Order], notes: &mut Vec<String>) -> (Option<Amount>, Vec<String>) {
    let lines = || {
        let all = orders.iter().flat_map(|order| order.lines.iter().map(move |line| (&order.entry, line)));
        all.filter(|(_, line)| line.product.as_deref() == Some(product))
    };
    let mut by: Vec<String> = lines().map(|(entry, _)| entry.clone()).collect();
    by.dedup();
    if by.is_empty() {
        return (None, by);
    }
    let sum = lines().map(|(_, line)| line.in_unit(product, unit)).sum::<Option<Amount>>();
    if sum.is_none() {
        let told: Vec<String> = lines().map(|(_, line)| line.in_words()).collect();
        notes.push(format!("ordered as {}, counted in {unit}: not compared", told.join(" and ")));
    }
    let mut wastes: Vec<String> = lines().map(|(_, line)| show(line.waste_pct)).filter(|pct| pct != "0").collect();
    wastes.dedup();
    if !wastes.is_empty() {
        notes.push(format!("ordered with {} % for waste", wastes.join(" and ")));
    }
    (sum, by)
}

/// One amount of another, in per cent to a tenth.
fn share(part: Option<Amount>, whole: Option<Amount>) -> Option<f64> {
    let (part, whole) = part.zip(whole.filter(|whole| *whole > Amount::NONE))?;
    Some((part.units() / whole.units() * 1000.0).round() / 10.0)
}
