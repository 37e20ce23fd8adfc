//! What comes first: the verdict, what is missing, counts, hold points and defects.

use crate::day::{Defect, DefectState, HoldStatus};
use crate::handover::model::{Confirmation, Document, Outcome, Reservation, when};
use crate::handover::page::{Block, Section, lines, list, section, some, table, table_or, text};
use crate::plain::count;
use crate::record::EntryId;
use crate::units::number::show;

/// The sentence at the top.
pub fn verdict(document: &Document<'_>) -> String {
    let reservations = &document.reservations;
    if document.is_complete() {
        let done = "every step is done, every hold point is released and no defect is open";
        return match reservations.first() {
            None => format!("COMPLETE, without reservations: {done}."),
            Some(first) => format!(
                "COMPLETE, WITH {}: {done}. The first: {}.",
                count(reservations.len(), "RESERVATION").replace("RESERVATIONs", "RESERVATIONS"),
                in_a_line(first)
            ),
        };
    }
    let many = document.missing.len();
    let listed = if many == 1 { "It is" } else { "They are" };
    format!("NOT COMPLETE: {} outstanding. {listed} listed first.", count(many, "item"))
}

fn in_a_line(reservation: &Reservation) -> String {
    let on = reservation.subject.as_ref().map(|subject| format!("{subject}: ")).unwrap_or_default();
    format!("{on}{}", reservation.what)
}

/// The reservations; no section where there are none.
pub fn reservations(document: &Document<'_>) -> Option<Section> {
    let line = |(number, one): (usize, &Reservation)| {
        let entry = one.entry.as_ref().map(|entry| format!(" (entry {entry})")).unwrap_or_default();
        format!("{number}. {}{entry}.", in_a_line(one))
    };
    let lines = list((1..).zip(&document.reservations).map(line))?;
    let about = text(
        "What the record itself knows that speaks against taking the job as it stands. Whoever accepts the job takes \
         these over, or has them cleared first.",
    );
    Some(section("reservations", "Reservations", vec![about, lines]))
}

/// What every page of a rehearsal says, so that nobody takes it for the real thing.
pub const REHEARSAL: &str =
    "REHEARSAL: this record was written with a set clock, for training or testing. It is not evidence.";

/// The first thing that a copy without names says.
pub fn withheld(document: &Document<'_>) -> Option<String> {
    let many = count(document.withheld, "name");
    let is = if document.withheld == 1 { "is" } else { "are" };
    (document.withheld > 0).then(|| {
        format!(
            "COPY FOR READING: {many} {is} withheld; roles are shown instead. The record names people and can't be \
             changed, so it is not in this copy, and nobody can verify it. The crew has the whole pack."
        )
    })
}

pub fn withheld_section(document: &Document<'_>) -> Option<Section> {
    let text = withheld(document)?;
    Some(section("withheld", "Names are withheld", vec![Block::Note { text }]))
}

/// What is missing, and what else to note; no section where there is neither.
pub fn missing(document: &Document<'_>) -> Option<Section> {
    let mut blocks = Vec::new();
    blocks.extend(table(
        "Missing",
        &document.missing,
        &[
            ("What", 6, &|one| one.what.clone()),
            ("Where", 3, &|one| one.on.clone()),
            ("Status", 3, &|one| one.status.clone()),
        ],
    ));
    if let Some(remarks) = list(&document.remarks) {
        blocks.push(text("Also note:"));
        blocks.push(remarks);
    }
    let title = if document.is_complete() { "Read first" } else { "What is missing" };
    (!blocks.is_empty()).then(|| section("missing", title, blocks))
}

/// Counts.
pub fn glance(document: &Document<'_>) -> Section {
    let (book, state) = (document.book, document.state());
    let and = |many: usize, what: &str| if many == 0 { String::new() } else { format!("; {many} {what}") };
    let and_counted =
        |many: usize, one: &str| if many == 0 { String::new() } else { format!("; {}", count(many, one)) };
    let defects = |wanted: DefectState| state.defects.iter().filter(|defect| defect.state == wanted).count();
    let work: Vec<(usize, usize)> = state.work().collect();
    let complete = work.iter().filter(|(step, subject)| state.complete(*step, *subject, document.made_at)).count();
    let windows =
        |outcomes: &[Outcome]| document.windows.iter().filter(|window| outcomes.contains(&window.outcome)).count();
    let answers = document.steps.iter().flat_map(|step| step.answers);
    let judged: Vec<bool> = answers.filter(|one| one.value().is_some()).filter_map(|one| one.held).collect();
    let late = book.in_time().iter().filter(|entry| entry.is_late()).count();
    // Not -0 where nobody worked.
    let hours = state.days.iter().flat_map(|day| day.hours.values()).fold(0.0, |sum, hours| sum + hours);
    let holds: Vec<&HoldStatus> = document.holds.iter().filter(|hold| hold.dropped_by.is_none()).collect();
    let released = holds.iter().filter(|hold| hold.is_released()).count();
    let facts = [
        ("Steps", format!("{complete} of {} complete", work.len())),
        ("Hold points", format!("{released} of {} released", holds.len())),
        (
            "Defects",
            match state.defects.len() {
                0 => "none opened".to_owned(),
                all => format!(
                    "{all} opened: {} open, {} put right, {} conceded{}",
                    defects(DefectState::Open),
                    defects(DefectState::Closed),
                    defects(DefectState::Conceded),
                    and(defects(DefectState::Void), "void")
                ),
            },
        ),
        (
            "Time limits",
            format!(
                "{} started: {} kept{}{}{}",
                document.windows.len(),
                windows(&[Outcome::Met]),
                and(windows(&[Outcome::Lapsed, Outcome::Again]), "lapsed or restarted"),
                and(windows(&[Outcome::Early, Outcome::Late]), "broken"),
                and(windows(&[Outcome::Running]), "running")
            ),
        ),
        (
            "Measurements",
            format!(
                "{} checked against a tolerance, {} out when first measured",
                judged.len(),
                judged.iter().filter(|held| !**held).count()
            ),
        ),
        (
            "Record",
            format!("{}: {late} recorded late, {} struck", count(book.entries.len(), "entry"), state.struck.len()),
        ),
        (
            "Work",
            format!(
                "{} on site, {} hours{}{}",
                count(state.days.len(), "day"),
                show(hours),
                and_counted(state.stoppages.len(), "stoppage"),
                and_counted(state.extras.len(), "extra")
            ),
        ),
    ];
    let facts = facts.into_iter().map(|(term, value)| (term.to_owned(), value)).collect();
    section("glance", "At a glance", vec![Block::Facts { facts }])
}

