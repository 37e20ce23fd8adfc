//! The cut sheet for the saw: board by board, in cutting order, with the label and a box to tick for each piece.

use maud::{DOCTYPE, Markup, html};

use super::plan::CutPlan;
use crate::units::number::show;

/// A sheet of more boards than this is of no use at a saw.
pub const MOST_SHEET_BOARDS: u64 = 10_000;

/// One board on the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetBoard {
    /// Counted from 1.
    pub number: u64,
    /// The length of the board.
    pub stock_mm: u32,
    /// Its pieces in cutting order.
    pub cuts: Vec<SheetCut>,
    /// What is left.
    pub offcut_mm: f64,
    /// Whether the offcut is long enough to keep.
    pub keep: bool,
}

/// One piece on the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetCut {
    /// What to write on it.
    pub label: String,
    /// Its length.
    pub length_mm: u32,
    /// Where it begins, from the squared end of the board: the lengths and cuts before it.
    pub from_mm: f64,
}

/// A plan with too many boards for a sheet.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the plan has {boards} boards, a cut sheet takes {MOST_SHEET_BOARDS}: cut by wall")]
pub struct SheetTooLong {
    /// How many boards there are.
    pub boards: u64,
}

/// Lays a plan out board by board.
///
/// # Errors
/// [`SheetTooLong`] beyond [`MOST_SHEET_BOARDS`] boards.
pub fn cut_sheet(plan: &CutPlan, kerf_mm: f64, offcut_mm: f64) -> Result<Vec<SheetBoard>, SheetTooLong> {
    if plan.boards > MOST_SHEET_BOARDS {
        return Err(SheetTooLong { boards: plan.boards });
    }
    let mut boards = Vec::new();
    for pattern in &plan.patterns {
        let mut from_mm = 0.0;
        let mut cuts = Vec::with_capacity(pattern.pieces.len());
        for piece in &pattern.pieces {
            cuts.push(SheetCut { label: piece.label.clone(), length_mm: piece.length_mm, from_mm });
            from_mm += f64::from(piece.length_mm) + kerf_mm;
        }
        for _ in 0..pattern.times {
            boards.push(SheetBoard {
                number: boards.len() as u64 + 1,
                stock_mm: pattern.stock_mm,
                cuts: cuts.clone(),
                offcut_mm: pattern.offcut_mm,
                keep: pattern.offcut_mm > 0.0 && pattern.offcut_mm >= offcut_mm,
            });
        }
    }
    Ok(boards)
}

/// Heading of [`sheet_rows`].
pub const SHEET_HEADING: [&str; 6] = ["board", "stock mm", "from mm", "length mm", "sealed", "label"];

/// The sheet as rows of a table, one a piece; the board stands on its first row only.
pub fn sheet_rows(boards: &[SheetBoard]) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    for board in boards {
        for (place, cut) in board.cuts.iter().enumerate() {
            let first = |text: String| if place == 0 { text } else { String::new() };
            rows.push(vec![
                first(board.number.to_string()),
                first(board.stock_mm.to_string()),
                show(cut.from_mm),
                cut.length_mm.to_string(),
                "[ ]".to_owned(),
                cut.label.clone(),
            ]);
        }
        let left = if board.keep { "offcut, keep" } else { "offcut, waste" };
        rows.push(vec![String::new(), String::new(), String::new(), show(board.offcut_mm), String::new(), left.into()]);
    }
    rows
}

/// The sheet as a page of its own, to print or to carry on a phone: no scripts, nothing fetched.
pub fn sheet_html(title: &str, boards: &[SheetBoard]) -> String {
    let page: Markup = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Cut sheet: " (title) }
                style { (maud::PreEscaped(STYLE)) }
            }
            body {
                h1 { "Cut sheet: " (title) }
                p { (boards.len()) " boards. Measure from the squared end. Seal every cut edge before the piece goes up, then tick." }
                @for board in boards {
                    section {
                        h2 { "Board " (board.number) ", " (board.stock_mm) " mm" }
                        table {
                            tr { th { "from mm" } th { "length mm" } th { "label" } th { "sealed" } }
                            @for cut in &board.cuts {
                                tr {
                                    td { (show(cut.from_mm)) }
                                    td { b { (cut.length_mm) } }
                                    td { (cut.label) }
                                    td { input type="checkbox" aria-label={ "edges sealed: " (cut.label) }; }
                                }
                            }
                        }
                        p { "Offcut " (show(board.offcut_mm)) " mm" @if board.keep { ": keep, mark its length" } }
                    }
                }
            }
        }
    };
    page.into_string()
}

const STYLE: &str = "body{font:16px/1.4 sans-serif;margin:1em;max-width:50em}section{break-inside:avoid;border-top:2px solid;\
margin-top:1em}h2{font-size:1.1em;margin:.4em 0}table{border-collapse:collapse;width:100%}\
th,td{text-align:left;border-bottom:1px solid #999;padding:.3em .6em}input{width:1.4em;height:1.4em}";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::materials::cuts::{CutRequest, Piece, plan_cuts};

    fn boards() -> Vec<SheetBoard> {
        let piece = |label: &str, length_mm, count| Piece { label: label.into(), length_mm, count, line: 2 };
        let request = CutRequest {
            pieces: vec![piece("N/C1 <a>", 1700, 2), piece("N/C2", 1200, 2)],
            stock_mm: vec![3300],
            ..CutRequest::default()
        };
        let plan = plan_cuts(&request, &|| false).unwrap();
        cut_sheet(&plan, 4.0, 300.0).unwrap()
    }

    #[test]
    fn the_sheet_goes_board_by_board_and_counts_the_kerf() {
        let boards = boards();
        assert_eq!(boards.len(), 2);
        assert_eq!(boards[1].number, 2);
        let cuts: Vec<_> = boards[0].cuts.iter().map(|cut| (cut.length_mm, cut.from_mm)).collect();
        assert_eq!(cuts, [(1700, 0.0), (1200, 1704.0)]);
        assert_eq!((boards[0].offcut_mm, boards[0].keep), (392.0, true));
        assert_eq!(sheet_rows(&boards)[0], ["1", "3300", "0", "1700", "[ ]", "N/C1 <a>"]);
    }

    #[test]
    fn the_page_has_a_box_a_piece_and_no_label_can_break_it() {
        let page = sheet_html("north", &boards());
        assert_eq!(page.matches("type=\"checkbox\"").count(), 4);
        assert!(page.contains("N/C1 &lt;a&gt;") && !page.contains("<a>"));
    }
}
