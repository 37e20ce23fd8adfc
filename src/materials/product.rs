//! What comes in batches: the products of the trade, what each is counted in, and amounts of them.
//!
//! The words are the trade's own. A sequence may name others; those are counted in pieces and matched with nothing.

use serde::{Deserialize, Serialize};

use crate::units::number::{NumberError, parse_decimal, shortened, show_to};

/// The most of one product that one entry may count, in its unit.
pub const MOST: i64 = 100_000;

/// A batch this close to its expiry is warned of. Common practice, no source: long enough to order another.
pub const EXPIRY_WARNING_DAYS: i64 = 14;

/// A product of the trade.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Product {
    /// The word for it, as sequences and `--product` give it.
    pub key: &'static str,
    /// What it is counted in, where nobody says otherwise.
    pub unit: &'static str,
    /// Seen beside its like: a second batch on a wall may show as a second colour.
    pub matched: bool,
    /// Once up it stays: the same piece put up again is no second one. What comes wet is used again.
    pub solid: bool,
}

/// What is seen on the wall and comes as pieces.
const fn cladding(key: &'static str, unit: &'static str) -> Product {
    Product { key, unit, matched: true, solid: true }
}

/// What goes up behind it or between.
const fn fixed(key: &'static str, unit: &'static str) -> Product {
    Product { key, unit, matched: false, solid: true }
}

/// What comes wet.
const fn wet(key: &'static str, unit: &'static str) -> Product {
    Product { key, unit, matched: false, solid: false }
}

/// The products that every job knows.
pub const KNOWN: [Product; 18] = [
    cladding("panel", "panels"),
    cladding("plank", "planks"),
    cladding("board", "boards"),
    cladding("corner", "pieces"),
    fixed("starter", "lengths"),
    fixed("clip", "clips"),
    fixed("packer", "packers"),
    fixed("fixing", "fixings"),
    fixed("backer", "lengths"),
    fixed("flashing", "lengths"),
    fixed("batten", "lengths"),
    fixed("soaker", "pieces"),
    fixed("wrap", "rolls"),
    fixed("tape", "rolls"),
    wet("edge-sealer", "tins"),
    wet("primer", "tins"),
    wet("sealant", "cartridges"),
    wet("paint", "tins"),
];

/// The product by which a place counts as sealed.
pub const SEALANT: &str = "sealant";

/// The known product of a word.
pub fn known(key: &str) -> Option<Product> {
    KNOWN.into_iter().find(|product| product.key == key)
}

/// What a product is, for one that nothing is known of: counted in pieces, matched with nothing.
pub fn known_or_plain(key: &str) -> Product {
    known(key).unwrap_or(fixed("", "pieces"))
}

/// The word for a unit that goods are counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct UnitWord {
    /// For one.
    pub one: &'static str,
    /// For more.
    pub many: &'static str,
    /// Each is one piece, not a length, a tin or a box of whatever it holds.
    pub is_piece: bool,
}

const fn piece(one: &'static str, many: &'static str) -> UnitWord {
    UnitWord { one, many, is_piece: true }
}

const fn pack(one: &'static str, many: &'static str) -> UnitWord {
    UnitWord { one, many, is_piece: false }
}

/// The units of the trade. Other words are left as they were typed.
const UNITS: [UnitWord; 31] = [
    piece("panel", "panels"),
    piece("plank", "planks"),
    piece("board", "boards"),
    piece("piece", "pieces"),
    piece("clip", "clips"),
    piece("packer", "packers"),
    piece("fixing", "fixings"),
    pack("length", "lengths"),
    pack("roll", "rolls"),
    pack("coil", "coils"),
    pack("sheet", "sheets"),
    pack("tin", "tins"),
    pack("can", "cans"),
    pack("bottle", "bottles"),
    pack("cartridge", "cartridges"),
    pack("sausage", "sausages"),
    pack("tube", "tubes"),
    pack("pail", "pails"),
    pack("bucket", "buckets"),
    pack("drum", "drums"),
    pack("box", "boxes"),
    pack("carton", "cartons"),
    pack("bag", "bags"),
    pack("packet", "packets"),
    pack("pack", "packs"),
    pack("bundle", "bundles"),
    pack("pallet", "pallets"),
    pack("stack", "stacks"),
    pack("strip", "strips"),
    pack("set", "sets"),
    pack("pair", "pairs"),
];

/// The unit that a word means, for one or for more.
pub fn unit(word: &str) -> Option<UnitWord> {
    UNITS.into_iter().find(|unit| [unit.one, unit.many].contains(&word))
}

/// An amount with its unit: "1 panel", "2.5 tins", "1 small box".
pub fn counted(amount: Amount, unit_words: &str) -> String {
    let amount = amount.to_string();
    let (before, last) = unit_words.split_at(unit_words.rfind(' ').map_or(0, |space| space + 1));
    let last = unit(last).map_or(last, |unit| if amount == "1" { unit.one } else { unit.many });
    format!("{amount} {before}{last}")
}

/// What something is sold as, such as `box of 100 pieces`; written and read as that text.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(from = "String", into = "String")]
pub struct SoldAs {
    /// What a pack is called.
    pub pack: String,
    /// What it holds; absent where it is one piece.
    pub holds: Option<String>,
}

impl From<String> for SoldAs {
    fn from(text: String) -> Self {
        match text.split_once(" of ") {
            Some((pack, holds)) => Self { pack: pack.to_owned(), holds: Some(holds.to_owned()) },
            None => Self { pack: text, holds: None },
        }
    }
}

impl From<SoldAs> for String {
    fn from(sold_as: SoldAs) -> Self {
        sold_as.to_string()
    }
}

impl std::fmt::Display for SoldAs {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.pack)?;
        self.holds.as_ref().map_or(Ok(()), |holds| write!(f, " of {holds}"))
    }
}

