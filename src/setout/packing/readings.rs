//! What is read and asked for packing, and what is wrong with it.

use serde::Serialize;

use crate::form::InRow;
use crate::units::number::show;
use crate::units::{Bounds, OutOfRange, bounds};

/// Readings are taken from a line near the frame: more than this is a slip of the pen or the wrong line.
pub const READING: Bounds = Bounds { what: "reading", unit: "mm", least: -200.0, most: 200.0 };
/// More fixings than any one wall has.
pub const MOST_FIXINGS: usize = 5_000;
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

const STUD: Bounds = Bounds { what: "stud", ..bounds::LENGTH };
const HEIGHT: Bounds = Bounds { what: "height", ..bounds::LENGTH };
const FLAT: Bounds = Bounds { what: "flatness", unit: "mm", least: 0.0, most: 50.0 };
const LEAN: Bounds = Bounds { what: "lean", unit: "mm per metre", least: 0.0, most: 50.0 };
const ALONG: Bounds = Bounds { what: "run along the wall", unit: "mm per metre", least: 0.0, most: 50.0 };
const MOST: Bounds = Bounds { what: "most packing", unit: "mm", least: 0.0, most: 1000.0 };
const PACKER: Bounds = Bounds { what: "packer", unit: "mm", least: 0.1, most: 200.0 };

/// Why there is no packing.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[allow(missing_docs, reason = "the message of each says what it is; first is a row, counted from 1")]
pub enum PackingError {
    #[error("no readings: at least one stud is needed")]
    Empty,
    #[error("{0} fixings are more than one wall has: at most {MOST_FIXINGS}, split the wall")]
    TooMany(usize),
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    #[error("stud {} at height {} is given twice, first in reading {first}", show(*stud_mm), show(*height_mm))]
    Twice { first: usize, stud_mm: f64, height_mm: f64 },
    #[error("packer {0} mm is finer than 0.001 mm: round it")]
    PackerTooFine(f64),
    #[error("{0} packer sizes: give 1 to 50")]
    Box(usize),
    /// No input is known that does this.
    #[error("the best plane was not found: please report these readings")]
    Unsolved,
}

/// Checks the options.
pub(super) fn check_rules(rules: &PackingRules) -> Result<(), PackingError> {
    FLAT.check(rules.flat_mm)?;
    LEAN.check(rules.lean_mm_per_m)?;
    ALONG.check(rules.along_mm_per_m)?;
    MOST.check(rules.most_mm)?;
    if rules.packers_mm.is_empty() || rules.packers_mm.len() > 50 {
        return Err(PackingError::Box(rules.packers_mm.len()));
    }
    Ok(rules.packers_mm.iter().try_for_each(|size| PACKER.check(*size).map(drop))?)
}

/// Checks the readings.
pub(super) fn check_fixings(fixings: &[Fixing]) -> Result<(), InRow<PackingError>> {
    if fixings.is_empty() {
        return Err(InRow::whole(PackingError::Empty));
    }
    if fixings.len() > MOST_FIXINGS {
        return Err(InRow::whole(PackingError::TooMany(fixings.len())));
    }
    for (fixing, row) in fixings.iter().zip(1..) {
        let reading = |error: OutOfRange| InRow::of(row, error);
        STUD.check(fixing.stud_mm).map_err(reading)?;
        HEIGHT.check(fixing.height_mm).map_err(reading)?;
        READING.check(fixing.reading_mm).map_err(reading)?;
    }
    let mut order: Vec<usize> = (0..fixings.len()).collect();
    // Adding 0 makes -0 the same place as 0.
    let key = |i: usize| fixings.get(i).map_or((0.0, 0.0), |f| (f.stud_mm + 0.0, f.height_mm + 0.0));
    order.sort_by(|&a, &b| key(a).0.total_cmp(&key(b).0).then(key(a).1.total_cmp(&key(b).1)).then(a.cmp(&b)));
    let repeated =
        order.windows(2).filter_map(|pair| pair.first().zip(pair.last())).filter(|&(&a, &b)| key(a) == key(b));
    match repeated.min_by_key(|&(_, &second)| second) {
        Some((&first, &second)) => {
            let (stud_mm, height_mm) = key(second);
            Err(InRow::of(second + 1, PackingError::Twice { first: first + 1, stud_mm, height_mm }))
        }
        None => Ok(()),
    }
}
