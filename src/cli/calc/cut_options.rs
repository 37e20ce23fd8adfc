//! What cut plans have in common: the saw, the time limit, the sheet, the totals.

use std::path::Path;
use std::time::{Duration, Instant};

use clap::Args;

use crate::cli::out::{table_text, wrapped};
use crate::materials::cuts::{CutPlan, CutRequest, SHEET_HEADING, SheetSection, sheet_html, sheet_rows};
use crate::units::number::show;
use crate::units::{parse_count, parse_decimal};

#[derive(Debug, Args)]
pub struct CutOptions {
    /// Stock lengths, in whole mm, such as 3000,3600
    #[arg(long, value_name = "MM", value_delimiter = ',', value_parser = parse_count)]
    #[arg(required_unless_present_any = ["wall", "whole_job"])]
    pub stock: Vec<u32>,
    /// Width of a cut, in mm [default: 4]
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    kerf: Option<f64>,
    /// What squaring takes off one end of each board, in mm [default: 0]
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    square: Option<f64>,
    /// Boards in a bundle [default: 1]
    #[arg(long, value_name = "BOARDS", value_parser = parse_count)]
    bundle: Option<u32>,
    /// Offcuts from this length up are kept, in mm [default: 300]
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    offcut: Option<f64>,
    /// Time limit; the best plan by then is given, with its lower bound
    #[arg(long, value_name = "SECONDS", default_value = "5", value_parser = parse_decimal)]
    pub seconds: f64,
}

impl CutOptions {
    /// The options over what is usual, or what the job says.
    pub fn settings(&self, usual: CutRequest) -> CutRequest {
        CutRequest {
            stock_mm: if self.stock.is_empty() { usual.stock_mm } else { self.stock.clone() },
            kerf_mm: self.kerf.unwrap_or(usual.kerf_mm),
            square_mm: self.square.unwrap_or(usual.square_mm),
            bundle: self.bundle.unwrap_or(usual.bundle),
            offcut_mm: self.offcut.unwrap_or(usual.offcut_mm),
            seconds: self.seconds,
            ..CutRequest::default()
        }
    }
}

/// Whether the time is up, from now on; a limit that can't be is refused by the sum.
pub fn time_limit(seconds: f64) -> impl Fn() -> bool {
    let (begun, limit) = (Instant::now(), Duration::try_from_secs_f64(seconds).unwrap_or(Duration::ZERO));
    move || begun.elapsed() >= limit
}

/// The sheet for the saw: a page when the name of its file ends in `.html`, else text.
pub fn sheet(file: &Path, title: &str, request: &CutRequest, sections: &[SheetSection]) -> String {
    let mut before = String::new();
    if request.square_mm > 0.0 {
        before = format!("Square one end of each new board: {} mm off. ", show(request.square_mm));
    }
    before.push_str(
        "Measure from the squared end. Cut outdoors or with extraction, as the maker says. Seal every cut edge \
         before the piece goes up, then tick.",
    );
    if file.extension().is_some_and(|end| end.eq_ignore_ascii_case("html")) {
        return sheet_html(title, &before, sections);
    }
    let title = if title.is_empty() { "Cut sheet".to_owned() } else { format!("Cut sheet: {title}") };
    let mut text = wrapped(&format!("{title}. {before}"), 0) + "\n";
    for section in sections {
        let heading = if section.title.is_empty() { String::new() } else { format!("\n{}\n", section.title) };
        let table = table_text(SHEET_HEADING, sheet_rows(&section.boards));
        text += &format!("{heading}\n{table}\n");
    }
    text
}

/// What is bought, wasted and proved.
pub fn totals(plan: &CutPlan) -> String {
    let bundles: Vec<String> =
        plan.bundles.iter().map(|order| format!("{} of {} mm", order.bundles, order.stock_mm)).collect();
    let bundles = if bundles.is_empty() { "none".to_owned() } else { bundles.join(", ") };
    let (boards, bought, waste, kept) = (plan.boards, plan.bought_mm, plan.waste_mm, show(plan.kept_mm));
    let proof = match plan.proven {
        true => "Proven: by length no plan buys less.".to_owned(),
        false => format!("Not proven; no plan can buy less than {} mm.", plan.lower_bound_mm),
    };
    format!(
        "Boards   {boards}, {bought} mm in total\nBundles  {bundles}\nWaste    {waste} mm, {kept} mm of it in offcuts that \
         are kept\n{proof}"
    )
}
