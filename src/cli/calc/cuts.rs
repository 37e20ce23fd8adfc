//! `cladlog calc cuts`.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use clap::Args;

use crate::cli::{COLUMNS, Failure, Out, input, table_text, visible};
use crate::materials::cuts::{self, CutPlan, CutRequest, Piece};
use crate::units::number::show;
use crate::units::parse_decimal;

/// Cut plan: least length bought, then fewest boards
#[derive(Debug, Args)]
pub struct CutsArgs {
    /// CSV with the columns label,length_mm,count
    file: PathBuf,
    /// Stock lengths in millimetres, such as 3000,3600
    #[arg(long, value_name = "MM", value_delimiter = ',', required = true, allow_hyphen_values = true)]
    stock: Vec<String>,
    /// Width of a cut in millimetres
    #[arg(long, value_name = "MM", default_value = "4", allow_hyphen_values = true)]
    kerf: String,
    /// Boards in a bundle
    #[arg(long, value_name = "BOARDS", default_value = "1", allow_hyphen_values = true)]
    bundle: String,
    /// Offcuts from this length up are kept
    #[arg(long, value_name = "MM", default_value = "300", allow_hyphen_values = true)]
    offcut: String,
    /// Time box; the best plan by then is given, with its bound
    #[arg(long, value_name = "SECONDS", default_value = "5", allow_hyphen_values = true)]
    seconds: String,
    /// Write the cut sheet for the saw: a page when FILE ends in .html, else text
    #[arg(long, value_name = "FILE")]
    sheet: Option<PathBuf>,
}

/// Runs the sum and prints it.
///
/// # Errors
/// [`Failure`]: bad input.
pub fn run(args: &CutsArgs, out: &mut Out) -> Result<(), Failure> {
    let begun = Instant::now();
    let request = request(args)?;
    let until = Duration::from_secs_f64(request.seconds);
    let plan = cuts::plan_cuts(&request, &|| begun.elapsed() >= until).map_err(|fault| match fault.line() {
        Some(line) => Failure::input(format!("{}:{line}: {fault}", args.file.display())),
        None => Failure::input(fault),
    })?;
    if let Some(file) = &args.sheet {
        write_sheet(file, args, &request, &plan)?;
    }
    if out.is_json() { out.json(&plan) } else { print(&plan, out) }
}

fn request(args: &CutsArgs) -> Result<CutRequest, Failure> {
    let option = |name: &str, text: &str, bounds: &crate::units::Bounds| {
        let value = parse_decimal(text).map_err(|fault| Failure::input(format!("--{name}: {fault}")))?;
        bounds.check(value).map_err(|fault| Failure::input(format!("--{name}: {fault}")))
    };
    let whole = |value: f64, what: &str| match value.fract() == 0.0 {
        true => Ok(value as u32),
        false => Err(format!("{what}: {} is not a whole number", show(value))),
    };
    let stock_mm = args
        .stock
        .iter()
        .map(|text| whole(option("stock", text, &cuts::STOCK)?, "--stock").map_err(Failure::input))
        .collect::<Result<Vec<u32>, Failure>>()?;
    let bundle = whole(option("bundle", &args.bundle, &cuts::BUNDLE)?, "--bundle").map_err(Failure::input)?;
    let kerf_mm = option("kerf", &args.kerf, &cuts::KERF)?;
    let offcut_mm = option("offcut", &args.offcut, &cuts::OFFCUT)?;
    let seconds = option("seconds", &args.seconds, &cuts::SECONDS)?;
    let mut pieces = Vec::new();
    for row in input::read_table(&args.file, &["label", "length_mm", "count"], &[])? {
        let number = |column: &str, bounds| {
            let value = row.decimal(column, bounds)?;
            whole(value, column).map_err(|why| row.fault(why))
        };
        pieces.push(Piece {
            label: row.text("label").to_owned(),
            length_mm: number("length_mm", &cuts::PIECE)?,
            count: number("count", &cuts::PIECES)?,
            line: row.line,
        });
    }
    Ok(CutRequest { pieces, stock_mm, kerf_mm, bundle, offcut_mm, seconds, ..CutRequest::default() })
}

fn write_sheet(file: &Path, args: &CutsArgs, request: &CutRequest, plan: &CutPlan) -> Result<(), Failure> {
    let boards = cuts::cut_sheet(plan, request.kerf_mm, request.offcut_mm).map_err(Failure::input)?;
    let title = args.file.file_stem().map_or_else(String::new, |name| visible(&name.to_string_lossy()));
    let page = file.extension().is_some_and(|end| end.eq_ignore_ascii_case("html"));
    let text = if page {
        cuts::sheet_html(&title, &boards)
    } else {
        table_text(&cuts::SHEET_HEADING, &cuts::sheet_rows(&boards), COLUMNS) + "\n"
    };
    // Written beside and moved into place: never half a sheet.
    let part = file.with_extension("part");
    let failed = |error| Failure::machine(format!("{} can't be written: {error}", file.display()));
    std::fs::write(&part, text).and_then(|()| std::fs::rename(&part, file)).map_err(failed)
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
    let bundles: Vec<String> =
        plan.bundles.iter().map(|order| format!("{} of {} mm", order.bundles, order.stock_mm)).collect();
    out.line(format!("Boards   {}, {} mm in all", plan.boards, plan.bought_mm))?;
    out.line(format!("Bundles  {}", bundles.join(", ")))?;
    out.line(format!("Waste    {} mm, of it kept as offcuts {} mm", plan.waste_mm, show(plan.kept_mm)))?;
    out.line(if plan.proven {
        "Proved: no plan buys less.".to_owned()
    } else {
        format!("Not proved: a plan that buys {} mm may exist, none buys less.", plan.lower_bound_mm)
    })
}
