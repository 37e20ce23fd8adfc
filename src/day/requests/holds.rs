//! R5: a release is asked for, given, refused.

use super::context::{Context, DecideError, Decision, Dependence, Request, input, of_kind, require_text, spelled};
use crate::building::{SubjectIx, Subjects};
use crate::day::rules::{has_role, may_release};
use crate::day::state::State;
use crate::record::{AskRelease, Body, RefuseHold, ReleaseHold};
use crate::refusal::{Clears, Refusal, Rule};
use crate::sequence::HoldIx;
use crate::units::number::shortened;

impl Request for AskRelease {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        let (_, subjects) = places(context.state, &self.hold, &self.subject)?;
        let body = |subject: SubjectIx| {
            Body::HoldAsked(Self { subject: context.state.subjects.get(subject).to_string(), ..self.clone() })
        };
        Ok(subjects.into_iter().map(body).collect::<Vec<_>>().into())
    }
}

impl Request for ReleaseHold {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        let state = context.state;
        require_text("how", &self.how)?;
        let person = spelled(state, &self.person)?;
        let evidence = self.evidence.clone().filter(|text| !text.trim().is_empty());
        let (hold, subjects) = places(state, &self.hold, &self.subject)?;
        let on = if subjects == [Subjects::JOB] {
            String::new()
        } else {
            format!(" on {}", state.subjects.shortly(&subjects))
        };
        let unless_depended_on = Some(Dependence {
            what: format!("release hold point {}{on}", self.hold),
            clears: Clears::from("give the time that it was released").typed(": cladlog hold release --at TIME"),
        });
        let mut bodies = Vec::new();
        for subject in subjects {
            may_release(state, hold, subject, &person, context.at)?;
            let (subject, evidence) = (state.subjects.get(subject).to_string(), evidence.clone());
            bodies.push(Body::HoldReleased(Self { subject, person: person.clone(), evidence, ..self.clone() }));
        }
        Ok(Decision { unless_depended_on, ..bodies.into() })
    }
}

impl Request for RefuseHold {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        let state = context.state;
        require_text("why", &self.why)?;
        let person = spelled(state, &self.person)?;
        let (hold, subjects) = places(state, &self.hold, &self.subject)?;
        let mut bodies = Vec::new();
        for place in subjects {
            let subject = state.subjects.get(place).to_string();
            let what = format!("refuse hold point {} on {subject}", self.hold);
            has_role(state, &person, &state.sequence().holds[hold].roles, &what)?;
            if state.is_released(hold, place) {
                let who = state.hold(hold, place).person.unwrap_or_default();
                let why = format!("{who} has already released it");
                let clears = Clears::from("open a defect instead").typed(": cladlog defect open --on SUBJECT --what …");
                return Err(Refusal::new(Rule::HoldPoint, what, why, clears).into());
            }
            bodies.push(Body::HoldRefused(Self { subject, person: person.clone(), ..self.clone() }));
        }
        Ok(bodies.into())
    }
}

/// The index of a hold point, and those of the subjects.
fn places(state: &State, key: &str, on: &str) -> Result<(HoldIx, Vec<SubjectIx>), DecideError> {
    let sequence = state.sequence();
    let Some(hold) = sequence.hold(key) else {
        let keys: Vec<&str> = sequence.holds.iter().map(|hold| hold.key.as_str()).collect();
        return input(format!("there is no hold point '{}': they are {}", shortened(key), keys.join(", ")));
    };
    let per = sequence.holds[hold].per;
    let rule = format!("hold point {key} is released on {}", per.a_word());
    Ok((hold, of_kind(state, on, per, &rule)?))
}
