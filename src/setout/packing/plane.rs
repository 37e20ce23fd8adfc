//! The best plane, by linear programming.
//!
//! Aims one after the other, each with the ones before it held: least packing beyond the most, least packing, least
//! slope. Solved in coordinates scaled to ±1, so that a 60 m wall and a 2 m one are solved alike.

use microlp::{ComparisonOp, LinearExpr, OptimizationDirection, Problem, Variable};
use serde::{Deserialize, Serialize};

use super::readings::{Fixing, PackingError, PackingRules};

/// Readings and options are taken to a micrometre, so anything nearer than this is rounding.
pub(super) const ROUNDING_MM: f64 = 1e-6;

/// The finished plane: `at_origin + along · stud + lean · height`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
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

/// What is made least.
#[derive(Clone, Copy, PartialEq, PartialOrd)]
enum Aim {
    Excess,
    Packing,
    Slope,
}

/// A reading in scaled coordinates.
struct Reading {
    x: f64,
    y: f64,
    mm: f64,
}

/// The programme of one wall.
struct Wall<'r> {
    readings: Vec<Reading>,
    rules: &'r PackingRules,
    /// The most that the plane may rise from the middle to an end, along and up.
    most_rise: [f64; 2],
}

impl Wall<'_> {
    /// The plane that is best in `aim`, as (at the middle, rise along, rise up), and what the aim comes to; excess and
    /// packing are held to what was found for them. Excess that is not held is not counted.
    fn best(&self, aim: Aim, excess: Option<f64>, packing: f64) -> Option<(f64, [f64; 3])> {
        let flat = self.rules.flat_mm;
        let cost = |of: Aim| f64::from(u8::from(of == aim));
        let mut programme = Problem::new(OptimizationDirection::Minimize);
        let middle = programme.add_var(0.0, (f64::NEG_INFINITY, f64::INFINITY));
        let rises = self.most_rise.map(|most| programme.add_var(0.0, (-most, most)));
        let (mut packs, mut excesses) = (LinearExpr::empty(), LinearExpr::empty());
        for reading in &self.readings {
            let face = [(middle, 1.0), (rises[0], reading.x), (rises[1], reading.y)];
            let pack = programme.add_var(cost(Aim::Packing), (0.0, f64::INFINITY));
            let short = face.into_iter().chain([(pack, -1.0)]);
            programme.add_constraint(face, ComparisonOp::Ge, reading.mm - flat);
            programme.add_constraint(short.collect::<LinearExpr>(), ComparisonOp::Le, reading.mm + flat);
            packs.add(pack, 1.0);
            if aim == Aim::Excess || excess.is_some() {
                let over = programme.add_var(cost(Aim::Excess), (0.0, f64::INFINITY));
                programme.add_constraint([(pack, 1.0), (over, -1.0)], ComparisonOp::Le, self.rules.most_mm);
                excesses.add(over, 1.0);
            }
        }
        if let Some(excess) = excess {
            programme.add_constraint(excesses, ComparisonOp::Le, excess);
        }
        if aim == Aim::Slope {
            programme.add_constraint(packs, ComparisonOp::Le, packing);
            for rise in rises {
                let size = programme.add_var(1.0, (0.0, f64::INFINITY));
                programme.add_constraint([(size, 1.0), (rise, -1.0)], ComparisonOp::Ge, 0.0);
                programme.add_constraint([(size, 1.0), (rise, 1.0)], ComparisonOp::Ge, 0.0);
            }
        }
        let solution = programme.solve().ok()?.into_solution().ok()?;
        let at = |variable: Variable| solution.var_value(variable);
        Some((solution.objective(), [at(middle), at(rises[0]), at(rises[1])]))
    }

    fn lowest(&self) -> Option<[f64; 3]> {
        let (packing, plane) = self.best(Aim::Packing, None, 0.0)?;
        let most = self.rules.flat_mm + self.rules.most_mm + 1e-9;
        let within = |reading: &Reading| plane[0] + plane[1] * reading.x + plane[2] * reading.y - reading.mm <= most;
        // Least packing without excess is what is wanted, whatever excess there could be.
        let (excess, packing) = if self.readings.iter().all(within) {
            (None, packing)
        } else {
            let (excess, _) = self.best(Aim::Excess, None, 0.0)?;
            (Some(excess), self.best(Aim::Packing, Some(excess), 0.0)?.0)
        };
        let gentlest = self.best(Aim::Slope, excess.or(Some(0.0)), packing)?;
        Some(gentlest.1)
    }
}

/// The plane that needs least packing beyond the most, then least packing, then least slope.
pub(super) fn best_plane(fixings: &[Fixing], rules: &PackingRules) -> Result<Plane, PackingError> {
    let (middle_x, half_x) = span(fixings.iter().map(|f| f.stud_mm / 1000.0));
    let (middle_y, half_y) = span(fixings.iter().map(|f| f.height_mm / 1000.0));
    let scaled = |value: f64, middle: f64, half: f64| if half > 0.0 { (value - middle) / half } else { 0.0 };
    let reading = |fixing: &Fixing| Reading {
        x: scaled(fixing.stud_mm / 1000.0, middle_x, half_x),
        y: scaled(fixing.height_mm / 1000.0, middle_y, half_y),
        mm: fixing.reading_mm,
    };
    // Where all readings stand at one place, a slope there would be made up: it is held at 0.
    let most_rise = [rules.along_mm_per_m * half_x, rules.lean_mm_per_m * half_y];
    let wall = Wall { readings: fixings.iter().map(reading).collect(), rules, most_rise };
    let [at_middle, rise_x, rise_y] = wall.lowest().ok_or(PackingError::Unsolved)?;
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
pub(super) fn tidy(value: f64, parts: f64) -> f64 {
    let rounded = (value * parts).round() / parts;
    if rounded == 0.0 { 0.0 } else { rounded }
}
