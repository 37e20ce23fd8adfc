//! Numbers as a person types them, and as we print them.

/// Why a text was not taken as a number. Each message says what to type instead.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NumberError {
    /// Nothing was typed.
    #[error("a number is needed, such as 2.5")]
    Empty,
    /// A comma, as decimal or thousands mark.
    #[error("'{0}' has a comma: use a point for decimals, as in 2.5, and no thousands separator")]
    Comma(String),
    /// A number followed by letters.
    #[error("'{0}' has a unit or letters in it: type the number alone")]
    Unit(String),
    /// Infinity or not a number.
    #[error("'{0}' is not a usable number")]
    NotFinite(String),
    /// Anything else.
    #[error("'{0}' is not a number: type digits, such as 12 or 2.5")]
    NotANumber(String),
    /// No length in any unit that a tape has.
    #[error("'{0}' is not a length: type millimetres, such as 2400, or 2.4m, or 7'10\"")]
    Length(String),
    /// A fraction where a count is wanted.
    #[error("'{0}' is not a whole number of 0 or more")]
    NotACount(String),
    /// No hours, or more than sixty minutes.
    #[error("'{0}' is not a time worked: type hours, such as 7.5, or hours and minutes, such as 7:30")]
    Hours(String),
}

/// Reads a decimal number: digits, an optional sign in front, an optional point.
///
/// Neither exponents nor unit letters nor commas are taken: on site they are typing slips.
///
/// # Errors
/// [`NumberError`], worded for the person who typed it.
///
/// # Example
/// ```
/// use cladlog::units::parse_decimal;
/// assert_eq!(parse_decimal(" -2.5 "), Ok(-2.5));
/// assert!(parse_decimal("2,5").unwrap_err().to_string().contains("point"));
/// ```
pub fn parse_decimal(text: &str) -> Result<f64, NumberError> {
    let trimmed = text.trim();
    let digits = trimmed.strip_prefix(['+', '-', '−']).unwrap_or(trimmed);
    let minus = trimmed.starts_with(['-', '−']);
    if trimmed.is_empty() {
        return Err(NumberError::Empty);
    }
    if trimmed.contains(',') {
        return Err(NumberError::Comma(shortened(trimmed)));
    }
    let plain = !digits.is_empty()
        && digits.chars().all(|c| c.is_ascii_digit() || c == '.')
        && digits.chars().any(|c| c.is_ascii_digit());
    if plain {
        let value: f64 = digits.parse().map_err(|_| NumberError::NotANumber(shortened(trimmed)))?;
        if !value.is_finite() {
            return Err(NumberError::NotFinite(shortened(trimmed)));
        }
        // Minus zero is zero: it must not reach the record as "-0".
        return Ok(if minus && value != 0.0 { -value } else { value });
    }
    let lower = digits.to_lowercase();
    if lower == "nan" || lower.starts_with("inf") {
        return Err(NumberError::NotFinite(shortened(trimmed)));
    }
    if digits.starts_with(|c: char| c.is_ascii_digit() || c == '.') && digits.chars().any(char::is_alphabetic)
        || digits.ends_with(['%', '°', '"', '\''])
    {
        return Err(NumberError::Unit(shortened(trimmed)));
    }
    Err(NumberError::NotANumber(shortened(trimmed)))
}

/// A number as people write it where the decimal mark is a comma: `2,5` is 2.5. Three digits after a comma may be
/// thousands: those are left as they are.
///
/// # Example
/// ```
/// use cladlog::units::number::with_point;
/// assert_eq!(with_point("2,5"), "2.5");
/// assert_eq!(with_point("3,300"), "3,300");
/// ```
pub fn with_point(text: &str) -> String {
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    match text.split_once(',') {
        Some((whole, part)) if digits(whole.trim_start_matches('-')) && digits(part) && part.len() < 3 => {
            format!("{whole}.{part}")
        }
        _ => text.to_owned(),
    }
}

/// Reads a whole number of 0 or more.
///
/// # Errors
/// [`NumberError`] as [`parse_decimal`], and for a fraction, a minus, or more than `u32` holds.
pub fn parse_count(text: &str) -> Result<u32, NumberError> {
    let value = parse_decimal(text)?;
    if value.fract() != 0.0 || value < 0.0 || value > f64::from(u32::MAX) {
        return Err(NumberError::NotACount(shortened(text.trim())));
    }
    // Whole and within the range of `u32`: exact.
    Ok(value as u32)
}

/// Reads hours worked as people write them: `7.5`, `7,5` or `7:30`.
///
/// # Errors
/// [`NumberError`].
///
/// # Example
/// ```
/// use cladlog::units::parse_hours;
/// assert_eq!(parse_hours("7:30"), parse_hours("7,5"));
/// assert!(parse_hours("7:60").is_err());
/// ```
pub fn parse_hours(text: &str) -> Result<f64, NumberError> {
    let Some((hours, minutes)) = text.split_once(':') else { return parse_decimal(&with_point(text)) };
    match (parse_count(hours)?, parse_count(minutes)?) {
        (hours, minutes) if minutes < 60 => Ok(f64::from(hours) + f64::from(minutes) / 60.0),
        _ => Err(NumberError::Hours(shortened(text.trim()))),
    }
}

/// Prints a number with at most three decimals and no trailing zeros.
pub fn show(value: f64) -> String {
    show_to(value, 3)
}

