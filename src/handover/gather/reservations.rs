//! What the record knows that whoever accepts the work should know too.
//!
//! Each rule is a function of its own; [`reservations`] asks them all, those first that would cost most.

use std::collections::{BTreeMap, BTreeSet};

use chrono::TimeDelta;
use strum::VariantArray;

use crate::building::SubjectIx;
use crate::day::{
    BatchLine, Book, Day, Defect, DefectState, ExtraWork, HoldStatus, Line, Phase, Saying, SayingKind, SecondBatch,
    State, noted, plain_label,
};
use crate::handover::model::{
    Confirmation, Materials, More, Number, Outcome, Photo, Picture, Reservation, ReservationKind, Step, WindowRun,
    clock_on, covered, ends_on, part_of_id, when,
};
use crate::materials::product::SEALANT;
use crate::moment::{Moment, span};
use crate::plain::{count, visible};
use crate::record::{AddNote, Body, Entry, EntryId, forks};
use crate::sequence::{Ask, Basis, HoldIx};
use crate::table::grouped;

/// Evenings after which a saying that its person has not confirmed is a reservation.
const EVENINGS: usize = 2;

/// Rain this soon after gunning may have reached sealant that had not cured, where the sequence does not say how long it is
/// to be kept dry. Common practice, no source; the sealant maker's figure comes first.
const FRESH: TimeDelta = TimeDelta::hours(2);

/// A reading this old says nothing of the weather that a place was sealed in. Common practice, no source.
const READ_WITHIN: TimeDelta = TimeDelta::hours(4);

/// Different steps recorded within one minute, from which on they are named: nobody does so many at once. Common
/// practice, no source.
const AT_ONCE: usize = 5;

/// What the rules look at.
pub struct Facts<'d, 'b> {
    /// The record.
    pub book: &'b Book,
    /// Now.
    pub now: Moment,
    /// Steps done.
    pub steps: &'d [Step<'b>],
    /// Runs of windows.
    pub windows: &'d [WindowRun<'b>],
    /// Photos.
    pub photos: &'d [Photo<'b>],
    /// Batches and products.
    pub materials: &'d Materials,
    /// Hold points.
    pub holds: &'d [HoldStatus],
    /// Defects with their numbers.
    pub defects: &'d [(usize, Defect)],
    /// What people are said to have said, and how far they stand behind it.
    pub confirmations: &'d [Confirmation],
}

/// What a rule found.
struct Finding {
    what: String,
    /// What was noted of it since.
    notes: Vec<String>,
    /// Ids of the subjects; none where it is about the whole job.
    on: Vec<String>,
    entry: Option<EntryId>,
    more: More,
}

impl Finding {
    /// About the whole job.
    fn of_job(what: String, more: More) -> Self {
        Self { what, notes: Vec::new(), on: Vec::new(), entry: None, more }
    }

    /// About a subject, with the section of the appendix that shows it.
    fn on(subject: &str, what: String, entry: Option<EntryId>, evidence: &'static str) -> Self {
        Self { on: vec![subject.to_owned()], entry, ..Self::of_job(what, section(evidence)) }
    }
}

/// Every reservation, ordered by what it costs whoever signs if it turns out badly.
pub fn reservations(facts: &Facts<'_, '_>) -> Vec<Reservation> {
    let found =
        ReservationKind::VARIANTS.iter().flat_map(|kind| rule(*kind)(facts).into_iter().map(move |one| (*kind, one)));
    let subjects = &facts.book.state.subjects;
    let reservation = |(number, (kind, Finding { what, notes, mut on, entry, more }))| {
        on.sort_by_key(|id| subjects.index(id));
        let subject = (!on.is_empty()).then(|| subjects.ids_shortly(on.iter().map(String::as_str)));
        let brief = visible(&what);
        let what = std::iter::once(brief.clone()).chain(notes.iter().map(|note| visible(note)));
        let (number, what) = (Number::Reservation(number), what.collect::<Vec<_>>().join(". "));
        Reservation { number, kind, what, brief, subject, entry, on, more }
    };
    (1..).zip(found).map(reservation).collect()
}

