//! The tables of the pack as CSV: one row a record, units in the headings, times as RFC 3339.

use super::costs;
use super::document::{Answered, Document};
use super::pack::PackError;
use crate::moment::Moment;

/// Every table: its path in the pack and its bytes.
pub(super) fn tables(document: &Document) -> Result<Vec<(String, Vec<u8>)>, PackError> {
    let all = [
        ("steps", steps(document)),
        ("measurements", measurements(document)),
        ("readings", readings(document)),
        ("windows", windows(document)),
        ("joints", super::sealing::joints_csv(document)),
        ("batches", super::materials::batches_csv(document)),
        ("ordered_used", super::materials::compared_csv(document)),
        ("takeoff", super::ordered::takeoff_csv(document)),
        ("cuts", super::ordered::cuts_csv(document)),
        ("holds", holds(document)),
        ("defects", defects(document)),
        ("entries", entries(document)),
        ("hours", hours(document)),
        ("cautions", cautions(document)),
        ("photos", super::photo_pages::rows(document)),
    ];
    let all = all.into_iter().chain(costs::tables(document));
    all.map(|(name, rows)| Ok((format!("tables/{name}.csv"), csv_text(&rows)?))).collect()
}

/// Rows as comma-separated values, the headings first; formulas are disarmed.
///
/// # Errors
/// [`PackError::Csv`].
pub fn csv_text(rows: &[Vec<String>]) -> Result<Vec<u8>, PackError> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    for row in rows {
        writer.write_record(row.iter().map(|cell| guarded(cell))).map_err(|error| PackError::Csv(error.to_string()))?;
    }
    writer.into_inner().map_err(|error| PackError::Csv(error.to_string()))
}

/// A cell that a spreadsheet would run as a formula gets an apostrophe in front; numbers stay numbers.
pub(super) fn guarded(cell: &str) -> String {
    let risky = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
    let digits = cell.strip_prefix(['+', '-']).unwrap_or(cell);
    let number = digits.starts_with(|c: char| c.is_ascii_digit()) && cell.parse::<f64>().is_ok();
    // A table is read on a terminal as well: control characters are shown, never obeyed.
    let shown = crate::plain::visible(cell);
    if risky && !number { format!("'{shown}") } else { shown }
}

fn heading(columns: &[&str]) -> Vec<Vec<String>> {
    vec![columns.iter().map(|column| (*column).to_owned()).collect()]
}

fn time(moment: &Option<Moment>) -> String {
    moment.as_ref().map(Moment::to_string).unwrap_or_default()
}

fn or_empty(text: &Option<String>) -> String {
    text.clone().unwrap_or_default()
}

fn number(value: f64) -> String {
    value.to_string()
}

fn yes(flag: bool) -> String {
    if flag { "yes" } else { "no" }.to_owned()
}

fn steps(document: &Document) -> Vec<Vec<String>> {
    let mut rows = heading(&["entry", "happened_at", "by", "subject", "step", "title", "late", "anyway"]);
    rows.extend(document.steps.iter().map(|step| {
        vec![
            step.entry.clone(),
            step.at.to_string(),
            step.by.clone(),
            step.subject.clone(),
            step.step.clone(),
            step.title.clone(),
            yes(step.late),
            or_empty(&step.anyway),
        ]
    }));
    rows
}

/// Every answer, measured or said.
fn measurements(document: &Document) -> Vec<Vec<String>> {
    let mut rows = heading(&[
        "entry",
        "happened_at",
        "subject",
        "step",
        "ask",
        "question",
        "value",
        "unit",
        "answer",
        "allowed",
        "within_tolerance",
        "basis",
        "defect",
        "file_sha256",
    ]);
    let basis = |answer: &Answered| {
        let line = answer.basis.and_then(|number| document.bases.get(number.checked_sub(1)?));
        line.cloned().unwrap_or_default()
    };
    for step in &document.steps {
        rows.extend(step.answers.iter().map(|answer| {
            vec![
                step.entry.clone(),
                step.at.to_string(),
                step.subject.clone(),
                step.step.clone(),
                answer.ask.clone(),
                answer.prompt.clone(),
                answer.value.map(number).unwrap_or_default(),
                answer.unit.to_owned(),
                answer.answer.clone(),
                answer.allowed.clone(),
                answer.within.map(yes).unwrap_or_default(),
                basis(answer),
                or_empty(&answer.defect),
                or_empty(&answer.sha256),
            ]
        }));
    }
    rows
}

fn readings(document: &Document) -> Vec<Vec<String>> {
    let mut rows = heading(&[
        "entry",
        "happened_at",
        "wall",
        "air_c",
        "humidity_pct",
        "surface_c",
        "dew_point_c",
        "wind_kmh",
        "rain",
    ]);
    rows.extend(document.readings.iter().map(|reading| {
        vec![
            reading.entry.clone(),
            reading.at.to_string(),
            reading.subject.clone(),
            number(reading.air_c),
            number(reading.humidity_pct),
            number(reading.surface_c),
            reading.dew_point_c.map(number).unwrap_or_default(),
            reading.wind_kmh.map(number).unwrap_or_default(),
            yes(reading.rain),
        ]
    }));
    rows
}

