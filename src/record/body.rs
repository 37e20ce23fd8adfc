//! What an entry says, by kind, and what it is about.

use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::answer::Answer;
use super::id::EntryId;
use super::kinds::{
    AcknowledgeCaution, AddExtra, AddForecast, AddNote, AddPerson, AddPhoto, AdoptSequence, AskRelease, CloseDay,
    CloseDefect, ConcedeDefect, ConfirmSaying, DeliverBatch, EndStoppage, ForgetPhone, JoinDay, KeepPlan, LeaveDay,
    OpenDay, OpenDefect, PairPhone, RefuseHold, ReleaseHold, ReviseJob, SetUpJob, StartStoppage, StepDone, Strike,
    TakeReading, TakeStamp, TakeStock, UseKey,
};
use crate::photos::PhotoSort;

/// The body of an entry. Field names and kinds are part of the record's format: add, never rename.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, strum::IntoStaticStr)]
#[serde(tag = "kind", content = "body", rename_all = "kebab-case")]
#[strum(serialize_all = "kebab-case")]
pub enum Body {
    /// The job was set up, with the sequence it is built by, word for word.
    JobAdded(SetUpJob),
    /// A newer sequence was adopted.
    SequenceAdopted(AdoptSequence),
    /// The building was changed.
    JobRevised(ReviseJob),
    /// A person came onto the job.
    PersonAdded(AddPerson),
    /// A site day began.
    DayOpened(OpenDay),
    /// People joined the crew later in the day.
    DayJoined(JoinDay),
    /// People left the site before the day was closed.
    DayLeft(LeaveDay),
    /// The site day ended.
    DayClosed(CloseDay),
    /// A step was done on a subject.
    StepDone(StepDone),
    /// Site conditions were read on a wall.
    ReadingTaken(TakeReading),
    /// A weather forecast was added: what is expected, never what was read.
    ForecastAdded(AddForecast),
    /// People acknowledged a caution.
    CautionAcknowledged(AcknowledgeCaution),
    /// A release was asked for.
    HoldAsked(AskRelease),
    /// A hold point was released.
    HoldReleased(ReleaseHold),
    /// A release was refused.
    HoldRefused(RefuseHold),
    /// Somebody saw a defect.
    DefectOpened(OpenDefect),
    /// A defect was put right.
    DefectClosed(CloseDefect),
    /// A defect may stand.
    DefectConceded(ConcedeDefect),
    /// Another entry is crossed out.
    Struck(Strike),
    /// A sum was kept: what went in and what came out.
    PlanKept(KeepPlan),
    /// A photo was put on a subject; its bytes are kept beside the database.
    PhotoAdded(AddPhoto),
    /// Packs are signed by this key: the first one, or another than before.
    KeyUsed(UseKey),
    /// A person confirmed what was typed in their name.
    SayingConfirmed(ConfirmSaying),
    /// The hash of an entry was stamped by a time-stamping authority.
    StampTaken(TakeStamp),
    /// A person's phone was paired.
    PhonePaired(PairPhone),
    /// A paired phone was forgotten.
    PhoneForgotten(ForgetPhone),
    /// A remark.
    Noted(AddNote),
    /// A batch of a product came onto site.
    BatchDelivered(DeliverBatch),
    /// Stock was taken otherwise than by a step.
    StockTaken(TakeStock),
    /// Work stopped.
    StoppageStarted(StartStoppage),
    /// Work resumed.
    StoppageEnded(EndStoppage),
    /// Somebody asked for work beyond what was agreed.
    ExtraAdded(AddExtra),
    /// A kind that this version does not know, or not in this form: kept as it is.
    #[serde(skip)]
    Unknown {
        /// The kind.
        kind: String,
        /// The body.
        body: Value,
    },
}

impl Body {
    /// The kind as the record writes it.
    pub fn kind(&self) -> &str {
        match self {
            Self::Unknown { kind, .. } => kind,
            known => known.into(),
        }
    }

