//! What the record knows that whoever accepts the work should know too.
//!
//! Each rule is a function of its own; [`reservations`] asks them all, those first that would cost most.

use std::collections::{BTreeMap, BTreeSet};

use chrono::TimeDelta;

use crate::day::{
    BatchLine, Book, Day, Defect, DefectState, ExtraWork, HoldStatus, Line, Phase, Saying, SayingKind, SecondBatch,
    State, noted, plain_label,
};
use crate::handover::model::{
    Confirmation, Materials, More, Number, Outcome, Photo, Picture, Reservation, Step, WindowRun, clock_on, covered,
    part_of_id, when,
};
use crate::materials::product::SEALANT;
use crate::moment::{Moment, span};
use crate::plain::{count, visible};
use crate::record::{Body, Entry, EntryId, forks};
use crate::sequence::{Ask, Basis};
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

/// Every reservation, ordered by what it costs whoever signs if it turns out badly (docs/pack.md).
pub fn reservations(facts: &Facts<'_, '_>) -> Vec<Reservation> {
    let rules: [fn(&Facts<'_, '_>) -> Vec<Reservation>; 19] = [
        // It stands against the drawings or without them: the consent itself is in question.
        conceded,
        extras_not_drawn,
        // It is covered, without a photo or on the word of somebody who has not confirmed it: to look again is to open the
        // wall.
        covered_without_photo,
        not_confirmed,
        // It may let water in, and a joint is cut out and sealed again.
        redo_not_recorded,
        rained_on,
        sealed_without,
        still_running,
        // It may cost the warranty.
        not_the_makers_figure,
        papers_not_held,
        products_not_recorded,
        batches_not_named,
        // It may show.
        second_batches,
        // The record itself proves less than it seems to.
        forked,
        flagged_photos,
        same_position,
        many_at_once,
        recorded_late,
        days_open,
    ];
    let mut all: Vec<Reservation> = rules.iter().flat_map(|rule| rule(facts)).collect();
    let subjects = &facts.book.state.subjects;
    for (number, one) in (1..).zip(&mut all) {
        one.number = Number::Reservation(number);
        one.on.sort_by_key(|id| subjects.index(id));
        one.what = visible(&one.what);
        one.subject = (!one.on.is_empty()).then(|| subjects.ids_shortly(one.on.iter().map(String::as_str)));
    }
    all
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
fn walls<'s>(state: &'s State, subject: &str) -> &'s [usize] {
    state.subjects.index(subject).map_or(&[], |index| state.subjects.walls_of(index))
}

/// About the whole job; its number and the short form of where it is are written when all of them are known.
fn of_job(kind: &'static str, what: String, more: More) -> Reservation {
    Reservation { number: Number::Reservation(0), kind, what, subject: None, entry: None, on: Vec::new(), more }
}

/// About a subject, with the section of the appendix that shows it.
fn of_subject(
    kind: &'static str,
    what: String,
    subject: &str,
    entry: Option<EntryId>,
    evidence: &'static str,
) -> Reservation {
    Reservation { on: vec![subject.to_owned()], entry, ..of_job(kind, what, section(evidence)) }
}

/// What is out of tolerance or order, and may stand.
fn conceded(facts: &Facts<'_, '_>) -> Vec<Reservation> {
    let mut conceded: Vec<_> =
        facts.defects.iter().filter(|(_, defect)| defect.state == DefectState::Conceded).collect();
    conceded.sort_by_key(|(number, _)| *number);
    let one = |(number, defect): &(usize, Defect)| {
        let (who, word) =
            (defect.person.as_deref().unwrap_or("Somebody"), noted(defect.noted_by.as_deref(), defect.grade));
        Reservation {
            on: vec![defect.subject.clone()],
            entry: defect.ended_by.clone(),
            ..of_job(
                "concession",
                format!("{}. {who} let it stand{word}", defect.what),
                More::Numbered(Number::Defect(*number)),
            )
        }
    };
    conceded.into_iter().map(one).collect()
}

/// What somebody is said to have said, and has not confirmed for two evenings: one line for each person and thing said. What
/// they conceded is a reservation by itself, and says so there.
fn not_confirmed(facts: &Facts<'_, '_>) -> Vec<Reservation> {
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
        Reservation {
            on: sayings.iter().map(|saying| saying.subject.clone()).collect(),
            entry: sayings.first().map(|saying| saying.entry.clone()),
            ..of_job("not-confirmed", what, section("vouch"))
        }
    };
    alike.into_iter().map(one).collect()
}

/// What was released and covered, and no photo shows it: one whose own notes say that it can't counts for none.
fn covered_without_photo(facts: &Facts<'_, '_>) -> Vec<Reservation> {
    let state = &facts.book.state;
    let covered = covered(state, facts.holds, facts.photos);
    let lacking = covered.filter(|one| one.status.is_released() && one.photos.is_empty());
    let one = |(hold, on): (usize, Vec<usize>)| {
        let what = format!("No photo shows '{}'", state.sequence().holds[hold].title);
        let on = on.into_iter().map(|on| state.subjects.get(on).to_string()).collect();
        Reservation { on, ..of_job("no-photo", what, section("covered")) }
    };
    grouped(lacking.map(|one| (one.hold, one.on))).into_iter().map(one).collect()
}

