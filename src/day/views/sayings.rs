//! What the record says that somebody said (R16): who released, refused, conceded or accepted, and who typed it.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::building::on_words;
use crate::day::book::Book;
use crate::day::state::State;
use crate::moment::Moment;
use crate::record::{Body, EntryId, crew};

/// What somebody is said to have done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, strum::IntoStaticStr)]
#[serde(rename_all = "lowercase")]
#[strum(serialize_all = "lowercase")]
pub enum SayingKind {
    /// Released a hold point.
    Released,
    /// Refused a release.
    Refused,
    /// Let a defect stand.
    Conceded,
    /// Accepted that a defect was put right.
    Accepted,
}

impl SayingKind {
    /// The word, for JSON and tables.
    pub fn word(self) -> &'static str {
        self.into()
    }
}

/// A release, refusal, concession or acceptance in somebody's name.
#[derive(Debug, Clone, Serialize)]
pub struct Saying {
    /// The entry.
    pub entry: EntryId,
    /// What they are said to have done.
    pub kind: SayingKind,
    /// The hold point, or what was wrong.
    pub of: String,
    /// Id of the subject.
    pub subject: String,
    /// Who is said to have said it.
    pub person: String,
    /// When it is said to have happened.
    pub at: Moment,
    /// How: on site, by phone, in writing; or why.
    pub how: String,
    /// Who typed it.
    pub typed_by: String,
}

impl Saying {
    /// For people: of what, on what, by whom and how.
    pub fn in_words(&self) -> String {
        let (of, on, who, how) = (&self.of, on_words(&self.subject), &self.person, &self.how);
        match self.kind {
            SayingKind::Released => format!("'{of}'{on} released by {who}, {how}"),
            SayingKind::Refused => format!("'{of}'{on} refused by {who}: {how}"),
            SayingKind::Conceded => format!("defect{on} may stand by the word of {who}: {how} ({of})"),
            SayingKind::Accepted => format!("defect{on} accepted as put right by {who}: {how} ({of})"),
        }
    }

    /// How many site days have ended since it was said, that day's own evening included.
    pub fn evenings(&self, state: &State, now: Moment) -> usize {
        let ended =
            |date| date < now.date() || state.days.iter().any(|day| day.date == date && day.closed_at.is_some());
        let mut dates: Vec<_> = state.days.iter().map(|day| day.date).collect();
        dates.sort_unstable();
        dates.dedup();
        dates.into_iter().filter(|date| *date >= self.at.date() && ended(*date)).count()
    }
}

/// Every release, refusal, concession and acceptance that is not struck, in the name of anybody but the lead whose file
/// it was recorded in, in the order in which they happened.
pub fn sayings(book: &Book) -> Vec<Saying> {
    let state = &book.state;
    // The file is that of whoever began its book.
    let mut owners: BTreeMap<String, (u64, &str)> = BTreeMap::new();
    for entry in &book.entries {
        let first = owners.entry(crew(&entry.device).to_owned()).or_insert((entry.seq, &entry.by));
        if entry.seq < first.0 {
            *first = (entry.seq, &entry.by);
        }
    }
    let mut sayings = Vec::new();
    for entry in book.in_time() {
        let hold = |key: &str| state.sequence().hold(key).map(|hold| state.sequence().holds[hold].title.clone());
        let hold = |key: &str| hold(key).unwrap_or_else(|| key.to_owned());
        let defect = |id| state.defect(id).map(|found| (found.what.clone(), found.subject.clone())).unwrap_or_default();
        let (kind, (of, subject), person, how) = match &entry.body {
            Body::HoldReleased(it) => {
                (SayingKind::Released, (hold(&it.hold), it.subject.clone()), &it.person, it.how.clone())
            }
            Body::HoldRefused(it) => {
                (SayingKind::Refused, (hold(&it.hold), it.subject.clone()), &it.person, it.why.clone())
            }
            Body::DefectConceded(it) => (SayingKind::Conceded, defect(&it.defect), &it.person, it.why.clone()),
            Body::DefectClosed(it) => (SayingKind::Accepted, defect(&it.defect), &it.person, it.how.clone()),
            _ => continue,
        };
        if owners.get(crew(&entry.device)).is_some_and(|(_, owner)| owner == person) {
            continue;
        }
        sayings.push(Saying {
            entry: entry.id(),
            kind,
            of,
            subject,
            person: person.clone(),
            at: entry.happened_at,
            how,
            typed_by: entry.by.clone(),
        });
    }
    sayings
}
