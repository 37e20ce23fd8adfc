//! C9, movement of a joint, and the least width that a sealant's class asks for it.
//!
//! `movement = length · (temperature range · alpha + moisture share)`, and `width = movement / (class / 100)`: the
//! sealant of class 25 works in a joint that opens and closes by a quarter of its width. The temperatures are those of the
//! panel's surface, not of the air. The panel's coefficient and moisture movement come from its maker.

use serde::Serialize;

use crate::units::{Bounds, Length, OutOfRange, bounds};

/// The movement classes of ISO 11600:2002, per cent of the joint's width either way.
///
/// Classes 35, 50 and 100 belong to ASTM C920 (value from memory).
pub const ISO_11600_CLASSES: [f64; 4] = [7.5, 12.5, 20.0, 25.0];

const RANGE: Bounds = Bounds { what: "temperature range", unit: "°C", least: 0.0, most: 200.0 };
/// Plastics reach 200 millionths a degree; five times that is a slip of the keyboard.
const ALPHA: Bounds = Bounds { what: "expansion coefficient", unit: "per °C", least: 0.0, most: 0.001 };
const MOISTURE: Bounds = Bounds { what: "moisture movement", unit: "%", least: 0.0, most: 20.0 };

/// Why there is no movement or no width.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MovementError {
    /// A temperature range, a coefficient, a moisture movement or a length outside its range.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// A length of 0 or less.
    #[error("length {} mm must be above 0", crate::units::number::show(*.0))]
    Length(f64),
    /// A class that no sealant has.
    #[error("class {} must be above 0 and at most 100 (ISO 11600 has 7.5, 12.5, 20 and 25)", crate::units::number::show(*.0))]
    Class(f64),
}

/// What moves a joint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Movement {
    /// The length that moves into the joint: from joint to joint, above 0 and up to 200 m.
    pub length: Length,
    /// Hottest less coldest surface over the year, °C, 0 to 200.
    pub range_c: f64,
    /// Expansion per degree, as a share of the length, 0 to 0.001.
    pub alpha_per_c: f64,
    /// Movement from dry to wet, % of the length, 0 to 20.
    pub moisture_pct: f64,
}

/// A joint's movement and least width.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct JointWidth {
    /// Thermal and moisture movement together.
    #[serde(rename = "movement_mm")]
    pub movement: Length,
    /// The narrowest joint in which the sealant's class takes it.
    #[serde(rename = "least_width_mm")]
    pub least_width: Length,
}

/// How far a joint moves over the year, and the least width for a sealant of `class` (per cent, above 0 up to 100).
///
/// # Errors
/// [`MovementError`] when a value is outside its range.
///
/// # Example
/// ```
/// use cladlog::sealing::movement::{Movement, joint_width};
/// use cladlog::units::Length;
/// // 3 m of aluminium over 80 °C into a class 25 sealant.
/// let joint = Movement { length: Length::mm(3000.0), range_c: 80.0, alpha_per_c: 24e-6, moisture_pct: 0.0 };
/// let width = joint_width(&joint, 25.0)?;
/// assert!((width.movement.as_mm() - 5.76).abs() < 1e-9);
/// assert!((width.least_width.as_mm() - 23.04).abs() < 1e-9);
/// # Ok::<(), cladlog::sealing::movement::MovementError>(())
/// ```
pub fn joint_width(joint: &Movement, class: f64) -> Result<JointWidth, MovementError> {
    let length = bounds::LENGTH.check(joint.length.as_mm())?;
    if length <= 0.0 {
        return Err(MovementError::Length(length));
    }
    if !(class > 0.0 && class <= 100.0) {
        return Err(MovementError::Class(class));
    }
    let thermal = RANGE.check(joint.range_c)? * ALPHA.check(joint.alpha_per_c)?;
    let moisture = MOISTURE.check(joint.moisture_pct)? / 100.0;
    let movement = length * (thermal + moisture);
    Ok(JointWidth { movement: Length::mm(movement), least_width: Length::mm(movement * 100.0 / class) })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn width(
        length_mm: f64,
        range_c: f64,
        alpha_per_c: f64,
        moisture_pct: f64,
        class: f64,
    ) -> Result<(f64, f64), String> {
        let joint = Movement { length: Length::mm(length_mm), range_c, alpha_per_c, moisture_pct };
        let found = joint_width(&joint, class).map_err(|error| error.to_string())?;
        Ok((found.movement.as_mm(), found.least_width.as_mm()))
    }

    #[test]
    fn what_can_t_move_is_named() {
        let said = |l, t, a, m, c| width(l, t, a, m, c).unwrap_err();
        assert_eq!(said(0.0, 50.0, 1e-5, 0.0, 25.0), "length 0 mm must be above 0");
        assert_eq!(said(1e9, 50.0, 1e-5, 0.0, 25.0), "length 1000000000 mm is outside -200000 to 200000 mm");
        assert_eq!(said(3000.0, -5.0, 1e-5, 0.0, 25.0), "temperature range -5 °C is outside 0 to 200 °C");
        assert_eq!(said(3000.0, 50.0, 8.0, 0.0, 25.0), "expansion coefficient 8 per °C is outside 0 to 0.001 per °C");
        assert_eq!(said(3000.0, 50.0, 1e-5, -0.1, 25.0), "moisture movement -0.1 % is outside 0 to 20 %");
        assert_eq!(
            said(3000.0, 50.0, 1e-5, 0.0, 0.0),
            "class 0 must be above 0 and at most 100 (ISO 11600 has 7.5, 12.5, 20 and 25)"
        );
    }

    #[test]
    fn a_class_takes_what_it_says() {
        // ISO 11600 (BASA guide, 1999): a 10 mm joint of class 25 works from 7.5 to 12.5 mm; 1 m moves 2.5 mm by 0.25 %.
        let (movement, least) = width(1000.0, 0.0, 0.0, 0.25, 25.0).unwrap();
        assert!((movement - 2.5).abs() < 1e-9 && (least - 10.0).abs() < 1e-9);
    }

    proptest::proptest! {
        #[test]
        fn the_least_width_is_just_wide_enough(
            length in 1.0f64..20_000.0, range in 1.0f64..120.0, alpha in 1e-6f64..1e-4, moisture in 0.0f64..0.5,
        ) {
            for class in ISO_11600_CLASSES {
                let (movement, least) = width(length, range, alpha, moisture, class).unwrap();
                proptest::prop_assert!((least * class / 100.0 - movement).abs() < 1e-9 * (1.0 + movement));
            }
        }
    }
}
