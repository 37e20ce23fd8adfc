//! C1: packing that brings stud faces to one plane.
//!
//! Readings say how far each stud face stands from a straight line, + proud. Packers only add, so the
//! finished face lies on a plane that clears every proud stud, and what stands short of it is packed out.
//! The plane that needs least is a linear programme in three unknowns; `plane` solves it exactly.

mod packers;
mod plane;

use serde::Serialize;

use crate::units::number::show;
use plane::Kink;

/// Readings are taken from a line near the frame: more than this is a slip of the pen or the wrong line.
pub const MOST_READING_MM: f64 = 200.0;
/// More fixings than any one wall has.
pub const MOST_FIXINGS: usize = 5_000;
/// Readings and options are taken to a micrometre, so anything nearer than this is rounding.
const ROUNDING_MM: f64 = 1e-6;

/// One reading of a stud face.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Fixing {
    /// Along the wall, in millimetres from its set-out end.
    pub stud_mm: f64,
    /// Up the wall, in millimetres from its datum.
    pub height_mm: f64,
    /// The stud face from the line, in millimetres, + proud; within ±200.
    pub reading_mm: f64,
}

/// What the packing has to keep to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PackingRules {
    /// How far a packed face may stand from the plane, in millimetres, either way.
    pub flat_mm: f64,
    /// How far the plane may lean out of plumb, in millimetres a metre of height, either way.
    pub lean_mm_per_m: f64,
    /// How far the plane may run off the line, in millimetres a metre of wall, either way.
    pub along_mm_per_m: f64,
    /// The most packing that one fixing should carry, in millimetres.
    pub most_mm: f64,
    /// The packers in the box, in millimetres.
    pub packers_mm: Vec<f64>,
}

impl Default for PackingRules {
    /// Common practice, no source: 1 mm flat, 2 mm a metre either way, 12 mm at most, packers 1, 2, 3, 5 and 10 mm.
    fn default() -> Self {
        Self {
            flat_mm: 1.0,
            lean_mm_per_m: 2.0,
            along_mm_per_m: 2.0,
            most_mm: 12.0,
            packers_mm: vec![1.0, 2.0, 3.0, 5.0, 10.0],
        }
    }
}

/// The finished plane: `at_origin + along · stud + lean · height`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Plane {
    /// The plane from the line at stud 0, height 0, in millimetres.
    pub at_origin_mm: f64,
    /// Its run along the wall, in millimetres a metre.
    pub along_mm_per_m: f64,
    /// Its lean up the wall, in millimetres a metre.
    pub lean_mm_per_m: f64,
}

impl Plane {
    /// How far the plane stands from the line at a fixing, in millimetres.
    pub fn at(&self, stud_mm: f64, height_mm: f64) -> f64 {
        self.at_origin_mm + self.along_mm_per_m * (stud_mm / 1000.0) + self.lean_mm_per_m * (height_mm / 1000.0)
    }
}

/// One fixing and what goes behind it.
#[derive(Debug, Clone, PartialEq, Serialize)]
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

/// A stud that needs more packing than is allowed: a defect for the frame builder.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Over {
    /// Along the wall, in millimetres.
    pub stud_mm: f64,
    /// Up the wall, in millimetres.
    pub height_mm: f64,
    /// The packing it would need, in millimetres.
    pub pack_mm: f64,
}

/// The packing of one wall.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Packing {
    /// The sum of all packing, in millimetres.
    pub total_mm: f64,
    /// The plane that the faces come to.
    pub plane: Plane,
    /// Every fixing, in the order read.
    pub fixings: Vec<PackedFixing>,
    /// Those beyond the most allowed.
    pub over: Vec<Over>,
}

