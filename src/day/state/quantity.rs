//! How much of a product one subject takes, as far as the job's geometry says.
//!
//! Panels: a column of a course takes one, unless an opening takes the whole of it; what is cut off one and used elsewhere counts
//! only where it is recorded. Sealant: C9, at the width of the job's joints or gaps, in cartridges. Primer: metres of joint, in tins.

use std::cell::OnceCell;
use std::collections::BTreeMap;

use rust_decimal::Decimal;
use serde_json::Value;

use super::state::State;
use crate::building::Subject;
use crate::day::facts::Plan;
use crate::materials::allowances::{self, Allowance, Measure};
use crate::materials::product::{Amount, known};
use crate::sealing::sealant::{CARTRIDGE_ML, Run, WASTE_PCT, depth_for, sealant, typed};
use crate::setout::columns::Gap;
use crate::setout::of_job::set_out_of;
use crate::setout::panels::panels;
use crate::units::Length;
use crate::units::number::show;

/// What subjects take; each subject, each wall and the allowance for primer are worked out once.
pub struct Takes<'s> {
    state: &'s State,
    known: BTreeMap<(&'s str, usize), Option<Amount>>,
    /// Panels of each course, by wall.
    courses: BTreeMap<usize, Option<Vec<u32>>>,
    primer: OnceCell<Option<Allowance>>,
}

impl<'s> Takes<'s> {
    pub(in crate::day) fn of(state: &'s State) -> Self {
        Self { state, known: BTreeMap::new(), courses: BTreeMap::new(), primer: OnceCell::new() }
    }

    /// How much of a product a subject takes; `None` where the job's geometry does not say.
    pub(in crate::day) fn amount(&mut self, product: &'s str, subject: usize) -> Option<Amount> {
        if let Some(known) = self.known.get(&(product, subject)) {
            return *known;
        }
        let amount = self.worked_out(product, subject);
        self.known.insert((product, subject), amount);
        amount
    }

    fn worked_out(&mut self, product: &str, subject: usize) -> Option<Amount> {
        let usual = known(product)?.unit;
        // A product counted in boxes says nothing of how many a joint takes.
        if self.state.stock.unit(product).is_some_and(|unit| unit != usual) {
            return None;
        }
        match (product, self.state.subjects.get(subject)) {
            ("panel" | "plank" | "board", Subject::Course { number, .. }) => self.panels_of(subject, *number),
            ("sealant", _) => self.cartridges(subject),
            ("primer", Subject::Joint { .. }) => {
                let primer = self.primer.get_or_init(|| allowance_of(self.state, product)).as_ref()?;
                let tins = self.run_m(subject)? * primer.rate / primer.pack;
                Some(Amount::of(tins * (100.0 + primer.waste_pct) / 100.0))
            }
            _ => None,
        }
    }

    fn panels_of(&mut self, subject: usize, course: u32) -> Option<Amount> {
        let wall = *self.state.subjects.walls_of(subject).first()?;
        let state = self.state;
        let counts = self.courses.entry(wall).or_insert_with(|| panels_by_course(state, wall));
        counts.as_ref()?.get(course as usize - 1).copied().map(Amount::whole)
    }

    fn cartridges(&self, subject: usize) -> Option<Amount> {
        let panel = self.state.job.panel.as_ref()?;
        let width = match self.state.subjects.get(subject) {
            Subject::Opening { .. } => panel.gap_mm,
            _ => panel.joint_mm,
        };
        let depth = depth_for(Length::mm(width)).ok()?.as_mm();
        let decimal = |value: f64| typed(&show(value)).ok();
        let run = Run {
            width_mm: decimal(width)?,
            depth_mm: decimal(depth)?,
            length_m: decimal(self.run_m(subject)?)?,
            cartridge_ml: CARTRIDGE_ML,
            waste_pct: WASTE_PCT,
        };
        let each: f64 = Decimal::to_string(&CARTRIDGE_ML).parse().ok()?;
        Some(Amount::of(sealant(&run).ok()?.volume_ml / each))
    }

