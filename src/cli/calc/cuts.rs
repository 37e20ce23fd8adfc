//! `cladlog calc cuts`.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use clap::Args;

use super::cuts_job;
use crate::cli::files::{Overwrite, write_whole};
use crate::cli::site::Site;
use crate::cli::{COLUMNS, Failure, Out, input, table_text, visible, wrapped};
use crate::materials::cuts::{self, CutPlan, CutRequest, Piece, SheetSection};
use crate::units::number::show;
use crate::units::{Bounds, parse_decimal};

/// Cut plan: least length bought, then fewest boards
///
/// With FILE the pieces are those of the file. With --wall they are those of
/// the job's walls, by the columns and courses that the job has kept or as
/// its geometry gives them; each wall starts from the offcuts of the walls
/// before it. Stock, kerf, bundle and offcut are then the job's own.
#[derive(Debug, Args)]
pub struct CutsArgs {
    /// CSV with the columns label,length_mm,count
    #[arg(required_unless_present_any = ["wall", "whole_job"])]
    file: Option<PathBuf>,
    /// Walls of the job, cut one after the other in building order
    #[arg(long, value_name = "KEY", value_delimiter = ',', conflicts_with_all = ["file", "whole_job"])]
    pub(super) wall: Vec<String>,
    /// All walls of the job, cut at once
    #[arg(long, conflicts_with = "file")]
    pub(super) whole_job: bool,
    /// Stock lengths in millimetres, such as 3000,3600
    #[arg(
        long,
        value_name = "MM",
        value_delimiter = ',',
        required_unless_present_any = ["wall", "whole_job"],
        allow_hyphen_values = true
    )]
    stock: Vec<String>,
    /// Width of a cut in millimetres [default: 4]
    #[arg(long, value_name = "MM", allow_hyphen_values = true)]
    kerf: Option<String>,
    /// What squaring takes off one end of each board [default: 0]
    #[arg(long, value_name = "MM", allow_hyphen_values = true)]
    square: Option<String>,
    /// Boards in a bundle [default: 1]
    #[arg(long, value_name = "BOARDS", allow_hyphen_values = true)]
    bundle: Option<String>,
    /// Offcuts from this length up are kept [default: 300]
    #[arg(long, value_name = "MM", allow_hyphen_values = true)]
    offcut: Option<String>,
    /// Time box; the best plan by then is given, with its bound
    #[arg(long, value_name = "SECONDS", default_value = "5", allow_hyphen_values = true)]
    seconds: String,
    /// Write the cut sheet for the saw: a page when FILE ends in .html, else text
    #[arg(long, value_name = "FILE")]
    pub(super) sheet: Option<PathBuf>,
    #[command(flatten)]
    over: Overwrite,
    /// Keep inputs and result in the job's record
    #[arg(long, conflicts_with = "file")]
    pub(super) keep: bool,
}

/// Runs the sum and prints it.
///
/// # Errors
/// [`Failure`]: bad input.
pub fn run(args: &CutsArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let begun = Instant::now();
    args.sheet.iter().try_for_each(|sheet| args.over.may_write(sheet))?;
    let Some(file) = &args.file else { return cuts_job::run(args, site, out) };
    let request = CutRequest { pieces: pieces_in(file)?, ..args.settings(CutRequest::default())? };
    let until = Duration::from_secs_f64(request.seconds);
    let plan = cuts::plan_cuts(&request, &|| begun.elapsed() >= until).map_err(|error| match error.line() {
        Some(line) => Failure::input(format!("{}:{line}: {error}", file.display())),
        None => Failure::input(error),
    })?;
    if let Some(sheet) = &args.sheet {
        let boards = cuts::cut_sheet(&plan, request.kerf_mm, request.offcut_mm, None, &|_| String::new());
        let title = file.file_stem().map_or_else(String::new, |name| visible(&name.to_string_lossy()));
        let section = SheetSection { title: String::new(), boards: boards.map_err(Failure::input)? };
        write_sheet(sheet, &title, &request, &[section])?;
    }
    if out.is_json() { out.json(&plan) } else { print(&plan, out) }
}

