//! An entry's body in a few words, for logs and reports.

use super::Body;
use crate::conditions::forecast::Hour;
use crate::units::number::show;

impl Body {
    /// What it says, in a few words.
    pub fn in_words(&self) -> String {
        match self {
            Self::JobAdded { building, .. } => format!("job set up: {}", building.name),
            Self::SequenceAdopted { why, .. } => format!("newer sequence adopted: {why}"),
            Self::PersonAdded { name, roles } => format!("{name} put on the job as {}", roles.join(", ")),
            Self::DayOpened { crew, .. } => format!("day opened with {}", crew.join(", ")),
            Self::DayJoined { crew } => format!("came onto site: {}", crew.join(", ")),
            Self::DayClosed { .. } => "day closed".to_owned(),
            Self::StepDone { step, subject, answers, anyway } => {
                let why = anyway.as_ref().map(|why| format!(", anyway: {why}")).unwrap_or_default();
                let answers: Vec<String> = answers.iter().map(|(key, answer)| format!("{key} {answer}")).collect();
                let answers = if answers.is_empty() { String::new() } else { format!(": {}", answers.join(", ")) };
                format!("{step} on {subject}{answers}{why}")
            }
            Self::ReadingTaken { subject, air_c, humidity_pct, surface_c, wind_kmh, rain } => {
                let wind = wind_kmh.map(|wind| format!(", wind {wind} km/h")).unwrap_or_default();
                let rain = if *rain { ", rain" } else { "" };
                format!("reading on {subject}: air {air_c} °C, {humidity_pct} %, surface {surface_c} °C{wind}{rain}")
            }
            Self::ForecastAdded { source, hours } => {
                let source = source.as_ref().map(|source| format!(" by {source}")).unwrap_or_default();
                let span = hours.first().zip(hours.last()).map(|(first, last)| {
                    let clock = |hour: &Hour| hour.at.format("%a %-d %b %H:%M").to_string();
                    format!(", {} to {}", clock(first), clock(last))
                });
                format!("forecast{source}, {} hours{}", hours.len(), span.unwrap_or_default())
            }
            Self::CautionAcknowledged { caution, people } => format!("caution {caution}: {}", people.join(", ")),
            Self::HoldAsked { hold, subject } => format!("release of {hold} on {subject} asked for"),
            Self::HoldReleased { hold, subject, person, how, .. } => {
                format!("{hold} on {subject} released by {person}, {how}")
            }
            Self::HoldRefused { hold, subject, person, why } => {
                format!("{hold} on {subject} refused by {person}: {why}")
            }
            Self::DefectOpened { subject, what } => format!("defect on {subject}: {what}"),
            Self::DefectClosed { defect, person, how } => format!("defect {defect} closed by {person}: {how}"),
            Self::DefectConceded { defect, person, why } => format!("defect {defect} conceded by {person}: {why}"),
            Self::Struck { entry, why } => format!("entry {entry} struck: {why}"),
            Self::PlanKept { sum, subject, .. } => format!("{sum} worked out and kept for {subject}"),
            Self::PhotoAdded { subject, step, file, note, .. } => {
                let step = step.as_ref().map(|step| format!(" ({step})")).unwrap_or_default();
                let note = note.as_ref().map(|note| format!(": {note}")).unwrap_or_default();
                format!("photo {file} on {subject}{step}{note}")
            }
            Self::Noted { subject, text } => format!("note on {subject}: {text}"),
            Self::BatchDelivered { product, batch, colour, count, unit, expires, condition, note } => {
                let colour = colour.as_ref().map(|colour| format!(", {colour}")).unwrap_or_default();
                let expires = expires.map(|day| format!(", expires {}", day.format("%-d %b %Y"))).unwrap_or_default();
                let said: String = condition.iter().chain(note).map(|said| format!("; {said}")).collect();
                format!("delivered: {product} {batch}{colour}, {} {unit}{expires}{said}", show(*count))
            }
            Self::StockTaken { product, batch, subject, how, count, note, anyway } => {
                let how = how.replace('-', " ");
                let count = count.map(|count| format!("{} of ", show(count))).unwrap_or_default();
                let on = if subject == "job" { String::new() } else { format!(" on {subject}") };
                let note = note.as_ref().map(|note| format!(": {note}")).unwrap_or_default();
                let why = anyway.as_ref().map(|why| format!(", anyway: {why}")).unwrap_or_default();
                format!("{how}: {count}{product} {batch}{on}{note}{why}")
            }
            Self::StoppageStarted { subject, cause, told, .. } => {
                format!("work stopped on {subject}: {cause}; told {}", told.join(", "))
            }
            Self::StoppageEnded { stoppage, note } => {
                let note = note.as_ref().map(|note| format!(": {note}")).unwrap_or_default();
                format!("stoppage {stoppage} over{note}")
            }
            Self::ExtraAdded { subject, what, asked_by, told, .. } => {
                let told = if told.is_empty() { String::new() } else { format!("; told {}", told.join(", ")) };
                format!("extra on {subject}: {what}; asked for by {asked_by}{told}")
            }
            Self::Unknown { kind, .. } => format!("{kind} (not known to this program)"),
        }
    }
}
