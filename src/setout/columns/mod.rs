//! C5: joints and columns of one wall, and the studs to add behind the joints.
//!
//! Joints stand on whole millimetres, so the best set-out is the cheapest path over the marks of a tape. The aims are
//! compared in order: joints in openings, joints, studs to add, sum of squares. The first three are settled by a
//! sliding minimum along the tape (`keys`); the squares by lower envelopes of straight lines (`squares`), since
//! among joints that tie so far the square of the next column is a straight line in its end but for a term that all
//! share. Both are exact, in whole numbers, and take a few milliseconds for 60 m.

mod keys;
mod squares;

use serde::Serialize;

use super::exact::{LengthError, TICKS_IN_MM, ceil_mm, floor_mm, mm, ticks};
use crate::units::number::show;

/// More studs or openings than one wall has.
const MOST_MARKS: usize = 10_000;

/// One run of wall, from corner to corner, in millimetres.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Run {
    /// Its length.
    pub length_mm: f64,
    /// The longest panel.
    pub panel_mm: f64,
    /// The shortest piece that may be fixed.
    pub least_mm: f64,
    /// The width of a joint; half of it comes off the column on either side.
    pub joint_mm: f64,
    /// The studs that a joint can stand on.
    pub studs_mm: Vec<f64>,
    /// Windows and doors.
    pub openings: Vec<Gap>,
    /// How far a joint should keep from an opening's edge.
    pub clear_of_opening_mm: f64,
}

/// A stretch along the wall, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Gap {
    /// Its near end.
    pub from_mm: f64,
    /// Its far end.
    pub to_mm: f64,
}

/// The set-out of one run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Columns {
    /// The centre of each joint.
    pub joints_mm: Vec<f64>,
    /// Each column of panels.
    pub columns: Vec<Gap>,
    /// Where the framer has to add a stud, before the wrap goes on.
    pub add_studs_mm: Vec<f64>,
    /// Joints that could not be kept out of an opening or its clearance.
    pub in_openings_mm: Vec<f64>,
}

