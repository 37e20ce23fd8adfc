//! For whoever looks something up: the log, measurements, time limits, weather, and what limits rest on, once each.

use super::sealing;
use crate::building::SubjectIx;
use crate::day::{Judged, Reading};
use crate::handover::model::{Document, Step, WindowRun, clock_on, dew_point_c, tenth, values, when};
use crate::handover::page::{Block, Section, lines, list, section, some, table_or, text};
use crate::record::Answer;
use crate::table::grouped;
use crate::units::number::show;

/// Steps that differ in nothing but the subject, recorded at once.
type Alike<'d, 'b> = Vec<&'d Step<'b>>;

fn alike<'d, 'b>(steps: impl Iterator<Item = &'d Step<'b>>) -> Vec<Alike<'d, 'b>> {
    let mut rows: Vec<Alike> = Vec::new();
    for step in steps {
        match rows.iter_mut().rev().take(12).find(|row| row[0].is_like(step)) {
            Some(row) => row.push(step),
            None => rows.push(vec![step]),
        }
    }
    rows
}

fn subjects(document: &Document<'_>, row: &Alike<'_, '_>) -> String {
    document.state().subjects.ids_shortly(row.iter().map(|step| step.done.subject.as_str()))
}

/// "demo-7", "demo-7 to 15", "demo-7, 9" of entries of one device.
fn entries(device: &str, numbers: &[u64]) -> String {
    let run = |run: &[u64]| match run {
        [first, .., last] => format!("{first} to {last}"),
        _ => some(run.first()),
    };
    let runs = numbers.chunk_by(|one, next| one + 1 == *next).map(run).collect::<Vec<_>>().join(", ");
    format!("{device}-{runs}")
}

/// Everything that was done, in time. A plain yes is not printed, and figures stand among the measurements.
pub fn log(document: &Document<'_>) -> Section {
    let answer = |judged: &Judged| {
        let plain = judged.held != Some(false) && matches!(judged.answer, Answer::Yes(true) | Answer::File { .. });
        let figure = judged.value().is_some() && judged.held.is_some();
        let out = if judged.held == Some(false) { " (OUT)" } else { "" };
        let mark = if judged.ask.prompt.ends_with(['?', ':', '.']) { "" } else { ":" };
        (!plain && !figure).then(|| format!("{}{mark} {}{out}", judged.ask.prompt, judged.in_words()))
    };
    let what = |step: &Step| {
        let anyway = step.done.anyway.iter().map(|why| format!("RECORDED ANYWAY, although a rule stopped it: {why}"));
        let title = std::iter::once(step.title.to_owned());
        title.chain(step.answers.iter().filter_map(answer)).chain(anyway).collect::<Vec<_>>().join("\n")
    };
    let rows = alike(document.steps.iter());
    let table = table_or(
        "No step is recorded yet.",
        "Steps done",
        &rows,
        &[
            ("When", 5, &|row| {
                let (entry, began) =
                    (row[0].entry, row[0].done.began.filter(|began| *began < row[0].entry.happened_at));
                let began = began.map(|began| format!("begun {}", clock_on(&began, &entry.happened_at)));
                lines([when(&entry.happened_at), some(began), some(entry.is_late().then_some("recorded late"))])
            }),
            ("On", 6, &|row| subjects(document, row)),
            ("What was done", 14, &|row| what(row[0])),
            ("By, entry", 8, &|row| {
                let numbers: Vec<u64> = row.iter().map(|step| step.entry.seq).collect();
                format!("{}, {}", row[0].entry.by, entries(&row[0].entry.device, &numbers))
            }),
        ],
    );
    let every = text(
        "Each question that a step asks was answered yes unless the answer is printed here. Steps recorded together bear one \
         time: that of the record, not of each.",
    );
    section("log", "What was done", vec![every, table]).on_new_page()
}