    /// Metres that are sealed on a joint, round an opening (its head is left open to drain) or at both sides of a corner.
    fn run_m(&self, subject: usize) -> Option<f64> {
        let job = &self.state.job;
        let is = self.state.subjects.get(subject);
        let mm = match is {
            Subject::Joint { wall, number } => {
                let wall = job.wall(wall)?;
                let at = wall.joints.get(*number as usize - 1)?.at_mm;
                wall.joint_mm(at, self.foot_mm(subject), wall.height_mm?)
            }
            Subject::Opening { wall, key } => {
                let opening = job.wall(wall)?.openings.iter().find(|opening| opening.key == *key)?;
                let foot = opening.sill_mm.unwrap_or(0.0).max(self.foot_mm(subject));
                let sill = match opening.sill_mm {
                    Some(sill) if sill > self.foot_mm(subject) => opening.to_mm? - opening.from_mm?,
                    _ => 0.0,
                };
                2.0 * (opening.head_mm? - foot) + sill
            }
            Subject::Corner(_) => {
                let walls = self.state.subjects.walls_of(subject);
                let heights = walls.iter().map(|wall| {
                    let key = self.state.subjects.get(*wall).to_string();
                    Some(job.wall(&key)?.height_mm? - self.foot_mm(*wall))
                });
                heights.sum::<Option<f64>>()?
            }
            _ => return None,
        };
        (mm > 0.0).then_some(mm / 1000.0)
    }

    /// Where the cladding begins, over the datum: by the storey rod, where one is kept.
    fn foot_mm(&self, subject: usize) -> f64 {
        // The lowest line is that of every wall; the panel hangs below the start.
        let lowest = |plan: &Plan| plan.result.pointer("/walls/0/courses_mm/0")?.as_f64();
        let rod = self.state.plan("courses", subject).and_then(lowest);
        rod.unwrap_or(0.0)
    }
}

/// The allowance for a product by the metre sealed, of the sequence in force.
fn allowance_of(state: &State, product: &str) -> Option<Allowance> {
    let of_product = |line: &Allowance| line.item == product && line.per == Measure::SealedM;
    match state.sequence().allowances.as_slice() {
        [] => allowances::usual().into_iter().find(of_product),
        own => own.iter().find(|line| of_product(line)).cloned(),
    }
}

/// The panels of each course of a wall: by the plans that are kept, or else by the job's own joints.
fn panels_by_course(state: &State, wall: usize) -> Option<Vec<u32>> {
    planned(state, wall).or_else(|| drawn(state, wall))
}

fn planned(state: &State, wall: usize) -> Option<Vec<u32>> {
    let key = state.subjects.get(wall).to_string();
    let number = |value: &Value, key: &str| value.get(key)?.as_f64();
    let columns = state.plan("columns", wall)?.result.get("columns")?.as_array()?;
    let gaps = columns
        .iter()
        .map(|gap| Some(Gap { from_mm: number(gap, "from_mm")?, to_mm: number(gap, "to_mm")? }))
        .collect::<Option<Vec<_>>>()?;
    let walls = state.plan("courses", wall)?.result.get("walls")?.as_array()?;
    let rod = walls.iter().find(|found| found.get("key").and_then(Value::as_str) == Some(&key))?;
    let courses_mm = rod.get("courses_mm")?.as_array()?.iter().map(Value::as_f64).collect::<Option<Vec<_>>>()?;
    let courses = courses_mm.len();
    let pieces = panels(&set_out_of(&state.job, &key, gaps, courses_mm).ok()?).ok()?.pieces;
    let of_course = |course: usize| {
        let columns: std::collections::BTreeSet<usize> =
            pieces.iter().filter(|piece| piece.course == course).map(|piece| piece.column).collect();
        columns.len() as u32
    };
    Some((1..=courses).map(of_course).collect())
}

fn drawn(state: &State, wall: usize) -> Option<Vec<u32>> {
    let panel = state.job.panel.as_ref()?;
    let wall = state.job.wall(&state.subjects.get(wall).to_string())?;
    let ends: Vec<f64> = std::iter::once(Some(0.0))
        .chain(wall.joints.iter().map(|joint| joint.at_mm))
        .chain([wall.length_mm])
        .collect::<Option<_>>()?;
    // A column longer than a panel is of several, and nobody has said where they meet.
    let fits = ends.windows(2).all(|pair| pair[1] > pair[0] && pair[1] - pair[0] <= panel.length_mm + panel.joint_mm);
    fits.then(|| vec![ends.len() as u32 - 1; wall.courses as usize])
}
