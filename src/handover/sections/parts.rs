//! Each wall, the whole building and the corners: steps, measurements, time limits and site conditions.

use super::{photos, sealing};
use crate::day::{Judged, Reading};
use crate::handover::model::paths::{set_out_drawing, wall_drawing};
use crate::handover::model::{Document, Part, Step, WindowRun, clock_on, dew_point_c, part_of_id, tenth, when};
use crate::handover::page::{Block, Section, lines, list, section, some, table, table_or, text};
use crate::plain::visible;
use crate::sequence::Basis;
use crate::units::number::show;

/// A section for each wall, then the whole building, then the corners.
pub fn parts(document: &Document<'_>) -> Vec<Section> {
    let walls = document.walls().map(|(number, _, part)| of_part(document, part, Some(number)));
    let others = document.parts.iter().filter(|part| part.wall.is_none());
    walls.chain(others.map(|part| of_part(document, part, None))).collect()
}

fn of_part(document: &Document<'_>, part: &Part<'_>, wall: Option<usize>) -> Section {
    let steps: Vec<&Step> = document.steps.iter().filter(|step| step.part == part.key).collect();
    let alike = alike(&steps);
    let windows: Vec<&WindowRun> = document.windows.iter().filter(|window| window.part == part.key).collect();
    let mut blocks = Vec::new();
    if let Some(number) = wall {
        blocks.push(Block::Drawing { file: wall_drawing(number, part.key) });
        if part.set_out.is_some() {
            blocks.push(Block::Drawing { file: set_out_drawing(number, part.key) });
        }
    }
    blocks.extend(open_defects(document, part));
    blocks.push(steps_table(document, &alike));
    blocks.extend(photos::block(document, part.key));
    blocks.extend(measurements(document, &alike));
    blocks.extend(time_limits(document, &windows));
    blocks.extend(sealing::joints_of(document, part.key));
    blocks.extend(conditions(document, part));
    let answers = steps.iter().flat_map(|step| step.answers).filter_map(|judged| judged.ask.basis.as_ref());
    let bases: Vec<&Basis> = answers.chain(windows.iter().map(|window| &window.run.window.basis)).collect();
    let named = (1..).zip(&document.bases).filter(|(_, basis)| bases.contains(*basis));
    if let Some(named) = list(named.map(|(number, basis)| format!("B{number}: {basis}"))) {
        blocks.push(text("Basis of the limits:"));
        blocks.push(named);
    }
    section(format!("part-{}", part.key), part.title.clone(), blocks)
}

fn open_defects(document: &Document<'_>, part: &Part<'_>) -> Option<Block> {
    let of_part = document
        .defects
        .iter()
        .filter(|(_, one)| one.is_open() && part_of_id(document.state(), &one.subject) == part.key);
    let lines: Vec<String> =
        of_part.map(|(number, one)| format!("Open defect {number} on {}: {}", one.subject, one.what)).collect();
    (!lines.is_empty()).then(|| Block::Note { text: visible(&lines.join("\n")) })
}

/// Steps that differ in nothing but the subject, recorded at once.
type Alike<'d, 'b> = Vec<&'d Step<'b>>;

fn alike<'d, 'b>(steps: &[&'d Step<'b>]) -> Vec<Alike<'d, 'b>> {
    let mut rows: Vec<Alike> = Vec::new();
    for step in steps {
        match rows.iter_mut().rev().take(6).find(|row| row[0].is_like(step)) {
            Some(row) => row.push(step),
            None => rows.push(vec![step]),
        }
    }
    rows
}

fn subjects(document: &Document<'_>, row: &Alike<'_, '_>) -> String {
    document.state().subjects.ids_shortly(row.iter().map(|step| step.done.subject.as_str()))
}

/// "demo-7", "demo-7 to 15", "demo-7, 9": all are of one device.
fn entries(row: &Alike<'_, '_>) -> String {
    let run = |run: &[&Step<'_>]| match run {
        [first, .., last] => format!("{} to {}", first.entry.seq, last.entry.seq),
        _ => some(run.first().map(|step| step.entry.seq)),
    };
    let runs = row.chunk_by(|one, next| one.entry.seq + 1 == next.entry.seq).map(run).collect::<Vec<_>>().join(", ");
    format!("{}-{runs}", row[0].entry.device)
}

