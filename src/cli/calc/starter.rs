//! `cladlog calc starter`.

use clap::Args;
use serde_json::json;

use super::outcome::Outcome;
use super::rows::RowsArgs;
use crate::cli::failure::Failure;
use crate::cli::out::wrapped;
use crate::cli::site::Site;
use crate::form::{Columns, Row};
use crate::sequence::{Basis, Sequence};
use crate::setout::of_job::edge_over_base_mm;
use crate::setout::starter::{Governing, Governs, OverBase, Place, StarterRules};
use crate::units::number::{shortened, show};
use crate::units::parse_decimal;

const COLUMNS: Columns = Columns {
    required: &["wall", "at_mm", "flashing_mm", "ground_mm", "cover_to_mm"],
    optional: &["clear_ground_mm", "paved"],
};

/// Lowest and highest start of the starter line
#[derive(Debug, Args)]
#[command(mut_arg("rows", |rows| rows.value_name("wall,at_mm,…")), after_help = "\
A row is one place along a wall, its cells in this order: wall, at_mm, flashing_mm, ground_mm, cover_to_mm, \
clear_ground_mm, paved; the last two may be left out. at_mm is from the wall's left end; then come heights in mm above \
one datum (+ above, - below): top of the flashing, the ground, and the height that must be covered down to; blank where \
there is none. clear_ground_mm gives a row a clearance of its own; paved says yes or no of the ground at this place.

Example: cladlog calc starter --row N,0,3,-150,25 --row N,2400,5,-160,25
           --clear-flashing 10 --clear-ground 100 --overhang 16 --cover 25")]
pub struct StarterArgs {
    #[command(flatten)]
    rows: RowsArgs,
    /// Least gap from the flashing up to the panel, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    clear_flashing: f64,
    /// Least gap from the ground up to the panel, in mm [default: what the job's method requires over soil]
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    clear_ground: Option<f64>,
    /// The same for rows whose ground is paved [default: what the job's method requires over paving]
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    clear_paved: Option<f64>,
    /// How far the panel hangs below the start, in mm
    #[arg(long, value_name = "MM", value_parser = parse_decimal)]
    overhang: f64,
    /// How far the panel must reach below what it covers, in mm
    #[arg(long, value_name = "MM", default_value = "0", value_parser = parse_decimal)]
    cover: f64,
    /// How far off its height the starter line may be fixed, in mm: taken off both ends of the range
    #[arg(long, value_name = "MM", default_value = "0", value_parser = parse_decimal)]
    tolerance: f64,
    /// Keep inputs and result in the job's record; calc courses takes its range from there
    #[arg(long)]
    keep: bool,
}

pub fn starter(args: &StarterArgs, site: &Site<'_>) -> Result<Outcome, Failure> {
    // What is kept is held against the method of its job; what is only worked out needs none, but for the bases of the walls
    // where there is one.
    let needed = args.keep || args.clear_ground.is_none();
    let opened = if needed { Some(site.open()?) } else { site.open().ok() };
    let method = opened.as_ref().filter(|_| needed).map(|opened| opened.book.state.sequence());
    let required = |ground: Ground| Some(ground.required(method?)?.0);
    let no_clearance = || {
        Failure::input_hint(
            "no clearance from the ground is given, and the job's sequence requires none",
            "give it as --clear-ground MM",
        )
    };
    let mut rows = args.rows.read(&COLUMNS, place)?;
    for place in &mut rows.values {
        let job = opened.as_ref().map(|opened| &opened.book.state.job);
        place.edge_mm = job.and_then(|job| edge_over_base_mm(job, &place.wall, place.at_mm));
    }
    let is_paved = rows.values.iter().any(|place| place.paved == Some(true));
    let rules = StarterRules {
        clear_flashing_mm: args.clear_flashing,
        clear_ground_mm: args.clear_ground.or_else(|| required(Ground::Soil)).ok_or_else(no_clearance)?,
        clear_paved_mm: args.clear_paved.or_else(|| required(Ground::Paving).filter(|_| is_paved)),
        overhang_mm: args.overhang,
        cover_mm: args.cover,
        tolerance_mm: args.tolerance,
    };
    let range = crate::setout::starter::starter(&rows.values, &rules);
    let range = range.map_err(|error| Failure::input(rows.mistake(&error)))?;
    let line = |name: &str, height: Option<f64>, by: &Option<Governing>| match height.zip(by.as_ref()) {
        Some((height, by)) => format!("{name:<14} {} mm, set by {}\n", show(height), governed_by(by)),
        None => format!("{name:<14} no limit\n"),
    };
    let mut text = line("Lowest start", range.lowest_mm, &range.lowest_by);
    text += &line("Highest start", range.highest_mm, &range.highest_by);
    if let Some(short) = range.short_by_mm {
        text += &format!("No start satisfies both: they are {} mm apart.", show(short));
    }
    for place in &range.over_base {
        text += &wrapped(&over_base(place), 2);
        text.push('\n');
    }
    let on = (args.keep && range.feasible).then_some("job");
    let inputs = json!({ "rules": rules, "places": rows.values });
    let not_kept = (args.keep && !range.feasible).then(|| "Not kept: no start satisfies both.".to_owned());
    let objections = method.map(|method| objections(method, &rows.values, &rules)).unwrap_or_default();
    let outcome = Outcome::new(&range, text)?.yes_if(range.feasible).remark(not_kept).remark(objections);
    outcome.keep_for(on, &inputs, &range)
}