/// A time limit lapsed and its first step was done again, but not the work that has to come before that.
fn redo_not_recorded(facts: &Facts<'_, '_>) -> Vec<Reservation> {
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
            found.push(of_subject("redo", what, &lapsed.subject, Some(again.run.from.entry.clone()), "limits"));
        }
    }
    merged(found)
}

/// One reservation for those that say the same of several subjects.
fn merged(found: Vec<Reservation>) -> Vec<Reservation> {
    let mut merged: Vec<Reservation> = Vec::new();
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

/// Rain on a wall soon after a place on it was sealed.
fn rained_on(facts: &Facts<'_, '_>) -> Vec<Reservation> {
    let state = &facts.book.state;
    let mut found = Vec::new();
    let asked = state.sequence().sealing.as_ref().map(|sealing| sealing.dry_after);
    let asked = asked.filter(|length| *length > TimeDelta::zero());
    let dry = match asked {
        Some(length) => format!("the sequence asks for {} without rain", span(length)),
        None => "how soon the sealant stands rain is for its maker to say".to_owned(),
    };
    for step in sealed(facts) {
        let at = step.entry.happened_at;
        let Some(subject) = state.subjects.index(&step.done.subject) else { continue };
        if let Some((rained, entry)) = state.rain_within(subject, at, asked.unwrap_or(FRESH)) {
            let (sealed, later, rained) = (when(&at), span(rained - at), clock_on(&rained, &at));
            let what = format!("Sealed {sealed}, rain {later} later, at {rained}; {dry}");
            found.push(of_subject("rain", what, &step.done.subject, Some(entry), "conditions"));
        }
    }
    merged(found)
}

/// Places that were sealed with no batch named, or with no reading of the weather.
fn sealed_without(facts: &Facts<'_, '_>) -> Vec<Reservation> {
    let state = &facts.book.state;
    let mut found = Vec::new();
    for step in sealed(facts) {
        let at = step.entry.happened_at;
        let named = step.answers.iter().any(|judged| is_sealant(&judged.ask));
        let read = |wall: &usize| state.readings(*wall).iter().any(|it| (it.at - at).abs() <= READ_WITHIN);
        let walls = walls(state, &step.done.subject);
        let lacking: Vec<&str> = [(!named, "no batch of sealant named"), (!walls.iter().any(read), "no weather read")]
            .into_iter()
            .filter_map(|(lacks, what)| lacks.then_some(what))
            .collect();
        if !lacking.is_empty() {
            let what = format!("{}: {}", step.title, lacking.join(", "));
            found.push(of_subject("sealed-without", what, &step.done.subject, Some(step.entry.id()), "log"));
        }
    }
    merged(found)
}

/// Two batches of what is seen side by side, and what was noted of them together.
fn second_batches(facts: &Facts<'_, '_>) -> Vec<Reservation> {
    let state = &facts.book.state;
    let one = |second: SecondBatch| {
        let batches = second.in_words(state);
        let what = match note_of_all(facts.book, &second) {
            Some((note, text)) => format!("{batches}. Noted by {} {}: {text}", note.by, when(&note.happened_at)),
            None => format!("{batches}: compare them side by side in daylight; no note says that anybody did"),
        };
        Reservation {
            on: vec![state.subjects.get(second.wall).to_string()],
            entry: second.raised_by.first().cloned(),
            ..of_job("second-batch", what, section("materials"))
        }
    };
    state.second_batches(&facts.materials.ledger).into_iter().map(one).collect()
}

/// The newest note about the wall that names all of its batches, as whoever compared them writes it; in its own words, since
/// only a reader can tell what it says.
fn note_of_all<'b>(book: &'b Book, second: &SecondBatch) -> Option<(&'b Entry, String)> {
    let state = &book.state;
    let labels: Vec<String> = second.batches.iter().map(|(label, _)| plain_label(label)).collect();
    book.in_time().into_iter().rev().find_map(|entry| {
        let Body::Noted(note) = &entry.body else { return None };
        let text = plain_label(&note.text);
        let here = walls(state, &note.subject).contains(&second.wall) && !state.struck.contains_key(&entry.id());
        let all = labels.iter().all(|label| text.contains(label));
        (here && all).then(|| (entry, note.text.trim().trim_end_matches('.').to_owned()))
    })
}

/// Photos that can't show what they are there to show.
fn flagged_photos(facts: &Facts<'_, '_>) -> Vec<Reservation> {
    let state = &facts.book.state;
    let mut found = Vec::new();
    for photo in facts.photos {
        let number = photo.picture.map(|picture| picture.label());
        let name = number.map_or("A photo".to_owned(), |number| format!("Photo {number}"));
        let of = photo.title.map(|title| format!(" of '{title}'")).unwrap_or_default();
        let more = number.map_or_else(|| section_of(state, &photo.photo.subject), More::Numbered);
        found.extend(photo.photo.flags.iter().map(|flag| Reservation {
            on: photo.subjects.clone(),
            entry: Some(photo.photo.entry.clone()),
            ..of_job("photo", format!("{name}{of}: {flag}"), more.clone())
        }));
    }
    merged(found)
}

