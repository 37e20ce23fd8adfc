//! How much of a product one subject takes, as far as the job's geometry says.
//!
//! Panels: by the kept cut plan, or by a quick one of the wall as it is set out: a board counts with the first course that a
//! piece of it goes into. Where the wall is not set out yet a column of a course takes one. Sealant: C9, at the width of the job's joints or gaps. Primer: by the metre of joint. Packs and waste
//! are the allowances', as for the take-off.

use std::borrow::Cow;
use std::collections::BTreeMap;

use super::state::State;
use crate::building::{Subject, SubjectIx};
use crate::materials::allowances::{Allowance, Measure};
use crate::materials::cuts::{CutPlan, CutRequest, WallCuts, plan_cuts};
use crate::materials::of_job::{pieces_of, settings_of};
use crate::materials::product::{Amount, known};
use crate::sealing::sealant::section_mm2;
use crate::sequence::usual_allowances;
use crate::setout::panels::panels;
use crate::units::Length;

/// What subjects take; each subject, each wall and each allowance are worked out once.
pub struct Takes<'s> {
    state: &'s State,
    known: BTreeMap<(&'s str, SubjectIx), Option<Amount>>,
    /// Panels of each course, by wall.
    courses: BTreeMap<SubjectIx, Option<Vec<u32>>>,
    /// What each product is ordered by.
    allowances: BTreeMap<&'s str, Option<Allowance>>,
}

impl<'s> Takes<'s> {
    pub(in crate::day) fn of(state: &'s State) -> Self {
        Self { state, known: BTreeMap::new(), courses: BTreeMap::new(), allowances: BTreeMap::new() }
    }

    /// How much of a product a subject takes; `None` where the job's geometry does not say.
    pub(in crate::day) fn amount(&mut self, product: &'s str, subject: SubjectIx) -> Option<Amount> {
        if let Some(known) = self.known.get(&(product, subject)) {
            return *known;
        }
        let amount = self.worked_out(product, subject);
        self.known.insert((product, subject), amount);
        amount
    }

    fn worked_out(&mut self, product: &'s str, subject: SubjectIx) -> Option<Amount> {
        let usual = known(product)?.unit;
        // A product counted in boxes says nothing of how many a joint takes.
        if self.state.stock.unit(product).is_some_and(|unit| unit != usual) {
            return None;
        }
        match (product, self.state.subjects.get(subject)) {
            ("panel" | "plank" | "board", Subject::Course { number, .. }) => self.panels_of(subject, *number),
            ("sealant" | "primer", _) => self.packs(product, subject),
            _ => None,
        }
    }

    fn panels_of(&mut self, subject: SubjectIx, course: u32) -> Option<Amount> {
        let wall = *self.state.subjects.walls_of(subject).first()?;
        let state = self.state;
        let counts = self.courses.entry(wall).or_insert_with(|| panels_by_course(state, wall));
        counts.as_ref()?.get(course as usize - 1).copied().map(Amount::whole)
    }

    /// What of a product sealing one subject takes, in packs.
    fn packs(&mut self, product: &'s str, subject: SubjectIx) -> Option<Amount> {
        let state = self.state;
        let found = || state.allowances().iter().find(|it| it.orders(product) && it.per == Measure::SealedM).cloned();
        let allowance = self.allowances.entry(product).or_insert_with(found).as_ref()?;
        let of_metre = match product {
            "sealant" if allowance.unit == "ml" => {
                let panel = state.job.panel.as_ref()?;
                let width = match state.subjects.get(subject) {
                    Subject::Opening { .. } => panel.gap_mm,
                    _ => panel.joint_mm,
                };
                section_mm2(Length::mm(width)).ok()?
            }
            _ => allowance.rate,
        };
        let packs = state.sealed_m(subject)? * of_metre / allowance.pack;
        Some(Amount::of(packs * (100.0 + allowance.waste_pct) / 100.0))
    }
}

impl State {
    /// What is ordered with what: the allowances of the sequence in force, or the usual ones.
    pub fn allowances(&self) -> Cow<'_, [Allowance]> {
        match self.sequence().allowances.as_slice() {
            [] => Cow::Owned(usual_allowances()),
            own => Cow::Borrowed(own),
        }
    }
}

/// The panels of each course of a wall: by the plans that are kept, or else by the job's own joints.
fn panels_by_course(state: &State, wall: SubjectIx) -> Option<Vec<u32>> {
    cut(state, wall).or_else(|| planned(state, wall)).or_else(|| drawn(state, wall))
}

/// By the cut plan of the wall or of the whole job: what `calc cuts` and `calc takeoff` say, course by course.
fn cut(state: &State, wall: SubjectIx) -> Option<Vec<u32>> {
    by_course(state, wall, &state.kept::<WallCuts>(wall)?.plan)
}

/// The boards of a plan, each with the first course that a piece of it goes into; of those that go to other walls first none.
fn by_course(state: &State, wall: SubjectIx, plan: &CutPlan) -> Option<Vec<u32>> {
    let key = state.subjects.get(wall).to_string();
    let mut courses = vec![0; state.job.wall(&key)?.courses as usize];
    for pattern in &plan.patterns {
        let places = pattern.pieces.iter().map(|piece| state.subjects.index(piece.label.split('-').next()?));
        let first = places.collect::<Option<Vec<SubjectIx>>>()?.into_iter().min()?;
        if let Subject::Course { number, .. } = state.subjects.get(first)
            && state.subjects.walls_of(first) == [wall]
        {
            *courses.get_mut(*number as usize - 1)? += pattern.times;
        }
    }
    Some(courses)
}

/// By the pieces of the wall as it is set out, cut from boards one after the other.
fn planned(state: &State, wall: SubjectIx) -> Option<Vec<u32>> {
    let key = state.subjects.get(wall).to_string();
    let (pieces, _) = pieces_of(&key, &panels(&state.set_out_as_kept(wall)?).ok()?);
    let request = CutRequest { pieces, ..settings_of(state.job.panel.as_ref()?) };
    // The first plan that comes to hand: the stock is counted at every step.
    by_course(state, wall, &plan_cuts(&request, &|| true).ok()?)
}

fn drawn(state: &State, wall: SubjectIx) -> Option<Vec<u32>> {
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