fn windows(document: &Document) -> Vec<Vec<String>> {
    let mut rows = heading(&[
        "window",
        "title",
        "subject",
        "from_entry",
        "began_at",
        "opens_at",
        "closes_at",
        "answered_at",
        "to_entry",
        "spoiled_at",
        "state",
        "says",
        "basis",
    ]);
    rows.extend(document.windows.iter().map(|window| {
        vec![
            window.key.clone(),
            window.title.clone(),
            window.subject.clone(),
            window.from_entry.clone(),
            window.began_at.to_string(),
            window.opens_at.to_string(),
            time(&window.closes_at),
            time(&window.answered_at),
            or_empty(&window.to_entry),
            time(&window.spoiled_at),
            window.state.to_owned(),
            window.says.clone(),
            window.basis.checked_sub(1).and_then(|at| document.bases.get(at)).cloned().unwrap_or_default(),
        ]
    }));
    rows
}

fn holds(document: &Document) -> Vec<Vec<String>> {
    let mut rows =
        heading(&["hold", "title", "subject", "state", "person", "role", "at", "how", "evidence", "asked_at", "entry"]);
    rows.extend(document.holds.iter().map(|hold| {
        vec![
            hold.key.clone(),
            hold.title.clone(),
            hold.subject.clone(),
            hold.state.to_owned(),
            or_empty(&hold.person),
            or_empty(&hold.role),
            time(&hold.at),
            or_empty(&hold.how),
            or_empty(&hold.evidence),
            time(&hold.asked_at),
            or_empty(&hold.entry),
        ]
    }));
    rows
}

fn defects(document: &Document) -> Vec<Vec<String>> {
    let mut rows = heading(&[
        "number",
        "id",
        "subject",
        "rule",
        "what",
        "state",
        "opened_by",
        "opened_at",
        "how",
        "person",
        "ended_at",
        "ended_by",
    ]);
    rows.extend(document.defects.iter().map(|defect| {
        vec![
            defect.number.to_string(),
            defect.id.clone(),
            defect.subject.clone(),
            or_empty(&defect.rule),
            defect.what.clone(),
            defect.state.to_owned(),
            defect.opened_by.clone(),
            defect.opened_at.to_string(),
            or_empty(&defect.how),
            or_empty(&defect.person),
            time(&defect.ended_at),
            or_empty(&defect.ended_by),
        ]
    }));
    rows
}

fn entries(document: &Document) -> Vec<Vec<String>> {
    let mut rows =
        heading(&["id", "happened_at", "recorded_at", "by", "kind", "subject", "what", "late", "struck_by", "hash"]);
    rows.extend(document.log.iter().map(|entry| {
        vec![
            entry.id.clone(),
            entry.happened_at.to_string(),
            entry.recorded_at.to_string(),
            entry.by.clone(),
            entry.kind.clone(),
            entry.subject.clone(),
            entry.what.clone(),
            yes(entry.late),
            or_empty(&entry.struck_by),
            entry.hash.clone(),
        ]
    }));
    rows
}

fn hours(document: &Document) -> Vec<Vec<String>> {
    let mut rows = heading(&["date", "person", "since", "hours"]);
    for day in &document.days {
        rows.extend(day.crew.iter().map(|person| {
            vec![
                day.date.clone(),
                person.name.clone(),
                person.since.to_string(),
                person.hours.map(number).unwrap_or_default(),
            ]
        }));
    }
    rows
}

fn cautions(document: &Document) -> Vec<Vec<String>> {
    let mut rows = heading(&["date", "caution", "title", "person", "acknowledged_at"]);
    rows.extend(document.cautions.iter().map(|one| {
        vec![one.date.clone(), one.caution.clone(), one.title.clone(), one.person.clone(), one.at.to_string()]
    }));
    rows
}

#[cfg(test)]
mod tests {
    use super::guarded;

    #[test]
    fn formulas_are_disarmed_and_numbers_are_not() {
        for (cell, wanted) in [
            ("=1+1", "'=1+1"),
            ("+cmd|' /C calc'!A0", "'+cmd|' /C calc'!A0"),
            ("-2+3", "'-2+3"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("\tx", "'\tx"),
            // A return is shown for what it is, and still guarded.
            ("\rx", "'\u{fffd}x"),
            ("-inf", "'-inf"),
            ("-2.5", "-2.5"),
            ("+3", "+3"),
            ("-2e3", "-2e3"),
            ("2-1", "2-1"),
            ("", ""),
            ("'=x", "'=x"),
        ] {
            assert_eq!(guarded(cell), wanted);
        }
    }
}
