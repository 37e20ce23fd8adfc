//! What comes in batches: the products of the trade, what each is counted in, and amounts of them.
//!
//! The words are the trade's own. A sequence may name others; those are counted in pieces and matched with nothing.

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

const fn product(key: &'static str, unit: &'static str, matched: bool, solid: bool) -> Product {
    Product { key, unit, matched, solid }
}

/// The products that every job knows.
pub const KNOWN: [Product; 18] = [
    product("panel", "panels", true, true),
    product("plank", "planks", true, true),
    product("board", "boards", true, true),
    product("corner", "pieces", true, true),
    product("starter", "lengths", false, true),
    product("clip", "clips", false, true),
    product("packer", "packers", false, true),
    product("fixing", "fixings", false, true),
    product("backer", "lengths", false, true),
    product("flashing", "lengths", false, true),
    product("batten", "lengths", false, true),
    product("soaker", "pieces", false, true),
    product("wrap", "rolls", false, true),
    product("tape", "rolls", false, true),
    product("edge-sealer", "tins", false, false),
    product("primer", "tins", false, false),
    product("sealant", "cartridges", false, false),
    product("paint", "tins", false, false),
];

/// The product by which a place counts as sealed.
pub const SEALANT: &str = "sealant";

/// The known product of a word.
pub fn known(key: &str) -> Option<Product> {
    KNOWN.into_iter().find(|product| product.key == key)
}

/// What a product is, for one that nothing is known of: counted in pieces, matched with nothing.
pub fn known_or_plain(key: &str) -> Product {
    known(key).unwrap_or(product("", "pieces", false, true))
}

/// An amount with its unit: "1 panel", "2.5 tins".
pub fn counted(amount: Amount, unit: &str) -> String {
    let one = amount.to_string() == "1" && unit.ends_with('s') && !unit.ends_with("ss");
    let unit = if one { unit.strip_suffix("boxes").map_or(&unit[..unit.len() - 1], |_| "box") } else { unit };
    format!("{amount} {unit}")
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

impl serde::Serialize for Amount {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_f64(self.units())
    }
}

impl<'de> serde::Deserialize<'de> for Amount {
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
    fn one_is_singular() {
        let words = |many, unit| counted(Amount::of(many), unit);
        assert_eq!([words(1.0, "panels"), words(1.0, "boxes"), words(1.0, "m")], ["1 panel", "1 box", "1 m"]);
        assert_eq!([words(2.0, "panels"), words(0.96, "tins")], ["2 panels", "1 tin"]);
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
