//! What a builder takes over all the same: whatever the record knows that speaks against taking the job as it stands, each
//! rule by itself. Figures that stand here and nowhere else are common practice, without a source.

use std::collections::BTreeMap;

use chrono::TimeDelta;

use super::papers_lacking;
use crate::day::{Book, Defect, DefectState, Flag, FlagKind, State};
use crate::handover::model::{Confirmation, Grade, JointRun, Materials, Outcome, Photo, Reservation, WindowRun, when};
use crate::moment::{Moment, span};
use crate::plain::{count, visible};
use crate::record::{Body, EntryId};
use crate::sequence::Basis;
use crate::table::grouped;

/// What is said in somebody's name is a reservation once so many evenings went by without their word.
const EVENINGS: i64 = 2;

/// Rain this soon after a joint was gunned may have spoilt it.
const FRESH: TimeDelta = TimeDelta::hours(1);

/// A reading older than this says nothing of the weather that a joint was gunned in.
const OLD_MIN: i64 = 4 * 60;

/// So many steps recorded within one minute were hardly recorded as they were done.
const AT_ONCE: usize = 20;

/// Everything that the document was made of, as far as reservations follow from it.
pub struct Known<'d, 'b> {
    pub book: &'b Book,
    pub made_at: Moment,
    pub confirmations: &'d [Confirmation],
    pub photos: &'d [Photo<'b>],
    pub windows: &'d [WindowRun<'b>],
    pub joints: &'d [JointRun<'b>],
    pub materials: &'d Materials,
}

/// The reservations, what weighs most first.
pub fn reservations(known: &Known<'_, '_>) -> Vec<Reservation> {
    let Known { book, made_at, confirmations, photos, windows, joints, materials } = *known;
    let state = &book.state;
    let mut all = concessions(state);
    all.extend(unconfirmed(confirmations, made_at));
    all.extend(redo_not_recorded(state, windows));
    all.extend(rain_on_fresh_sealant(state, windows, joints));
    all.extend(weather_not_read(state, windows, joints));
    all.extend(batches_not_named(state, materials));
    all.extend(two_batches(state, materials));
    all.extend(not_by_the_maker(state));
    all.extend(products_not_recorded(materials));
    all.extend(photos.iter().filter_map(flagged));
    all.extend(state.extras.iter().map(|extra| Reservation {
        what: format!("Extra work is on no drawing: {}", extra.what),
        subject: Some(extra.subject.clone()),
        entry: Some(extra.entry.clone()),
    }));
    all.extend(papers(state));
    all.extend(recorded_at_once(book));
    for reservation in &mut all {
        reservation.what = visible(&reservation.what);
    }
    all
}

fn of_job(what: String) -> Reservation {
    Reservation { what, subject: None, entry: None }
}

/// Defects that stay.
fn concessions(state: &State) -> Vec<Reservation> {
    let conceded = (1..).zip(&state.defects).filter(|(_, defect)| defect.state == DefectState::Conceded);
    let line = |(number, defect): (usize, &Defect)| Reservation {
        what: format!("Defect {number} was accepted as it is: {}", defect.what),
        subject: Some(defect.subject.clone()),
        entry: defect.ended_by.clone(),
    };
    conceded.map(line).collect()
}

/// What somebody else typed in a person's name, once they had time to confirm it.
fn unconfirmed(confirmations: &[Confirmation], made_at: Moment) -> Vec<Reservation> {
    let waited = |one: &&Confirmation| (made_at.date() - one.recorded_at.date()).num_days() >= EVENINGS;
    let open = confirmations.iter().filter(|one| one.grade == Grade::Typed).filter(waited);
    let line = |one: &Confirmation| Reservation {
        what: format!("Not confirmed by {}, as noted by {}: {}", one.person, one.noted_by, one.what),
        subject: None,
        entry: Some(one.entry.clone()),
    };
    open.map(line).collect()
}