/// Why there is no set-out.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ColumnsError {
    /// A length that can't be taken.
    #[error("{0}")]
    Length(#[from] LengthError),
    /// A stud or opening that can't be taken, counted from 1.
    #[error("{what} {number}: {error}")]
    Mark {
        /// Stud or opening.
        what: &'static str,
        /// Which, counted from 1.
        number: usize,
        /// What is wrong.
        error: LengthError,
    },
    /// More studs or openings than a wall has.
    #[error("{0} {1} are more than one wall has: at most {MOST_MARKS}")]
    TooMany(usize, &'static str),
    /// The panel is shorter than the least piece.
    #[error("panel {} mm is shorter than the least piece, {} mm", show(*panel_mm), show(*least_mm))]
    PanelTooShort {
        /// The panel.
        panel_mm: f64,
        /// The least piece.
        least_mm: f64,
    },
    /// A stud off the wall.
    #[error("stud {number} at {} mm is beyond the end of the wall, {} mm", show(*at_mm), show(*length_mm))]
    StudOutside {
        /// Which, counted from 1.
        number: usize,
        /// Where.
        at_mm: f64,
        /// The wall's length.
        length_mm: f64,
    },
    /// A stud given twice.
    #[error("stud {number} at {} mm is given twice", show(*at_mm))]
    StudTwice {
        /// The second one, counted from 1.
        number: usize,
        /// Where.
        at_mm: f64,
    },
    /// An opening that is backwards or has no width.
    #[error("opening {number}: from {} mm is not before to, {} mm", show(*from_mm), show(*to_mm))]
    OpeningBackwards {
        /// Which, counted from 1.
        number: usize,
        /// Its near end.
        from_mm: f64,
        /// Its far end.
        to_mm: f64,
    },
    /// An opening off the wall.
    #[error("opening {number}: to {} mm is beyond the end of the wall, {} mm", show(*to_mm), show(*length_mm))]
    OpeningOutside {
        /// Which, counted from 1.
        number: usize,
        /// Its far end.
        to_mm: f64,
        /// The wall's length.
        length_mm: f64,
    },
    /// Two openings in one place.
    #[error("opening {second} overlaps opening {first}")]
    OpeningsOverlap {
        /// One, counted from 1.
        first: usize,
        /// The other.
        second: usize,
    },
    /// Columns fit the length, but not with joints on whole millimetres.
    #[error("no joints on whole millimetres fit {} mm: give the panel or the least piece a millimetre of room", show(*length_mm))]
    NoWhole {
        /// The wall's length.
        length_mm: f64,
    },
    /// No columns fit the length.
    #[error("no columns fit {} mm: {}", show(*length_mm), nearest(*fewer, *more))]
    NoFit {
        /// The wall's length.
        length_mm: f64,
        /// The most columns that are too short, and how far they reach.
        fewer: Option<(i64, f64)>,
        /// The fewest columns that are too long, and what they need.
        more: (i64, f64),
    },
}

/// What would fit, in words.
fn nearest(fewer: Option<(i64, f64)>, more: (i64, f64)) -> String {
    let needs = |(count, need): (i64, f64)| match count {
        1 => format!("1 column needs at least {} mm", show(need)),
        count => format!("{count} columns need at least {} mm", show(need)),
    };
    match fewer {
        Some((1, reach)) => format!("1 column reaches {} mm, {}", show(reach), needs(more)),
        Some((count, reach)) => format!("{count} columns reach {} mm, {}", show(reach), needs(more)),
        None => needs(more),
    }
}

/// The run in ticks, and what a joint costs at each whole millimetre.
struct Exact {
    /// Whether one panel does for the whole run.
    whole: bool,
    length: i64,
    joint: i64,
    /// First joint centres from the start of the run, in whole millimetres; last ones from its end likewise.
    first: (i64, i64),
    last: (i64, i64),
    /// Centre to centre of neighbouring joints, in whole millimetres.
    apart: (i64, i64),
    /// For each whole millimetre: the aims that a joint there costs.
    costs: Vec<keys::Key>,
}

/// Joint positions by the aims in order: fewest joints strictly within an opening widened by the clearance, then
/// fewest joints, then fewest studs to add, then least sum of squares of the column lengths.
///
/// Set-outs that tie in all four: the same one every time for the same input (joints further left are preferred, from
/// the far end back).
///
/// # Errors
/// [`ColumnsError`] for an input that is out of range or contradicts itself, or where no columns fit the length.
///
/// # Example: three equal columns need a stud each
/// ```
/// use cladlog::setout::columns::{Run, columns};
/// let run = Run {
///     length_mm: 6000.0, panel_mm: 2400.0, least_mm: 300.0, joint_mm: 10.0,
///     studs_mm: vec![], openings: vec![], clear_of_opening_mm: 0.0,
/// };
/// let set_out = columns(&run).unwrap();
/// assert_eq!(set_out.joints_mm, [1998.0, 4001.0]);
/// assert_eq!(set_out.add_studs_mm, set_out.joints_mm);
/// ```
pub fn columns(run: &Run) -> Result<Columns, ColumnsError> {
    let exact = exact(run)?;
    let joints = best_joints(&exact).ok_or_else(|| no_fit(run, &exact))?;
    let half = run.joint_mm / 2.0;
    let ends = std::iter::once(0.0).chain(joints.iter().map(|&at| at as f64 + half));
    let starts = joints.iter().map(|&at| at as f64 - half).chain(std::iter::once(run.length_mm));
    let cost = |at: i64| exact.costs.get(at as usize).copied().unwrap_or_default();
    let those = |test: &dyn Fn(keys::Key) -> bool| {
        joints.iter().filter(|&&at| test(cost(at))).map(|&at| at as f64).collect::<Vec<_>>()
    };
    Ok(Columns {
        columns: ends.zip(starts).map(|(from_mm, to_mm)| Gap { from_mm, to_mm }).collect(),
        add_studs_mm: those(&|key| key.studs() > 0),
        in_openings_mm: those(&|key| key.in_openings() > 0),
        joints_mm: joints.iter().map(|&at| at as f64).collect(),
    })
}

/// The best joints, or `None` where no columns fit.
fn best_joints(exact: &Exact) -> Option<Vec<i64>> {
    // No joint at all beats any joint on the first two aims.
    if exact.whole {
        return Some(Vec::new());
    }
    let paths = keys::cheapest(&exact.costs, exact.first, exact.apart);
    squares::least(exact, &paths)
}

fn exact(run: &Run) -> Result<Exact, ColumnsError> {
    let length = ticks("length", run.length_mm, 1.0)?;
    let panel = ticks("panel", run.panel_mm, 1.0)?;
    let least = ticks("least piece", run.least_mm, 0.0)?;
    let joint = ticks("joint", run.joint_mm, 0.0)?;
    let clear = ticks("clearance of openings", run.clear_of_opening_mm, 0.0)?;
    if panel < least {
        return Err(ColumnsError::PanelTooShort { panel_mm: run.panel_mm, least_mm: run.least_mm });
    }
    let studs = studs(run, length)?;
    let openings = openings(run, length)?;
    let mut costs = vec![keys::Key::joint_with_new_stud(); floor_mm(length) as usize + 1];
    for stud in studs.iter().filter(|stud| **stud % TICKS_IN_MM == 0) {
        if let Some(cost) = costs.get_mut(floor_mm(*stud) as usize) {
            *cost = keys::Key::joint();
        }
    }
    for at in within_openings(&openings, clear, costs.len() as i64) {
        if let Some(cost) = costs.get_mut(at as usize) {
            *cost = cost.within_opening();
        }
    }
    let half = joint / 2;
    Ok(Exact {
        whole: (least..=panel).contains(&length),
        length,
        joint,
        first: (ceil_mm(least + half), floor_mm(panel + half)),
        last: (ceil_mm(length - panel - half), floor_mm(length - least - half)),
        apart: (ceil_mm(least + joint).max(1), floor_mm(panel + joint)),
        costs,
    })
}

/// The whole millimetres strictly within an opening widened by the clearance, each once.
fn within_openings(openings: &[(i64, i64)], clear: i64, places: i64) -> Vec<i64> {
    let mut within = Vec::new();
    let mut done = 0;
    for &(from, to) in openings {
        // The first whole millimetre after the near end, and the one that is no longer before the far end.
        let (first, end) = (floor_mm(from - clear) + 1, ceil_mm(to + clear));
        within.extend(first.max(done)..end.min(places));
        done = done.max(end);
    }
    within
}

fn studs(run: &Run, length: i64) -> Result<Vec<i64>, ColumnsError> {
    if run.studs_mm.len() > MOST_MARKS {
        return Err(ColumnsError::TooMany(run.studs_mm.len(), "studs"));
    }
    let mut studs = Vec::with_capacity(run.studs_mm.len());
    for (&at_mm, number) in run.studs_mm.iter().zip(1..) {
        let at = ticks("at", at_mm, 0.0).map_err(|error| ColumnsError::Mark { what: "stud", number, error })?;
        if at > length {
            return Err(ColumnsError::StudOutside { number, at_mm, length_mm: run.length_mm });
        }
        studs.push((at, number));
    }
    studs.sort_unstable();
    for pair in studs.windows(2) {
        if let [(first, _), (second, number)] = *pair
            && first == second
        {
            return Err(ColumnsError::StudTwice { number, at_mm: mm(second) });
        }
    }
    Ok(studs.into_iter().map(|(at, _)| at).collect())
}

fn openings(run: &Run, length: i64) -> Result<Vec<(i64, i64)>, ColumnsError> {
    if run.openings.len() > MOST_MARKS {
        return Err(ColumnsError::TooMany(run.openings.len(), "openings"));
    }
    let mut openings = Vec::with_capacity(run.openings.len());
    for (opening, number) in run.openings.iter().zip(1..) {
        let Gap { from_mm, to_mm } = *opening;
        let at = |what, mm| ticks(what, mm, 0.0).map_err(|error| ColumnsError::Mark { what: "opening", number, error });
        let (from, to) = (at("from", from_mm)?, at("to", to_mm)?);
        if from >= to {
            return Err(ColumnsError::OpeningBackwards { number, from_mm, to_mm });
        }
        if to > length {
            return Err(ColumnsError::OpeningOutside { number, to_mm, length_mm: run.length_mm });
        }
        openings.push((from, to, number));
    }
    openings.sort_unstable();
    for pair in openings.windows(2) {
        if let [(_, to, first), (from, _, second)] = *pair
            && from < to
        {
            return Err(ColumnsError::OpeningsOverlap { first: first.min(second), second: first.max(second) });
        }
    }
    Ok(openings.into_iter().map(|(from, to, _)| (from, to)).collect())
}

/// What nearly fits.
fn no_fit(run: &Run, exact: &Exact) -> ColumnsError {
    let reach = |count: i64| count as f64 * run.panel_mm + (count - 1) as f64 * run.joint_mm;
    let need = |count: i64| count as f64 * run.least_mm + (count - 1) as f64 * run.joint_mm;
    // The most columns that reach no further than the run; there are at most as many as millimetres.
    let step = run.panel_mm + run.joint_mm;
    let fewer = (((run.length_mm + run.joint_mm) / step).floor() as i64).clamp(0, floor_mm(exact.length) + 1);
    let more = fewer + 1;
    if need(more) <= run.length_mm || (fewer > 0 && reach(fewer) >= run.length_mm) {
        return ColumnsError::NoWhole { length_mm: run.length_mm };
    }
    ColumnsError::NoFit {
        length_mm: run.length_mm,
        fewer: (fewer > 0).then(|| (fewer, reach(fewer))),
        more: (more, need(more)),
    }
}
