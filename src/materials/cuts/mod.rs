//! C7, the cut plan: pieces onto boards, least length bought, then fewest boards.

mod effort;
mod fewest;
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
mod solve;
mod walls;

pub use plan::{Board, Bundles, CutPattern, CutPlan, OffcutCut, PieceCut};
pub use request::{CutError, CutRequest, Offcut, Piece};
pub use sheet::{
    MOST_SHEET_BOARDS, SHEET_HEADING, SheetBoard, SheetCut, SheetSection, SheetTooLong, cut_sheet, sheet_html,
    sheet_rows,
};
pub use solve::plan_cuts;
pub use walls::{JobCuts, Total, WallCuts, WallError, WallPieces, plan_by_wall, plan_walls};