/// Joints primed again after the first priming had lapsed, without being cleaned and masked again in between.
fn redo_not_recorded(state: &State, windows: &[WindowRun<'_>]) -> Vec<Reservation> {
    let Some((sealing, mask)) = state.sequence().sealing.as_ref().and_then(|one| Some((one, one.mask?))) else {
        return Vec::new();
    };
    let (window, mask_title) = (&state.sequence().windows[sealing.window].key, &state.sequence().steps[mask].title);
    let runs: Vec<&WindowRun> = windows.iter().filter(|run| run.run.window.key == *window).collect();
    let pairs = runs.windows(2).filter_map(|pair| match pair {
        [one, next] if one.run.subject == next.run.subject && one.outcome == Outcome::Lapsed => Some((*one, *next)),
        _ => None,
    });
    let missing = pairs.filter(|(one, next)| {
        let between = |at: Moment| at > one.run.from.at && at <= next.run.from.at;
        !state.done(mask, one.run.subject).iter().any(|done| between(done.at))
    });
    let line = |(_, next): (&WindowRun<'_>, &WindowRun<'_>)| Reservation {
        what: format!(
            "Primed again {} after the first priming lapsed; no new '{mask_title}' is recorded before it",
            when(&next.run.from.at)
        ),
        subject: Some(next.subject.clone()),
        entry: Some(next.run.from.entry.clone()),
    };
    missing.map(line).collect()
}

/// The joints gunned, each with its wall and the time.
fn gunned<'d, 'b>(
    windows: &'d [WindowRun<'b>],
    joints: &'d [JointRun<'b>],
) -> impl Iterator<Item = (&'d JointRun<'b>, &'d WindowRun<'b>, Moment)> {
    let run = |joint: &'d JointRun<'b>| {
        let window = windows.get(joint.window)?;
        Some((joint, window, window.run.answered?.at))
    };
    joints.iter().filter_map(run)
}

fn rain_on_fresh_sealant(state: &State, windows: &[WindowRun<'_>], joints: &[JointRun<'_>]) -> Vec<Reservation> {
    let rained = |part: &str, at: Moment| {
        let readings = state.subjects.index(part).map_or(&[][..], |wall| state.readings(wall));
        let soon = readings.iter().find(|reading| reading.rain && reading.at >= at && reading.at < at + FRESH)?;
        Some((soon.entry.clone(), soon.at))
    };
    let wet = gunned(windows, joints).filter_map(|(_, run, at)| {
        let (entry, rain_at) = rained(run.part, at)?;
        Some(((at, entry, rain_at), run.subject.as_str()))
    });
    let line = |((at, entry, rain_at), on): ((Moment, EntryId, Moment), Vec<&str>)| Reservation {
        what: format!("Rain {} after it was gunned at {}", span(rain_at - at), when(&at)),
        subject: Some(state.subjects.ids_shortly(on)),
        entry: Some(entry),
    };
    grouped(wet).into_iter().map(line).collect()
}

fn weather_not_read(state: &State, windows: &[WindowRun<'_>], joints: &[JointRun<'_>]) -> Vec<Reservation> {
    let is_known =
        |joint: &JointRun<'_>| joint.gunned_in.as_ref().is_some_and(|nearest| (0..=OLD_MIN).contains(&nearest.age_min));
    let unknown = gunned(windows, joints).filter(|(joint, ..)| !is_known(joint));
    let on: Vec<&str> = unknown.map(|(_, run, _)| run.subject.as_str()).collect();
    let what = || format!("No reading of the weather in the {} hours before it was gunned", OLD_MIN / 60);
    let one = |on: Vec<&str>| Reservation { what: what(), subject: Some(state.subjects.ids_shortly(on)), entry: None };
    if on.is_empty() { Vec::new() } else { vec![one(on)] }
}

fn batches_not_named(state: &State, materials: &Materials) -> Vec<Reservation> {
    let unnamed = materials.traces.iter().filter(|trace| trace.batch.is_none());
    let by_product = grouped(unnamed.map(|trace| (&trace.product, &trace.on)));
    let line = |(product, on): (&String, Vec<&Vec<usize>>)| Reservation {
        what: format!("No batch of {product} is named"),
        subject: Some(state.subjects.shortly(&on.into_iter().flatten().copied().collect::<Vec<_>>())),
        entry: None,
    };
    by_product.into_iter().map(line).collect()
}