/// What finds the reservations of a kind.
fn rule(kind: ReservationKind) -> fn(&Facts<'_, '_>) -> Vec<Finding> {
    match kind {
        ReservationKind::Concession => conceded,
        ReservationKind::Extra => extras_not_drawn,
        ReservationKind::NoPhoto => covered_without_photo,
        ReservationKind::NotConfirmed => not_confirmed,
        ReservationKind::Redo => redo_not_recorded,
        ReservationKind::Rain => rained_on,
        ReservationKind::SealedWithout => sealed_without,
        ReservationKind::Window => still_running,
        ReservationKind::HandedOn => handed_on,
        ReservationKind::Basis => not_the_makers_figure,
        ReservationKind::Papers => papers_not_held,
        ReservationKind::Product => products_not_recorded,
        ReservationKind::Batch => batches_not_named,
        ReservationKind::SecondBatch => second_batches,
        ReservationKind::Fork => forked,
        ReservationKind::Photo => flagged_photos,
        ReservationKind::PhotoPosition => same_position,
        ReservationKind::AtOnce => many_at_once,
        ReservationKind::Late => recorded_late,
        ReservationKind::Day => days_open,
    }
}

/// Where the pages say more of a subject.
fn section_of(state: &State, subject: &str) -> More {
    let part = part_of_id(state, subject);
    section(if state.job.wall(part).is_some() { format!("part-{part}") } else { "others".to_owned() })
}

fn section(id: impl Into<String>) -> More {
    More::Section(id.into())
}

/// The walls of a subject, by its id.
fn walls<'s>(state: &'s State, subject: &str) -> &'s [SubjectIx] {
    state.subjects.index(subject).map_or(&[], |index| state.subjects.walls_of(index))
}

/// What is out of tolerance or order, and may stand.
fn conceded(facts: &Facts<'_, '_>) -> Vec<Finding> {
    let mut conceded: Vec<_> =
        facts.defects.iter().filter(|(_, defect)| defect.state == DefectState::Conceded).collect();
    conceded.sort_by_key(|(number, _)| *number);
    let one = |(number, defect): &(usize, Defect)| {
        let (who, word) =
            (defect.person.as_deref().unwrap_or("Somebody"), noted(defect.noted_by.as_deref(), defect.grade));
        Finding {
            on: vec![defect.subject.clone()],
            entry: defect.ended_by.clone(),
            ..Finding::of_job(
                format!("{}. {who} let it stand{word}", defect.what),
                More::Numbered(Number::Defect(*number)),
            )
        }
    };
    conceded.into_iter().map(one).collect()
}

/// What somebody is said to have said, and has not confirmed for two evenings: one line for each person and thing said. What
/// they conceded is a reservation by itself, and says so there.
fn not_confirmed(facts: &Facts<'_, '_>) -> Vec<Finding> {
    let state = &facts.book.state;
    let open = facts.confirmations.iter().filter(|one| one.is_open()).map(|one| &one.saying);
    let open = open.filter(|saying| saying.kind != SayingKind::Conceded);
    let old = open.filter(|saying| saying.evenings(state, facts.now) >= EVENINGS);
    let mut alike: BTreeMap<(&str, SayingKind, &str), Vec<&Saying>> = BTreeMap::new();
    for saying in old {
        alike.entry((&saying.person, saying.kind, &saying.typed_by)).or_default().push(saying);
    }
    let one = |((person, kind, typist), sayings): ((&str, SayingKind, &str), Vec<&Saying>)| {
        let did = match kind {
            SayingKind::Released => "released hold points",
            SayingKind::Refused => "refused a release",
            SayingKind::Conceded => "let a defect stand",
            SayingKind::Accepted => "accepted a repair",
        };
        let typed = if person == typist { "on the crew's machine".to_owned() } else { format!("by {typist}") };
        let what = format!("{person} is said to have {did}; typed {typed}, not confirmed by {person}");
        Finding {
            on: sayings.iter().map(|saying| saying.subject.clone()).collect(),
            entry: sayings.first().map(|saying| saying.entry.clone()),
            ..Finding::of_job(what, section("vouch"))
        }
    };
    alike.into_iter().map(one).collect()
}

