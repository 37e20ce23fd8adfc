//! What was ordered: the take-offs that the job has kept.

use serde::Serialize;
use serde_json::Value;

use crate::day::facts::Plan;
use crate::day::state::State;
use crate::materials::product::{Amount, counted, known_or_plain};
use crate::moment::Moment;
use crate::record::EntryId;

/// A take-off that is kept.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Order {
    /// The entry.
    pub entry: EntryId,
    /// When it was kept.
    pub at: Moment,
    /// A wall, or the job.
    pub on: String,
    /// What to order.
    pub lines: Vec<OrderLine>,
    /// What was not counted, and where the boards come from.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
}

/// A line of an order.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OrderLine {
    /// What.
    pub item: String,
    /// The product that it comes to the site as; absent where the sequence names none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub product: Option<String>,
    /// How many, as they are sold.
    pub order: f64,
    /// What one is.
    pub sold_as: String,
    /// How much one holds, in `unit`; absent in take-offs kept before it was written down.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pack: Option<f64>,
    /// What is needed of it, before waste.
    pub needed: f64,
    /// The unit of what is needed.
    pub unit: String,
    /// Waste allowed for, per cent.
    pub waste_pct: f64,
    /// What it was counted from.
    pub rule: String,
}

impl OrderLine {
    /// "12 lengths of 3 m", "1 box of 500 pieces", "123 boards".
    pub fn in_words(&self) -> String {
        let (what, of) = self.sold_as.split_once(" of ").map_or((self.sold_as.as_str(), None), |(w, of)| (w, Some(of)));
        let of = of.map(|of| format!(" of {of}")).unwrap_or_default();
        format!("{}{of}", counted(Amount::of(self.order), &many(what)))
    }

    /// What the order comes to in the unit that a product is counted in on the job; `None` where the one does not say the other,
    /// as metres say nothing of pieces.
    pub fn in_unit(&self, product: &str, unit: &str) -> Option<Amount> {
        let what = self.sold_as.split(" of ").next().unwrap_or_default();
        if many(what) == unit {
            return Some(Amount::of(self.order));
        }
        let by_the_piece = unit == known_or_plain(product).unit && is_pieces(unit) && is_pieces(&self.unit);
        self.pack.filter(|_| by_the_piece).map(|pack| Amount::of(self.order * pack))
    }
}

/// Whether a unit counts pieces, one by one, rather than metres, tins or lengths of whatever size.
fn is_pieces(unit: &str) -> bool {
    ["pieces", "panels", "planks", "boards", "clips", "packers", "fixings"].contains(&unit)
}

/// The word for more than one.
fn many(one: &str) -> String {
    match one {
        box_ if box_.ends_with("box") => format!("{box_}es"),
        own if own.ends_with('s') => own.to_owned(),
        other => format!("{other}s"),
    }
}

impl State {
    /// The take-offs in force: the whole job's, then those of walls in building order. One that does not read as a take-off is
    /// left out: its entry still stands in the log.
    pub fn orders(&self) -> Vec<Order> {
        let kept = self.plans().filter(|(sum, ..)| *sum == "takeoff");
        kept.filter_map(|(_, subject, plan)| order(plan, self.subjects.get(subject).to_string())).collect()
    }
}

fn order(plan: &Plan, on: String) -> Option<Order> {
    let text = |value: &Value, key: &str| value.get(key)?.as_str().map(str::to_owned);
    let list = |key: &str| plan.result.get(key).and_then(Value::as_array).map_or(&[][..], Vec::as_slice);
    let line = |line: &Value| {
        Some(OrderLine {
            item: text(line, "item")?,
            product: text(line, "product"),
            order: line.get("order")?.as_f64()?,
            sold_as: text(line, "sold_as")?,
            pack: line.get("pack").and_then(Value::as_f64),
            needed: line.get("needed")?.as_f64()?,
            unit: text(line, "unit")?,
            waste_pct: line.get("waste_pct")?.as_f64()?,
            rule: text(line, "rule")?,
        })
    };
    Some(Order {
        entry: plan.entry.clone(),
        at: plan.at,
        on,
        lines: list("lines").iter().map(line).collect::<Option<Vec<_>>>()?,
        notes: list("notes").iter().filter_map(|note| note.as_str().map(str::to_owned)).collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(order: f64, sold_as: &str, pack: f64, unit: &str) -> OrderLine {
        let (item, rule) = (String::new(), String::new());
        let (sold_as, unit) = (sold_as.to_owned(), unit.to_owned());
        OrderLine { item, product: None, order, sold_as, pack: Some(pack), needed: 1.0, unit, waste_pct: 0.0, rule }
    }

    #[test]
    fn orders_read_as_people_say_them() {
        let words = |order, sold_as| line(order, sold_as, 1.0, "m").in_words();
        assert_eq!(
            [words(12.0, "length of 3 m"), words(1.0, "box of 500 pieces"), words(7.0, "box of 100 pieces")],
            ["12 lengths of 3 m", "1 box of 500 pieces", "7 boxes of 100 pieces"]
        );
        assert_eq!([words(123.0, "board"), words(1.0, "board")], ["123 boards", "1 board"]);
    }

    #[test]
    fn an_order_is_put_into_the_unit_of_the_count_or_not_at_all() {
        let units = |line: OrderLine, product, unit| line.in_unit(product, unit).map(Amount::units);
        assert_eq!(units(line(7.0, "box of 100 pieces", 100.0, "pieces"), "clip", "clips"), Some(700.0));
        assert_eq!(units(line(7.0, "box of 100 pieces", 100.0, "pieces"), "clip", "boxes"), Some(7.0));
        assert_eq!(units(line(16.0, "bundle of 8 boards", 8.0, "boards"), "panel", "panels"), Some(128.0));
        assert_eq!(units(line(12.0, "length of 3 m", 3.0, "m"), "starter", "lengths"), Some(12.0));
        assert_eq!(units(line(28.0, "cartridge of 300 ml", 300.0, "ml"), "sealant", "cartridges"), Some(28.0));
        assert_eq!(units(line(12.0, "length of 3 m", 3.0, "m"), "corner", "pieces"), None);
        assert_eq!(units(line(28.0, "cartridge of 300 ml", 300.0, "ml"), "sealant", "boxes"), None);
        let older = OrderLine { pack: None, ..line(7.0, "box of 100 pieces", 1.0, "pieces") };
        assert_eq!(units(older, "clip", "clips"), None);
    }
}
