//! From a request to a plan.

use super::effort::Effort;
use super::fewest::fewest_boards;
use super::plan::{CutPlan, lay_out};
use super::request::{CutError, CutRequest, check};
use super::search::search;
use crate::form::InRow;

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
///     pieces: vec![Piece { label: "A1".into(), length_mm: 1500, count: 8 }],
///     stock_mm: vec![6000],
///     kerf_mm: 4.0,
///     ..CutRequest::default()
/// };
/// let plan = plan_cuts(&request, &|| false).unwrap();
/// // Four of 1500 would fill 6000 exactly; three kerfs between them make it three to a board.
/// assert_eq!((plan.boards, plan.bought_mm, plan.proven), (3, 18_000, true));
/// ```
pub fn plan_cuts(request: &CutRequest, stop: &dyn Fn() -> bool) -> Result<CutPlan, InRow<CutError>> {
    let checked = check(request)?;
    let problem = &checked.problem;
    let steps = (request.seconds * STEPS_A_SECOND).max(1e6) as u64;
    let mut effort = Effort::new(steps, stop);
    let best = search(problem, None, None, &mut effort).ok_or_else(|| InRow::whole(CutError::Nothing))?;
    let loads = fewest_boards(problem, &best, &mut effort);
    Ok(lay_out(request, &checked, &loads, best.bound))
}
