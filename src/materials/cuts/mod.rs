//! C7, the cut plan: pieces onto boards, least length bought, then fewest boards.

mod counts;
mod effort;
mod fill;
mod improve;
mod master;
mod plan;
mod price;
mod problem;
mod request;
mod search;
mod sheet;
mod simplex;
mod walls;

pub use plan::{Bundles, CutPattern, CutPlan, OffcutCut, PieceCut};
pub use request::{BUNDLE, CutError, CutRequest, KERF, OFFCUT, Offcut, PIECE, PIECES, Piece, SECONDS, SQUARE, STOCK};
pub use sheet::{
    MOST_SHEET_BOARDS, SHEET_HEADING, SheetBoard, SheetCut, SheetSection, SheetTooLong, cut_sheet, sheet_html,
    sheet_rows,
};

pub use walls::{Board, JobCuts, Total, WallCuts, WallError, WallPieces, plan_walls};

use effort::Effort;
use problem::{Load, Problem, Reach};

/// Inner-loop steps that a second of the time box allows: fewer than any machine of the day does in one, so that
/// the count, and not the clock, decides what is found.
const STEPS_A_SECOND: f64 = 8e8;

/// Plans the cuts.
///
/// Aims, in this order: least total length bought, then fewest boards. The plan is always valid; whether the length
/// bought is proved least stands in [`CutPlan::proven`]. The same request gives the same plan, unless `stop` cuts
/// the search short: it is asked now and then, and `true` ends the search with the best plan so far.
///
/// # Errors
/// [`CutError`] when the request can't be meant, or a piece is longer than every board.
///
/// # Example
/// ```
/// use cladlog::materials::cuts::{CutRequest, Piece, plan_cuts};
/// let request = CutRequest {
///     pieces: vec![Piece { label: "A1".into(), length_mm: 1500, count: 8, line: 2 }],
///     stock_mm: vec![6000],
///     kerf_mm: 4.0,
///     ..CutRequest::default()
/// };
/// let plan = plan_cuts(&request, &|| false).unwrap();
/// // Four of 1500 would fill 6000 exactly; three kerfs between them make it three to a board.
/// assert_eq!((plan.boards, plan.bought_mm, plan.proven), (3, 18_000, true));
/// ```
pub fn plan_cuts(request: &CutRequest, stop: &dyn Fn() -> bool) -> Result<CutPlan, CutError> {
    let checked = request::check(request)?;
    let problem = &checked.problem;
    let steps = (request.seconds * STEPS_A_SECOND).max(1e6) as u64;
    let mut effort = Effort::new(steps, stop);
    let found = search::search(problem, None, None, &mut effort).ok_or(CutError::Nothing)?;
    let loads = fewest_boards(problem, &found, &mut effort);
    Ok(plan::lay_out(request, &checked, &loads, found.bound))
}

/// Among plans of the same length bought, one with fewest boards.
fn fewest_boards(problem: &Problem, found: &search::Found, effort: &mut Effort) -> Vec<Load> {
    let boards = problem.boards(&found.loads);
    let longest = problem.dearest();
    if problem.bought().count() == 1 || boards <= found.cost.div_ceil(longest) {
        return found.loads.clone();
    }
    let by_count = Problem {
        costs: problem.supply.iter().map(|supply| u64::from(supply.is_none())).collect(),
        reach: Reach::of(&[1]),
        ..problem.clone()
    };
    let limit = Some(search::Limit { weights: problem.costs.clone(), most: found.cost });
    let first = Some(found.loads.clone());
    let better = effort.within(effort.left() / 3, |effort| search::search(&by_count, first, limit, effort));
    let Some(better) = better.filter(|better| problem.cost(&better.loads) <= found.cost) else {
        return found.loads.clone();
    };
    if better.proven() {
        return better.loads;
    }
    let mut tools = master::Tools { pricer: price::Pricer::default(), effort };
    counts::fewer_boards(problem, &better.loads, better.bound, better.cost, &mut tools).unwrap_or(better.loads)
}
