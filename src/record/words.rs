//! An entry's body in a few words, for logs and reports.

use super::body::Body;
use super::kinds::Confirmed;
use crate::building::on_words;
use crate::conditions::forecast::Hour;
use crate::moment::dated;
use crate::plain::{count, names};
use crate::units::number::show;

/// `before` and the text, where there is one.
fn with(before: &str, text: Option<&String>) -> String {
    text.map(|text| format!("{before}{text}")).unwrap_or_default()
}

impl Body {
    /// What it says, in a few words.
    pub fn in_words(&self) -> String {
        match self {
            Self::JobAdded(it) => format!("job set up: {}", it.building.name),
            Self::SequenceAdopted(it) => format!("newer sequence adopted: {}", it.why),
            Self::JobRevised(it) => format!("job revised: {} ({})", it.why, it.changes.join("; ")),
            Self::PersonAdded(it) => format!("{} added to the job as {}", it.name, it.roles.join(", ")),
            Self::DayOpened(it) => format!("day opened with {}", it.crew.join(", ")),
            Self::DayJoined(it) => format!("came onto site: {}", it.crew.join(", ")),
            Self::DayLeft(it) => format!("left the site: {}", it.crew.join(", ")),
            Self::DayClosed(_) => "day closed".to_owned(),
            Self::StepDone(it) => {
                let answers: Vec<String> = it.answers.iter().map(|(key, answer)| format!("{key} {answer}")).collect();
                let answers = if answers.is_empty() { String::new() } else { format!(": {}", answers.join(", ")) };
                format!("{}{}{answers}{}", it.step, on_words(&it.subject), with(", anyway: ", it.anyway.as_ref()))
            }
            Self::ReadingTaken(it) => format!("reading{}: {}", on_words(&it.subject), it.in_words("rain")),
            Self::ForecastAdded(it) => {
                let span = it.hours.first().zip(it.hours.last()).map(|(first, last)| {
                    let clock = |hour: &Hour| hour.at.format("%a %-d %b %H:%M").to_string();
                    format!(", {} to {}", clock(first), clock(last))
                });
                let source = with(" by ", it.source.as_ref());
                format!("forecast{source}, {}{}", count(it.hours.len(), "hour"), span.unwrap_or_default())
            }
            Self::CautionAcknowledged(it) => format!("caution {}: {}", it.caution, it.people.join(", ")),
            Self::HoldAsked(it) => format!("release of {}{} requested", it.hold, on_words(&it.subject)),
            Self::HoldReleased(it) => {
                format!("{}{} released by {}, {}", it.hold, on_words(&it.subject), it.person, it.how)
            }
            Self::HoldRefused(it) => {
                format!("{}{} refused by {}: {}", it.hold, on_words(&it.subject), it.person, it.why)
            }
            Self::DefectOpened(it) => format!("defect{}: {}", on_words(&it.subject), it.what),
            Self::DefectClosed(it) => format!("defect {} closed by {}: {}", it.defect, it.person, it.how),
            Self::DefectConceded(it) => format!("defect {} conceded by {}: {}", it.defect, it.person, it.why),
            Self::Struck(it) => format!("entry {} struck: {}", it.entry, it.why),
            Self::PlanKept(it) => format!("{} worked out and saved for {}", it.sum, it.subject),
            Self::PhotoAdded(it) => {
                let step = it.step.as_ref().map(|step| format!(" ({step})")).unwrap_or_default();
                format!("photo {}{}{step}{}", it.file, on_words(&it.subject), with(": ", it.note.as_ref()))
            }
            Self::SayingConfirmed(it) => match &it.how {
                Confirmed::Reply(text) => format!("entry {} confirmed by a reply: {text}", it.entry),
                Confirmed::SignedPaper { file, .. } => format!("entry {} confirmed on signed paper: {file}", it.entry),
                Confirmed::OwnKey { .. } => format!("entry {} confirmed with the person's own key", it.entry),
            },
            Self::KeyUsed(it) => format!("packs are signed by key {} from now on", it.fingerprint),
            Self::StampTaken(it) => format!("entry {} was stamped by a time-stamping authority", it.entry),
            Self::PhonePaired(it) => format!("phone {} paired: {}", it.phone, it.person),
            Self::PhoneForgotten(it) => format!("phone {} of {} forgotten", it.phone, it.person),
            Self::Noted(it) => format!("note{}: {}", on_words(&it.subject), it.text),
            Self::BatchDelivered(it) => {
                let expires = it.expires.map(|day| format!(", expires {}", dated(day)));
                format!(
                    "delivered: {} {}{}, {} {}{}{}{}",
                    it.product,
                    it.batch,
                    with(", ", it.colour.as_ref()),
                    show(it.count.units()),
                    it.unit,
                    expires.unwrap_or_default(),
                    with("; ", it.condition.as_ref()),
                    with("; ", it.note.as_ref())
                )
            }
            Self::StockTaken(it) => {
                let how = it.how.word().replace('-', " ");
                let many = it.count.map(|count| format!("{} of ", show(count.units()))).unwrap_or_default();
                let on = on_words(&it.subject);
                let (note, why) = (with(": ", it.note.as_ref()), with(", anyway: ", it.anyway.as_ref()));
                format!("{how}: {many}{} {}{on}{note}{why}", it.product, it.batch)
            }
            Self::StoppageStarted(it) => {
                format!("work stopped{}: {}; notified {}", on_words(&it.subject), it.cause, names(&it.notified))
            }
            Self::StoppageEnded(it) => {
                let stoppage = it.stoppage.as_ref().map(|id| format!(" (stoppage {id})")).unwrap_or_default();
                format!("work resumed{stoppage}{}", with(": ", it.note.as_ref()))
            }
            Self::ExtraAdded(it) => {
                let notified = if it.notified.is_empty() { None } else { Some(it.notified.join(", ")) };
                let notified = with("; notified ", notified.as_ref());
                format!("extra{}: {}; asked for by {}{notified}", on_words(&it.subject), it.what, it.asked_by)
            }
            Self::Unknown { kind, .. } => format!("{kind} (not known to this program)"),
        }
    }
}