impl CutsArgs {
    /// The options over what is usual, or what the job says.
    pub(super) fn settings(&self, usual: CutRequest) -> Result<CutRequest, Failure> {
        let option = |name: &str, text: &str, bounds: &Bounds| {
            let value = parse_decimal(text).map_err(|error| Failure::input(format!("--{name}: {error}")))?;
            bounds.check(value).map_err(|error| Failure::input(format!("--{name}: {error}")))
        };
        let given = |name: &str, text: &Option<String>, bounds: &Bounds, usual: f64| match text {
            Some(text) => option(name, text, bounds),
            None => Ok(usual),
        };
        let stock_mm = self
            .stock
            .iter()
            .map(|text| whole(option("stock", text, &cuts::STOCK)?, "--stock").map_err(Failure::input))
            .collect::<Result<Vec<u32>, Failure>>()?;
        let bundle = given("bundle", &self.bundle, &cuts::BUNDLE, f64::from(usual.bundle))?;
        Ok(CutRequest {
            stock_mm: if stock_mm.is_empty() { usual.stock_mm } else { stock_mm },
            kerf_mm: given("kerf", &self.kerf, &cuts::KERF, usual.kerf_mm)?,
            square_mm: given("square", &self.square, &cuts::SQUARE, usual.square_mm)?,
            bundle: whole(bundle, "--bundle").map_err(Failure::input)?,
            offcut_mm: given("offcut", &self.offcut, &cuts::OFFCUT, usual.offcut_mm)?,
            seconds: option("seconds", &self.seconds, &cuts::SECONDS)?,
            ..CutRequest::default()
        })
    }
}

fn whole(value: f64, what: &str) -> Result<u32, String> {
    match value.fract() == 0.0 {
        true => Ok(value as u32),
        false => Err(format!("{what}: {} is not a whole number", show(value))),
    }
}

fn pieces_in(file: &Path) -> Result<Vec<Piece>, Failure> {
    let mut pieces = Vec::new();
    for row in input::read_table(file, &["label", "length_mm", "count"], &[])? {
        let number = |column: &str, bounds| {
            let value = row.decimal(column, bounds)?;
            whole(value, column).map_err(|why| row.error(why))
        };
        pieces.push(Piece {
            label: row.text("label").to_owned(),
            length_mm: number("length_mm", &cuts::PIECE)?,
            count: number("count", &cuts::PIECES)?,
            line: row.line,
        });
    }
    Ok(pieces)
}

/// Writes the sheet for the saw: a page when the name ends in `.html`, else text.
pub(super) fn write_sheet(
    file: &Path,
    title: &str,
    request: &CutRequest,
    sections: &[SheetSection],
) -> Result<(), Failure> {
    let mut before = String::new();
    if request.square_mm > 0.0 {
        before = format!("Square one end of each new board: {} mm off. ", show(request.square_mm));
    }
    before.push_str(
        "Measure from the squared end. Cut outdoors or with extraction, as the maker says. Seal every cut edge \
         before the piece goes up, then tick.",
    );
    let page = file.extension().is_some_and(|end| end.eq_ignore_ascii_case("html"));
    let text = if page {
        cuts::sheet_html(title, &before, sections)
    } else {
        let mut text = wrapped(&format!("Cut sheet: {title}. {before}"), 0, COLUMNS).join("\n") + "\n";
        for section in sections {
            let heading = if section.title.is_empty() { String::new() } else { format!("\n{}\n", section.title) };
            text += &format!(
                "{heading}\n{}\n",
                table_text(&cuts::SHEET_HEADING, &cuts::sheet_rows(&section.boards), COLUMNS)
            );
        }
        text
    };
    write_whole(file, text.as_bytes())
}

fn print(plan: &CutPlan, out: &mut Out) -> Result<(), Failure> {
    let rows: Vec<Vec<String>> = plan
        .patterns
        .iter()
        .map(|pattern| {
            vec![pattern.times.to_string(), pattern.stock_mm.to_string(), show(pattern.offcut_mm), pattern.in_words()]
        })
        .collect();
    out.table(&["boards", "stock mm", "offcut mm", "cut from each"], &rows)?;
    out.line("")?;
    print_sums(plan, out)
}

/// What is bought, wasted and proved.
pub(super) fn print_sums(plan: &CutPlan, out: &mut Out) -> Result<(), Failure> {
    let bundles: Vec<String> =
        plan.bundles.iter().map(|order| format!("{} of {} mm", order.bundles, order.stock_mm)).collect();
    out.line(format!("Boards   {}, {} mm in all", plan.boards, plan.bought_mm))?;
    out.line(format!("Bundles  {}", if bundles.is_empty() { "none".to_owned() } else { bundles.join(", ") }))?;
    out.line(format!("Waste    {} mm, of it kept as offcuts {} mm", plan.waste_mm, show(plan.kept_mm)))?;
    out.line(if plan.proven {
        "Proved: no plan buys less.".to_owned()
    } else {
        format!("Not proved: a plan that buys {} mm may exist, none buys less.", plan.lower_bound_mm)
    })
}
