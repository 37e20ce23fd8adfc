//! C3: how low and how high the starter line may run, from readings along every wall and one datum.

use serde::{Deserialize, Serialize};

use crate::form::InRow;
use crate::units::{Bounds, OutOfRange, bounds};

/// Heights are taken this far either side of the datum.
const READING: Bounds = Bounds { what: "reading", ..bounds::LENGTH };
const CLEARANCE: Bounds = Bounds { what: "clear_ground_mm", unit: "mm", least: 0.0, most: 10_000.0 };

/// What stands at one place along a wall. Heights are above the datum; what isn't there is `None`.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Place {
    /// The wall's key.
    pub wall: String,
    /// Along the wall, in millimetres.
    pub at_mm: f64,
    /// Top of the flashing.
    pub flashing_mm: Option<f64>,
    /// The ground, or the paving.
    pub ground_mm: Option<f64>,
    /// What the panel must cover, such as the bottom plate.
    pub cover_to_mm: Option<f64>,
    /// The ground's clearance here, where it has one of its own.
    pub clear_ground_mm: Option<f64>,
    /// Whether the ground is paved here; not known, it counts as unpaved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub paved: Option<bool>,
    /// Over a raised base, the bottom edge of the cladding there: wherever the starter line runs, it bounds nothing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub edge_mm: Option<f64>,
}

impl Place {
    /// The clearance that the panel has to keep from the ground here: its own, or else what holds for such ground.
    pub fn clearance_mm(&self, rules: &StarterRules) -> f64 {
        let paved = rules.clear_paved_mm.filter(|_| self.paved == Some(true));
        self.clear_ground_mm.or(paved).unwrap_or(rules.clear_ground_mm)
    }
}

/// What the starter line has to keep to, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct StarterRules {
    /// Least gap from the flashing up to the panel's bottom edge.
    pub clear_flashing_mm: f64,
    /// Least gap from the ground up to the panel's bottom edge.
    pub clear_ground_mm: f64,
    /// The same where the ground is paved, which throws up less.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clear_paved_mm: Option<f64>,
    /// How far the panel hangs below the start.
    pub overhang_mm: f64,
    /// How far the panel has to reach below what it covers.
    pub cover_mm: f64,
    /// How far off its height the starter line may be fixed: taken off both ends of the range.
    #[serde(skip_serializing_if = "is_zero")]
    pub tolerance_mm: f64,
}

/// What was not asked for is not kept.
fn is_zero(length_mm: &f64) -> bool {
    *length_mm == 0.0
}

/// What governs a height.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Governs {
    /// The flashing.
    Flashing,
    /// The ground.
    Ground,
    /// What must be covered.
    CoverTo,
}

/// The reading that governs a height.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Governing {
    /// The wall's key.
    pub wall: String,
    /// Along the wall, in millimetres.
    pub at_mm: f64,
    /// What was read there.
    pub what: Governs,
}

/// A place over a raised base, where a starter of its own stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OverBase {
    /// The wall's key.
    pub wall: String,
    /// Along the wall, in millimetres.
    pub at_mm: f64,
    /// The bottom edge of the cladding.
    pub edge_mm: f64,
    /// Where its starter stands.
    pub start_mm: f64,
    /// What the edge does not keep to there, and by how much it would have to be moved: up for the flashing and the
    /// ground, down for what must be covered.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub short: Vec<Short>,
}

/// Something that an edge does not keep to.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Short {
    /// What.
    pub what: Governs,
    /// By so many millimetres.
    pub by_mm: f64,
}

/// The range of starts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Starter {
    /// Whether there is a start that keeps to everything.
    pub feasible: bool,
    /// The lowest start, in millimetres above the datum; absent where nothing bounds it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lowest_mm: Option<f64>,
    /// The highest start, in millimetres above the datum; absent where nothing bounds it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub highest_mm: Option<f64>,
    /// The reading that sets the lowest.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lowest_by: Option<Governing>,
    /// The reading that sets the highest.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub highest_by: Option<Governing>,
    /// By how much the lowest passes the highest, in millimetres, where there is no start.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub short_by_mm: Option<f64>,
    /// The places over a raised base.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub over_base: Vec<OverBase>,
}

/// Why there is no range.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[allow(missing_docs, reason = "the message of each says what it is")]
pub enum StarterError {
    #[error("no readings: at least one place along a wall is needed")]
    Empty,
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    #[error("wall is blank")]
    NoWall,
    #[error("the ground is paved here, and no clearance over paving is given: --clear-paved MM")]
    NoPaved,
}

