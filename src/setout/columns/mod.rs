//! C5: joints and columns of one wall, and the studs to add behind the joints.
//!
//! Joints stand on whole millimetres, so the best set-out is the cheapest path over the marks of a tape. The aims are
//! compared in order. Drawn joints kept, joints in openings, joints, studs to add: a sliding minimum along the tape (`keys`). Then, over
//! the set-outs that tie so far, fewest columns shorter than a panel and the least sum of squares (`chain`), by lower
//! envelopes of straight lines (`envelope`). Fewest panels come between the two: a search over the lengths of the
//! columns (`material`) that counts panels exactly (`cutting`). All in whole numbers; a few milliseconds for 60 m.

pub(super) mod bearing;
mod chain;
mod cutting;
mod envelope;
mod error;
mod keys;
mod material;
mod tape;

use serde::{Deserialize, Serialize};

pub use error::{ColumnsError, MOST_COURSES};

use super::exact::{mm, ticks};
use crate::building::Ends;
use chain::{Chain, Joints};
use material::fewest_panels;
use tape::Tape;

/// One run of wall, from corner to corner, in millimetres from the framing's left end.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Run {
    /// The length of the framing.
    pub length_mm: f64,
    /// The longest panel.
    pub panel_mm: f64,
    /// The shortest piece that may end at a joint.
    pub least_mm: f64,
    /// The width of a joint; half of it comes off the column on either side.
    pub joint_mm: f64,
    /// The centres of the studs that a joint can stand on.
    pub studs_mm: Vec<f64>,
    /// Windows and doors; they may stand over one another.
    pub openings: Vec<Gap>,
    /// How far a joint should keep from an opening's edge.
    pub clear_of_opening_mm: f64,
    /// The width of a stud; with it, panel edges need bearing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stud_width_mm: Option<f64>,
    /// What each panel edge at a joint needs, from the edge inwards, on one stud.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bearing_mm: Option<f64>,
    /// The width of a cut: with it, fewest panels come before evenness.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kerf_mm: Option<f64>,
    /// How many courses are cut together; with it, whole panels come before evenness.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub courses: Option<u32>,
    /// What is taken at either end of the framing.
    #[serde(skip_serializing_if = "no_ends")]
    pub ends: Ends,
    /// Joints that the drawings give, on whole millimetres: as many as can be are kept. They stand in the job, and are not
    /// kept again with the sum.
    #[serde(skip)]
    pub drawn_mm: Vec<f64>,
}

fn no_ends(ends: &Ends) -> bool {
    *ends == Ends::default()
}

/// A stretch along the wall, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Gap {
    /// Its near end.
    pub from_mm: f64,
    /// Its far end.
    pub to_mm: f64,
}

/// The set-out of one run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Columns {
    /// The centre of each joint.
    pub joints_mm: Vec<f64>,
    /// Each column of panels.
    pub columns: Vec<Gap>,
    /// Where the framer has to add a stud, before the wrap goes on: centres.
    pub add_studs_mm: Vec<f64>,
    /// The same studs, each with the joint that it serves.
    #[serde(default)]
    pub framer: Vec<JointStud>,
    /// Joints that could not be kept out of an opening or its clearance.
    #[serde(default)]
    pub in_openings_mm: Vec<f64>,
    /// The run, where it has no joint and is shorter than the least piece.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub short_run_mm: Option<f64>,
    /// The panels that the columns take, where a cut's width was given.
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    pub material: Option<Material>,
}

impl Columns {
    /// The studs to add, each with the joint that it serves; of columns kept before joints were noted, the nearest.
    pub fn joint_studs(&self) -> Vec<JointStud> {
        if !self.framer.is_empty() {
            return self.framer.clone();
        }
        let nearest = |stud: f64| {
            let joints = self.joints_mm.iter().copied();
            joints.min_by(|a, b| (a - stud).abs().total_cmp(&(b - stud).abs())).unwrap_or(stud)
        };
        self.add_studs_mm.iter().map(|&at_mm| JointStud { at_mm, joint_mm: nearest(at_mm) }).collect()
    }
}

/// A stud for the framer to add.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct JointStud {
    /// Its centre, in millimetres.
    pub at_mm: f64,
    /// The centre of the joint that it serves.
    pub joint_mm: f64,
}