/// What a panel stands over at a place along the wall.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Ground {
    Soil,
    Paving,
    /// A clearance of its own was given for the place: it may be a roof.
    Own,
}

impl Ground {
    fn of(place: &Place) -> Self {
        match (place.paved, place.clear_ground_mm) {
            (Some(true), _) => Self::Paving,
            (None, Some(_)) => Self::Own,
            _ => Self::Soil,
        }
    }

    /// The figure of the job that bounds it, and what it is in words.
    fn figure(self) -> (&'static str, &'static str) {
        match self {
            Self::Soil => ("clear-soil", "soil"),
            Self::Paving => ("clear-paving", "paving"),
            Self::Own => ("clear-roof", "any ground, roof or deck"),
        }
    }

    /// What the method of a job requires over it, in mm, and what that rests on.
    fn required(self, sequence: &Sequence) -> Option<(f64, &Basis)> {
        sequence.least(self.figure().0)
    }
}

/// The places where less is kept from the ground than the method of the job requires: the worst of each kind of ground.
fn objections(sequence: &Sequence, places: &[Place], rules: &StarterRules) -> Vec<String> {
    let objection = |ground: Ground| {
        let (required, basis) = ground.required(sequence)?;
        let here = places.iter().filter(|place| place.ground_mm.is_some() && Ground::of(place) == ground);
        let clearances = here.map(|place| (place.clearance_mm(rules), place));
        let (given, place) = clearances.min_by(|one, other| one.0.total_cmp(&other.0))?;
        let (wall, at, over) = (&place.wall, show(place.at_mm), ground.figure().1);
        let (given_mm, required_mm) = (show(given), show(required));
        (given < required).then(|| {
            let note = format!(
                "Note: {given_mm} mm above the ground on wall {wall} at {at} mm is less than this job's method requires \
                 over {over}: {required_mm} mm ({basis}). A panel edge measured below that is a defect."
            );
            wrapped(&note, 2)
        })
    };
    [Ground::Soil, Ground::Paving, Ground::Own].into_iter().filter_map(objection).collect()
}

fn place(row: &Row<'_>) -> Result<Place, String> {
    Ok(Place {
        wall: row.text("wall").to_owned(),
        at_mm: row.number("at_mm")?,
        flashing_mm: row.number_or_blank("flashing_mm")?,
        ground_mm: row.number_or_blank("ground_mm")?,
        cover_to_mm: row.number_or_blank("cover_to_mm")?,
        clear_ground_mm: row.number_or_blank("clear_ground_mm")?,
        paved: match row.text("paved").to_lowercase().as_str() {
            "" => None,
            "yes" | "y" => Some(true),
            "no" | "n" => Some(false),
            other => return Err(format!("paved: '{}' is not yes or no", shortened(other))),
        },
        edge_mm: None,
    })
}

/// A place over a raised base, and what its edge does not keep to.
fn over_base(place: &OverBase) -> String {
    let OverBase { wall, at_mm, edge_mm, start_mm, short } = place;
    let [at, edge, start] = [at_mm, edge_mm, start_mm].map(|mm| show(*mm));
    let line = format!("Over the raised base of wall {wall} at {at} mm: edge at {edge} mm, starter at {start} mm");
    let short = short.iter().map(|short| {
        let (by, what) = (show(short.by_mm), in_words(short.what));
        let where_to = if short.what == Governs::CoverTo { "too high for" } else { "too low over" };
        format!("; {by} mm {where_to} {what}")
    });
    line + &short.collect::<String>() + "."
}

fn in_words(what: Governs) -> &'static str {
    match what {
        Governs::Flashing => "the flashing",
        Governs::Ground => "the ground",
        Governs::CoverTo => "what must be covered",
    }
}

fn governed_by(by: &Governing) -> String {
    format!("{} on wall {} at {} mm", in_words(by.what), by.wall, show(by.at_mm))
}
