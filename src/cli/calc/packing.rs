//! `cladlog calc packing`.

use std::path::PathBuf;

use clap::Args;

use super::bound::keep;
use super::packing_asked::ask_readings;
use crate::cli::input::read_table;
use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::setout::of_job::JobError;
use crate::setout::packing::{Fixing, MOST_READING_MM, Packing, PackingRules, pack};
use crate::units::number::show;
use crate::units::{Bounds, bounds, parse_decimal};

/// How far a stud face may stand off the line and still be a reading, not a slip.
pub(super) const READING: Bounds =
    Bounds { what: "reading", unit: "mm", least: -MOST_READING_MM, most: MOST_READING_MM };

/// Finds the plane that needs least packing, and the packers for each fixing
///
/// FILE has a row a fixing: stud_mm, height_mm, reading_mm (+ proud of the
/// line). Without FILE, at a terminal, it asks stud by stud.
#[derive(Debug, Args)]
pub struct PackingArgs {
    /// Readings: CSV with stud_mm, height_mm, reading_mm
    file: Option<PathBuf>,
    /// How far a packed face may stand from the plane, in mm
    #[arg(long, value_name = "MM", default_value = "1", value_parser = parse_decimal, allow_negative_numbers = true)]
    flat: f64,
    /// How far the plane may lean, in mm a metre of height
    #[arg(long, value_name = "MM", default_value = "2", value_parser = parse_decimal, allow_negative_numbers = true)]
    lean: f64,
    /// How far the plane may run off the line, in mm a metre of wall
    #[arg(long, value_name = "MM", default_value = "2", value_parser = parse_decimal, allow_negative_numbers = true)]
    along: f64,
    /// The most packing at one fixing, in mm
    #[arg(long, value_name = "MM", default_value = "12", value_parser = parse_decimal, allow_negative_numbers = true)]
    most: f64,
    /// Packers in the box, in mm
    #[arg(long, value_name = "MM", default_value = "1,2,3,5,10", value_delimiter = ',', value_parser = parse_decimal)]
    packers: Vec<f64>,
    /// The wall of the job that was read: every stud must lie on it
    #[arg(long, value_name = "KEY")]
    wall: Option<String>,
    /// Keep inputs and result in the job's record, for this wall
    #[arg(long, requires = "wall")]
    keep: bool,
}

/// Runs the sum and prints it.
///
/// # Errors
/// [`Failure::Input`] for a file, a reading or an option that is out of range.
pub fn run(args: &PackingArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let rules = PackingRules {
        flat_mm: args.flat,
        lean_mm_per_m: args.lean,
        along_mm_per_m: args.along,
        most_mm: args.most,
        packers_mm: args.packers.clone(),
    };
    // Before anything is asked: readings are not typed for a wall that is not there.
    let length = args.wall.as_ref().map(|key| length_of(site, key)).transpose()?.flatten();
    let off = |stud: f64| {
        let length = length.filter(|length| stud < 0.0 || stud > *length)?;
        Some(format!("stud {} mm is off the wall, which is {} mm long", show(stud), show(length)))
    };
    let Some(file) = &args.file else {
        let fixings = ask_readings()?;
        if let Some(why) = fixings.iter().find_map(|fixing| off(fixing.stud_mm)) {
            return Err(Failure::input(why));
        }
        let packing = pack(&fixings, &rules).map_err(Failure::input)?;
        kept(args, site, &rules, &fixings, &packing, out)?;
        return show_answer(&packing, &rules, out);
    };
    let rows = read_table(file, &["stud_mm", "height_mm", "reading_mm"], &[])?;
    let mut fixings = Vec::with_capacity(rows.len());
    for row in &rows {
        let stud_mm = row.decimal("stud_mm", &bounds::LENGTH)?;
        if let Some(why) = off(stud_mm) {
            return Err(row.error(why));
        }
        fixings.push(Fixing {
            stud_mm,
            height_mm: row.decimal("height_mm", &bounds::LENGTH)?,
            reading_mm: row.decimal("reading_mm", &READING)?,
        });
    }
    let packing =
        pack(&fixings, &rules).map_err(|error| match error.row().and_then(|number| rows.get(number - 1)) {
            Some(row) => row.error(&error),
            None => Failure::input(&error),
        })?;
    kept(args, site, &rules, &fixings, &packing, out)?;
    show_answer(&packing, &rules, out)
}

fn length_of(site: &Site<'_>, key: &str) -> Result<Option<f64>, Failure> {
    let opened = site.open()?;
    let wall = opened.book.state.job.wall(key);
    Ok(wall.ok_or_else(|| JobError::NoWall(key.to_owned()))?.length_mm)
}

fn kept(
    args: &PackingArgs,
    site: &Site<'_>,
    rules: &PackingRules,
    fixings: &[Fixing],
    packing: &Packing,
    out: &mut Out,
) -> Result<(), Failure> {
    match args.wall.as_ref().filter(|_| args.keep) {
        Some(key) => {
            keep(site, "packing", key, &serde_json::json!({ "rules": rules, "fixings": fixings }), packing, out)
        }
        None => Ok(()),
    }
}

fn show_answer(packing: &Packing, rules: &PackingRules, out: &mut Out) -> Result<(), Failure> {
    if out.is_json() { out.json(packing) } else { print(packing, rules, out) }
}

fn print(packing: &Packing, rules: &PackingRules, out: &mut Out) -> Result<(), Failure> {
    let rows: Vec<Vec<String>> = packing
        .fixings
        .iter()
        .map(|fixing| {
            let packers = match fixing.packers_mm.as_deref() {
                None => "none in the box fit".to_owned(),
                Some([]) => "-".to_owned(),
                Some(packers) => packers.iter().map(|size| show(*size)).collect::<Vec<_>>().join(" + "),
            };
            let over = if fixing.pack_mm > rules.most_mm + 1e-6 { "  OVER" } else { "" };
            vec![
                show(fixing.stud_mm),
                show(fixing.height_mm),
                show(fixing.reading_mm),
                show(fixing.pack_mm),
                format!("{packers}{over}"),
            ]
        })
        .collect();
    out.table(&["stud mm", "height mm", "reading mm", "pack mm", "packers mm"], &rows)?;
    let plane = &packing.plane;
    out.line("")?;
    out.line(format!(
        "Packing in all {} mm. Plane {} mm off the line at stud 0, height 0;",
        show(packing.total_mm),
        show(plane.at_origin_mm)
    ))?;
    out.line(format!(
        "{} mm a metre along the wall, {} mm a metre up it.",
        show(plane.along_mm_per_m),
        show(plane.lean_mm_per_m)
    ))?;
    for over in &packing.over {
        let (stud, height) = (show(over.stud_mm), show(over.height_mm));
        let (pack, most) = (show(over.pack_mm), show(rules.most_mm));
        let text =
            format!("For the frame builder: stud {stud} at height {height} needs {pack} mm, the most is {most} mm.");
        out.wrapped(&text, 2)?;
    }
    Ok(())
}