/// What was released and covered, and no photo shows it: one whose own notes say that it can't counts for none.
fn covered_without_photo(facts: &Facts<'_, '_>) -> Vec<Finding> {
    let state = &facts.book.state;
    let covered = covered(state, facts.holds, facts.photos);
    let lacking = covered.filter(|one| one.status.is_released() && one.photos.is_empty());
    let one = |(hold, on): (HoldIx, Vec<SubjectIx>)| {
        let what = format!("No photo shows '{}'", state.sequence().holds[hold].title);
        let on = on.into_iter().map(|on| state.subjects.get(on).to_string()).collect();
        Finding { on, ..Finding::of_job(what, section("covered")) }
    };
    grouped(lacking.map(|one| (one.hold, one.on))).into_iter().map(one).collect()
}

/// A time limit lapsed and its first step was done again, but not the work that has to come before that.
fn redo_not_recorded(facts: &Facts<'_, '_>) -> Vec<Finding> {
    let state = &facts.book.state;
    let mut found = Vec::new();
    for (place, lapsed) in facts.windows.iter().enumerate().filter(|(_, run)| run.outcome == Outcome::Lapsed) {
        let same = |run: &&WindowRun<'_>| run.subject == lapsed.subject && run.run.window.key == lapsed.run.window.key;
        let Some(again) = facts.windows[place + 1..].iter().find(same) else { continue };
        let Some(subject) = state.subjects.index(&lapsed.subject) else { continue };
        let steps = &state.sequence().steps;
        let Some(first) = steps.get(lapsed.run.window.from) else { continue };
        // What is done to the same subject, in the same stage, before the step: it comes again too.
        let before = first.after.iter().filter(|step| {
            steps[**step].on == first.on && steps[**step].stage == first.stage && state.asked_of(**step, subject)
        });
        let (from, until) = (lapsed.run.from.at, again.run.from.at);
        let lacking: Vec<&str> = before
            .filter(|step| {
                let done = state.done(**step, subject);
                !done.is_empty() && !done.iter().any(|done| from < done.at && done.at <= until)
            })
            .map(|step| steps[*step].title.as_str())
            .collect();
        if !lacking.is_empty() {
            let (window, again_title) = (&lapsed.run.window.title, &first.title);
            let (at, lacking) = (when(&until), lacking.join("' and '"));
            let what = format!("'{window}' lapsed; '{again_title}' was done again {at} without '{lacking}' before it");
            found.push(Finding::on(&lapsed.subject, what, Some(again.run.from.entry.clone()), "limits"));
        }
    }
    merged(found)
}

/// One reservation for those that say the same of several subjects.
fn merged(found: Vec<Finding>) -> Vec<Finding> {
    let mut merged: Vec<Finding> = Vec::new();
    for one in found {
        match merged.iter_mut().find(|other| other.what == one.what && other.more == one.more) {
            Some(other) => other.on.extend(one.on),
            None => merged.push(one),
        }
    }
    merged
}

/// The steps that take sealant, each with the subjects that it was done on.
fn sealed<'d, 'b>(facts: &Facts<'d, 'b>) -> impl Iterator<Item = &'d Step<'b>> {
    facts.steps.iter().filter(|step| step.answers.iter().any(|one| is_sealant(&one.ask)) || asks_sealant(facts, step))
}

fn is_sealant(ask: &Ask) -> bool {
    ask.product.as_deref() == Some(SEALANT)
}

fn asks_sealant(facts: &Facts<'_, '_>, step: &Step<'_>) -> bool {
    let sequence = facts.book.state.sequence();
    let known = sequence.step(&step.done.step).map(|index| &sequence.steps[index]);
    known.is_some_and(|known| known.asks.iter().any(|ask| is_sealant(ask)))
}

