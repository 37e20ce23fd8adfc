//! `cladlog calc packing`.

use clap::Args;
use serde_json::json;

use super::outcome::Outcome;
use super::packing_asked::ask_readings;
use super::rows::{RowsArgs, must_be_asked};
use crate::cli::failure::Failure;
use crate::cli::out::{table_text, wrapped};
use crate::cli::site::Site;
use crate::form::{Columns, Row, Rows};
use crate::setout::of_job::JobError;
use crate::setout::packing::{Fixing, PackedFixing, Packing, PackingRules, pack};
use crate::units::number::{show, show_mm, show_mm_beside, show_to};
use crate::units::parse_decimal;

const COLUMNS: Columns = Columns { required: &["stud_mm", "height_mm", "reading_mm"], optional: &[] };

/// Packing that brings stud faces to one plane, and the packers for each fixing
#[derive(Debug, Args)]
#[command(mut_arg("rows", |rows| rows.value_name(COLUMNS.listed())), after_help = "\
A row is one fixing: stud_mm along the wall, height_mm up it, reading_mm of the stud face off a straight line, \
+ proud, - shy. Without rows, at a terminal, it asks stud by stud.

Example: cladlog calc packing --row 0,150,2.5 --row 600,150,-1
           --row 1200,150,0.5")]
pub struct PackingArgs {
    #[command(flatten)]
    rows: RowsArgs,
    /// How far a packed face may be off the plane, in mm, either way
    #[arg(long, value_name = "MM", default_value = "1", value_parser = parse_decimal)]
    flat: f64,
    /// How far the plane may lean, in mm per metre of height, either way
    #[arg(long, value_name = "MM", default_value = "2", value_parser = parse_decimal)]
    lean: f64,
    /// How far the plane may run off the line, in mm per metre of wall, either way
    #[arg(long, value_name = "MM", default_value = "2", value_parser = parse_decimal)]
    along: f64,
    /// The most packing at one fixing, in mm
    #[arg(long, value_name = "MM", default_value = "12", value_parser = parse_decimal)]
    most: f64,
    /// Packers in the box, in mm
    #[arg(long, value_name = "MM", default_value = "1,2,3,5,10", value_delimiter = ',', value_parser = parse_decimal)]
    packers: Vec<f64>,
    /// The wall of the job that was read: every stud must be on it
    #[arg(long, value_name = "KEY")]
    wall: Option<String>,
    /// Keep inputs and result in the job's record, for this wall
    #[arg(long, requires = "wall")]
    keep: bool,
}

pub fn packing(args: &PackingArgs, site: &Site<'_>) -> Result<Outcome, Failure> {
    let rules = PackingRules {
        flat_mm: args.flat,
        lean_mm_per_m: args.lean,
        along_mm_per_m: args.along,
        most_mm: args.most,
        packers_mm: args.packers.clone(),
    };
    // Before anything is asked: readings are not typed for a wall that is not there.
    let rows = fixings(args, length(args, site)?)?;
    let packing = pack(&rows.values, &rules).map_err(|error| Failure::input(rows.mistake(&error)))?;
    let inputs = json!({ "rules": rules, "fixings": rows.values });
    let on = args.wall.as_deref().filter(|_| args.keep);
    Outcome::new(&packing, text(&packing, args.most))?.keep_for(on, &inputs, &packing)
}

fn length(args: &PackingArgs, site: &Site<'_>) -> Result<Option<f64>, Failure> {
    let Some(key) = &args.wall else { return Ok(None) };
    let opened = site.open()?;
    let wall = opened.book.state.job.wall(key);
    Ok(wall.ok_or_else(|| JobError::NoWall(key.clone()))?.length_mm)
}

fn fixings(args: &PackingArgs, length: Option<f64>) -> Result<Rows<Fixing>, Failure> {
    let on_wall = |fixing: Fixing| match length.filter(|length| fixing.stud_mm < 0.0 || fixing.stud_mm > *length) {
        None => Ok(fixing),
        Some(length) => {
            let (stud, length) = (show(fixing.stud_mm), show(length));
            Err(format!("stud {stud} mm is off the wall, which is {length} mm long"))
        }
    };
    if args.rows.is_empty() {
        must_be_asked(&COLUMNS)?;
        let fixings: Result<Vec<Fixing>, String> = ask_readings()?.into_iter().map(on_wall).collect();
        return Ok(Rows::new(fixings.map_err(Failure::input)?, Vec::new()));
    }
    args.rows.read(&COLUMNS, |row: &Row<'_>| {
        let (stud_mm, height_mm) = (row.number("stud_mm")?, row.number("height_mm")?);
        on_wall(Fixing { stud_mm, height_mm, reading_mm: row.number("reading_mm")? })
    })
}

fn text(packing: &Packing, most: f64) -> String {
    let row = |fixing: &PackedFixing| {
        let packers = match fixing.packers_mm.as_deref() {
            None => "none in the box fit".to_owned(),
            Some([]) => "-".to_owned(),
            Some(packers) => packers.iter().map(|size| show(*size)).collect::<Vec<_>>().join(" + "),
        };
        let over = if fixing.pack_mm > most + 1e-6 { "  OVER" } else { "" };
        let [stud, height, reading] = [fixing.stud_mm, fixing.height_mm, fixing.reading_mm].map(show);
        let pack = show_mm_beside(fixing.pack_mm, most);
        [stud, height, reading, pack, format!("{packers}{over}")]
    };
    let plane = &packing.plane;
    let heading = ["stud mm", "height mm", "reading mm", "pack mm", "packers mm"];
    let mut text = table_text(heading, packing.fixings.iter().map(row));
    text += &format!(
        "\n\nTotal packing {} mm. The plane is {} mm off the line at stud 0, height 0,\n\
         and runs {} mm per metre along the wall, {} mm per metre up it.\n",
        show_mm(packing.total_mm),
        show_mm(plane.at_origin_mm),
        show_to(plane.along_mm_per_m, 1),
        show_to(plane.lean_mm_per_m, 1)
    );
    for line in for_the_framer(packing, most) {
        text += &(wrapped(&line, 2) + "\n");
    }
    text
}

/// The studs that stand proud; the fixings that need too much only where setting those right would leave some.
fn for_the_framer(packing: &Packing, most_mm: f64) -> Vec<String> {
    let most = show(most_mm);
    let proud = packing.proud.iter().map(|proud| {
        let before_mm = proud.total_mm + proud.saves_mm;
        let [stud, height] = [proud.stud_mm, proud.height_mm].map(show);
        let [off, saves, before] = [proud.proud_mm, proud.saves_mm, before_mm].map(show_mm);
        let left = match proud.over {
            0 => format!("no fixing then needs more than {most} mm"),
            1 => format!("1 fixing still needs more than {most} mm"),
            count => format!("{count} fixings still need more than {most} mm"),
        };
        format!(
            "For the frame builder: stud {stud} stands proud, by {off} mm beyond flatness at height {height}. Planing or \
             moving it saves {saves} of {before} mm of packing; {left}."
        )
    });
    let over = packing.over.iter().filter(|_| packing.proud.last().is_none_or(|last| last.over > 0)).map(|over| {
        let [stud, height] = [over.stud_mm, over.height_mm].map(show);
        let pack = show_mm_beside(over.pack_mm, most_mm);
        format!("For the frame builder: stud {stud} at height {height} needs {pack} mm; the most is {most} mm.")
    });
    proud.chain(over).collect()
}
