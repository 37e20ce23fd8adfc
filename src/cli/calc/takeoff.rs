//! `cladlog calc takeoff`: what to order, from the job's own geometry and the plans that it has kept.

use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use super::cuts_job::{all_walls, cut_by_wall, sawing, walls_named};
use super::outcome::Outcome;
use crate::building::Subjects;
use crate::cli::failure::Failure;
use crate::cli::files::Overwrite;
use crate::cli::out::{table_text, wrapped};
use crate::cli::site::{Opened, Site};
use crate::materials::allowances::{Allowance, Measure};
use crate::materials::cuts::{CutPattern, WallCuts};
use crate::materials::of_job::{quantities_of, settings_of};
use crate::materials::takeoff::{LEFT_OUT, OfSize, TakeOff, TakeoffLine, WallQuantities, take_off, tally_sizes};
use crate::sealing::sealant::section_mm2;
use crate::setout::of_job::JobError;
use crate::setout::packing::Packing;
use crate::setout::panels::panels;
use crate::table::{Cell, csv_of};
use crate::units::Length;
use crate::units::number::{show, show_to};

/// Take-off: what to order for some walls, or for the whole job
#[derive(Debug, Args)]
#[command(after_help = "\
Counted from the job's geometry and the plans in its record; rates, packs and waste are the [[allowance]] lines of its \
sequence.

Example: cladlog calc takeoff --wall N,E --csv order.csv")]
pub struct TakeoffArgs {
    /// Walls [default: the whole job]
    #[arg(long, value_name = "KEY", value_delimiter = ',')]
    wall: Vec<String>,
    /// Also write the order for the merchant, as CSV
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// Also write every run of flashing, batten and wrap with its lengths, as CSV
    #[arg(long, value_name = "FILE")]
    lists: Option<PathBuf>,
    #[command(flatten)]
    over: Overwrite,
    /// Keep the take-off in the job's record, for one wall or the whole job
    #[arg(long)]
    keep: bool,
}

pub fn takeoff(args: &TakeoffArgs, site: &Site<'_>) -> Result<Outcome, Failure> {
    args.csv.iter().chain(&args.lists).try_for_each(|file| args.over.may_write(file))?;
    let opened = site.open()?;
    let all = all_walls(&opened);
    let walls = if args.wall.is_empty() { all.clone() } else { walls_named(&opened, &args.wall)? };
    let on = match walls.as_slice() {
        _ if walls == all => Some("job"),
        [only] => Some(only.as_str()),
        _ if args.keep => return Err(Failure::input("a take-off is kept for one wall, or for the whole job")),
        _ => None,
    };
    let mut notes = Vec::new();
    let quantities = quantities(&opened, &walls, &mut notes)?;
    let mut allowances = allowances(&opened);
    sealant_of_joints(&opened, &quantities, &mut allowances);
    let lines = take_off(&quantities, &allowances).map_err(Failure::input)?;
    let answer = TakeOff { walls: walls.clone(), lines, notes };
    let inputs = json!({ "quantities": quantities, "allowances": allowances });
    let outcome = Outcome::new(&answer, text(&answer))?;
    let outcome = args.csv.iter().fold(outcome, |outcome, file| outcome.file(file, csv(&answer.lines), args.over));
    let lists = || runs_csv(&answer.lines);
    let outcome = args.lists.iter().fold(outcome, |outcome, file| outcome.file(file, lists(), args.over));
    outcome.keep_for(on.filter(|_| args.keep), &inputs, &answer)
}

fn text(answer: &TakeOff) -> String {
    let row = |line: &TakeoffLine| {
        let needed = format!("{} {}", show_to(line.needed, 1), line.unit);
        let waste = if line.waste_pct == 0.0 { String::new() } else { format!("+{} %", show(line.waste_pct)) };
        [line.item.clone(), line.order.to_string(), line.sold_as.to_string(), needed, waste, line.rule.clone()]
    };
    let heading = ["item", "order", "sold as", "needed", "waste", "counted from"];
    let table = table_text(heading, answer.lines.iter().map(row));
    let lists = answer.lines.iter().filter(|line| !line.runs.is_empty()).flat_map(lengths_in_words);
    let lists = lists.collect::<Vec<_>>().join("\n");
    let lists = if lists.is_empty() { lists } else { format!("Lengths to cut, in mm\n{lists}\n\n") };
    let last =
        "For what each rate rests on, see --json, --csv FILE or the sequence. The makers' instructions come first.";
    let notes = answer.notes.iter().map(String::as_str).chain([LEFT_OUT, last]);
    let notes: Vec<String> = notes.map(|note| wrapped(note, 0)).collect();
    format!("To order for {}\n\n{table}\n\n{lists}{}", answer.walls.join(", "), notes.join("\n"))
}