/// Rain on a wall soon after places on it were sealed: one line for all that the same rain came on, with what was noted of
/// each since.
fn rained_on(facts: &Facts<'_, '_>) -> Vec<Finding> {
    let state = &facts.book.state;
    let asked = state.sequence().sealing.as_ref().map(|sealing| sealing.dry_after);
    let asked = asked.filter(|length| *length > TimeDelta::zero());
    let dry = match asked {
        Some(length) => format!("the sequence asks for {} without rain", span(length)),
        None => "how soon the sealant stands rain is for its maker to say".to_owned(),
    };
    let rained = sealed(facts).filter_map(|step| {
        let subject = state.subjects.index(&step.done.subject)?;
        let (at, entry) = state.rain_within(subject, step.entry.happened_at, asked.unwrap_or(FRESH))?;
        Some((at, (entry, step)))
    });
    let one = |(rain, places): (Moment, Vec<(EntryId, &Step<'_>)>)| {
        let times = || places.iter().map(|(_, step)| step.entry.happened_at);
        let (first, last) = (times().min().unwrap_or(rain), times().max().unwrap_or(rain));
        let until = if first == last { String::new() } else { format!(" to {}", clock_on(&last, &first)) };
        let later = match (rain - last, rain - first) {
            (_, longest) if longest < TimeDelta::minutes(1) => "in the same minute".to_owned(),
            (shortest, longest) if shortest < TimeDelta::minutes(1) => format!("up to {} later", span(longest)),
            (shortest, longest) if shortest == longest => format!("{} later", span(longest)),
            (shortest, longest) => format!("{} to {} later", span(shortest), span(longest)),
        };
        let (sealed, at) = (when(&first), clock_on(&rain, &last));
        let what = format!("Sealed {sealed}{until}, rain {later}, at {at}; {dry}");
        let on: Vec<&String> = places.iter().map(|(_, step)| &step.done.subject).collect();
        let note = |place: &&String| {
            let (note, text) = note_since(facts.book, place, rain)?;
            Some(format!("{place}, noted by {} {}: {text}", note.by, when(&note.happened_at)))
        };
        Finding {
            notes: on.iter().filter_map(note).collect(),
            on: on.into_iter().cloned().collect(),
            entry: places.first().map(|(entry, _)| entry.clone()),
            ..Finding::of_job(what, section("conditions"))
        }
    };
    grouped(rained).into_iter().map(one).collect()
}

/// The first note about a place since a moment, in its own words: only a reader can tell what it says.
fn note_since<'b>(book: &'b Book, place: &str, since: Moment) -> Option<(&'b Entry, &'b str)> {
    let later = book.in_time().into_iter().filter(|entry| entry.happened_at > since);
    later
        .filter_map(|entry| Some((entry, note_of(book, entry)?)))
        .find_map(|(entry, note)| (note.subject == place).then(|| (entry, note.text.trim().trim_end_matches('.'))))
}

/// The note that an entry is, unless it was struck.
fn note_of<'b>(book: &Book, entry: &'b Entry) -> Option<&'b AddNote> {
    match &entry.body {
        Body::Noted(note) if !book.state.struck.contains_key(&entry.id()) => Some(note),
        _ => None,
    }
}

/// Places that were sealed with no batch named, or with no reading of the weather.
fn sealed_without(facts: &Facts<'_, '_>) -> Vec<Finding> {
    let state = &facts.book.state;
    let mut found = Vec::new();
    for step in sealed(facts) {
        let at = step.entry.happened_at;
        let named = step.answers.iter().any(|judged| is_sealant(&judged.ask));
        let read = |wall: &SubjectIx| state.readings(*wall).iter().any(|it| (it.at - at).abs() <= READ_WITHIN);
        let walls = walls(state, &step.done.subject);
        let lacking: Vec<&str> = [(!named, "no batch of sealant named"), (!walls.iter().any(read), "no weather read")]
            .into_iter()
            .filter_map(|(lacks, what)| lacks.then_some(what))
            .collect();
        if !lacking.is_empty() {
            let what = format!("{}: {}", step.title, lacking.join(", "));
            found.push(Finding::on(&step.done.subject, what, Some(step.entry.id()), "log"));
        }
    }
    merged(found)
}

