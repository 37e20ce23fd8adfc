//! What an entry's body is about besides its subject: the people it names, the entry it acts on.

use super::Body;

impl Body {
    /// The people that it names.
    pub fn names(&self) -> Vec<&str> {
        match self {
            Self::DayOpened { crew, .. } | Self::DayJoined { crew } => crew.iter().map(String::as_str).collect(),
            Self::DayClosed { hours, .. } => hours.keys().map(String::as_str).collect(),
            Self::CautionAcknowledged { people, .. } => people.iter().map(String::as_str).collect(),
            Self::PersonAdded { name: person, .. }
            | Self::HoldReleased { person, .. }
            | Self::HoldRefused { person, .. }
            | Self::DefectClosed { person, .. }
            | Self::DefectConceded { person, .. } => vec![person],
            Self::StoppageStarted { told, .. } => told.iter().map(String::as_str).collect(),
            Self::ExtraAdded { asked_by, told, .. } => {
                std::iter::once(asked_by).chain(told).map(String::as_str).collect()
            }
            _ => Vec::new(),
        }
    }

    /// The id of the entry or defect that it acts on.
    pub fn acts_on(&self) -> Option<&str> {
        match self {
            Self::Struck { entry, .. } => Some(entry),
            Self::DefectClosed { defect, .. } | Self::DefectConceded { defect, .. } => Some(defect),
            Self::StoppageEnded { stoppage, .. } => Some(stoppage),
            _ => None,
        }
    }
}
