//! `cladlog calc columns`.

use std::path::PathBuf;

use clap::Args;
use serde::Deserialize;

use super::bound::keep;
use super::toml_input::read_toml;
use crate::cli::site::Site;
use crate::cli::{Failure, Out};
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

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    length_mm: f64,
    panel_mm: f64,
    least_mm: f64,
    joint_mm: f64,
    #[serde(default)]
    studs_mm: Vec<f64>,
    #[serde(default)]
    openings: Vec<FileOpening>,
    clear_of_opening_mm: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FileOpening {
    from_mm: f64,
    to_mm: f64,
}

impl From<File> for Run {
    fn from(file: File) -> Self {
        Self {
            length_mm: file.length_mm,
            panel_mm: file.panel_mm,
            least_mm: file.least_mm,
            joint_mm: file.joint_mm,
            studs_mm: file.studs_mm,
            openings: file.openings.into_iter().map(|o| Gap { from_mm: o.from_mm, to_mm: o.to_mm }).collect(),
            clear_of_opening_mm: file.clear_of_opening_mm,
        }
    }
}

/// Runs the sum and prints it.
///
/// # Errors
/// [`Failure::Input`] for a file that is wrong, or where no columns fit.
pub fn run(args: &ColumnsArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let (wall, name) = match (&args.file, &args.wall) {
        (Some(file), _) => (Run::from(read_toml::<File>(file)?), file.display().to_string()),
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