/// An amount of a product in its unit, kept in thousandths so that sums are exact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Amount(i64);

/// Why a count was not taken.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AmountError {
    /// Not a number.
    #[error("{0}")]
    Number(#[from] NumberError),
    /// Nothing, or less than nothing.
    #[error("{0}: a count must be more than 0")]
    None(String),
    /// More than any job has.
    #[error("{0} is more than {MOST}: use a larger unit, or correct the number")]
    Absurd(String),
    /// Finer than a thousandth.
    #[error("'{0}' has more than three decimals")]
    Fine(String),
}

impl Amount {
    /// None.
    pub const NONE: Self = Self(0);

    /// Whole units.
    pub fn whole(many: u32) -> Self {
        Self(i64::from(many) * 1000)
    }

    /// So many units, to the nearest thousandth; absurd ones are cut to what a sum can hold.
    pub fn of(value: f64) -> Self {
        // A float turned into an integer keeps to the integer's range, and what is not a number becomes 0.
        Self(((value * 1000.0).round() as i64).clamp(-MOST * 1_000_000, MOST * 1_000_000))
    }

    /// Reads a count as it was typed: more than 0, at most [`MOST`], at most three decimals.
    ///
    /// # Errors
    /// [`AmountError`], worded for the person who typed it.
    pub fn typed(text: &str) -> Result<Self, AmountError> {
        let value = parse_decimal(text)?;
        let given = shortened(text.trim());
        if text.trim().split_once('.').is_some_and(|(_, decimals)| decimals.trim_end_matches('0').len() > 3) {
            return Err(AmountError::Fine(given));
        }
        if value <= 0.0 {
            Err(AmountError::None(given))
        } else if value > MOST as f64 {
            Err(AmountError::Absurd(given))
        } else {
            Ok(Self::of(value))
        }
    }

    /// The number of units.
    pub fn units(self) -> f64 {
        self.0 as f64 / 1000.0
    }

    /// The next whole number of units.
    pub fn rounded_up(self) -> Self {
        Self(self.0.div_euclid(1000) * 1000 + if self.0.rem_euclid(1000) > 0 { 1000 } else { 0 })
    }
}

impl std::ops::Add for Amount {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl std::ops::AddAssign for Amount {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl std::ops::Sub for Amount {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl std::ops::SubAssign for Amount {
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl std::iter::Sum for Amount {
    fn sum<I: Iterator<Item = Self>>(amounts: I) -> Self {
        amounts.fold(Self::NONE, |sum, amount| sum + amount)
    }
}

/// For people a tenth is fine enough: what a joint takes is worked out, not weighed.
impl std::fmt::Display for Amount {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&show_to(self.units(), 1))
    }
}

impl Serialize for Amount {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_f64(self.units())
    }
}

impl<'de> Deserialize<'de> for Amount {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        f64::deserialize(deserializer).map(Self::of)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wrong_counts_are_named() {
        let said = |text| Amount::typed(text).unwrap_err().to_string();
        assert_eq!(said("0"), "0: a count must be more than 0");
        assert_eq!(said("-3"), "-3: a count must be more than 0");
        assert_eq!(said("0.0001"), "'0.0001' has more than three decimals");
        assert_eq!(said("1000000000"), "1000000000 is more than 100000: use a larger unit, or correct the number");
        assert_eq!(said("12 boxes"), "'12 boxes' has a unit or letters in it: type the number alone");
        assert_eq!(Amount::typed("0.5").map(Amount::units), Ok(0.5));
        assert_eq!(Amount::typed("2.000").map(Amount::units), Ok(2.0));
    }

    #[test]
    fn a_unit_agrees_with_its_number() {
        let words = |many, unit| counted(Amount::of(many), unit);
        assert_eq!([words(1.0, "panels"), words(1.0, "boxes"), words(1.0, "m")], ["1 panel", "1 box", "1 m"]);
        assert_eq!([words(2.0, "panels"), words(0.96, "tins"), words(0.0, "tins")], ["2 panels", "1 tin", "0 tins"]);
        assert_eq!([words(1.0, "tool boxes"), words(2.0, "small tin")], ["1 tool box", "2 small tins"]);
        // What is not known is not made up.
        assert_eq!([words(1.0, "glass"), words(2.0, "Kübel"), words(1.0, "")], ["1 glass", "2 Kübel", "1 "]);
        assert!(KNOWN.iter().all(|product| unit(product.unit).is_some_and(|unit| unit.many == product.unit)));
    }

    #[test]
    fn what_something_is_sold_as_is_kept_as_it_reads() {
        for text in ["board", "box of 100 pieces", "length of 3 m", "box of ties of 4 mm", ""] {
            assert_eq!(SoldAs::from(text.to_owned()).to_string(), text);
        }
        assert_eq!(serde_json::from_str::<SoldAs>("\"box of 100 pieces\"").unwrap().pack, "box");
    }

    #[test]
    fn rounded_up_is_what_has_to_be_bought() {
        assert_eq!(Amount::of(1.188).rounded_up(), Amount::whole(2));
        assert_eq!(Amount::whole(2).rounded_up(), Amount::whole(2));
        assert_eq!(Amount::of(-0.5).rounded_up(), Amount::NONE);
        assert_eq!(Amount::of(f64::NAN), Amount::NONE);
    }

    proptest::proptest! {
        #[test]
        fn sums_of_thousandths_are_exact(parts in proptest::collection::vec(1i64..10_000_000, 0..30)) {
            let sum: Amount = parts.iter().map(|part| Amount::of(*part as f64 / 1000.0)).sum();
            proptest::prop_assert_eq!(sum, Amount(parts.iter().sum()));
        }
    }
}
