//! Somebody asks for extra work.

use super::context::{
    Context, DecideError, Decision, Request, each, each_spelled, in_field, input, require_text, spelled_if_known,
};
use super::stoppages::{check_names, check_people};
use crate::form::check_name;
use crate::record::{AddExtra, Body};
use crate::units::number::show;

/// Most hours of one extra.
const MOST_HOURS: f64 = 10_000.0;

/// Greatest quantity of one extra.
const MOST_QUANTITY: f64 = 1_000_000.0;

impl Request for AddExtra {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        require_text("what", &self.what)?;
        let subjects = context.state.subjects.parse(&self.subject)?;
        check_names("asked-by", std::slice::from_ref(&self.asked_by))?;
        check_names("told", &self.notified)?;
        check_people(self.people)?;
        check_size("hours", self.hours, MOST_HOURS)?;
        check_size("quantity", self.quantity, MOST_QUANTITY)?;
        match (self.quantity, &self.unit) {
            (Some(_), None) => return in_field("quantity", " needs its unit: m2, m, each, …"),
            (None, Some(_)) => return in_field("unit", " needs its quantity"),
            (Some(_), Some(unit)) => {
                check_name(unit).or_else(|why| in_field("unit", format!(": the name {why}")))?;
            }
            (None, None) => {}
        }
        if subjects.len() > 1 && (self.hours.is_some() || self.quantity.is_some()) {
            return input("hours and quantity belong to one subject: record each by itself, or on the job");
        }
        let (asked_by, notified) =
            (spelled_if_known(context.state, &self.asked_by), each_spelled(context.state, &self.notified));
        each(context.state, &self.subject, |subject| {
            let (asked_by, notified) = (asked_by.clone(), notified.clone());
            Body::ExtraAdded(Self { subject, asked_by, notified, ..self.clone() })
        })
    }
}

fn check_size(field: &'static str, value: Option<f64>, most: f64) -> Result<(), DecideError> {
    match value {
        Some(value) if !(value > 0.0 && value <= most) => {
            in_field(field, format!(" {} must be more than 0 and at most {most}", show(value)))
        }
        _ => Ok(()),
    }
}
