//! Ordered against used: one line for each product, from what the record holds and nothing else.
//!
//! What nobody recorded stays open, never zero: a product that no take-off orders has no `ordered`, one whose deliveries were not
//! written down has no `delivered`. No entry holds a count of the stack, so what is left is the book's.

use serde::Serialize;

use crate::day::facts::Kept;
use crate::day::state::{Ledger, Line, State};
use crate::materials::product::{Amount, counted, known_or_plain};
use crate::materials::takeoff::TakeOff;
use crate::record::{EntryId, StockUse};

/// One product: ordered, come, used, gone, left. Amounts are in `unit`, shares in per cent to a tenth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OrderedVsUsed {
    /// Its key.
    pub product: String,
    /// What it is counted in on the job.
    pub unit: String,
    /// What the kept take-off orders; absent where none does, or where it says so in another unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ordered: Option<Amount>,
    /// The entries of the take-offs that order it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub ordered_by: Vec<EntryId>,
    /// Waste that the order holds on top of the need, where its lines hold one and the same.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub waste_allowed_pct: Option<f64>,
    /// What came; absent where no delivery is recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub delivered: Option<Amount>,
    /// What came, of what was ordered.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub delivered_pct: Option<f64>,
    /// What was used or cut up; absent where nothing in the record says.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub used: Option<Amount>,
    /// How much of it somebody counted; the rest is worked out from the drawings, a whole piece for each place.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub used_counted: Option<Amount>,
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
    /// Every product that was ordered, came or was counted out: those of the count by their keys, then those only ordered.
    /// What steps took of a product that nobody ordered, booked in or counted is no comparison.
    pub fn ordered_vs_used(&self, ledger: &Ledger) -> Vec<OrderedVsUsed> {
        let orders = in_force(self.all_kept());
        let ordered = |product: &str| {
            let lines = orders.iter().flat_map(|order| &order.lines);
            lines.into_iter().any(|line| line.product.as_deref() == Some(product))
        };
        let by_hand = |line: &Line| line.all_taken().any(|one| one.taken.count.is_some());
        let counted = ledger.lines.iter().filter(|line| line.kept || ordered(&line.product) || by_hand(line));
        let mut all: Vec<OrderedVsUsed> =
            counted.map(|line| self.compare(&line.product, Some(line), &orders)).collect();
        for line in orders.iter().flat_map(|order| &order.lines) {
            let Some(product) = &line.product else { continue };
            if all.iter().all(|one| one.product != *product) {
                all.push(self.compare(product, None, &orders));
            }
        }
        all
    }

    fn compare(&self, product: &str, line: Option<&Line>, orders: &[Kept<TakeOff>]) -> OrderedVsUsed {
        let unit = line.map_or_else(|| known_or_plain(product).unit.to_owned(), |line| line.unit.clone());
        let mut notes = Vec::new();
        let Ordered { amount: ordered, by: ordered_by, waste_pct } = ordered(product, &unit, orders, &mut notes);
        let delivered = line.filter(|line| line.kept).map(|line| line.sums.delivered);
        // What the sequence asks for is zero until a step takes some; what it never asks for is not known to be zero.
        let asked = self.sequence().products().any(|asked| asked == product);
        let used = line.filter(|line| asked || line.all_taken().next().is_some()).map(|line| line.sums.used);
        let sums = line.map(|line| line.sums).unwrap_or_default();
        let left = delivered.and(used).map(|_| sums.left());
        if let Some(line) = line {
            let uncounted = line.uncounted();
            if !uncounted.is_empty() {
                notes.push(format!("used and not counted: {}", self.subjects.shortly(&uncounted)));
            }
        }
        let unaccounted = left.filter(|left| *left < Amount::NONE).map(|left| Amount::NONE - left);
        if let Some(more) = unaccounted {
            notes.push(format!("{} used or gone with no delivery recorded", counted(more, &unit)));
        }
        let of_what_came = |part: Option<Amount>| share(part, delivered);
        OrderedVsUsed {
            product: product.to_owned(),
            ordered,
            ordered_by,
            waste_allowed_pct: waste_pct,
            delivered,
            delivered_pct: share(delivered, ordered),
            used,
            used_counted: line.filter(|_| used.is_some()).map(counted_by_hand),
            used_pct: of_what_came(used),
            thrown_away: sums.thrown_away,
            thrown_away_pct: of_what_came(Some(sums.thrown_away).filter(|many| *many > Amount::NONE)),
            sent_back: sums.sent_back,
            left,
            left_pct: of_what_came(left.filter(|left| *left >= Amount::NONE)),
            unaccounted,
            unit,
            notes,
        }
    }
}

fn counted_by_hand(line: &Line) -> Amount {
    let of_stock = line.all_taken().filter(|counted| matches!(counted.taken.how, StockUse::Used | StockUse::CutUp));
    of_stock.filter_map(|counted| counted.taken.count).sum()
}

/// The whole job's take-off counts for all of it; without one, those of the walls together.
fn in_force(mut orders: Vec<Kept<TakeOff>>) -> Vec<Kept<TakeOff>> {
    if orders.iter().any(|order| order.subject == "job") {
        orders.retain(|order| order.subject == "job");
    }
    orders
}

/// What the orders say of a product.
struct Ordered {
    amount: Option<Amount>,
    by: Vec<EntryId>,
    waste_pct: Option<f64>,
}

fn ordered(product: &str, unit: &str, orders: &[Kept<TakeOff>], notes: &mut Vec<String>) -> Ordered {
    let all = orders.iter().flat_map(|order| order.lines.iter().map(move |line| (&order.entry, line)));
    let lines: Vec<_> = all.filter(|(_, line)| line.product.as_deref() == Some(product)).collect();
    let mut by: Vec<EntryId> = lines.iter().map(|(entry, _)| (*entry).clone()).collect();
    by.dedup();
    let each = lines.iter().map(|(_, line)| line.in_unit(product, unit));
    let amount = each.sum::<Option<Amount>>().filter(|_| !lines.is_empty());
    if amount.is_none() && !lines.is_empty() {
        let shown: Vec<String> = lines.iter().map(|(_, line)| line.in_words()).collect();
        notes.push(format!("ordered as {}, counted in {unit}: not compared", shown.join(" and ")));
    }
    let first = lines.first().map(|(_, line)| line.waste_pct);
    let waste_pct = first.filter(|first| lines.iter().all(|(_, line)| line.waste_pct == *first));
    Ordered { amount, by, waste_pct }
}

/// One amount of another, in per cent to a tenth.
fn share(part: Option<Amount>, whole: Option<Amount>) -> Option<f64> {
    let (part, whole) = part.zip(whole.filter(|whole| *whole > Amount::NONE))?;
    Some((part.units() / whole.units() * 1000.0).round() / 10.0)
}