/// Two batches of what is seen side by side, and what was noted of them together: one line for all walls and corners where
/// the same batches are.
fn second_batches(facts: &Facts<'_, '_>) -> Vec<Finding> {
    let state = &facts.book.state;
    let one = |second: SecondBatch| {
        let batches = second.in_words(state);
        let note = note_of_all(facts.book, &second);
        let what = match &note {
            Some(_) => batches,
            None => format!("{batches}: compare them in daylight; no note says that anybody did"),
        };
        let note = note.map(|(note, text)| format!("Noted by {} {}: {text}", note.by, when(&note.happened_at)));
        Finding {
            notes: note.into_iter().collect(),
            on: second.on.iter().map(|on| state.subjects.get(*on).to_string()).collect(),
            entry: second.raised_by.first().cloned(),
            ..Finding::of_job(what, section("materials"))
        }
    };
    state.second_batches(&facts.materials.ledger).into_iter().map(one).collect()
}

/// The newest note about one of the walls that names all of the batches, as whoever compared them writes it; in its own words, since
/// only a reader can tell what it says.
fn note_of_all<'b>(book: &'b Book, second: &SecondBatch) -> Option<(&'b Entry, String)> {
    let state = &book.state;
    let labels: Vec<String> = second.batches.iter().map(|(label, _)| plain_label(label)).collect();
    book.in_time().into_iter().rev().find_map(|entry| {
        let note = note_of(book, entry)?;
        let text = plain_label(&note.text);
        let of_note = walls(state, &note.subject);
        let here = second.on.iter().flat_map(|on| state.subjects.walls_of(*on)).any(|wall| of_note.contains(wall));
        let all = labels.iter().all(|label| text.contains(label));
        (here && all).then(|| (entry, note.text.trim().trim_end_matches('.').to_owned()))
    })
}

/// Photos that can't show what they are there to show.
fn flagged_photos(facts: &Facts<'_, '_>) -> Vec<Finding> {
    let state = &facts.book.state;
    let mut found = Vec::new();
    for photo in facts.photos {
        let number = photo.picture.map(|picture| picture.label());
        let name = number.map_or("A photo".to_owned(), |number| format!("Photo {number}"));
        let of = photo.title.map(|title| format!(" of '{title}'")).unwrap_or_default();
        let more = number.map_or_else(|| section_of(state, &photo.photo.subject), More::Numbered);
        found.extend(photo.photo.flags.iter().map(|flag| Finding {
            on: photo.subjects.clone(),
            entry: Some(photo.photo.entry.clone()),
            ..Finding::of_job(format!("{name}{of}: {flag}"), more.clone())
        }));
    }
    merged(found)
}

/// Photos of several walls with one position to the last digit: no receiver gives that twice. Common practice, no source.
fn same_position(facts: &Facts<'_, '_>) -> Vec<Finding> {
    let placed = facts.photos.iter().filter_map(|photo| Some((photo.picture?, photo.picture?.place?, photo.part)));
    let to_the_digit =
        placed.map(|(picture, place, part)| ([place.lat_deg, place.lon_deg].map(f64::to_bits), (picture, part)));
    let one = |(_, photos): ([u64; 2], Vec<(&Picture, &str)>)| {
        let parts: BTreeSet<&str> = photos.iter().map(|(_, part)| *part).collect();
        let (many, of_parts) = (count(photos.len(), "photo"), count(parts.len(), "part"));
        let what = format!(
            "{many} of {of_parts} of the building give the same position, to the last digit: it does not show where each \
             was taken"
        );
        let on = parts.iter().map(|part| (*part).to_owned()).collect();
        let more = More::Numbered(photos[0].0.label());
        (parts.len() > 1).then(|| Finding { on, ..Finding::of_job(what, more) })
    };
    grouped(to_the_digit).into_iter().filter_map(one).collect()
}

