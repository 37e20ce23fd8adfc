//! `cladlog calc cuts`: pieces of a file onto boards; those of the job's walls are in [`super::cuts_job`].

use std::path::{Path, PathBuf};

use clap::Args;

use super::cut_options::{CutOptions, sheet, time_limit, totals};
use super::cuts_job::plan_job;
use super::outcome::Outcome;
use super::rows::RowsArgs;
use crate::cli::failure::Failure;
use crate::cli::files::Overwrite;
use crate::cli::out::table_text;
use crate::cli::site::Site;
use crate::form::{Columns, Row};
use crate::materials::cuts::{CutPattern, CutRequest, Piece, SheetSection, cut_sheet, plan_cuts};
use crate::plain::visible;
use crate::units::number::show;

const COLUMNS: Columns = Columns { required: &["label", "length_mm", "count"], optional: &[] };

/// Cut plan: pieces onto boards, least length bought, then fewest boards
#[derive(Debug, Args)]
#[command(mut_arg("rows", |rows| rows.value_name(COLUMNS.listed())), after_help = "\
A row is a piece: its label, its length in whole mm, how many. With --wall the pieces are those of the job's walls, by \
the columns and courses in its record or as its geometry gives them; each wall starts from the offcuts of the walls \
before it, and stock, kerf, bundle and offcut are the job's own.

Example: cladlog calc cuts --row N/C1,1500,5 --row N/C2,900,3 --stock 3000,3600")]
pub struct CutsArgs {
    #[command(flatten)]
    rows: RowsArgs,
    /// Walls of the job, cut one after the other in building order
    #[arg(long, value_name = "KEY", value_delimiter = ',', group = "of_job", conflicts_with_all = ["file", "rows", "whole_job"])]
    wall: Vec<String>,
    /// All walls of the job, cut at once
    #[arg(long, group = "of_job", conflicts_with_all = ["file", "rows"])]
    whole_job: bool,
    #[command(flatten)]
    options: CutOptions,
    /// Also write the cut sheet for the saw: a page when FILE ends in .html, else text
    #[arg(long, value_name = "FILE")]
    sheet: Option<PathBuf>,
    #[command(flatten)]
    over: Overwrite,
    /// Keep inputs and result in the job's record
    #[arg(long, requires = "of_job")]
    keep: bool,
}

pub fn cuts(args: &CutsArgs, site: &Site<'_>) -> Result<Outcome, Failure> {
    args.sheet.iter().try_for_each(|sheet| args.over.may_write(sheet))?;
    if args.wall.is_empty() && !args.whole_job {
        return of_rows(args);
    }
    let walls = if args.whole_job { None } else { Some(args.wall.as_slice()) };
    let plans = plan_job(walls, &args.options, &site.open()?)?;
    let mut outcome = Outcome::new(&plans, plans.text())?.remark(plans.remarks.clone());
    if let Some(file) = &args.sheet {
        let sheet = sheet(file, &plans.job.name, &plans.sawing.settings, &plans.sections()?);
        outcome = outcome.file(file, sheet, args.over);
    }
    if args.keep { plans.keep(outcome) } else { Ok(outcome) }
}

fn of_rows(args: &CutsArgs) -> Result<Outcome, Failure> {
    let stop = time_limit(args.options.seconds);
    let piece = |row: &Row<'_>| {
        let (length_mm, count) = (row.count("length_mm")?, row.count("count")?);
        Ok(Piece { label: row.text("label").to_owned(), length_mm, count })
    };
    let rows = args.rows.read(&COLUMNS, piece)?;
    let request = CutRequest { pieces: rows.values.clone(), ..args.options.settings(CutRequest::default()) };
    let plan = plan_cuts(&request, &stop).map_err(|error| Failure::input(rows.mistake(&error)))?;
    let mut file = None;
    if let Some(path) = &args.sheet {
        let boards = cut_sheet(&plan, request.kerf_mm, request.offcut_mm, None, &|_| String::new());
        let name = args.rows.file.as_deref().and_then(Path::file_stem);
        let title = name.map_or_else(String::new, |name| visible(&name.to_string_lossy()));
        let section = SheetSection { title: String::new(), boards: boards.map_err(Failure::input)? };
        file = Some((path, sheet(path, &title, &request, &[section])));
    }
    let row = |pattern: &CutPattern| {
        let (times, stock) = (pattern.times.to_string(), pattern.stock_mm.to_string());
        [times, stock, show(pattern.offcut_mm), pattern.in_words()]
    };
    let table = table_text(["boards", "stock mm", "offcut mm", "cut from each"], plan.patterns.iter().map(row));
    let outcome = Outcome::new(&plan, format!("{table}\n\n{}", totals(&plan)))?;
    Ok(file.into_iter().fold(outcome, |outcome, (path, text)| outcome.file(path, text, args.over)))
}
