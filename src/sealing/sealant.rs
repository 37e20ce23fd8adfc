//! C9, sealant: volume and cartridges for a length of joint, and the depth that suits a width.
//!
//! One square millimetre of section is one millilitre a metre. Cartridges are rounded up from the exact decimal
//! product, so that a joint that exactly fills its cartridges doesn't order one more: the numbers are taken as the decimals
//! that were typed, never as floats. Exact to 28 digits.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::Serialize;

use crate::units::number::shortened;
use crate::units::{Length, NumberError, parse_decimal};

/// The cartridge that is assumed when none is named, ml.
pub const CARTRIDGE_ML: Decimal = Decimal::from_parts(300, 0, 0, false, 0);
/// The waste that is assumed when none is named, %: common practice, no source.
pub const WASTE_PCT: Decimal = Decimal::from_parts(10, 0, 0, false, 0);

/// One size and what it may be. Decimals, so that what is checked is what was typed.
struct Size {
    what: &'static str,
    unit: &'static str,
    least: Decimal,
    most: u32,
}

const TENTH: Decimal = Decimal::from_parts(1, 0, 0, false, 1);
const THOUSANDTH: Decimal = Decimal::from_parts(1, 0, 0, false, 3);
const WIDTH: Size = Size { what: "joint width", unit: "mm", least: TENTH, most: 200 };
const DEPTH: Size = Size { what: "joint depth", unit: "mm", least: TENTH, most: 200 };
const RUN: Size = Size { what: "length of joint", unit: "m", least: THOUSANDTH, most: 100_000 };
const CARTRIDGE: Size = Size { what: "cartridge", unit: "ml", least: Decimal::ONE, most: 20_000 };
const WASTE: Size = Size { what: "waste", unit: "%", least: Decimal::ZERO, most: 100 };

/// Why there is no volume.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SealantError {
    /// A size outside what a joint or a cartridge can have.
    #[error("{what} {given} {unit} is outside {least} to {most} {unit}")]
    Size {
        /// The words for it.
        what: &'static str,
        /// Its unit.
        unit: &'static str,
        /// What was given.
        given: Decimal,
        /// The least that is taken.
        least: Decimal,
        /// The most that is taken.
        most: u32,
    },
    /// A joint too narrow or too wide to seal with a gun.
    #[error("a joint {} mm wide is outside 6 to 50 mm, which gunned sealant bridges", crate::units::number::show(*.0))]
    Width(f64),
}

/// A run of joint to be filled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Run {
    /// Width of the joint, mm, 0.1 to 200.
    pub width_mm: Decimal,
    /// Depth of the sealant, mm, 0.1 to 200.
    pub depth_mm: Decimal,
    /// Length of joint, m, 0.001 to 100,000.
    pub length_m: Decimal,
    /// What one cartridge holds, ml, 1 to 20,000.
    pub cartridge_ml: Decimal,
    /// Allowance on top of the joint's own volume, %, 0 to 100.
    pub waste_pct: Decimal,
}

/// What a run of joint takes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Sealant {
    /// Volume with waste, ml.
    pub volume_ml: f64,
    /// Whole cartridges.
    pub cartridges: u64,
}

/// Reads a typed number as the decimal that it is.
///
/// # Errors
/// [`NumberError`] as [`parse_decimal`].
pub fn typed(text: &str) -> Result<Decimal, NumberError> {
    parse_decimal(text)?;
    let plain = text.trim().trim_start_matches('+').replace('−', "-");
    plain.parse().map_err(|_| NumberError::NotANumber(shortened(text.trim())))
}

/// The volume that a run of joint takes, with waste, and the cartridges to buy.
///
/// # Errors
/// [`SealantError`] when a size or the waste is outside its range.
///
/// # Example
/// ```
/// use cladlog::sealing::sealant::{Run, sealant, typed};
/// let mut run = Run {
///     width_mm: typed("10")?, depth_mm: typed("6")?, length_m: typed("5")?,
///     cartridge_ml: typed("300")?, waste_pct: typed("0")?,
/// };
/// // Five metres of 10 × 6 empty one cartridge exactly; with a tenth for waste that makes a second one.
/// assert_eq!(sealant(&run)?.cartridges, 1);
/// run.waste_pct = typed("10")?;
/// assert_eq!((sealant(&run)?.volume_ml, sealant(&run)?.cartridges), (330.0, 2));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn sealant(run: &Run) -> Result<Sealant, SealantError> {
    for (given, size) in [
        (run.width_mm, WIDTH),
        (run.depth_mm, DEPTH),
        (run.length_m, RUN),
        (run.cartridge_ml, CARTRIDGE),
        (run.waste_pct, WASTE),
    ] {
        let Size { what, unit, least, most } = size;
        if given < least || given > Decimal::from(most) {
            return Err(SealantError::Size { what, unit, given, least, most });
        }
    }
    // All inside the bounds above: at most 8e11, far from what a decimal holds.
    let hundredfold = run.width_mm * run.depth_mm * run.length_m * (Decimal::ONE_HUNDRED + run.waste_pct);
    let volume = hundredfold / Decimal::ONE_HUNDRED;
    // A quotient may round; the whole cartridges it suggests are checked by multiplying back.
    let cartridge = run.cartridge_ml * Decimal::ONE_HUNDRED;
    let mut whole = hundredfold.checked_div(cartridge).unwrap_or(Decimal::MAX).floor();
    if whole.checked_mul(cartridge).is_some_and(|filled| filled < hundredfold) {
        whole += Decimal::ONE;
    }
    Ok(Sealant { volume_ml: volume.to_f64().unwrap_or(f64::INFINITY), cartridges: whole.to_u64().unwrap_or(u64::MAX) })
}