/// Measurements judged by what is common in the trade, for want of the maker's figure.
fn not_the_makers_figure(facts: &Facts<'_, '_>) -> Vec<Finding> {
    let judged =
        facts.steps.iter().flat_map(|step| step.answers).filter(|one| one.held.is_some() && one.value().is_some());
    let (mut all, mut common) = (0, 0);
    for one in judged {
        all += 1;
        common += usize::from(one.ask.basis.as_ref().is_some_and(Basis::is_common_practice));
    }
    let what =
        || format!("{common} of {} judged by common practice, not by a maker's figure", count(all, "measurement"));
    if common == 0 { Vec::new() } else { vec![Finding::of_job(what(), section("basis"))] }
}

/// Papers that the sequence asks for and the job does not hold.
fn papers_not_held(facts: &Facts<'_, '_>) -> Vec<Finding> {
    let state = &facts.book.state;
    let lacking: Vec<&str> = state.sequence().papers_lacking(&state.job).collect();
    if lacking.is_empty() {
        return Vec::new();
    }
    vec![Finding::of_job(format!("Not held by the job: {}", lacking.join("; ")), section("materials"))]
}

/// Products that were ordered or used, and batches that were used, of which no delivery is recorded.
fn products_not_recorded(facts: &Facts<'_, '_>) -> Vec<Finding> {
    let Materials { ledger, compared, .. } = facts.materials;
    let ordered = compared.iter().filter(|one| one.delivered.is_none()).map(|one| one.product.clone());
    let used = ledger.lines.iter().filter(|line| !line.kept && line.all_taken().next().is_some());
    let none_came: BTreeSet<String> = ordered.chain(used.map(|line| line.product.clone())).collect();
    // Of what was delivered, each batch that never came is named by its label.
    let strays = |line: &Line| -> Vec<String> {
        let stray = line.batches.iter().filter(|batch| batch.deliveries.is_empty() && !batch.taken.is_empty());
        stray.map(|BatchLine { batch, .. }| format!("{} {batch}", line.product)).collect()
    };
    let kept = ledger.lines.iter().filter(|line| line.kept);
    let lacking: Vec<String> = none_came.into_iter().chain(kept.flat_map(strays)).collect();
    if lacking.is_empty() {
        return Vec::new();
    }
    vec![Finding::of_job(format!("No delivery recorded of: {}", lacking.join(", ")), section("materials"))]
}

/// Places whose batch nobody named, product by product. Of sealant each sealing is named by itself.
fn batches_not_named(facts: &Facts<'_, '_>) -> Vec<Finding> {
    let subjects = &facts.book.state.subjects;
    let one = |line: &Line| {
        let on: Vec<String> = line.subjects_not_named().into_iter().map(|on| subjects.get(on).to_string()).collect();
        let what = format!("No batch named of {}", line.product);
        (!on.is_empty()).then(|| Finding { on, ..Finding::of_job(what, section("materials")) })
    };
    facts.materials.ledger.lines.iter().filter(|line| line.product != SEALANT).filter_map(one).collect()
}

/// Work beyond what was agreed: the drawings don't show it.
fn extras_not_drawn(facts: &Facts<'_, '_>) -> Vec<Finding> {
    let extras = facts.book.state.extras.iter();
    let one = |extra: &ExtraWork| {
        let (work, by) = (extra.what.trim_end_matches('.'), &extra.asked_by);
        Finding {
            on: vec![extra.subject.clone()],
            entry: Some(extra.entry.clone()),
            ..Finding::of_job(
                format!("Extra work that the drawings do not show: {work}; asked for by {by}"),
                section("extras"),
            )
        }
    };
    extras.map(one).collect()
}

