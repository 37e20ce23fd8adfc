//! Folding into the state what becomes of a hold point: asked for, released, refused.

use std::sync::Arc;

use super::apply::Unapplied;
use crate::building::SubjectIx;
use crate::day::facts::{DefectState, Effect, HoldState, HoldStatus, Thing};
use crate::day::rules::{has_role, may_release};
use crate::day::state::State;
use crate::record::{AskRelease, Cause, DefectId, Entry, RefuseHold, ReleaseHold};
use crate::refusal::Rule;
use crate::sequence::{HoldIx, StepIx};

impl State {
    pub(super) fn ask_release(&mut self, entry: &Entry, asked: &AskRelease) -> Result<(), Unapplied> {
        let (hold, subject) = (self.hold_named(&asked.hold)?, self.named(&asked.subject)?);
        self.status(hold, subject).asked_at = Some(entry.happened_at);
        Ok(())
    }

    /// The status of a hold point on a subject, to be changed.
    pub(super) fn status(&mut self, hold: HoldIx, subject: SubjectIx) -> &mut HoldStatus {
        let fresh = self.hold(hold, subject);
        self.holds.entry((hold, subject)).or_insert(fresh)
    }

    pub(super) fn release_hold(&mut self, entry: &Entry, release: &ReleaseHold) -> Result<(), Unapplied> {
        let (hold, subject) = (self.hold_named(&release.hold)?, self.named(&release.subject)?);
        if let Err(refusal) = may_release(self, hold, subject, &release.person, entry.happened_at) {
            let cause = Cause::Rule(Rule::HoldPoint, release.hold.clone());
            self.open_refused(entry, cause, &release.subject, &refusal);
            return Ok(());
        }
        let role = self.role_of(hold, &release.person);
        let (person, how) = (release.person.clone(), release.how.clone());
        let status = self.status(hold, subject);
        let refusals = std::mem::take(&mut status.refusals);
        status.state = HoldState::Released;
        (status.recorded_at, status.after_work, status.redone) = (Some(entry.recorded_at), false, None);
        status.role = role;
        status.person = Some(person);
        status.at = Some(entry.happened_at);
        status.how = Some(how);
        status.evidence.clone_from(&release.evidence);
        (status.entry, status.noted_by) = (Some(entry.id()), Some(entry.by.clone()));
        self.effects.push(Effect::Closed(Thing::Hold { hold: release.hold.clone(), subject }));
        for refusal in refusals {
            let how = "inspected again and released";
            self.end_defect(&refusal, DefectState::Closed, entry, Some(&release.person), how);
        }
        Ok(())
    }

    pub(super) fn refuse_hold(&mut self, entry: &Entry, refuse: &RefuseHold) -> Result<(), Unapplied> {
        let (hold, subject) = (self.hold_named(&refuse.hold)?, self.named(&refuse.subject)?);
        let RefuseHold { hold: key, subject: on, person, why } = refuse;
        let cause = Cause::Rule(Rule::HoldPoint, key.clone());
        let what = format!("refuse hold point {key} on {on}");
        if let Err(refusal) = has_role(self, person, &self.sequence().holds[hold].roles, &what) {
            self.open_refused(entry, cause, on, &refusal);
            return Ok(());
        }
        let role = self.role_of(hold, person);
        let opened = self.is_released(hold, subject);
        let status = self.status(hold, subject);
        status.state = HoldState::Refused;
        (status.recorded_at, status.after_work) = (Some(entry.recorded_at), false);
        status.role = role;
        status.person = Some(person.clone());
        status.at = Some(entry.happened_at);
        status.how = Some(why.clone());
        status.evidence = None;
        (status.entry, status.noted_by) = (Some(entry.id()), Some(entry.by.clone()));
        status.refusals.push(DefectId::new(entry.id(), cause.clone()));
        let thing = Thing::Hold { hold: key.clone(), subject };
        self.effects.push(if opened { Effect::Opened(thing) } else { Effect::Changed(thing) });
        self.open_defect(entry, cause, on, format!("{key} refused by {person}: {why}"));
        Ok(())
    }

    /// The role by which a person has a say over a hold point.
    pub(super) fn role_of(&self, hold: HoldIx, person: &str) -> Option<String> {
        let roles = &self.sequence().holds[hold].roles;
        self.person(person)?.roles.iter().find(|role| roles.contains(role)).cloned()
    }

    /// Notes what a step, about to be folded in, means to releases: one recorded after it lets pass what was done already;
    /// one of what is done again holds no more.
    pub(super) fn note_work(&mut self, entry: &Entry, step: StepIx, subject: SubjectIx, again: bool) {
        let edition = Arc::clone(&self.editions[self.editions.len() - 1]);
        for (index, hold) in edition.holds.indexed() {
            let (lets_pass, covers) = (hold.holds.contains(&step), again && hold.after.contains(&step));
            if !lets_pass && !covers {
                continue;
            }
            for on in self.hold_subjects(hold.per, subject).to_vec() {
                let Some(status) = self.holds.get_mut(&(index, on)).filter(|status| status.is_released()) else {
                    continue;
                };
                if covers {
                    status.state = HoldState::Held;
                    status.redone = Some((edition.steps[step].title.clone(), entry.happened_at));
                    self.effects.push(Effect::Opened(Thing::Hold { hold: hold.key.clone(), subject: on }));
                } else {
                    status.after_work |= status.recorded_at > Some(entry.recorded_at);
                }
            }
        }
    }
}
