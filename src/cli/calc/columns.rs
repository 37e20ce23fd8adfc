//! `cladlog calc columns`.

use std::path::PathBuf;

use clap::Args;

use super::bound::keep;
use crate::cli::input::{MM, read_toml};
use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::form::{List, Section, tables};
use crate::setout::columns::{Columns, Gap, Run, columns};
use crate::setout::of_job::run_of;
use crate::units::number::show;

/// Finds the joints of one wall, its columns, and the studs to add
///
/// FILE is TOML: length_mm, panel_mm, least_mm, joint_mm, studs_mm = […],
/// openings = [{from_mm, to_mm}], clear_of_opening_mm.
#[derive(Debug, Args)]
pub struct ColumnsArgs {
    /// The wall: TOML; without it the inputs are the job's
    file: Option<PathBuf>,
    /// The wall of the job: takes its inputs when no file is given
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

/// Runs the sum and prints it.
///
/// # Errors
/// [`Failure::Input`] for a file that is wrong, or where no columns fit.
pub fn run(args: &ColumnsArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let (wall, name) = match (&args.file, &args.wall) {
        (Some(file), _) => (read_toml(file, "wall", read)?, file.display().to_string()),
        (None, Some(key)) => (run_of(&site.open()?.book.state.job, key)?, format!("wall {key}")),
        (None, None) => return Err(Failure::input("give a file, or --wall KEY")),
    };
    let set_out = columns(&wall).map_err(|error| Failure::input(format!("{name}: {error}")))?;
    if let Some(key) = args.wall.as_ref().filter(|_| args.keep) {
        keep(site, "columns", key, &wall, &set_out, out)?;
    }
    if out.is_json() { out.json(&set_out) } else { print(&set_out, out) }
}

fn print(set_out: &Columns, out: &mut Out) -> Result<(), Failure> {
    let rows: Vec<Vec<String>> = set_out
        .columns
        .iter()
        .enumerate()
        .map(|(place, column)| {
            let joint = set_out.joints_mm.get(place);
            let note = joint.map_or("", |joint| {
                match (set_out.add_studs_mm.contains(joint), set_out.in_openings_mm.contains(joint)) {
                    (true, true) => "add a stud; in an opening",
                    (true, false) => "add a stud",
                    (false, true) => "in an opening",
                    (false, false) => "on a stud",
                }
            });
            vec![
                (place + 1).to_string(),
                show(column.from_mm),
                show(column.to_mm),
                show(column.to_mm - column.from_mm),
                joint.map_or_else(String::new, |joint| show(*joint)),
                note.to_owned(),
            ]
        })
        .collect();
    out.table(&["column", "from mm", "to mm", "length mm", "joint at mm", "joint"], &rows)?;
    if !set_out.add_studs_mm.is_empty() {
        let studs: Vec<String> = set_out.add_studs_mm.iter().map(|at| show(*at)).collect();
        out.line("")?;
        out.line(format!(
            "For the framer, before the wrap: add {} at {} mm.",
            studs_in_words(studs.len()),
            studs.join(", ")
        ))?;
    }
    Ok(())
}

fn studs_in_words(count: usize) -> String {
    if count == 1 { "a stud".to_owned() } else { format!("{count} studs") }
}