/// What the runs of a line are cut to, wall by wall: "N: 2 x 1600, 3000 + 900". For where each goes, see --lists.
fn lengths_in_words(line: &TakeoffLine) -> Vec<String> {
    let mut walls: Vec<(&str, Vec<(String, usize)>)> = Vec::new();
    for run in &line.runs {
        let lengths = run.pieces_mm.iter().map(u32::to_string).collect::<Vec<_>>().join(" + ");
        if walls.last().is_none_or(|(wall, _)| *wall != run.wall) {
            walls.push((&run.wall, Vec::new()));
        }
        let Some((_, runs)) = walls.last_mut() else { continue };
        match runs.iter_mut().find(|(alike, _)| *alike == lengths) {
            Some((_, times)) => *times += 1,
            None => runs.push((lengths, 1)),
        }
    }
    let words = |(lengths, times): &(String, usize)| match (*times, lengths.contains('+')) {
        (1, _) => lengths.clone(),
        (times, true) => format!("{times} x ({lengths})"),
        (times, false) => format!("{times} x {lengths}"),
    };
    let of_wall = |(wall, runs): &(&str, Vec<(String, usize)>)| {
        let runs = runs.iter().map(words).collect::<Vec<_>>().join(", ");
        format!("{}, {wall}: {runs}", line.item)
    };
    walls.iter().map(|wall| wrapped(&of_wall(wall), 2)).collect()
}

/// Every run as a table for whoever cuts it.
fn runs_csv(lines: &[TakeoffLine]) -> Vec<u8> {
    let runs = lines.iter().flat_map(|line| line.runs.iter().map(move |run| (line, run)));
    csv_of(
        runs,
        &[
            ("item", &|(line, _)| (&line.item).into()),
            ("wall", &|(_, run)| (&run.wall).into()),
            ("place", &|(_, run)| (&run.place).into()),
            ("length_mm", &|(_, run)| run.length_mm.into()),
            ("pieces_mm", &|(_, run)| {
                Cell::text(run.pieces_mm.iter().map(u32::to_string).collect::<Vec<_>>().join(" + "))
            }),
            ("stop_ends", &|(_, run)| run.stop_ends.into()),
        ],
    )
}

/// The allowances of the job; boards in the bundles that it buys.
fn allowances(opened: &Opened) -> Vec<Allowance> {
    let state = &opened.book.state;
    let mut all = state.allowances().into_owned();
    // Boards that say nothing else are what the sequence hangs.
    let hung = state.sequence().products().find(|product| matches!(*product, "panel" | "plank" | "board"));
    for boards in all.iter_mut().filter(|allowance| allowance.per == Measure::Board && allowance.product.is_none()) {
        boards.product = hung.map(str::to_owned);
    }
    if let Some(table) = &state.job.fixing {
        for fixings in all.iter_mut().filter(|allowance| allowance.per == Measure::Fixing) {
            fixings.basis = state.job.source(&table.paper, &table.clause);
        }
    }
    let bundle = state.job.panel.as_ref().and_then(|panel| panel.bundle).filter(|bundle| *bundle > 1);
    if let Some(bundle) = bundle {
        for boards in all.iter_mut().filter(|allowance| allowance.per == Measure::Board) {
            boards.pack = f64::from(bundle);
            boards.sold_as = "bundle".to_owned();
            boards.basis = format!("{}; bundles of {bundle} by the job file", boards.basis);
        }
    }
    all
}

/// The sealant of a metre by the job's own joints and gaps, in the depth that C9 gives each: what the stock counts by too.
fn sealant_of_joints(opened: &Opened, quantities: &[WallQuantities], allowances: &mut [Allowance]) {
    let Some(panel) = &opened.book.state.job.panel else { return };
    let section = |width_mm: f64| section_mm2(Length::mm(width_mm)).ok();
    let openings_m: f64 = quantities.iter().map(|wall| wall.opening_sealed_m).sum();
    let sealed_m: f64 = quantities.iter().map(WallQuantities::sealed_m).sum();
    let of_openings = if openings_m > 0.0 { section(panel.gap_mm) } else { Some(0.0) };
    let Some((joint, gap)) = section(panel.joint_mm).zip(of_openings).filter(|_| sealed_m > 0.0) else { return };
    let per_m = ((sealed_m - openings_m) * joint + openings_m * gap) / sealed_m;
    let by_the_metre = |it: &&mut Allowance| it.orders("sealant") && it.per == Measure::SealedM && it.unit == "ml";
    for sealant in allowances.iter_mut().filter(by_the_metre) {
        sealant.rate = (per_m * 1e3).round() / 1e3;
        let (joint, gap) = (show(panel.joint_mm), show(panel.gap_mm));
        sealant.basis =
            format!("joints of {joint} mm and gaps of {gap} mm by the job file, as deep as calc movement says");
    }
}

