//! Runs: what is put up in lengths, one after the other, such as flashings and battens; and what each is cut from.

use serde::{Deserialize, Serialize};

use super::allowances::{Allowance, Measure};
use super::cuts::{CutRequest, Piece, plan_cuts};

/// More pieces in one line of an order than any job has.
const MOST_PIECES: usize = 50_000;
/// The time box for cutting them, in seconds.
const SECONDS: f64 = 0.25;

/// One run, as the drawings have it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Run {
    /// What it is of: a measure that is taken in runs.
    pub per: Measure,
    /// Where on its wall: "over O1".
    pub place: String,
    /// Its length, without laps and without what goes past its ends.
    pub length_mm: f64,
    /// How many of its ends are turned up or closed, so that water does not run off them behind the cladding.
    pub stop_ends: u32,
}

/// One run as it is cut.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CutRun {
    /// The wall.
    pub wall: String,
    /// Where on it.
    pub place: String,
    /// Its length over all, in whole millimetres.
    pub length_mm: u32,
    /// The lengths that it is made of, each lapping the one before.
    pub pieces_mm: Vec<u32>,
    /// How many of its ends are turned up or closed.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub stop_ends: u32,
}

fn is_zero(count: &u32) -> bool {
    *count == 0
}

/// Cuts the runs of an allowance: each in as few pieces as its stock length allows, whole lengths first.
///
/// `None` where they are more pieces than any job has.
pub fn cut_runs<'r>(runs: impl Iterator<Item = (&'r str, &'r Run)>, allowance: &Allowance) -> Option<Vec<CutRun>> {
    let (stock, lap) = (whole_mm(allowance.pack * 1e3), whole_mm(allowance.lap_mm));
    let mut cut = Vec::new();
    let mut pieces = 0;
    for (wall, run) in runs {
        let length_mm = whole_mm(run.length_mm + 2.0 * allowance.past_mm);
        let pieces_mm = pieces_of(length_mm, stock, lap);
        pieces += pieces_mm.len();
        if pieces > MOST_PIECES {
            return None;
        }
        let (wall, place) = (wall.to_owned(), run.place.clone());
        cut.push(CutRun { wall, place, length_mm, pieces_mm, stop_ends: run.stop_ends });
    }
    Some(cut)
}

/// How many stock lengths the pieces of some runs take: by the cut plan, the fewest that it finds.
pub fn stock_lengths(runs: &[CutRun], stock_m: f64) -> u64 {
    let mut pieces: Vec<Piece> = Vec::new();
    for &length_mm in runs.iter().flat_map(|run| &run.pieces_mm) {
        match pieces.iter_mut().find(|piece| piece.length_mm == length_mm) {
            Some(alike) => alike.count += 1,
            None => pieces.push(Piece { label: length_mm.to_string(), length_mm, count: 1 }),
        }
    }
    let stock_mm = vec![whole_mm(stock_m * 1e3)];
    // Snips and a handsaw take next to nothing.
    let request = CutRequest { pieces, stock_mm, kerf_mm: 0.0, seconds: SECONDS, ..CutRequest::default() };
    // Every piece is at most a stock length: there is a plan unless there is nothing to cut.
    plan_cuts(&request, &|| false).map_or(0, |plan| plan.boards)
}

/// The pieces of a run, whole lengths first; a stock length is longer than a lap.
fn pieces_of(length: u32, stock: u32, lap: u32) -> Vec<u32> {
    let gain = stock.saturating_sub(lap).max(1);
    let mut pieces = Vec::new();
    let mut left = length;
    while left > stock {
        pieces.push(stock);
        left -= gain;
        if pieces.len() > MOST_PIECES {
            break;
        }
    }
    if left > 0 {
        pieces.push(left);
    }
    pieces
}

/// To the next whole millimetre.
fn whole_mm(length_mm: f64) -> u32 {
    // A float turned into an integer keeps to the integer's range.
    (length_mm - 1e-6).ceil().max(0.0) as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_run_is_cut_into_whole_lengths_and_the_rest_each_lapping_the_one_before() {
        // 9600 in lengths of 3000 lapped 100: 3000, then 2900 more with each.
        assert_eq!(pieces_of(9600, 3000, 100), [3000, 3000, 3000, 900]);
        assert_eq!(pieces_of(3000, 3000, 100), [3000]);
        assert_eq!(pieces_of(3001, 3000, 100), [3000, 101]);
        assert_eq!(pieces_of(0, 3000, 100), [0u32; 0]);
    }

    proptest::proptest! {
        #[test]
        fn pieces_less_their_laps_are_the_run(length in 1u32..60_000, stock in 500u32..6_000, lap in 0u32..400) {
            let pieces = pieces_of(length, stock, lap);
            let laps = lap * (pieces.len() as u32 - 1);
            proptest::prop_assert_eq!(pieces.iter().sum::<u32>() - laps, length);
            proptest::prop_assert!(pieces.iter().all(|piece| (1..=stock).contains(piece)));
            // One piece fewer would not reach.
            let fewer = pieces.len() as u32 - 1;
            proptest::prop_assert!(fewer == 0 || fewer * stock - (fewer - 1) * lap < length);
        }
    }
}
