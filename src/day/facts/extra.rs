//! Extra work: what was asked for beyond what was agreed, and by whom.

use super::fact::Fact;
use crate::record::AddExtra;
use crate::table::{Cell, Column, Row};
use crate::units::number::{crew_hours, show};

/// Extra work that was asked for.
pub type ExtraWork = Fact<AddExtra>;

impl ExtraWork {
    /// Hours of all people together; one person where nobody says how many.
    fn person_hours(&self) -> Option<f64> {
        self.hours.map(|hours| hours * f64::from(self.people.unwrap_or(1)))
    }

    /// How much work it is, in words; empty when nobody says.
    pub fn size(&self) -> String {
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

impl Row for ExtraWork {
    const COLUMNS: &'static [Column<Self>] = &[
        Column { key: "id", title: "Entry", cell: |it| Cell::text(it.entry.to_string()) },
        Column { key: "at", title: "When", cell: |it| it.at.into() },
        Column { key: "subject", title: "On", cell: |it| (&it.subject).into() },
        Column { key: "what", title: "What", cell: |it| (&it.what).into() },
        Column { key: "asked_by", title: "Asked for by", cell: |it| (&it.asked_by).into() },
        Column { key: "told", title: "Notified", cell: |it| it.notified.clone().into() },
        Column { key: "hours", title: "Hours each", cell: |it| it.hours.into() },
        Column { key: "people", title: "People", cell: |it| it.people.into() },
        Column { key: "crew_hours", title: "Crew-hours", cell: |it| it.person_hours().into() },
        Column { key: "quantity", title: "Quantity", cell: |it| it.quantity.into() },
        Column { key: "unit", title: "Unit", cell: |it| it.unit.as_ref().into() },
        Column { key: "by", title: "Recorded by", cell: |it| (&it.by).into() },
    ];
}