/// The lowest and the highest start, and the readings that set them.
///
/// The panel's bottom edge is start − overhang: at least the clearances above flashing and ground everywhere, and at
/// least the cover below what must be covered, even where it is fixed off its height by the tolerance. Of readings that set
/// the same height, the first governs. Over a raised base the edge stands where the base has it: it is held to the same.
///
/// # Errors
/// [`StarterError`] for no readings, or a number out of range.
///
/// # Example: 10 mm over the flashing, the panel 16 mm below the strip
/// ```
/// use cladlog::setout::starter::{Place, StarterRules, starter};
/// let flashing = Place {
///     wall: "N".into(), flashing_mm: Some(0.0), ..Place::default()
/// };
/// let rules = StarterRules {
///     clear_flashing_mm: 10.0, clear_ground_mm: 175.0, clear_paved_mm: None, overhang_mm: 16.0, cover_mm: 0.0,
///     tolerance_mm: 0.0,
/// };
/// assert_eq!(starter(&[flashing], &rules).unwrap().lowest_mm, Some(26.0));
/// ```
pub fn starter(places: &[Place], rules: &StarterRules) -> Result<Starter, InRow<StarterError>> {
    check(places, rules)?;
    let mut low: Option<(f64, Governing)> = None;
    let mut high: Option<(f64, Governing)> = None;
    let mut over_base = Vec::new();
    for place in places {
        let by = |what| Governing { wall: place.wall.clone(), at_mm: place.at_mm, what };
        let above = [
            (place.flashing_mm, rules.clear_flashing_mm, Governs::Flashing),
            (place.ground_mm, place.clearance_mm(rules), Governs::Ground),
        ];
        let above = above.into_iter().filter_map(|(height, clear, what)| {
            Some((tidy(height? + clear + rules.overhang_mm + rules.tolerance_mm), what))
        });
        let below =
            place.cover_to_mm.map(|height| tidy(height - rules.cover_mm + rules.overhang_mm - rules.tolerance_mm));
        if let Some(edge_mm) = place.edge_mm {
            let start_mm = tidy(edge_mm + rules.overhang_mm);
            let too_low = above.map(|(least, what)| Short { what, by_mm: tidy(least - start_mm) });
            let too_high = below.map(|most| Short { what: Governs::CoverTo, by_mm: tidy(start_mm - most) });
            let short = too_low.chain(too_high).filter(|short| short.by_mm > 0.0).collect();
            over_base.push(OverBase { wall: place.wall.clone(), at_mm: place.at_mm, edge_mm, start_mm, short });
            continue;
        }
        for (start, what) in above {
            if low.as_ref().is_none_or(|(lowest, _)| start > *lowest) {
                low = Some((start, by(what)));
            }
        }
        if let Some(start) = below
            && high.as_ref().is_none_or(|(highest, _)| start < *highest)
        {
            high = Some((start, by(Governs::CoverTo)));
        }
    }
    let (lowest_mm, lowest_by) = low.unzip();
    let (highest_mm, highest_by) = high.unzip();
    let short_by = lowest_mm.zip(highest_mm).map(|(low, high)| tidy(low - high)).filter(|short| *short > 0.0);
    Ok(Starter {
        feasible: short_by.is_none(),
        lowest_mm,
        highest_mm,
        lowest_by,
        highest_by,
        short_by_mm: short_by,
        over_base,
    })
}

fn check(places: &[Place], rules: &StarterRules) -> Result<(), InRow<StarterError>> {
    if places.is_empty() {
        return Err(InRow::whole(StarterError::Empty));
    }
    for (what, given_mm) in [
        ("clearance over the flashing", rules.clear_flashing_mm),
        ("clearance over the ground", rules.clear_ground_mm),
        ("clearance over paving", rules.clear_paved_mm.unwrap_or_default()),
        ("overhang", rules.overhang_mm),
        ("cover", rules.cover_mm),
        ("tolerance", rules.tolerance_mm),
    ] {
        Bounds { what, ..CLEARANCE }.check(given_mm).map_err(InRow::whole)?;
    }
    for (place, row) in places.iter().zip(1..) {
        if place.wall.trim().is_empty() {
            return Err(InRow::of(row, StarterError::NoWall));
        }
        if place.paved == Some(true) && rules.clear_paved_mm.or(place.clear_ground_mm).is_none() {
            return Err(InRow::of(row, StarterError::NoPaved));
        }
        let check = |bounds: Bounds, given: f64| bounds.check(given).map_err(|error| InRow::of(row, error));
        for (what, given) in [
            ("at_mm", Some(place.at_mm)),
            ("flashing_mm", place.flashing_mm),
            ("ground_mm", place.ground_mm),
            ("cover_to_mm", place.cover_to_mm),
        ] {
            given.map_or(Ok(0.0), |given| check(Bounds { what, ..READING }, given))?;
        }
        place.clear_ground_mm.map_or(Ok(0.0), |given| check(CLEARANCE, given))?;
    }
    Ok(())
}