/// Many different steps recorded within one minute: they were not watched one by one.
fn many_at_once(facts: &Facts<'_, '_>) -> Vec<Finding> {
    let mut minutes: BTreeMap<Moment, BTreeSet<(&str, &str)>> = BTreeMap::new();
    for step in facts.steps {
        let at = step.entry.recorded_at;
        let minute = at - TimeDelta::seconds(at.instant().timestamp().rem_euclid(60));
        minutes.entry(minute).or_default().insert((&step.done.step, step.part));
    }
    let counts = minutes.into_iter().map(|(at, steps)| (at, steps.len()));
    let many: Vec<(Moment, usize)> = counts.filter(|(_, steps)| *steps >= AT_ONCE).collect();
    let Some((at, most)) = many.iter().copied().max_by_key(|(_, steps)| *steps) else { return Vec::new() };
    let what = match many.len() {
        1 => format!("{most} steps were typed in within one minute, {}", when(&at)),
        more => format!(
            "{more} times {AT_ONCE} steps or more were typed in within one minute; the most, {most}, {}",
            when(&at)
        ),
    };
    let what = format!("{what}: their times do not show when each was done");
    vec![Finding::of_job(what, section("log"))]
}

/// Entries recorded late.
fn recorded_late(facts: &Facts<'_, '_>) -> Vec<Finding> {
    let late: Vec<&Entry> = facts.book.in_time().into_iter().filter(|entry| entry.is_late()).collect();
    let Some(first) = late.first() else { return Vec::new() };
    let many = count(late.len(), "entry");
    let what = if late.len() == 1 {
        format!(
            "{many} was recorded late: what happened {} was recorded {}",
            when(&first.happened_at),
            when(&first.recorded_at)
        )
    } else {
        format!("{many} were recorded more than a quarter of an hour after the work")
    };
    let on = late.iter().map(|entry| entry.body.subject().to_owned()).collect();
    vec![Finding { on, entry: Some(first.id()), ..Finding::of_job(what, section("late")) }]
}

/// Site days that are not closed.
fn days_open(facts: &Facts<'_, '_>) -> Vec<Finding> {
    let open = facts.book.state.days.iter().filter(|day| day.closed_at.is_none());
    let what =
        |day: &Day| format!("The site day of {} is not closed: its hours are not known", day.date.format("%-d %b %Y"));
    open.map(|day| Finding::of_job(what(day), section("people"))).collect()
}

/// Time limits that still run.
fn still_running(facts: &Facts<'_, '_>) -> Vec<Finding> {
    let (state, now) = (&facts.book.state, facts.now);
    let mut found = Vec::new();
    for run in state.runs().iter().filter(|run| run.phase(now) != Phase::Lapsed) {
        let Some(closes) = run.closes_at else { continue };
        let subject = state.subjects.get(run.subject).to_string();
        let what = format!("{} is still running, and closes {}", run.window.title, ends_on(&closes, &run.began, &now));
        found.push(Finding::on(&subject, what, None, "limits"));
    }
    found
}

/// What the crew left to somebody else, with the day by which it is to be done.
fn handed_on(facts: &Facts<'_, '_>) -> Vec<Finding> {
    let newest: BTreeMap<(&str, &str), &WindowRun<'_>> =
        facts.windows.iter().map(|it| ((it.run.window.key.as_str(), it.subject.as_str()), it)).collect();
    let left = newest.values().filter_map(|it| {
        // It may have come back: what was answered last counts.
        let done = facts.book.state.done(it.run.window.to, it.run.subject).last()?;
        let (answer, until) = it.run.handed_on(done)?;
        let what = format!("{}: {}; to be done by {}", answer.ask.prompt, answer.in_words(), until.format("%-d %b %Y"));
        Some(Finding::on(&it.subject, what, Some(done.entry.clone()), "limits"))
    });
    merged(left.collect())
}

/// Books that went apart.
fn forked(facts: &Facts<'_, '_>) -> Vec<Finding> {
    let forks = forks(&facts.book.entries);
    forks.iter().map(|fork| Finding::of_job(format!("In the record {}", fork.in_words()), section("verify"))).collect()
}