/// Counts the walls; `notes` says where boards and packers come from.
fn quantities(opened: &Opened, walls: &[String], notes: &mut Vec<String>) -> Result<Vec<WallQuantities>, Failure> {
    let state = &opened.book.state;
    let mut all = Vec::with_capacity(walls.len());
    for key in walls {
        let set_out = state.set_out(key)?;
        let pieces = panels(&set_out).map_err(|error| Failure::input(format!("wall {key}: {error}")))?;
        let wall = state.job.wall(key).ok_or_else(|| JobError::NoWall(key.clone()))?;
        let framer = state.framer(key, &set_out)?;
        let mut quantities = quantities_of(&state.job, wall, walls, &set_out, &framer, &pieces);
        match state.subjects.index(key).and_then(|place| state.kept::<Packing>(place)) {
            Some(packing) => quantities.packers = packers_of(&packing),
            None => notes.push(format!("Packers for wall {key} are left out: no packing plan has been kept for it.")),
        }
        all.push(quantities);
    }
    boards(opened, walls, &mut all, notes)?;
    Ok(all)
}

/// Boards by the cut plan that is kept for the job or the wall, or else as one would cut now.
fn boards(
    opened: &Opened,
    walls: &[String],
    all: &mut Vec<WallQuantities>,
    notes: &mut Vec<String>,
) -> Result<(), Failure> {
    let state = &opened.book.state;
    let own = |key: &String| state.subjects.index(key).and_then(|place| state.kept_for::<WallCuts>(place));
    if let Some(whole) = state.kept_for::<WallCuts>(Subjects::JOB)
        && walls == all_walls(opened)
        && walls.iter().any(|key| own(key).is_none_or(|plan| plan.at < whole.at))
    {
        let boards = boards_of(&whole);
        all.push(WallQuantities { wall: "job".to_owned(), boards, ..WallQuantities::default() });
        notes.push(format!("Boards are those of the cut plan kept for the whole job as entry {}.", whole.entry));
        return Ok(());
    }
    let mut unplanned = Vec::new();
    for (key, quantities) in walls.iter().zip(all.iter_mut()) {
        match own(key) {
            Some(plan) => {
                quantities.boards = boards_of(&plan);
                notes.push(format!("Boards of wall {key} are those of the cut plan kept as entry {}.", plan.entry));
            }
            None => unplanned.push(key.clone()),
        }
    }
    if unplanned.is_empty() {
        return Ok(());
    }
    let panel = state.job.panel.as_ref().ok_or(JobError::NoPanel)?;
    for cuts in &cut_by_wall(&sawing(opened, &unplanned, settings_of(panel), false)?)? {
        if let Some(wall) = all.iter_mut().find(|wall| wall.wall == cuts.wall) {
            wall.boards = boards_of(cuts);
        }
    }
    let walls = unplanned.join(", ");
    notes.push(format!("No cut plan has been kept for {walls}: boards are worked out as if cut wall by wall today."));
    Ok(())
}

fn boards_of(cuts: &WallCuts) -> Vec<OfSize> {
    let of_pattern = |it: &CutPattern| OfSize { size_mm: f64::from(it.stock_mm), count: it.times };
    tally_sizes(cuts.plan.patterns.iter().map(of_pattern))
}

fn packers_of(packing: &Packing) -> Vec<OfSize> {
    let packers = packing.fixings.iter().filter_map(|fixing| fixing.packers_mm.as_ref()).flatten();
    tally_sizes(packers.map(|size| OfSize { size_mm: *size, count: 1 }))
}

/// The order as a table for the merchant: what and how many first.
fn csv(lines: &[TakeoffLine]) -> Vec<u8> {
    csv_of(
        lines,
        &[
            ("item", &|it| (&it.item).into()),
            ("order", &|it| it.order.into()),
            ("sold_as", &|it| Cell::text(it.sold_as.to_string())),
            ("needed", &|it| Cell::text(show(it.needed))),
            ("unit", &|it| (&it.unit).into()),
            ("waste_pct", &|it| Cell::text(show(it.waste_pct))),
            ("rule", &|it| (&it.rule).into()),
            ("basis", &|it| (&it.basis).into()),
        ],
    )
}