/// Photos of several walls with one position to the last digit: no receiver gives that twice. Common practice, no source.
fn same_position(facts: &Facts<'_, '_>) -> Vec<Reservation> {
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
        (parts.len() > 1).then(|| Reservation { on, ..of_job("photo-position", what, more) })
    };
    grouped(to_the_digit).into_iter().filter_map(one).collect()
}

/// Measurements judged by what is common in the trade, for want of the maker's figure.
fn not_the_makers_figure(facts: &Facts<'_, '_>) -> Vec<Reservation> {
    let judged =
        facts.steps.iter().flat_map(|step| step.answers).filter(|one| one.held.is_some() && one.value().is_some());
    let (mut all, mut common) = (0, 0);
    for one in judged {
        all += 1;
        common += usize::from(one.ask.basis.as_ref().is_some_and(Basis::is_common_practice));
    }
    let what =
        || format!("{common} of {} judged by common practice, not by a maker's figure", count(all, "measurement"));
    if common == 0 { Vec::new() } else { vec![of_job("basis", what(), section("basis"))] }
}

/// Papers that the sequence asks for and the job does not hold.
fn papers_not_held(facts: &Facts<'_, '_>) -> Vec<Reservation> {
    let state = &facts.book.state;
    let lacking: Vec<&str> = state.sequence().papers_lacking(&state.job).collect();
    if lacking.is_empty() {
        return Vec::new();
    }
    vec![of_job("papers", format!("Not held by the job: {}", lacking.join("; ")), section("materials"))]
}

/// Products that were ordered or used, and batches that were used, of which no delivery is recorded.
fn products_not_recorded(facts: &Facts<'_, '_>) -> Vec<Reservation> {
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
    vec![of_job("product", format!("No delivery recorded of: {}", lacking.join(", ")), section("materials"))]
}

/// Places whose batch nobody named, product by product. Of sealant each sealing is named by itself.
fn batches_not_named(facts: &Facts<'_, '_>) -> Vec<Reservation> {
    let subjects = &facts.book.state.subjects;
    let one = |line: &Line| {
        let on: Vec<String> = line.subjects_not_named().into_iter().map(|on| subjects.get(on).to_string()).collect();
        let what = format!("No batch named of {}", line.product);
        (!on.is_empty()).then(|| Reservation { on, ..of_job("batch", what, section("materials")) })
    };
    facts.materials.ledger.lines.iter().filter(|line| line.product != SEALANT).filter_map(one).collect()
}

/// Work beyond what was agreed: the drawings don't show it.
fn extras_not_drawn(facts: &Facts<'_, '_>) -> Vec<Reservation> {
    let extras = facts.book.state.extras.iter();
    let one = |extra: &ExtraWork| {
        let (work, by) = (extra.what.trim_end_matches('.'), &extra.asked_by);
        Reservation {
            on: vec![extra.subject.clone()],
            entry: Some(extra.entry.clone()),
            ..of_job(
                "extra",
                format!("Extra work that the drawings do not show: {work}; asked for by {by}"),
                section("extras"),
            )
        }
    };
    extras.map(one).collect()
}

/// Many different steps recorded within one minute: they were not watched one by one.
fn many_at_once(facts: &Facts<'_, '_>) -> Vec<Reservation> {
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
    vec![of_job("at-once", what, section("log"))]
}

/// Entries recorded late.
fn recorded_late(facts: &Facts<'_, '_>) -> Vec<Reservation> {
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
    vec![Reservation { on, entry: Some(first.id()), ..of_job("late", what, section("late")) }]
}

/// Site days that are not closed.
fn days_open(facts: &Facts<'_, '_>) -> Vec<Reservation> {
    let open = facts.book.state.days.iter().filter(|day| day.closed_at.is_none());
    let what =
        |day: &Day| format!("The site day of {} is not closed: its hours are not known", day.date.format("%-d %b %Y"));
    open.map(|day| of_job("day", what(day), section("people"))).collect()
}

/// Time limits that still run.
fn still_running(facts: &Facts<'_, '_>) -> Vec<Reservation> {
    let (state, now) = (&facts.book.state, facts.now);
    let mut found = Vec::new();
    for run in state.runs().iter().filter(|run| run.phase(now) != Phase::Lapsed) {
        let Some(closes) = run.closes_at else { continue };
        let subject = state.subjects.get(run.subject).to_string();
        let what = format!("{} is still running, and closes {}", run.window.title, clock_on(&closes, &now));
        found.push(of_subject("window", what, &subject, None, "limits"));
    }
    found
}

/// Books that went apart.
fn forked(facts: &Facts<'_, '_>) -> Vec<Reservation> {
    let forks = forks(&facts.book.entries);
    forks.iter().map(|fork| of_job("fork", format!("In the record {}", fork.in_words()), section("verify"))).collect()
}
