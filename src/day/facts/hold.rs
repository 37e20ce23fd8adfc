//! A hold point on a subject.

use serde::Serialize;

use super::grade::Grade;
use crate::moment::Moment;
use crate::record::{DefectId, EntryId};
use crate::table::{Column, Row};

/// Where a hold point stands.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, strum::IntoStaticStr)]
#[serde(rename_all = "lowercase")]
#[strum(serialize_all = "lowercase")]
pub enum HoldState {
    /// Not released yet.
    #[default]
    Held,
    /// Released.
    Released,
    /// A release was refused.
    Refused,
}

impl HoldState {
    /// The word, as the contract writes it.
    pub fn word(self) -> &'static str {
        self.into()
    }
}

/// Where a hold point stands on one subject, and who released or refused it.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct HoldStatus {
    /// Key of the hold point.
    pub key: String,
    /// What is released.
    pub title: String,
    /// Id of the subject.
    pub subject: String,
    /// Where it stands.
    pub state: HoldState,
    /// Roles that may release it.
    pub roles: Vec<String>,
    /// When a release was last asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub asked_at: Option<Moment>,
    /// Who released or refused it last.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub person: Option<String>,
    /// In which role.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub role: Option<String>,
    /// When.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<Moment>,
    /// When that was recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub recorded_at: Option<Moment>,
    /// Work that the release lets pass was on record before the release was.
    pub after_work: bool,
    /// What it covers was done again after the release, which holds no more: the step, and when.
    #[serde(skip)]
    pub redone: Option<(String, Moment)>,
    /// How, or why not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub how: Option<String>,
    /// What shows it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub evidence: Option<String>,
    /// The entry.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub entry: Option<EntryId>,
    /// Who typed that.
    #[serde(skip)]
    pub noted_by: Option<String>,
    /// How far the person stands behind it, where somebody else typed it and that was looked up.
    #[serde(skip)]
    pub grade: Option<Grade>,
    /// The entry that adopted an edition of the sequence without this hold point.
    #[serde(rename = "dropped_by_entry", skip_serializing_if = "Option::is_none")]
    pub dropped_by: Option<EntryId>,
    /// Defects that refusals opened: a release ends them.
    #[serde(skip)]
    pub refusals: Vec<DefectId>,
}

impl HoldStatus {
    /// Whether it is released.
    pub fn is_released(&self) -> bool {
        self.state == HoldState::Released
    }

    /// Whether a release was refused.
    pub fn is_refused(&self) -> bool {
        self.state == HoldState::Refused
    }
}

impl Row for HoldStatus {
    const COLUMNS: &'static [Column<Self>] = &[
        Column { key: "key", title: "Hold point", cell: |it| (&it.key).into() },
        Column { key: "subject", title: "On", cell: |it| (&it.subject).into() },
        Column { key: "state", title: "State", cell: |it| it.state.word().into() },
        Column { key: "roles", title: "By", cell: |it| it.roles.clone().into() },
        Column { key: "asked_at", title: "Asked for", cell: |it| it.asked_at.into() },
        Column {
            key: "released_by",
            title: "Released by",
            cell: |it| it.person.as_ref().filter(|_| it.is_released()).into(),
        },
        Column { key: "released_at", title: "Released", cell: |it| it.at.filter(|_| it.is_released()).into() },
        Column { key: "how", title: "How", cell: |it| it.how.as_ref().filter(|_| it.is_released()).into() },
        Column {
            key: "refused_by",
            title: "Refused by",
            cell: |it| it.person.as_ref().filter(|_| it.is_refused()).into(),
        },
        Column { key: "refused_at", title: "Refused", cell: |it| it.at.filter(|_| it.is_refused()).into() },
        Column { key: "why", title: "Why", cell: |it| it.how.as_ref().filter(|_| it.is_refused()).into() },
        Column { key: "title", title: "What is released", cell: |it| (&it.title).into() },
        Column { key: "role", title: "Role", cell: |it| it.role.as_ref().into() },
        Column { key: "evidence", title: "Evidence", cell: |it| it.evidence.as_ref().into() },
        Column { key: "recorded_at", title: "Recorded", cell: |it| it.recorded_at.into() },
        Column { key: "after_work", title: "Recorded after the work", cell: |it| it.after_work.into() },
        Column {
            key: "dropped_by_entry",
            title: "Dropped by entry",
            cell: |it| it.dropped_by.as_ref().map(EntryId::to_string).into(),
        },
        Column { key: "entry", title: "Entry", cell: |it| it.entry.as_ref().map(EntryId::to_string).into() },
        Column { key: "noted_by", title: "Noted by", cell: |it| it.noted_by.as_ref().into() },
        Column { key: "grade", title: "Grade", cell: |it| it.grade.map(Grade::word).into() },
    ];
}
