//! Extra work: what was asked for beyond what was agreed, and by whom.

use super::decide::Decision;
use super::request::{DecideError, Extra};
use super::state::State;
use super::stoppages::{crew_of, names};
use crate::form::check_name;
use crate::moment::Moment;
use crate::record::{Body, Entry};

/// Most hours of one extra.
const MOST_HOURS: f64 = 10_000.0;

/// Greatest quantity of one extra.
const MOST_QUANTITY: f64 = 1_000_000.0;

/// Extra work that was asked for.
#[derive(Debug, Clone)]
pub struct ExtraWork {
    /// Id of the entry.
    pub entry: String,
    /// Id of the subject.
    pub subject: String,
    /// When it was asked for.
    pub at: Moment,
    /// Who recorded it.
    pub by: String,
    /// What.
    pub what: String,
    /// Who asked, of the job or not.
    pub asked_by: String,
    /// Who was told besides.
    pub told: Vec<String>,
    /// Hours of each of the people.
    pub hours: Option<f64>,
    /// How many people.
    pub people: Option<u32>,
    /// How much.
    pub quantity: Option<f64>,
    /// In which unit.
    pub unit: Option<String>,
}

impl ExtraWork {
    /// Hours of all people together; one person where it was not said how many.
    pub fn person_hours(&self) -> Option<f64> {
        self.hours.map(|hours| hours * f64::from(self.people.unwrap_or(1)))
    }

    /// How much work it is, in words; empty when it was not said.
    pub fn size(&self) -> String {
        use crate::units::number::{crew_hours, show};
        let mut parts = Vec::new();
        match (self.hours, self.people) {
            (Some(hours), Some(people)) if people > 1 => {
                let all = self.person_hours().unwrap_or_default();
                parts.push(format!("{people} people, {} h each: {}", show(hours), crew_hours(all)));
            }
            (Some(hours), _) => parts.push(crew_hours(hours)),
            (None, Some(1)) => parts.push("1 person".to_owned()),
            (None, Some(people)) => parts.push(format!("{people} people")),
            (None, None) => {}
        }
        if let (Some(quantity), Some(unit)) = (self.quantity, &self.unit) {
            parts.push(format!("{} {unit}", show(quantity)));
        }
        parts.join("; ")
    }
}

impl State {
    pub(super) fn apply_extra(&mut self, entry: &Entry) {
        let Body::ExtraAdded { subject, what, asked_by, told, hours, people, quantity, unit } = &entry.body else {
            return;
        };
        if self.subjects.index(subject).is_none() {
            return self.not_understood.push(entry.id());
        }
        self.extras.push(ExtraWork {
            entry: entry.id(),
            subject: subject.clone(),
            at: entry.happened_at,
            by: entry.by.clone(),
            what: what.clone(),
            asked_by: asked_by.clone(),
            told: told.clone(),
            hours: *hours,
            people: *people,
            quantity: *quantity,
            unit: unit.clone(),
        });
    }
}

/// Extra work was asked for.
pub(super) fn add(state: &State, extra: &Extra) -> Result<Decision, DecideError> {
    let each = state.subjects.parse(&extra.on)?;
    check_name(&extra.asked_by).map_err(|why| DecideError::Input(format!("--asked-by: the name {why}")))?;
    let told = names("--told", &extra.told)?;
    let people = crew_of(extra.people)?;
    within("--hours", extra.hours, MOST_HOURS)?;
    within("--quantity", extra.quantity, MOST_QUANTITY)?;
    match (extra.quantity, &extra.unit) {
        (Some(_), None) => return Err(DecideError::Input("a quantity has a unit: --unit m2, m, each, …".into())),
        (None, Some(_)) => return Err(DecideError::Input("--unit says of what: give --quantity too".into())),
        (Some(_), Some(unit)) => {
            check_name(unit).map_err(|why| DecideError::Input(format!("--unit: the name {why}")))?;
        }
        (None, None) => {}
    }
    if each.len() > 1 && (extra.hours.is_some() || extra.quantity.is_some()) {
        let what = "hours and quantity of an extra are of one subject: note one for each, or take the job";
        return Err(DecideError::Input(what.into()));
    }
    let body = |index: usize| Body::ExtraAdded {
        subject: state.subjects.get(index).to_string(),
        what: extra.what.clone(),
        asked_by: extra.asked_by.clone(),
        told: told.clone(),
        hours: extra.hours,
        people,
        quantity: extra.quantity,
        unit: extra.unit.clone(),
    };
    Ok(each.into_iter().map(body).collect())
}

fn within(option: &str, value: Option<f64>, most: f64) -> Result<(), DecideError> {
    match value {
        Some(value) if !(value > 0.0 && value <= most) => {
            let what = format!("{option} {} is not more than 0 and at most {most}", crate::units::number::show(value));
            Err(DecideError::Input(what))
        }
        _ => Ok(()),
    }
}