/// The depth of sealant for a joint: half its width, at least 6 and at most 13 mm.
///
/// E. Allen, *Architectural Detailing*: depth half the width, 6 to 13 mm (1/4 to 1/2 in), for widths of 6 to 50 mm. The
/// sealant maker's instructions come first.
///
/// # Errors
/// [`SealantError::Width`] for a joint under 6 or over 50 mm.
pub fn depth_for(width: Length) -> Result<Length, SealantError> {
    let width = width.as_mm();
    if (6.0..=50.0).contains(&width) {
        Ok(Length::mm((width / 2.0).clamp(6.0, 13.0)))
    } else {
        Err(SealantError::Width(width))
    }
}

/// The section of a bead as wide as its joint and as deep as [`depth_for`] says, mm²: millilitres a metre.
///
/// # Errors
/// As [`depth_for`].
pub fn section_mm2(width: Length) -> Result<f64, SealantError> {
    Ok(width.as_mm() * depth_for(width)?.as_mm())
}

/// The least diameter of round backer for a joint: a quarter more than its width, so that it stays put.
///
/// Common practice, no source.
///
/// # Errors
/// [`SealantError::Width`] for a joint under 6 or over 50 mm.
pub fn backer_for(width: Length) -> Result<Length, SealantError> {
    depth_for(width)?;
    Ok(Length::mm(width.as_mm() * 1.25))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(width: &str, depth: &str, length: &str, cartridge: &str, waste: &str) -> Result<Sealant, SealantError> {
        let [width_mm, depth_mm, length_m, cartridge_ml, waste_pct] =
            [width, depth, length, cartridge, waste].map(|text| typed(text).unwrap());
        sealant(&Run { width_mm, depth_mm, length_m, cartridge_ml, waste_pct })
    }

    #[test]
    fn sizes_out_of_range_are_named() {
        let said = |w, d, l, c, p| run(w, d, l, c, p).unwrap_err().to_string();
        assert_eq!(said("0", "6", "5", "300", "10"), "joint width 0 mm is outside 0.1 to 200 mm");
        assert_eq!(said("10", "-6", "5", "300", "10"), "joint depth -6 mm is outside 0.1 to 200 mm");
        assert_eq!(
            said("10", "6", "1000000000", "300", "10"),
            "length of joint 1000000000 m is outside 0.001 to 100000 m"
        );
        assert_eq!(said("10", "6", "5", "0", "10"), "cartridge 0 ml is outside 1 to 20000 ml");
        assert_eq!(said("10", "6", "5", "300", "-1"), "waste -1 % is outside 0 to 100 %");
    }

    #[test]
    fn decimals_that_floats_get_wrong_fill_their_cartridges_exactly() {
        // As floats 0.1 + 0.2 and 1.1 · 3 land above their decimals, and order one cartridge too many.
        assert_eq!(run("10", "6", "5", "330", "10").unwrap().cartridges, 1);
        assert_eq!(run("1.1", "3", "1", "3.3", "0").unwrap().cartridges, 1);
        assert_eq!(run("0.7", "0.1", "100", "7", "0").unwrap().cartridges, 1);
        assert_eq!(run("10", "6", "5.0000000001", "300", "0").unwrap().cartridges, 2);
        // The longest numbers that can be typed are still an answer.
        let long = "3.3333333333333333333333333333";
        assert!(run(long, long, long, "300", long).unwrap().cartridges == 1);
        assert_eq!(run("200", "200", "100000", "1", "100").unwrap().cartridges, 8_000_000_000);
    }

    #[test]
    fn depths_of_the_published_examples() {
        // Allen, Architectural Detailing: 6 × 6, 19 × 9 (9.5 by the rule), 32 × 13 mm.
        let depth = |width| depth_for(Length::mm(width)).unwrap().as_mm();
        assert_eq!([depth(6.0), depth(19.0), depth(32.0)], [6.0, 9.5, 13.0]);
        assert_eq!(backer_for(Length::mm(12.0)), Ok(Length::mm(15.0)));
        assert_eq!(
            depth_for(Length::mm(3.0)).unwrap_err().to_string(),
            "a joint 3 mm wide is outside 6 to 50 mm, which gunned sealant bridges"
        );
    }

    proptest::proptest! {
        #[test]
        fn the_cartridges_hold_the_volume_and_one_fewer_does_not(
            width in 10i64..5_000, depth in 10i64..5_000, length in 1i64..100_000, cartridge in 10i64..10_000, waste in 0i64..=1_000,
        ) {
            let sum = sealant(&Run {
                width_mm: Decimal::new(width, 2), depth_mm: Decimal::new(depth, 2), length_m: Decimal::new(length, 2),
                cartridge_ml: Decimal::new(cartridge, 1), waste_pct: Decimal::new(waste, 1),
            }).unwrap();
            // The same in whole numbers: hundredths thrice and a thousandth part against tenths.
            let need = i128::from(width) * i128::from(depth) * i128::from(length) * i128::from(1000 + waste);
            let each = i128::from(cartridge) * 1_000_000 * 100;
            let cartridges = i128::from(sum.cartridges);
            proptest::prop_assert!(cartridges * each >= need && (cartridges - 1) * each < need);
        }
    }
}