/// Prints a number with at most so many decimals, one or more, and no trailing zeros.
///
/// # Example
/// ```
/// use cladlog::units::number::show_to;
/// assert_eq!(show_to(17.239, 1), "17.2");
/// assert_eq!(show_to(17.0, 1), "17");
/// ```
pub fn show_to(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "not a number".to_owned();
    }
    let text = format!("{value:.decimals$}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Prints a length to half a millimetre: a tape reads no nearer.
///
/// # Example
/// ```
/// use cladlog::units::number::show_mm;
/// assert_eq!(show_mm(1032.143), "1032");
/// assert_eq!(show_mm(142.333), "142.5");
/// ```
pub fn show_mm(mm: f64) -> String {
    show((mm * 2.0).round() / 2.0)
}

/// A sum that is 0 for nothing: that of the standard library is -0 then, and would be shown so.
pub fn total(values: impl Iterator<Item = f64>) -> f64 {
    values.fold(0.0, |sum, value| sum + value)
}

/// Prints a length to half a millimetre, or with as many decimals as tell it from a bound: what lies beyond the bound never
/// reads as on it.
///
/// # Example
/// ```
/// use cladlog::units::number::show_mm_beside;
/// assert_eq!(show_mm_beside(5.04, 5.0), "5.04");
/// assert_eq!(show_mm_beside(7.612, 5.0), "7.5");
/// ```
pub fn show_mm_beside(mm: f64, bound: f64) -> String {
    let shown = show_mm(mm);
    // A millionth is what sums of floats are off by.
    if (mm - bound).abs() < 1e-6 || shown != show_mm(bound) { shown } else { show_beside(mm, bound) }
}

/// Prints a number with as many decimals as tell it from a bound: what lies beyond the bound never reads as on it.
///
/// # Example
/// ```
/// use cladlog::units::number::show_beside;
/// assert_eq!(show_beside(3.0000000001, 3.0), "3.0000000001");
/// assert_eq!(show_beside(4.0, 3.0), "4");
/// ```
pub fn show_beside(value: f64, bound: f64) -> String {
    let shown = show(value);
    if value == bound || shown != show(bound) || !value.is_finite() { shown } else { value.to_string() }
}

/// The sum of two numbers as their decimals give it, to a millionth: 32.2 − 2 is 30.2, which floats miss by a hair.
///
/// # Example
/// ```
/// use cladlog::units::number::sum;
/// assert_eq!(sum(32.2, -2.0), 30.2);
/// ```
pub fn sum(one: f64, other: f64) -> f64 {
    // Printed to the sixth decimal and read back: the float nearest to the decimal.
    let rounded = format!("{:.6}", one + other).parse().unwrap_or(one + other);
    if rounded == 0.0 { 0.0 } else { rounded }
}

/// Hours of people together, to a hundredth: "1 crew-hour", "2.67 crew-hours".
pub fn crew_hours(hours: f64) -> String {
    let shown = show((hours * 100.0).round() / 100.0);
    let s = if shown == "1" { "" } else { "s" };
    format!("{shown} crew-hour{s}")
}

/// A typed text cut down to what a message can carry.
pub fn shortened(text: &str) -> String {
    const MOST: usize = 40;
    if text.chars().count() <= MOST {
        text.to_owned()
    } else {
        format!("{}…", text.chars().take(MOST).collect::<String>())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_are_read_as_people_write_them() {
        for (typed, hours) in [("8", 8.0), ("7.5", 7.5), ("7,5", 7.5), ("7:30", 7.5), ("0:15", 0.25), ("24:00", 24.0)] {
            assert_eq!(parse_hours(typed), Ok(hours), "{typed}");
        }
        for typed in ["7:60", "7:", ":30", "7:3x", "half a day", ""] {
            assert!(parse_hours(typed).is_err(), "{typed}");
        }
    }

    #[test]
    fn slips_of_the_keyboard_get_a_message_that_says_what_to_type() {
        let error = |text: &str| parse_decimal(text).unwrap_err().to_string();
        assert_eq!(error(""), "a number is needed, such as 2.5");
        assert!(error("2,5").starts_with("'2,5' has a comma"));
        assert!(error("12mm").starts_with("'12mm' has a unit"));
        assert!(error("NaN").ends_with("is not a usable number"));
        assert!(error("1e3").starts_with("'1e3' has a unit or letters"));
        assert!(error("--2").ends_with("type digits, such as 12 or 2.5"));
        assert!(error("1.2.3").contains("is not a number"));
    }

    #[test]
    fn counts_are_whole_and_not_negative() {
        assert_eq!(["12", "+12", "12.", "12.00"].map(parse_count), [Ok(12), Ok(12), Ok(12), Ok(12)]);
        assert_eq!((parse_count("-0"), parse_count("4294967295")), (Ok(0), Ok(u32::MAX)));
        assert!(parse_count("1.5").is_err());
        assert!(parse_count("-1").is_err());
        assert!(parse_count("99999999999").is_err());
    }

    #[test]
    fn shown_numbers_are_short() {
        assert_eq!(show(2.50), "2.5");
        assert_eq!(show(-0.0001), "0");
        assert_eq!(show(1200.0), "1200");
    }

    proptest::proptest! {
        #[test]
        fn any_text_is_a_number_or_a_message(text in "\\PC{0,40}") {
            match parse_decimal(&text) {
                Ok(value) => proptest::prop_assert!(value.is_finite()),
                Err(error) => proptest::prop_assert!(!error.to_string().is_empty()),
            }
        }

        #[test]
        fn what_is_printed_is_read_back(thousandths in -200_000_000i64..200_000_000) {
            let value = thousandths as f64 / 1000.0;
            proptest::prop_assert_eq!(parse_decimal(&show(value)), Ok(value));
        }
    }
}