/// Why there is no packing. Rows are counted from 1, in the order given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PackingError {
    /// Nothing was read.
    #[error("no readings: at least one stud is needed")]
    Empty,
    /// More fixings than one wall has.
    #[error("{0} fixings are more than one wall has: at most {MOST_FIXINGS}, split the wall")]
    TooMany(usize),
    /// A reading that is not one.
    #[error("stud {} at height {}: reading {} mm is outside ±200 mm", show(*stud_mm), show(*height_mm), show(*reading_mm))]
    Reading {
        /// The row.
        row: usize,
        /// Along the wall.
        stud_mm: f64,
        /// Up the wall.
        height_mm: f64,
        /// What was given.
        reading_mm: f64,
    },
    /// A place off any wall.
    #[error("{what} {} mm is outside -200000 to 200000 mm", show(*given_mm))]
    Place {
        /// The row.
        row: usize,
        /// Stud or height.
        what: &'static str,
        /// What was given.
        given_mm: f64,
    },
    /// A fixing read twice.
    #[error("stud {} at height {} is given twice, first in reading {first}", show(*stud_mm), show(*height_mm))]
    Twice {
        /// The row that repeats.
        row: usize,
        /// The row it repeats.
        first: usize,
        /// Along the wall.
        stud_mm: f64,
        /// Up the wall.
        height_mm: f64,
    },
    /// An option out of its range.
    #[error("{what} {} {unit} is outside {} to {} {unit}", show(*given), show(*least), show(*most))]
    Rule {
        /// The option.
        what: &'static str,
        /// Its unit.
        unit: &'static str,
        /// What was given.
        given: f64,
        /// The least that is taken.
        least: f64,
        /// The most that is taken.
        most: f64,
    },
    /// A packer finer than packers are made.
    #[error("packer {0} mm is finer than 0.001 mm: round it")]
    PackerTooFine(f64),
    /// An empty box, or more sizes than a box has.
    #[error("{0} packer sizes: 1 to 50 are taken")]
    Box(usize),
    /// The walk to the best plane did not end. No input is known that does this.
    #[error("the best plane was not found: please report these readings")]
    Unsettled,
}

