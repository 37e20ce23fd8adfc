//! The studs that stand proud, and what planing or moving them saves.
//!
//! One stud that stands out lifts the plane off all the others: they are many and good, it is the one that is wrong. A
//! plane rests on a few studs only; each of these is taken out in turn and the rest packed again. The one that leaves
//! least is named, and with it set right the next.

use serde::{Deserialize, Serialize};

use super::plane::{Plane, ROUNDING_MM, best_plane, tidy};
use super::readings::{Fixing, PackingError, PackingRules};

/// Studs named at most: a frame with more wants more than a plane.
const MOST_NAMED: usize = 3;

/// A stud to be planed or moved back, for the frame builder.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ProudStud {
    /// Along the wall, in millimetres.
    pub stud_mm: f64,
    /// The height at which it stands out furthest, in millimetres.
    pub height_mm: f64,
    /// What has to come off there, in millimetres: how far it stands out of the plane of the others, beyond flatness.
    pub proud_mm: f64,
    /// The sum of all packing once it and those named before it are right, in millimetres.
    pub total_mm: f64,
    /// What that saves of the packing before, in millimetres.
    pub saves_mm: f64,
    /// Fixings that would still need more than the most.
    pub over: usize,
}

/// What packing to a plane comes to.
#[derive(Clone, Copy)]
struct Cost {
    excess_mm: f64,
    total_mm: f64,
    over: usize,
    /// The studs that these fixings are on.
    studs_over: usize,
}

impl Cost {
    /// A stud that is set right is planed down to flatness where it stands out, and packed where it doesn't.
    fn of(plane: &Plane, fixings: &[Fixing], rules: &PackingRules) -> Self {
        let pack = |fixing: &Fixing| behind(plane, fixing) - rules.flat_mm;
        let excess = |fixing: &Fixing| (pack(fixing) - rules.most_mm).max(0.0);
        let over: Vec<&Fixing> = fixings.iter().filter(|fixing| excess(fixing) > ROUNDING_MM).collect();
        let mut studs_over: Vec<f64> = over.iter().map(|fixing| fixing.stud_mm).collect();
        studs_over.sort_by(f64::total_cmp);
        studs_over.dedup();
        Self {
            excess_mm: fixings.iter().map(excess).sum(),
            total_mm: tidy(fixings.iter().map(|fixing| pack(fixing).max(0.0)).sum(), 1e9),
            over: over.len(),
            studs_over: studs_over.len(),
        }
    }

    /// Whether a stud is the one that is wrong: with it set right fewer are, itself counted; or where none needs too much,
    /// that saves more than one fixing may carry (common practice, no source).
    fn is_worth(&self, before: &Self, rules: &PackingRules) -> bool {
        let fewer_wrong = self.studs_over + 1 < before.studs_over;
        fewer_wrong || before.over == 0 && before.total_mm - self.total_mm > rules.most_mm + ROUNDING_MM
    }
}

/// How far a stud face stands behind the plane.
fn behind(plane: &Plane, fixing: &Fixing) -> f64 {
    plane.at(fixing.stud_mm, fixing.height_mm) - fixing.reading_mm
}

/// Names the studs that are worth setting right, the one that saves most first.
pub(super) fn proud_studs(
    fixings: &[Fixing],
    rules: &PackingRules,
    plane: &Plane,
) -> Result<Vec<ProudStud>, PackingError> {
    let mut named: Vec<ProudStud> = Vec::new();
    let mut plane = *plane;
    let mut before = Cost::of(&plane, fixings, rules);
    while named.len() < MOST_NAMED {
        let right = |stud: f64| named.iter().any(|named| named.stud_mm == stud);
        // The plane rests on these.
        let rests = |fixing: &&Fixing| (behind(&plane, fixing) + rules.flat_mm).abs() < 1e-5 && !right(fixing.stud_mm);
        let mut studs: Vec<f64> = fixings.iter().filter(rests).map(|fixing| fixing.stud_mm).collect();
        studs.sort_by(f64::total_cmp);
        studs.dedup();
        let mut best: Option<(Cost, Plane, f64)> = None;
        for stud in studs {
            let others: Vec<Fixing> =
                fixings.iter().filter(|fixing| fixing.stud_mm != stud && !right(fixing.stud_mm)).copied().collect();
            // Two studs give no line that says which of them is proud.
            if others.iter().all(|fixing| fixing.stud_mm == others[0].stud_mm) {
                continue;
            }
            let without = best_plane(&others, rules)?;
            let cost = Cost::of(&without, fixings, rules);
            let key = |cost: &Cost| (cost.excess_mm, cost.total_mm);
            if best.as_ref().is_none_or(|(held, ..)| key(&cost) < key(held)) {
                best = Some((cost, without, stud));
            }
        }
        let Some((cost, without, stud)) = best.filter(|(cost, ..)| cost.is_worth(&before, rules)) else { break };
        let of_stud = fixings.iter().filter(|fixing| fixing.stud_mm == stud);
        let Some(proudest) = of_stud.min_by(|a, b| behind(&without, a).total_cmp(&behind(&without, b))) else { break };
        named.push(ProudStud {
            stud_mm: stud,
            height_mm: proudest.height_mm,
            proud_mm: tidy((-behind(&without, proudest) - rules.flat_mm).max(0.0), 1e6),
            total_mm: cost.total_mm,
            saves_mm: tidy(before.total_mm - cost.total_mm, 1e9),
            over: cost.over,
        });
        (before, plane) = (cost, without);
    }
    Ok(named)
}