fn steps_table(document: &Document<'_>, rows: &[Alike<'_, '_>]) -> Block {
    let answer = |judged: &Judged| {
        let out = if judged.held == Some(false) { " (OUT)" } else { "" };
        let mark = if judged.ask.prompt.ends_with(['?', ':', '.']) { "" } else { ":" };
        format!("{}{mark} {}{out}", judged.ask.prompt, judged.in_words())
    };
    let what = |step: &Step| {
        let anyway = step.done.anyway.iter().map(|why| format!("RECORDED ANYWAY, although a rule stopped it: {why}"));
        let title = std::iter::once(step.title.to_owned());
        title.chain(step.answers.iter().map(answer)).chain(anyway).collect::<Vec<_>>().join("\n")
    };
    table_or(
        "Nothing is recorded here yet.",
        "Steps done",
        rows,
        &[
            ("When", 6, &|row| {
                let late = if row[0].entry.is_late() { "recorded late" } else { "" };
                lines([when(&row[0].entry.happened_at), late.to_owned()])
            }),
            ("On", 5, &|row| subjects(document, row)),
            ("What was done, and the answers", 15, &|row| what(row[0])),
            ("By, entry", 6, &|row| lines([row[0].entry.by.clone(), entries(row)])),
        ],
    )
}

fn measurements(document: &Document<'_>, rows: &[Alike<'_, '_>]) -> Option<Block> {
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
    table(
        "Measurements",
        measured.filter(|(.., judged)| judged.value().is_some()),
        &[
            ("When", 3, &|(row, ..)| when(&row[0].entry.happened_at)),
            ("On", 2, &|(row, ..)| subjects(document, row)),
            ("What was measured", 5, &|(row, _, judged)| format!("{}: {}", row[0].title, judged.ask.prompt)),
            ("Measured", 2, &|(.., judged)| judged.in_words()),
            ("Allowed", 2, &|(.., judged)| judged.allowed()),
            ("Result", 2, &|(row, ask, judged)| result(row, *ask, judged)),
            ("Basis", 1, &|(.., judged)| some(basis(judged).map(|number| format!("B{number}")))),
        ],
    )
}

fn time_limits(document: &Document<'_>, windows: &[&WindowRun<'_>]) -> Option<Block> {
    let mut sorted = windows.to_vec();
    sorted.sort_by_key(|window| window.run.began);
    table(
        "Time limits",
        sorted,
        &[
            ("On", 4, &|it| it.subject.clone()),
            ("Limit", 8, &|it| it.run.window.title.clone()),
            ("Began", 8, &|it| when(&it.run.began)),
            ("Opened", 5, &|it| clock_on(&it.run.opens_at, &it.run.began)),
            ("Closed", 8, &|it| some(it.run.closes_at.map(|at| clock_on(&at, &it.run.began)))),
            ("Done", 5, &|it| some(it.run.answered.map(|done| clock_on(&done.at, &it.run.began)))),
            ("How it ended", 10, &|it| it.says.clone()),
            ("Basis", 4, &|it| some(document.basis(&it.run.window.basis).map(|number| format!("B{number}")))),
        ],
    )
}

fn conditions(document: &Document<'_>, part: &Part<'_>) -> Option<Block> {
    let state = document.state();
    let readings: &[Reading] = state.subjects.index(part.key).map_or(&[], |index| state.readings(index));
    table(
        "Site conditions measured on this wall",
        readings,
        &[
            ("When", 4, &|it| {
                let late = state.read_after_work.contains(&it.entry);
                let late = late
                    .then(|| format!("recorded {}, after the work it should have come before", when(&it.recorded_at)));
                lines([when(&it.at), some(late)])
            }),
            ("Air", 2, &|it| some(it.air_c.map(|air| format!("{} °C", show(air))))),
            ("Humidity", 2, &|it| some(it.humidity_pct.map(|humidity| format!("{} %", show(humidity))))),
            ("Surface", 2, &|it| some(it.surface_c.map(|surface| format!("{} °C", show(surface))))),
            ("Dew point", 2, &|it| some(dew_point_c(it).map(|dew| format!("{} °C", show(tenth(dew)))))),
            ("Wind", 2, &|it| some(it.wind_kmh.map(|wind| format!("{} km/h", show(wind))))),
            ("Rain", 2, &|it| if it.rain { "RAIN" } else { "dry" }.to_owned()),
            ("Entry", 3, &|it| it.entry.to_string()),
        ],
    )
}