/// The panels that the columns of all courses are cut from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Material {
    /// How many.
    pub panels: u64,
    /// Whether no set-out that is as good in the aims before takes fewer.
    pub panels_proven: bool,
    /// How many the most even columns would take.
    pub even_panels: u64,
}

/// Joint positions by the aims in order: most drawn joints kept; fewest joints strictly within an opening widened by the clearance; fewest
/// joints; fewest studs to add; with `kerf_mm`, fewest panels for all courses; with `courses`, fewest columns shorter
/// than a panel; least sum of squares of the column lengths.
///
/// Set-outs that tie in all: the same one every time for the same input (joints further left are preferred, from the
/// far end back). Fewest panels are proved for up to 12 columns; beyond, they are no more than the most even columns
/// take, and [`Material::panels_proven`] says whether they are proved all the same.
///
/// # Errors
/// [`ColumnsError`] for an input that is out of range or contradicts itself, or where no columns fit the length.
///
/// # Example: three equal columns need a stud each
/// ```
/// use cladlog::setout::columns::{Run, columns};
/// let run = Run { length_mm: 6000.0, panel_mm: 2400.0, least_mm: 300.0, joint_mm: 10.0, ..Run::default() };
/// let set_out = columns(&run).unwrap();
/// assert_eq!(set_out.joints_mm, [1998.0, 4001.0]);
/// assert_eq!(set_out.add_studs_mm, set_out.joints_mm);
/// ```
pub fn columns(run: &Run) -> Result<Columns, ColumnsError> {
    let tape = Tape::new(run)?;
    let kerf = run.kerf_mm.map(|kerf| ticks("kerf", kerf, 0.0)).transpose()?;
    let mut chain = Chain::new(&tape).ok_or_else(|| no_fit(run, &tape))?;
    let bounds = vec![(tape.least, tape.panel); chain.columns()];
    let best = |chain: &Chain<'_>| chain.best(&bounds).ok_or_else(|| no_fit(run, &tape));
    let even = best(&chain)?;
    chain.count_shorter = run.courses.is_some();
    let first = best(&chain)?;
    let (Joints { places, .. }, material) = match kerf {
        None => (first, None),
        Some(kerf) => {
            let found = fewest_panels(&tape, &chain, kerf, run.courses.unwrap_or(1), first, &even);
            let (panels, panels_proven, even_panels) = (found.panels, found.proven, found.even);
            (found.joints, Some(Material { panels, panels_proven, even_panels }))
        }
    };
    let on_wall = |place: &i64| tape.on_wall(*place) as f64;
    let framer = tape.added(&places);
    let within = |place: &&i64| tape.costs[**place as usize].is_some_and(|cost| cost.in_openings() > 0);
    Ok(Columns {
        joints_mm: places.iter().map(on_wall).collect(),
        columns: tape.gaps(&places),
        add_studs_mm: framer.iter().map(|stud| stud.at_mm).collect(),
        framer,
        in_openings_mm: places.iter().filter(within).map(on_wall).collect(),
        short_run_mm: (places.is_empty() && tape.length() < tape.least).then(|| mm(tape.length())),
        material,
    })
}

/// What nearly fits.
fn no_fit(run: &Run, tape: &Tape) -> ColumnsError {
    let length_mm = mm(tape.length());
    let reach = |count: i64| count as f64 * run.panel_mm + (count - 1) as f64 * run.joint_mm;
    let need = |count: i64| count as f64 * run.least_mm + (count - 1) as f64 * run.joint_mm;
    // The most columns that reach no further than the run; there are at most as many as millimetres.
    let step = run.panel_mm + run.joint_mm;
    let fewer = (((length_mm + run.joint_mm) / step).floor() as i64).clamp(0, length_mm as i64 + 1);
    let more = fewer + 1;
    if need(more) > length_mm && reach(fewer) < length_mm {
        return ColumnsError::NoFit {
            length_mm,
            fewer: (fewer > 0).then(|| (fewer, reach(fewer))),
            more: (more, need(more)),
        };
    }
    let anywhere = Run { stud_width_mm: None, bearing_mm: None, ..run.clone() };
    match tape.costs.iter().any(Option::is_none) && columns(&anywhere).is_ok() {
        true => ColumnsError::NoBearing { length_mm },
        false => ColumnsError::NoWhole { length_mm },
    }
}