impl PackingError {
    /// The row at error, counted from 1, where one row is.
    pub fn row(&self) -> Option<usize> {
        match self {
            Self::Reading { row, .. } | Self::Place { row, .. } | Self::Twice { row, .. } => Some(*row),
            _ => None,
        }
    }
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
pub fn pack(fixings: &[Fixing], rules: &PackingRules) -> Result<Packing, PackingError> {
    check_rules(rules)?;
    check_fixings(fixings)?;
    let plane = best_plane(fixings, rules)?;
    let gap = |fixing: &Fixing| plane.at(fixing.stud_mm, fixing.height_mm) - fixing.reading_mm;
    let widest = fixings.iter().map(gap).fold(0.0, f64::max) + rules.flat_mm;
    let chooser = packers::PackerBox::new(&rules.packers_mm, widest)?;
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
        .map(|fixing| Over { stud_mm: fixing.stud_mm, height_mm: fixing.height_mm, pack_mm: fixing.pack_mm })
        .collect();
    let total_mm = tidy(packed.iter().map(|fixing| fixing.pack_mm).sum(), 1e9);
    Ok(Packing { total_mm, plane, fixings: packed, over })
}

fn check_rules(rules: &PackingRules) -> Result<(), PackingError> {
    let within = |what, unit, given: f64, least: f64, most: f64| {
        if given >= least && given <= most {
            Ok(())
        } else {
            Err(PackingError::Rule { what, unit, given, least, most })
        }
    };
    within("flatness", "mm", rules.flat_mm, 0.0, 50.0)?;
    within("lean", "mm per metre", rules.lean_mm_per_m, 0.0, 50.0)?;
    within("run along the wall", "mm per metre", rules.along_mm_per_m, 0.0, 50.0)?;
    within("most packing", "mm", rules.most_mm, 0.0, 1000.0)?;
    if rules.packers_mm.is_empty() || rules.packers_mm.len() > 50 {
        return Err(PackingError::Box(rules.packers_mm.len()));
    }
    rules.packers_mm.iter().try_for_each(|size| within("packer", "mm", *size, 0.1, 200.0))
}

fn check_fixings(fixings: &[Fixing]) -> Result<(), PackingError> {
    if fixings.is_empty() {
        return Err(PackingError::Empty);
    }
    if fixings.len() > MOST_FIXINGS {
        return Err(PackingError::TooMany(fixings.len()));
    }
    for (place, fixing) in fixings.iter().enumerate() {
        let Fixing { stud_mm, height_mm, reading_mm } = *fixing;
        let row = place + 1;
        for (what, given_mm) in [("stud", stud_mm), ("height", height_mm)] {
            if !(-200_000.0..=200_000.0).contains(&given_mm) {
                return Err(PackingError::Place { row, what, given_mm });
            }
        }
        if !(-MOST_READING_MM..=MOST_READING_MM).contains(&reading_mm) {
            return Err(PackingError::Reading { row, stud_mm, height_mm, reading_mm });
        }
    }
    let mut order: Vec<usize> = (0..fixings.len()).collect();
    // Adding nought makes -0 the same place as 0.
    let key = |i: usize| fixings.get(i).map_or((0.0, 0.0), |f| (f.stud_mm + 0.0, f.height_mm + 0.0));
    order.sort_by(|&a, &b| key(a).0.total_cmp(&key(b).0).then(key(a).1.total_cmp(&key(b).1)).then(a.cmp(&b)));
    let repeated =
        order.windows(2).filter_map(|pair| pair.first().zip(pair.last())).filter(|&(&a, &b)| key(a) == key(b));
    match repeated.min_by_key(|&(_, &second)| second) {
        Some((&first, &second)) => {
            let (stud_mm, height_mm) = key(second);
            Err(PackingError::Twice { row: second + 1, first: first + 1, stud_mm, height_mm })
        }
        None => Ok(()),
    }
}

/// The plane, found in coordinates scaled to ±1 so that a 60 m wall and a 2 m one are solved alike.
fn best_plane(fixings: &[Fixing], rules: &PackingRules) -> Result<Plane, PackingError> {
    let (middle_x, half_x) = span(fixings.iter().map(|f| f.stud_mm / 1000.0));
    let (middle_y, half_y) = span(fixings.iter().map(|f| f.height_mm / 1000.0));
    let scaled = |value: f64, middle: f64, half: f64| if half > 0.0 { (value - middle) / half } else { 0.0 };
    let mut kinks = Vec::with_capacity(3 * fixings.len() + 6);
    for fixing in fixings {
        let x = scaled(fixing.stud_mm / 1000.0, middle_x, half_x);
        let y = scaled(fixing.height_mm / 1000.0, middle_y, half_y);
        let normal = [1.0, x, y];
        kinks.push(Kink::wall(normal, fixing.reading_mm - rules.flat_mm));
        kinks.push(Kink::packing(normal, fixing.reading_mm + rules.flat_mm));
        kinks.push(Kink::excess(normal, fixing.reading_mm + rules.flat_mm + rules.most_mm));
    }
    // Where all readings stand at one place, a slope there would be made up: it is held at nought.
    let most_x = rules.along_mm_per_m * half_x;
    let most_y = rules.lean_mm_per_m * half_y;
    for (normal, most) in [([0.0, 1.0, 0.0], most_x), ([0.0, 0.0, 1.0], most_y)] {
        kinks.push(Kink::wall(normal, -most));
        kinks.push(Kink::wall(normal.map(|n| -n), -most));
        kinks.push(Kink::gentle(normal));
    }
    let [at_middle, rise_x, rise_y] = plane::lowest(&kinks, [most_x, most_y]).ok_or(PackingError::Unsettled)?;
    let slope =
        |rise: f64, half: f64, most: f64| if half > 0.0 { tidy(rise / half, 1e12).clamp(-most, most) } else { 0.0 };
    let along_mm_per_m = slope(rise_x, half_x, rules.along_mm_per_m);
    let lean_mm_per_m = slope(rise_y, half_y, rules.lean_mm_per_m);
    let at_origin_mm = tidy(at_middle - along_mm_per_m * middle_x - lean_mm_per_m * middle_y, 1e10);
    let plane = Plane { at_origin_mm, along_mm_per_m, lean_mm_per_m };
    // Rounding may have left the plane a hair behind the proudest stud: bring it out by that hair.
    let behind =
        fixings.iter().map(|f| f.reading_mm - rules.flat_mm - plane.at(f.stud_mm, f.height_mm)).fold(0.0, f64::max);
    Ok(if behind > 1e-12 { Plane { at_origin_mm: at_origin_mm + behind, ..plane } } else { plane })
}

/// The middle and half the length of what the values span.
fn span(values: impl Iterator<Item = f64> + Clone) -> (f64, f64) {
    let low = values.clone().fold(f64::INFINITY, f64::min);
    let high = values.fold(f64::NEG_INFINITY, f64::max);
    ((low + high) / 2.0, (high - low) / 2.0)
}

/// Rounds away the last bits of a sum, far below what can be measured: 2.5, not 2.4999999999999996.
fn tidy(value: f64, parts: f64) -> f64 {
    let rounded = (value * parts).round() / parts;
    if rounded == 0.0 { 0.0 } else { rounded }
}
