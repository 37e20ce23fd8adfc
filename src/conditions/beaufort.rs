//! The Beaufort scale: wind by what it does.
//!
//! Forces, their ranges in km/h and what is seen on land are those of the World Meteorological Organization (WMO-No. 8,
//! Guide to Instruments and Methods of Observation, wind speed equivalents; document number and wording from memory, the
//! lower limits as two published tables have them). The description of force 0 to 9 is shortened.

/// A force of the scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Force {
    /// The least wind of the force, whole km/h.
    pub from_kmh: f64,
    /// The most, whole km/h; as much as the least where nothing bounds it.
    pub to_kmh: f64,
    /// What is seen on land.
    pub seen: &'static str,
}

const fn force(from_kmh: f64, to_kmh: f64, seen: &'static str) -> Force {
    Force { from_kmh, to_kmh, seen }
}

/// The forces that people are offered: beyond them nobody works on a wall.
pub const OFFERED: usize = 9;

/// Force 0 to force 12.
pub const FORCES: [Force; 13] = [
    force(0.0, 0.0, "smoke rises straight up"),
    force(1.0, 5.0, "smoke drifts; wind vanes stand still"),
    force(6.0, 11.0, "felt on the face; leaves rustle"),
    force(12.0, 19.0, "leaves and small twigs move all the time"),
    force(20.0, 28.0, "dust and loose paper lift; small branches move"),
    force(29.0, 38.0, "small trees sway"),
    force(39.0, 49.0, "large branches move; wires whistle"),
    force(50.0, 61.0, "whole trees move; hard to walk against"),
    force(62.0, 74.0, "twigs break off"),
    force(75.0, 88.0, "slates and chimney pots come off"),
    force(89.0, 102.0, "trees are uprooted"),
    force(103.0, 117.0, "widespread damage"),
    force(118.0, 118.0, "devastation"),
];

/// The middle of the range of a force, km/h; forces beyond the scale are its last.
///
/// # Example
/// ```
/// use cladlog::conditions::beaufort::middle_kmh;
/// assert_eq!(middle_kmh(5), 33.5);
/// ```
pub fn middle_kmh(force: u8) -> f64 {
    let Force { from_kmh, to_kmh, .. } = FORCES[usize::from(force).min(FORCES.len() - 1)];
    (from_kmh + to_kmh) / 2.0
}

/// What is typed is no force.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("a force is a whole number from 0 to {}", FORCES.len() - 1)]
pub struct NoForce;

/// Reads a force as it is typed.
///
/// # Errors
/// [`NoForce`].
///
/// # Example
/// ```
/// use cladlog::conditions::beaufort::parse_force;
/// assert_eq!(parse_force("5"), Ok(5));
/// assert!(parse_force("13").is_err());
/// ```
pub fn parse_force(text: &str) -> Result<u8, NoForce> {
    text.trim().parse().ok().filter(|force| usize::from(*force) < FORCES.len()).ok_or(NoForce)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ranges_follow_one_another_and_begin_as_the_knots_of_the_scale_do() {
        // Lower limits in knots, as published; 1.852 km/h each, to whole km/h.
        let knots = [0.0, 1.0, 4.0, 7.0, 11.0, 17.0, 22.0, 28.0, 34.0, 41.0, 48.0, 56.0, 64.0];
        for (force, knots) in FORCES.iter().zip(knots) {
            assert!((force.from_kmh - knots * 1.852).abs() < 2.5, "{force:?} against {knots} knots");
        }
        for pair in FORCES.windows(2) {
            assert_eq!(pair[0].to_kmh + 1.0, pair[1].from_kmh);
        }
        assert_eq!([0, 1, 3, 12, 200].map(middle_kmh), [0.0, 3.0, 15.5, 118.0, 118.0]);
    }
}