/// Rounds away the last bits of a sum, far below what can be measured.
fn tidy(value: f64) -> f64 {
    (value * 1e6).round() / 1e6 + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(wall: &str, at_mm: f64, readings: [Option<f64>; 3]) -> Place {
        let [flashing_mm, ground_mm, cover_to_mm] = readings;
        Place { wall: wall.into(), at_mm, flashing_mm, ground_mm, cover_to_mm, ..Place::default() }
    }

    const RULES: StarterRules = StarterRules {
        clear_flashing_mm: 10.0,
        clear_ground_mm: 175.0,
        clear_paved_mm: None,
        overhang_mm: 16.0,
        cover_mm: 50.0,
        tolerance_mm: 0.0,
    };

    #[test]
    fn the_tolerance_is_taken_off_both_ends() {
        let readings = [place("N", 0.0, [Some(0.0), None, Some(64.0)])];
        let within = |tolerance_mm: f64| starter(&readings, &StarterRules { tolerance_mm, ..RULES }).unwrap();
        assert_eq!((within(2.0).lowest_mm, within(2.0).highest_mm), (Some(28.0), Some(28.0)));
        assert_eq!((within(2.5).feasible, within(2.5).short_by_mm), (false, Some(1.0)));
    }

    #[test]
    fn the_governing_readings_are_named() {
        let places = [
            place("N", 0.0, [Some(0.0), Some(-150.0), Some(60.0)]),
            place("E", 2400.0, [Some(2.0), Some(-170.0), Some(64.0)]),
        ];
        let starter = starter(&places, &RULES).unwrap();
        // N: flashing 26, ground 41, cover 26. E: flashing 28, ground 21, cover 30.
        assert_eq!((starter.lowest_mm, starter.highest_mm), (Some(41.0), Some(26.0)));
        assert_eq!(starter.lowest_by, Some(Governing { wall: "N".into(), at_mm: 0.0, what: Governs::Ground }));
        assert_eq!(starter.highest_by.unwrap().what, Governs::CoverTo);
        assert_eq!((starter.feasible, starter.short_by_mm), (false, Some(15.0)));
    }

    #[test]
    fn paving_may_have_its_own_clearance_and_blanks_bound_nothing() {
        // NZ: 100 mm over paved, 175 over unpaved ground (E2/AS1, as cited in a trade code of practice).
        let mut paved = place("N", 0.0, [None, Some(0.0), None]);
        paved.clear_ground_mm = Some(100.0);
        let found = starter(&[paved], &RULES).unwrap();
        assert_eq!((found.lowest_mm, found.highest_mm, found.feasible), (Some(116.0), None, true));
        // By the rule for all that is paved, and only where it is.
        let at = |paved| Place { paved, ..place("N", 0.0, [None, Some(0.0), None]) };
        let both = StarterRules { clear_paved_mm: Some(100.0), ..RULES };
        let lowest = |paved| starter(&[at(paved)], &both).unwrap().lowest_mm;
        assert_eq!([lowest(Some(true)), lowest(Some(false)), lowest(None)], [Some(116.0), Some(191.0), Some(191.0)]);
        let error = starter(&[at(None), at(Some(true))], &RULES).unwrap_err();
        assert_eq!((error.row, error.error), (Some(2), StarterError::NoPaved));
        let open = starter(&[place("N", 0.0, [None; 3])], &RULES).unwrap();
        assert_eq!((open.lowest_mm, open.highest_by, open.feasible), (None, None, true));
        // Touching is allowed, in tenths too.
        let touching = place("N", 0.0, [Some(0.1), None, Some(60.1)]);
        assert!(starter(&[touching], &RULES).unwrap().feasible);
    }

    #[test]
    fn slips_are_named() {
        let said = |places: &[Place], rules: &StarterRules| starter(places, rules).unwrap_err().to_string();
        assert_eq!(said(&[], &RULES), "no readings: at least one place along a wall is needed");
        let odd = place("N", 0.0, [Some(f64::NAN), None, None]);
        assert_eq!(said(&[odd], &RULES), "flashing_mm not a number mm is outside -200000 to 200000 mm");
        assert_eq!(said(&[place(" ", 0.0, [None; 3])], &RULES), "wall is blank");
        let rules = StarterRules { overhang_mm: -1.0, ..RULES };
        assert_eq!(said(&[place("N", 0.0, [None; 3])], &rules), "overhang -1 mm is outside 0 to 10000 mm");
    }
}
