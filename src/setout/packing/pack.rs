//! Packing to the best plane.

use serde::{Deserialize, Serialize};

use super::packers::PackerBox;
use super::plane::{Plane, ROUNDING_MM, best_plane, tidy};
use super::proud::{ProudStud, proud_studs};
use super::readings::{Fixing, PackingError, PackingRules, check_fixings, check_rules};
use crate::form::InRow;

/// One fixing and what goes behind it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PackedFixing {
    /// Along the wall, in millimetres.
    pub stud_mm: f64,
    /// Up the wall, in millimetres.
    pub height_mm: f64,
    /// What was read, in millimetres, + proud.
    pub reading_mm: f64,
    /// The least packing that brings the face within flatness of the plane, in millimetres.
    pub pack_mm: f64,
    /// The fewest packers that do it, largest first; none needed is an empty list, none possible is absent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub packers_mm: Option<Vec<f64>>,
}

/// A fixing that needs more packing than is allowed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Excess {
    /// Along the wall, in millimetres.
    pub stud_mm: f64,
    /// Up the wall, in millimetres.
    pub height_mm: f64,
    /// The packing it would need, in millimetres.
    pub pack_mm: f64,
}

/// The packing of one wall.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Packing {
    /// The sum of all packing, in millimetres.
    pub total_mm: f64,
    /// The plane that the faces come to.
    pub plane: Plane,
    /// Every fixing, in the order read.
    pub fixings: Vec<PackedFixing>,
    /// Those beyond the most allowed.
    pub over: Vec<Excess>,
    /// Studs that stand proud and are worth planing or moving, the one that saves most first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub proud: Vec<ProudStud>,
}

/// Finds the plane that needs least packing beyond the most allowed, then least packing, and packs to it.
///
/// Of planes that need the same, it takes the one nearest level and plumb. Such a plane always exists: far
/// enough out, it clears every stud.
///
/// # Errors
/// [`PackingError`] when a reading, a place or an option is out of range, or a fixing is given twice.
///
/// # Example: five studs, no tolerance
/// The answer is the line over the two proudest studs either side of the middle: 2.5 mm at the first stud.
/// ```
/// use cladlog::setout::packing::{Fixing, PackingRules, pack};
/// let read = |stud_mm, reading_mm| Fixing { stud_mm, height_mm: 0.0, reading_mm };
/// let wall = [read(0.0, 0.0), read(600.0, 3.0), read(1200.0, -2.0), read(1800.0, 4.0), read(2400.0, 1.0)];
/// let rules = PackingRules { flat_mm: 0.0, ..PackingRules::default() };
/// let packing = pack(&wall, &rules).unwrap();
/// assert_eq!(packing.total_mm, 11.5);
/// assert_eq!(packing.plane.at_origin_mm, 2.5);
/// ```
pub fn pack(fixings: &[Fixing], rules: &PackingRules) -> Result<Packing, InRow<PackingError>> {
    check_rules(rules).map_err(InRow::whole)?;
    check_fixings(fixings)?;
    to_plane(fixings, rules).map_err(InRow::whole)
}

fn to_plane(fixings: &[Fixing], rules: &PackingRules) -> Result<Packing, PackingError> {
    let plane = best_plane(fixings, rules)?;
    let gap = |fixing: &Fixing| plane.at(fixing.stud_mm, fixing.height_mm) - fixing.reading_mm;
    let widest = fixings.iter().map(gap).fold(0.0, f64::max) + rules.flat_mm;
    let chooser = PackerBox::new(&rules.packers_mm, widest)?;
    let packed: Vec<PackedFixing> = fixings
        .iter()
        .map(|fixing| PackedFixing {
            stud_mm: fixing.stud_mm,
            height_mm: fixing.height_mm,
            reading_mm: fixing.reading_mm,
            pack_mm: tidy((gap(fixing) - rules.flat_mm).max(0.0), 1e9),
            packers_mm: chooser.fewest(gap(fixing), rules.flat_mm),
        })
        .collect();
    let over = packed
        .iter()
        .filter(|fixing| fixing.pack_mm > rules.most_mm + ROUNDING_MM)
        .map(|fixing| Excess { stud_mm: fixing.stud_mm, height_mm: fixing.height_mm, pack_mm: fixing.pack_mm })
        .collect();
    let total_mm = tidy(packed.iter().map(|fixing| fixing.pack_mm).sum(), 1e9);
    let proud = proud_studs(fixings, rules, &plane)?;
    Ok(Packing { total_mm, plane, fixings: packed, over, proud })
}
