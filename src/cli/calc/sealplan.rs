//! `cladlog calc sealplan`.

use std::path::PathBuf;
use std::time::{Duration, Instant};

use clap::Args;
use serde::Serialize;

use crate::cli::{Failure, Out, input};
use crate::moment::{Moment, rfc3339_option, serialize_rfc3339};
use crate::sealing::plan::{Day, Effort, Plan, Stint, drawing, plan, read_toml};

/// Timetable for the sealing day: every joint that gets primed is sealed inside its window
#[derive(Debug, Args)]
#[command(after_help = "\
The file gives from, until, crew (2 where not given), tape_off_within_min, [window], [rates], rain, \
[[wall]] with sun, and [[joint]]. Joints that don't fit are left unprimed and named.")]
pub struct SealplanArgs {
    /// The day as a TOML file
    file: PathBuf,
    /// Also draw the timetable into this SVG file
    #[arg(long, value_name = "FILE.svg")]
    drawing: Option<PathBuf>,
}

/// The search counts its steps and ends by itself; this only keeps a slow computer from being waited for.
const PATIENCE: Duration = Duration::from_secs(10);

#[derive(Serialize)]
struct JointRow<'a> {
    id: &'a str,
    #[serde(serialize_with = "serialize_rfc3339")]
    mask_at: Moment,
    #[serde(serialize_with = "serialize_rfc3339")]
    prime_at: Moment,
    #[serde(serialize_with = "serialize_rfc3339")]
    gun_at: Moment,
    #[serde(serialize_with = "serialize_rfc3339")]
    tape_off_at: Moment,
    #[serde(serialize_with = "serialize_rfc3339")]
    done_at: Moment,
    #[serde(skip_serializing_if = "Option::is_none")]
    primed_by: Option<usize>,
    gunned_by: usize,
}

#[derive(Serialize)]
struct LeftRow<'a> {
    id: &'a str,
    why: &'a str,
}

#[derive(Serialize)]
struct Answer<'a> {
    joints: Vec<JointRow<'a>>,
    left_out: Vec<LeftRow<'a>>,
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "rfc3339_option")]
    finish_at: Option<Moment>,
    proven: bool,
}

/// Runs the sum and prints it.
///
/// # Errors
/// [`Failure`]: bad input with its line, or a drawing that can't be written.
pub fn run(args: &SealplanArgs, out: &mut Out) -> Result<(), Failure> {
    let text = input::read_text(&args.file)?;
    let day = read_toml(&text).map_err(|faults| {
        let file = args.file.display();
        let lines = faults.iter().map(|fault| format!("{file}:{fault}")).collect::<Vec<_>>();
        Failure::input(lines.join("\n"))
    })?;
    let begun = Instant::now();
    let plan = plan(&day, Effort::default(), &mut || begun.elapsed() > PATIENCE);
    if let Some(file) = &args.drawing {
        let name = file.display();
        std::fs::write(file, drawing(&day, &plan))
            .map_err(|error| Failure::machine(format!("{name}: can't be written: {error}")))?;
    }
    if out.is_json() { out.json(&answer(&day, &plan)) } else { print(&day, &plan, out) }
}

fn answer<'a>(day: &'a Day, plan: &'a Plan) -> Answer<'a> {
    let id = |joint: usize| day.joints.get(joint).map_or("", |joint| joint.id.as_str());
    let joints = plan.joints.iter().map(|joint| JointRow {
        id: id(joint.joint),
        mask_at: day.moment(joint.mask_at),
        prime_at: day.moment(joint.prime_at),
        gun_at: day.moment(joint.gun_at),
        tape_off_at: day.moment(joint.tape_off_at),
        done_at: day.moment(joint.done_at),
        primed_by: joint.primed_by,
        gunned_by: joint.gunned_by,
    });
    let left_out = plan.left_out.iter().map(|left| LeftRow { id: id(left.joint), why: &left.why });
    Answer {
        joints: joints.collect(),
        left_out: left_out.collect(),
        finish_at: plan.finish().map(|minute| day.moment(minute)),
        proven: plan.proven,
    }
}

fn print(day: &Day, plan: &Plan, out: &mut Out) -> Result<(), Failure> {
    let today = day.origin.date_naive();
    let clock = |minute: i32| crate::moment::clock(&day.moment(minute), today);
    let id = |joint: usize| day.joints.get(joint).map_or("", |joint| joint.id.as_str()).to_owned();
    for person in 1..=day.crew {
        let stints = plan.stints(day, person);
        if stints.is_empty() {
            continue;
        }
        out.line(format!("Person {person}"))?;
        let row = |stint: &Stint| {
            let Stint { from, to, task, joint } = *stint;
            vec![clock(from), clock(to), task.word().to_owned(), id(joint)]
        };
        out.table(&["from", "to", "task", "joint"], &stints.iter().map(row).collect::<Vec<_>>())?;
        out.line("")?;
    }
    let (sealed, all) = (plan.joints.len(), day.joints.len());
    match plan.finish() {
        Some(finish) => out.line(format!("{sealed} of {all} joints sealed, finished at {}.", clock(finish)))?,
        None => out.line(format!("0 of {all} joints sealed: nothing can be planned."))?,
    }
    if !plan.left_out.is_empty() {
        out.line("")?;
        out.line("Left out: do not prime these")?;
        let rows = plan.left_out.iter().map(|left| vec![id(left.joint), left.why.clone()]);
        out.table(&["joint", "why"], &rows.collect::<Vec<_>>())?;
    }
    Ok(())
}