/// Who typed it, where that is not the person in whose name it stands, and how far they stand behind it.
fn as_noted(document: &Document<'_>, entry: &EntryId) -> Option<String> {
    document.confirmations.iter().find(|one| one.entry == *entry).map(Confirmation::in_words)
}

/// Hold points, and who released them.
pub fn holds(document: &Document<'_>) -> Section {
    let who = |hold: &HoldStatus| match (&hold.person, &hold.role) {
        (Some(person), Some(role)) => format!("{person} ({role})"),
        (Some(person), None) => person.clone(),
        (None, _) => format!("nobody yet; to be released by {}", hold.roles.join(" or ")),
    };
    let how = |hold: &HoldStatus| match &hold.dropped_by {
        Some(by) => {
            let before = some(hold.how.as_ref().map(|how| format!("{} then: {how}; ", hold.state.word())));
            format!("{before}dropped from the sequence by entry {by}")
        }
        None if hold.after_work => {
            let recorded = some(hold.recorded_at.as_ref().map(when));
            format!("{}; recorded {recorded}, after the work it should have come before", some(hold.how.as_ref()))
        }
        None => some(hold.how.as_ref()),
    };
    let table = table_or(
        "This sequence has no hold points.",
        "Hold points and who released them",
        &document.holds,
        &[
            ("Hold point", 8, &|hold| hold.title.clone()),
            ("On", 3, &|hold| hold.subject.clone()),
            ("State", 5, &|hold| match hold.dropped_by {
                Some(_) => "DROPPED".to_owned(),
                None => hold.state.word().to_uppercase(),
            }),
            ("By whom, when", 7, &|hold| {
                let noted = hold.entry.as_ref().and_then(|entry| as_noted(document, entry));
                lines([who(hold), some(noted), some(hold.at.as_ref().map(when))])
            }),
            ("How", 8, &|hold| {
                lines([
                    how(hold),
                    some(hold.evidence.as_ref().map(|evidence| format!("Evidence: {evidence}"))),
                    some(hold.asked_at.as_ref().map(|asked| format!("Asked for {}", when(asked)))),
                    some(hold.entry.as_ref().map(|entry| format!("Entry {entry}"))),
                ])
            }),
        ],
    );
    section("holds", "Hold points", vec![table])
}

/// The defects and how each ended, open ones first.
pub fn defects(document: &Document<'_>) -> Section {
    let ended = |defect: &Defect| {
        let state = match defect.state {
            DefectState::Open => "OPEN",
            DefectState::Conceded => "CONCEDED",
            DefectState::Closed => "PUT RIGHT",
            DefectState::Void => "VOID",
        };
        let by = some(defect.person.as_ref().map(|person| format!(" by {person}")));
        let entry = defect.ended_by.as_ref().map(|entry| format!("entry {entry}"));
        let when: Vec<String> = defect.ended_at.as_ref().map(when).into_iter().chain(entry).collect();
        let noted = defect.ended_by.as_ref().and_then(|entry| as_noted(document, entry));
        lines([format!("{state}{by}"), some(noted), some(defect.how.as_ref()), when.join(", ")])
    };
    let table = table_or(
        "No defect was opened.",
        "Defects and concessions, open ones first",
        &document.defects,
        &[
            ("No.", 2, &|(number, _)| number.to_string()),
            ("On", 4, &|(_, defect)| defect.subject.clone()),
            ("What was wrong", 14, &|(_, defect)| {
                lines([
                    defect.what.clone(),
                    format!("Opened {}, entry {}", when(&defect.opened_at), defect.opened_by()),
                ])
            }),
            ("How it ended", 10, &|(_, defect)| ended(defect)),
        ],
    );
    section("defects", "Defects and concessions", vec![table])
}
