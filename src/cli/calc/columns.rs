//! `cladlog calc columns`.

use std::path::PathBuf;

use clap::Args;

use super::outcome::{Outcome, counted};
use crate::cli::failure::Failure;
use crate::cli::input::{MM, read_toml};
use crate::cli::out::{COLUMNS, table_text};
use crate::cli::site::Site;
use crate::form::{List, Section, outline, tables};
use crate::setout::columns::{Columns, Gap, Run};
use crate::setout::of_job::run_of;
use crate::units::number::show;

/// Joints and columns of one wall, and the studs to add
#[derive(Debug, Args)]
#[command(after_help = format!("\
FILE is TOML, lengths in mm from the wall's left end:
{}

Example: cladlog calc columns --wall N --keep", outline(read)))]
pub struct ColumnsArgs {
    /// The wall, as TOML
    file: Option<PathBuf>,
    /// The wall of the job; its inputs are the job's where there is no FILE
    #[arg(long, value_name = "KEY", required_unless_present = "file")]
    wall: Option<String>,
    /// Keep inputs and result in the job's record, for this wall
    #[arg(long, requires = "wall")]
    keep: bool,
}

/// The inputs as a file gives them.
fn read(f: &Section<'_>) -> Run {
    let gap = |f: &Section<'_>| Gap {
        from_mm: f.required("from_mm", MM, "left side"),
        to_mm: f.required("to_mm", MM, "right side"),
    };
    Run {
        length_mm: f.required("length_mm", MM, "length of the wall"),
        panel_mm: f.required("panel_mm", MM, "length of a whole panel"),
        least_mm: f.required("least_mm", MM, "shortest column that may be left"),
        joint_mm: f.required("joint_mm", MM, "width of a joint"),
        studs_mm: f.or_default("studs_mm", List(MM), "centres of the studs"),
        openings: f.or_default("openings", tables("opening", gap), "the openings"),
        clear_of_opening_mm: f.required("clear_of_opening_mm", MM, "how far a joint keeps clear of an opening"),
    }
}

pub fn columns(args: &ColumnsArgs, site: &Site<'_>) -> Result<Outcome, Failure> {
    let (run, name) = match (&args.file, &args.wall) {
        (Some(file), _) => (read_toml(file, "wall", read)?, file.display().to_string()),
        (None, Some(key)) => (run_of(&site.open()?.book.state.job, key)?, format!("wall {key}")),
        (None, None) => return Err(Failure::input("give a file, or --wall KEY")),
    };
    let columns = crate::setout::columns::columns(&run);
    let columns = columns.map_err(|error| Failure::input(format!("{name}: {error}")))?;
    let on = args.wall.as_deref().filter(|_| args.keep);
    Outcome::new(&columns, text(&columns))?.keep(on, "columns", &run, &columns)
}

fn text(set_out: &Columns) -> String {
    let note = |joint: &f64| match (set_out.add_studs_mm.contains(joint), set_out.in_openings_mm.contains(joint)) {
        (true, true) => "add a stud; in an opening",
        (true, false) => "add a stud",
        (false, true) => "in an opening",
        (false, false) => "on a stud",
    };
    let row = |(place, column): (usize, &Gap)| {
        let joint = set_out.joints_mm.get(place);
        let lengths = [column.from_mm, column.to_mm, column.to_mm - column.from_mm].map(show);
        let notes = [joint.map_or_else(String::new, |joint| show(*joint)), joint.map_or("", note).to_owned()];
        std::iter::once((place + 1).to_string()).chain(lengths).chain(notes).collect()
    };
    let rows: Vec<Vec<String>> = set_out.columns.iter().enumerate().map(row).collect();
    let text = table_text(&["column", "from mm", "to mm", "length mm", "joint at mm", "joint"], &rows, COLUMNS);
    let studs: Vec<String> = set_out.add_studs_mm.iter().map(|at| show(*at)).collect();
    if studs.is_empty() {
        return text;
    }
    let (count, places) = (counted(studs.len(), "stud"), studs.join(", "));
    format!("{text}\n\nFor the framer, before the wrap: add {count} at {places} mm.")
}
