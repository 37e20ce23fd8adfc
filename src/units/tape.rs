//! Lengths as they are read off a tape: millimetres, metres, feet and inches, with a point or a comma.

use super::number::{NumberError, parse_decimal, shortened};

const MM_IN_INCH: f64 = 25.4;

/// Reads a length in millimetres: `2400`, `2.4 m`, `2,4m`, `240cm`, `7'10"`, `7' 10 1/2"`, `94 1/2in`.
///
/// # Errors
/// [`NumberError`], worded for the person who typed it.
///
/// # Example
/// ```
/// use cladlog::units::parse_length;
/// assert_eq!(parse_length("2,4 m"), Ok(2400.0));
/// assert_eq!(parse_length("19'8\""), Ok(5994.4));
/// assert!(parse_length("2.4 stone").is_err());
/// ```
pub fn parse_length(text: &str) -> Result<f64, NumberError> {
    let typed = text.trim().to_lowercase();
    let unknown = || NumberError::Length(shortened(text.trim()));
    let (feet, rest) = match typed.split_once('\'').or_else(|| typed.split_once("ft")) {
        Some((feet, rest)) => (parse_decimal(feet)?, rest.trim()),
        None => (0.0, typed.as_str()),
    };
    let is_inches = |rest: &str| rest.ends_with('"') || rest.ends_with("in");
    if feet != 0.0 || is_inches(rest) || typed.contains('\'') {
        let inches = rest.trim_end_matches('"').trim_end_matches("in").trim();
        return Ok(rounded((feet * 12.0 + inches_of(inches).ok_or_else(unknown)?) * MM_IN_INCH));
    }
    let units = [("mm", 1.0), ("cm", 10.0), ("m", 1000.0)];
    let unit = units.iter().find_map(|(unit, mm)| Some((rest.strip_suffix(unit)?, *mm)));
    let (number, mm) = unit.unwrap_or((rest, 1.0));
    // A comma is a decimal one: nobody writes a tape's reading with thousands marks.
    let number = number.trim().replacen(',', ".", 1);
    if number.contains(char::is_alphabetic) {
        return Err(unknown());
    }
    Ok(rounded(parse_decimal(&number)? * mm))
}

/// "10", "10.5", "10 1/2", "1/2"; nothing is none.
fn inches_of(text: &str) -> Option<f64> {
    let part = |word: &str| match word.split_once('/') {
        Some((over, under)) => {
            let (over, under) = (parse_decimal(over).ok()?, parse_decimal(under).ok()?);
            (under > 0.0).then_some(over / under)
        }
        None => parse_decimal(word).ok(),
    };
    text.split_whitespace().map(part).sum()
}

/// To a thousandth of a millimetre.
fn rounded(mm: f64) -> f64 {
    (mm * 1e3).round() / 1e3
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_tape_says_is_read() {
        for (text, mm) in [
            ("2400", 2400.0),
            (" 2400 mm", 2400.0),
            ("2.4m", 2400.0),
            ("2,4 m", 2400.0),
            ("1,5", 1.5),
            ("240 cm", 2400.0),
            // An inch is 25.4 mm exactly (international yard and pound agreement, 1959).
            ("8'", 2438.4),
            ("19'8\"", 5994.4),
            ("7ft 10 1/2in", 2400.3),
            ("3/8\"", 9.525),
            ("94 1/2 in", 2400.3),
        ] {
            assert_eq!(parse_length(text), Ok(mm), "{text}");
        }
    }

    #[test]
    fn what_is_no_length_is_said() {
        let said = |text: &str| parse_length(text).unwrap_err().to_string();
        assert_eq!(said("six"), "'six' is not a length: type millimetres, such as 2400, or 2.4m, or 7'10\"");
        assert!(said("7'x\"").contains("is not a length"));
        assert!(said("1/0\"").contains("is not a length"));
        assert_eq!(said(""), "a number is needed, such as 2.5");
        for odd in ["'", "\"", "''", "1e400m", "-", "ft", "in", "1,2,3"] {
            assert!(parse_length(odd).map_or(true, f64::is_finite), "{odd}");
        }
    }
}
