//! Something out of tolerance or out of order.

use serde::Serialize;

use super::grade::Grade;
use crate::moment::Moment;
use crate::record::{DefectId, EntryId};
use crate::refusal::Rule;
use crate::table::{Cell, Column, Row};

/// Where a defect stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, strum::IntoStaticStr)]
#[serde(rename_all = "lowercase")]
#[strum(serialize_all = "lowercase")]
pub enum DefectState {
    /// To be put right.
    Open,
    /// May stand.
    Conceded,
    /// Put right.
    Closed,
    /// Gone from the record as it reads now: its entry was struck, or an entry recorded later says that there was none.
    /// Programs read it as closed, and void.
    #[serde(rename = "closed")]
    #[strum(serialize = "closed")]
    Void,
}

impl DefectState {
    /// The word, as the contract writes it.
    pub fn word(self) -> &'static str {
        self.into()
    }
}

/// Something out of tolerance or out of order.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Defect {
    /// Its id, which names the entry that opened it.
    pub id: DefectId,
    /// Id of the subject.
    pub subject: String,
    /// Where it stands.
    pub state: DefectState,
    /// The rule that found it; absent when a person did.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rule: Option<Rule>,
    /// What is wrong.
    pub what: String,
    /// When it was opened.
    pub opened_at: Moment,
    /// How it was put right, why it may stand, or what made it void.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub how: Option<String>,
    /// Who says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub person: Option<String>,
    /// When.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ended_at: Option<Moment>,
    /// The entry that ended it.
    #[serde(rename = "ended_by_entry", skip_serializing_if = "Option::is_none")]
    pub ended_by: Option<EntryId>,
    /// Who typed that.
    #[serde(skip)]
    pub noted_by: Option<String>,
    /// How far the person stands behind it, where somebody else typed it and that was looked up.
    #[serde(skip)]
    pub grade: Option<Grade>,
}

impl Defect {
    /// The entry that opened it.
    pub fn opened_by(&self) -> &EntryId {
        &self.id.entry
    }

    /// Whether it is still to be put right.
    pub fn is_open(&self) -> bool {
        self.state == DefectState::Open
    }
}

impl Row for Defect {
    const COLUMNS: &'static [Column<Self>] = &[
        Column { key: "id", title: "Defect", cell: |it| Cell::text(it.id.to_string()) },
        Column { key: "subject", title: "On", cell: |it| (&it.subject).into() },
        Column { key: "state", title: "State", cell: |it| it.state.word().into() },
        Column { key: "void", title: "Void", cell: |it| (it.state == DefectState::Void).then_some(true).into() },
        Column { key: "rule", title: "Rule", cell: |it| it.rule.map(|rule| rule.to_string()).into() },
        Column { key: "what", title: "What", cell: |it| (&it.what).into() },
        Column { key: "opened_at", title: "Opened", cell: |it| it.opened_at.into() },
        Column { key: "opened_by_entry", title: "By entry", cell: |it| Cell::text(it.opened_by().to_string()) },
        Column { key: "ended_at", title: "Ended", cell: |it| it.ended_at.into() },
        Column {
            key: "ended_by_entry",
            title: "By entry",
            cell: |it| it.ended_by.as_ref().map(EntryId::to_string).into(),
        },
        Column { key: "person", title: "Who", cell: |it| it.person.as_ref().into() },
        Column { key: "how", title: "How", cell: |it| it.how.as_ref().into() },
        Column { key: "noted_by", title: "Noted by", cell: |it| it.noted_by.as_ref().into() },
        Column { key: "grade", title: "Grade", cell: |it| it.grade.map(Grade::word).into() },
    ];
}