/// Every figure that was measured.
pub fn measurements(document: &Document<'_>) -> Section {
    let rows = alike(document.steps.iter());
    let measured =
        rows.iter().flat_map(|row| row[0].answers.iter().enumerate().map(move |(ask, judged)| (row, ask, judged)));
    let result = |row: &Alike<'_, '_>, ask: usize, judged: &Judged| {
        let word = match judged.held {
            Some(true) => "in",
            Some(false) => "OUT",
            None => "",
        };
        // Each subject has a defect of its own.
        let defects = row.iter().filter_map(|step| step.answers[ask].defect.as_ref());
        let defects = defects.filter_map(|id| document.defect_in_words(id)).collect::<Vec<_>>().join("\n");
        lines([word.to_owned(), defects])
    };
    let basis = |judged: &Judged| judged.ask.basis.as_ref().and_then(|basis| document.basis(basis));
    let table = table_or(
        "Nothing was measured.",
        "Measurements",
        measured.filter(|(.., judged)| judged.value().is_some()),
        &[
            ("When", 5, &|(row, ..)| when(&row[0].entry.happened_at)),
            ("On", 5, &|(row, ..)| subjects(document, row)),
            ("What was measured", 14, &|(row, _, judged)| format!("{}: {}", row[0].title, judged.ask.prompt)),
            ("Measured", 3, &|(.., judged)| judged.in_words()),
            ("Allowed", 7, &|(.., judged)| judged.allowed()),
            ("Result", 4, &|(row, ask, judged)| result(row, *ask, judged)),
            ("Basis", 2, &|(.., judged)| some(basis(judged).map(|number| format!("B{number}")))),
        ],
    );
    section("measurements", "Measurements", vec![table])
}

/// Every run of a time limit, and the weather that each joint was sealed in.
pub fn time_limits(document: &Document<'_>) -> Section {
    let mut sorted: Vec<&WindowRun<'_>> = document.windows.iter().collect();
    sorted.sort_by_key(|window| window.run.began);
    let limits = table_or(
        "No time limit was begun.",
        "Time limits",
        sorted,
        &[
            ("On", 4, &|it| it.subject.clone()),
            ("Limit", 10, &|it| it.run.window.title.clone()),
            ("Began", 7, &|it| when(&it.run.began)),
            ("Allowed", 9, &|it| it.open_in_words(&it.run.began)),
            ("How it ended", 10, &|it| it.says.clone()),
            ("Basis", 2, &|it| some(document.basis(&it.run.window.basis).map(|number| format!("B{number}")))),
        ],
    );
    let mut blocks = vec![limits];
    blocks.extend(sealing::joints(document).map(Block::from));
    section("limits", "Time limits", blocks)
}

/// Every reading of the weather.
pub fn conditions(document: &Document<'_>) -> Section {
    let state = document.state();
    let degrees = |value: Option<f64>| some(value.map(|value| format!("{} °C", show(value))));
    let readings = state.subjects.indexes().flat_map(|on| state.readings(on).iter().map(move |reading| (on, reading)));
    let mut readings: Vec<(SubjectIx, &Reading)> = readings.collect();
    readings.sort_by_key(|(on, reading)| (reading.at, *on));
    // What reads the same at one time on several walls.
    let alike = readings.into_iter().map(|(on, it)| {
        let late = state.read_after_work.contains(&it.entry).then_some(it.recorded_at);
        ((it.at, &it.entry.device, values(it), late), (on, it))
    });
    let rows = grouped(alike).into_iter().map(|((.., late), on)| {
        let mut numbers: Vec<u64> = on.iter().map(|(_, it)| it.entry.seq).collect();
        numbers.dedup();
        let it = on[0].1;
        (on.into_iter().map(|(on, _)| on).collect::<Vec<_>>(), it, late, entries(&it.entry.device, &numbers))
    });
    let table = table_or(
        "No reading was taken.",
        "Site conditions as read",
        rows,
        &[
            ("When", 6, &|(_, it, late, _)| {
                let late = late.map(|at| format!("recorded {}, after the work it should have come before", when(&at)));
                lines([when(&it.at), some(late)])
            }),
            ("On", 3, &|(on, ..)| state.subjects.shortly(on)),
            ("Air", 2, &|(_, it, ..)| degrees(it.air_c)),
            ("Humidity", 2, &|(_, it, ..)| some(it.humidity_pct.map(|humidity| format!("{} %", show(humidity))))),
            ("Surface", 2, &|(_, it, ..)| degrees(it.surface_c)),
            ("Dew point", 2, &|(_, it, ..)| some(dew_point_c(it).map(|dew| format!("{} °C", show(tenth(dew)))))),
            ("Wind", 2, &|(_, it, ..)| some(it.wind_kmh.map(|wind| format!("{} km/h", show(wind))))),
            ("Rain", 2, &|(_, it, ..)| if it.rain { "RAIN" } else { "dry" }.to_owned()),
            ("Entry", 3, &|(.., entries)| entries.clone()),
        ],
    );
    section("conditions", "Weather", vec![table])
}

/// What limits and times rest on, each once.
pub fn basis(document: &Document<'_>) -> Section {
    let bases = (1..).zip(&document.bases).map(|(number, basis): (usize, _)| format!("B{number}: {basis}"));
    let blocks: Vec<Block> = list(bases).into_iter().collect();
    let blocks = if blocks.is_empty() { vec![text("No limit was used.")] } else { blocks };
    section("basis", "What the limits rest on", blocks)
}