fn two_batches(state: &State, materials: &Materials) -> Vec<Reservation> {
    let flags = materials.flags.iter().filter(|flag| flag.kind == FlagKind::SecondBatch);
    let line = |flag: &Flag| {
        let subject = state.subjects.shortly(&flag.on);
        // The sentence begins with the wall.
        let what = flag.says.strip_prefix(&format!("{subject}: ")).unwrap_or(&flag.says).to_owned();
        Reservation { what, subject: Some(subject), entry: flag.raised_by.first().cloned() }
    };
    flags.map(line).collect()
}

/// How many measurements were judged by something else than a paper of the job.
fn not_by_the_maker(state: &State) -> Option<Reservation> {
    let (mut all, mut published, mut usual) = (0_usize, 0_usize, 0_usize);
    for step in 0..state.sequence().steps.len() {
        for subject in 0..state.subjects.len() {
            let answers = state.done(step, subject).last().map_or(&[][..], |done| &done.answers);
            for judged in answers.iter().filter(|judged| judged.value().is_some() && judged.held.is_some()) {
                all += 1;
                let basis = match &judged.ask.basis {
                    Some(Basis::Figures { held, own, .. }) if held.is_empty() => own.as_deref(),
                    basis => basis.as_ref(),
                };
                match basis {
                    Some(Basis::Document { .. } | Basis::Figures { .. }) => {}
                    Some(Basis::Published { .. }) => published += 1,
                    Some(Basis::CommonPractice(_)) | None => usual += 1,
                }
            }
        }
    }
    let other = published + usual;
    (other > 0).then(|| {
        of_job(format!(
            "{} of {all} {} not judged by a figure of the maker or the drawings: {published} by a published source, {usual} \
             by common practice",
            count(other, "measurement"),
            if other == 1 { "was" } else { "were" }
        ))
    })
}

fn products_not_recorded(materials: &Materials) -> Option<Reservation> {
    let unknown = materials.compared.iter().filter(|one| one.delivered.is_none() && one.used.is_none());
    let names: Vec<&str> = unknown.map(|one| one.product.as_str()).collect();
    (!names.is_empty()).then(|| of_job(format!("Neither delivery nor use is recorded of: {}", names.join(", "))))
}

fn flagged(photo: &Photo<'_>) -> Option<Reservation> {
    let flags = &photo.photo.flags;
    let name = photo.picture.map_or_else(|| photo.photo.file.clone(), |picture| format!("Photo {}", picture.number));
    (!flags.is_empty()).then(|| Reservation {
        what: format!("{name}: {}", flags.join("; ")),
        subject: Some(photo.subjects.join(", ")),
        entry: photo.entries.first().cloned(),
    })
}

fn papers(state: &State) -> Option<Reservation> {
    let lacking = papers_lacking(state);
    (!lacking.is_empty()).then(|| of_job(format!("The job lists no copy of: {}", lacking.join("; "))))
}

fn recorded_at_once(book: &Book) -> Option<Reservation> {
    let mut minutes: BTreeMap<(&str, Moment), usize> = BTreeMap::new();
    let steps = book.in_time().into_iter().filter(|entry| matches!(entry.body, Body::StepDone(_)));
    for entry in steps {
        let minute = entry.recorded_at - TimeDelta::seconds(entry.recorded_at.instant().timestamp().rem_euclid(60));
        *minutes.entry((entry.by.as_str(), minute)).or_default() += 1;
    }
    minutes.retain(|_, steps| *steps >= AT_ONCE);
    let ((_, at), most) = minutes.iter().max_by_key(|(_, steps)| **steps)?;
    let times = count(minutes.len(), "minute");
    Some(of_job(format!(
        "{AT_ONCE} steps or more were recorded within one minute, in {times}; the most, {most}, at {}",
        when(at)
    )))
}