    /// The id of the subject that it is about; `job` where it is about no part of the building.
    pub fn subject(&self) -> &str {
        match self {
            Self::StepDone(it) => &it.subject,
            Self::ReadingTaken(it) => &it.subject,
            Self::HoldAsked(it) => &it.subject,
            Self::HoldReleased(it) => &it.subject,
            Self::HoldRefused(it) => &it.subject,
            Self::DefectOpened(it) => &it.subject,
            Self::PlanKept(it) => &it.subject,
            Self::PhotoAdded(it) => &it.subject,
            Self::StockTaken(it) => &it.subject,
            Self::StoppageStarted(it) => &it.subject,
            Self::ExtraAdded(it) => &it.subject,
            Self::Noted(it) => &it.subject,
            Self::Unknown { body, .. } => body.get("subject").and_then(Value::as_str).unwrap_or("job"),
            Self::JobAdded(_)
            | Self::SequenceAdopted(_)
            | Self::JobRevised(_)
            | Self::PersonAdded(_)
            | Self::DayOpened(_)
            | Self::DayJoined(_)
            | Self::DayLeft(_)
            | Self::DayClosed(_)
            | Self::ForecastAdded(_)
            | Self::CautionAcknowledged(_)
            | Self::DefectClosed(_)
            | Self::DefectConceded(_)
            | Self::Struck(_)
            | Self::KeyUsed(_)
            | Self::SayingConfirmed(_)
            | Self::StampTaken(_)
            | Self::PhonePaired(_)
            | Self::PhoneForgotten(_)
            | Self::BatchDelivered(_)
            | Self::StoppageEnded(_) => "job",
        }
    }

    /// The people that it names.
    pub fn names(&self) -> Vec<&str> {
        match self {
            Self::DayOpened(it) => it.crew.iter().map(String::as_str).collect(),
            Self::DayJoined(it) => it.crew.iter().map(String::as_str).collect(),
            Self::DayLeft(it) => it.crew.iter().map(String::as_str).collect(),
            Self::DayClosed(it) => it.hours.keys().map(String::as_str).collect(),
            Self::CautionAcknowledged(it) => it.people.iter().map(String::as_str).collect(),
            Self::PersonAdded(it) => vec![it.name.as_str()],
            Self::PhonePaired(it) => vec![it.person.as_str()],
            Self::PhoneForgotten(it) => vec![it.person.as_str()],
            Self::StoppageStarted(it) => it.notified.iter().map(String::as_str).collect(),
            Self::ExtraAdded(it) => std::iter::once(&it.asked_by).chain(&it.notified).map(String::as_str).collect(),
            Self::HoldReleased(_) | Self::HoldRefused(_) | Self::DefectClosed(_) | Self::DefectConceded(_) => {
                self.in_the_name_of().into_iter().collect()
            }
            Self::JobAdded(_)
            | Self::SequenceAdopted(_)
            | Self::JobRevised(_)
            | Self::StepDone(_)
            | Self::ReadingTaken(_)
            | Self::ForecastAdded(_)
            | Self::HoldAsked(_)
            | Self::DefectOpened(_)
            | Self::Struck(_)
            | Self::PlanKept(_)
            | Self::PhotoAdded(_)
            | Self::KeyUsed(_)
            | Self::SayingConfirmed(_)
            | Self::StampTaken(_)
            | Self::Noted(_)
            | Self::BatchDelivered(_)
            | Self::StockTaken(_)
            | Self::StoppageEnded(_)
            | Self::Unknown { .. } => Vec::new(),
        }
    }

    /// The person in whose name it decides something: a release, a refusal, a closing, a concession.
    pub fn in_the_name_of(&self) -> Option<&str> {
        match self {
            Self::HoldReleased(it) => Some(&it.person),
            Self::HoldRefused(it) => Some(&it.person),
            Self::DefectClosed(it) => Some(&it.person),
            Self::DefectConceded(it) => Some(&it.person),
            _ => None,
        }
    }

    /// The entry that it acts on, itself or by a defect that the entry opened.
    pub fn acts_on(&self) -> Option<&EntryId> {
        match self {
            Self::Struck(it) => Some(&it.entry),
            Self::DefectClosed(it) => Some(&it.defect.entry),
            Self::DefectConceded(it) => Some(&it.defect.entry),
            Self::StoppageEnded(it) => it.stoppage.as_ref(),
            _ => None,
        }
    }

    /// The photos that it names and whose bytes are kept: digest and sort of file.
    pub fn photos(&self) -> Vec<(&str, PhotoSort)> {
        match self {
            Self::PhotoAdded(it) => vec![(&it.sha256, it.photo.format)],
            Self::StepDone(it) => it
                .answers
                .values()
                .filter_map(|answer| match answer {
                    Answer::File { sha256, photo: Some(photo), .. } => Some((sha256.as_str(), photo.format)),
                    _ => None,
                })
                .collect(),
            _ => Vec::new(),
        }
    }
}
