//! Durations in whole minutes, rounded from the exact decimal product.

use rust_decimal::Decimal;

/// `a · b`, rounded up to a whole number; `None` when the digits of the product are more than can be held exactly.
///
/// Binary fractions won't do: 0.1 · 30 must be 3, not a hair more and so 4. `Decimal`'s own product rounds past 28
/// digits, so the whole-number product is taken here.
pub(super) fn product_up(a: Decimal, b: Decimal) -> Option<i64> {
    let (a, b) = (a.normalize(), b.normalize());
    let product = a.mantissa().checked_mul(b.mantissa())?;
    let places = a.scale() + b.scale();
    match 10_i128.checked_pow(places) {
        Some(unit) => i64::try_from(-(-product).div_euclid(unit)).ok(),
        // The product is below 10^38, so anything above 0 is less than one whole.
        None => Some(i64::from(product > 0)),
    }
}

/// A number rounded up to a whole one.
pub(super) fn up(value: Decimal) -> Option<i64> {
    product_up(value, Decimal::ONE)
}

/// A number rounded down to a whole one.
pub(super) fn down(value: Decimal) -> Option<i64> {
    i64::try_from(value.floor().normalize().mantissa()).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(a: &str, b: &str) -> Option<i64> {
        product_up(a.parse().unwrap(), b.parse().unwrap())
    }

    #[test]
    fn the_product_is_exact_before_it_is_rounded_up() {
        // In binary 0.1 · 30 is 3.0000000000000004 on some paths, and 1.1 · 10 is 11.000000000000002.
        assert_eq!(of("0.1", "30"), Some(3));
        assert_eq!(of("1.1", "10"), Some(11));
        assert_eq!(of("2.4", "1.25"), Some(3));
        assert_eq!(of("2.4", "1.2500001"), Some(4));
        assert_eq!(of("0.30000000000000004", "10"), Some(4));
        assert_eq!(of("0", "7.5"), Some(0));
        assert_eq!(of("0.0000000000000000000000000001", "0.0000000000000000000000000001"), Some(1));
    }

    #[test]
    fn whole_numbers_keep_their_size() {
        assert_eq!(down("360.9".parse().unwrap()), Some(360));
        assert_eq!(down("-0.5".parse().unwrap()), Some(-1));
        assert_eq!(down("1000".parse().unwrap()), Some(1000));
        assert_eq!(up("30.01".parse().unwrap()), Some(31));
        assert_eq!(up("100".parse().unwrap()), Some(100));
    }

    proptest::proptest! {
        #[test]
        fn thousandths_agree_with_whole_number_arithmetic(a in 0i64..1_000_000, b in 0i64..1_000_000) {
            let product = product_up(Decimal::new(a, 3), Decimal::new(b, 3));
            proptest::prop_assert_eq!(product, Some((a * b + 999_999) / 1_000_000));
        }
    }
}
