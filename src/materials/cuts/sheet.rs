//! The cut sheet for the saw: board by board, in cutting order, with the label and a box to tick for each piece.

use maud::{DOCTYPE, Markup, html};

use super::plan::{Board, CutPlan, PieceCut, offcut_id};
use crate::plain::count;
use crate::units::number::show;

/// A sheet of more boards than this is of no use at a saw.
pub const MOST_SHEET_BOARDS: u64 = 10_000;

/// One board on the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetBoard {
    /// Counted from 1.
    pub number: u64,
    /// The length of the board, or of the offcut.
    pub stock_mm: f64,
    /// What is written on the offcut, where it is one.
    pub offcut: Option<String>,
    /// Its pieces in cutting order.
    pub cuts: Vec<SheetCut>,
    /// What is left.
    pub offcut_mm: f64,
    /// What to write on the offcut, if it is long enough to keep; empty where one job has one sheet.
    pub keep: Option<String>,
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
    /// What else is done to it: a rip, a notch.
    pub note: String,
}

/// The boards of one wall.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetSection {
    /// The wall, in words; empty where the sheet is of one file.
    pub title: String,
    /// Its boards in cutting order: offcuts first.
    pub boards: Vec<SheetBoard>,
}

/// A plan with too many boards for a sheet.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the plan has {boards} boards, a cut sheet takes {MOST_SHEET_BOARDS}: cut by wall")]
pub struct SheetTooLong {
    /// How many boards there are.
    pub boards: u64,
}

/// Lays a plan out board by board, offcuts first.
///
/// `wall` names the offcuts that are kept (`N/B12`); `note` says what else is done to a piece, by its label.
///
/// # Errors
/// [`SheetTooLong`] beyond [`MOST_SHEET_BOARDS`] boards.
pub fn cut_sheet(
    plan: &CutPlan,
    kerf_mm: f64,
    offcut_mm: f64,
    wall: Option<&str>,
    note: &dyn Fn(&str) -> String,
) -> Result<Vec<SheetBoard>, SheetTooLong> {
    if plan.boards > MOST_SHEET_BOARDS {
        return Err(SheetTooLong { boards: plan.boards });
    }
    let boards = (1..).zip(plan.in_order()).map(|(number, board)| {
        let (stock_mm, offcut, pieces) = match board {
            Board::Bought(pattern) => (f64::from(pattern.stock_mm), None, &pattern.pieces),
            Board::Offcut(cut) => (cut.length_mm, Some(cut.offcut.clone()), &cut.pieces),
        };
        let mut from_mm = 0.0;
        let cut = |piece: &PieceCut| {
            let cut =
                SheetCut { label: piece.label.clone(), length_mm: piece.length_mm, from_mm, note: note(&piece.label) };
            from_mm += f64::from(piece.length_mm) + kerf_mm;
            cut
        };
        let cuts = pieces.iter().map(cut).collect();
        let left = board.offcut_mm();
        let keep = left > 0.0 && left >= offcut_mm;
        let mark = || wall.map_or_else(String::new, |wall| offcut_id(wall, number));
        SheetBoard { number, stock_mm, offcut, cuts, offcut_mm: left, keep: keep.then(mark) }
    });
    Ok(boards.collect())
}

/// Heading of [`sheet_rows`].
pub const SHEET_HEADING: [&str; 7] = ["board", "stock mm", "from mm", "length mm", "sealed", "label", "also"];

/// The sheet as rows of a table, one a piece; the board stands on its first row only.
pub fn sheet_rows(boards: &[SheetBoard]) -> Vec<[String; 7]> {
    let mut rows = Vec::new();
    for board in boards {
        let stock = show(board.stock_mm);
        let from = board.offcut.as_ref().map_or_else(String::new, |id| format!("from offcut {id}"));
        for (place, cut) in board.cuts.iter().enumerate() {
            let first = |text: String| if place == 0 { text } else { String::new() };
            let also = [first(from.clone()), cut.note.clone()];
            rows.push([
                first(board.number.to_string()),
                first(stock.clone()),
                show(cut.from_mm),
                cut.length_mm.to_string(),
                "[ ]".to_owned(),
                cut.label.clone(),
                also.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("; "),
            ]);
        }
        let (label, also) = match &board.keep {
            Some(id) if id.is_empty() => ("offcut, keep", String::new()),
            Some(id) => ("offcut, keep", format!("mark it {id}")),
            None => ("offcut, waste", String::new()),
        };
        let blank = String::new;
        rows.push([blank(), blank(), blank(), show(board.offcut_mm), blank(), label.to_owned(), also]);
    }
    rows
}

/// The sheet as a page of its own, to print or to carry on a phone: no scripts, nothing fetched.
///
/// `before` is what the saw has to know before the first cut.
pub fn sheet_html(title: &str, before: &str, sections: &[SheetSection]) -> String {
    let total: usize = sections.iter().map(bought).sum();
    let title = if title.is_empty() { "Cut sheet".to_owned() } else { format!("Cut sheet: {title}") };
    let page: Markup = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (maud::PreEscaped(STYLE)) }
            }
            body {
                h1 { (title) }
                p { (count(total, "board")) ". " (before) }
                @for section in sections { (section_html(section)) }
            }
        }
    };
    page.into_string()
}

/// Boards that are bought: offcuts were counted where they were.
fn bought(section: &SheetSection) -> usize {
    section.boards.iter().filter(|board| board.offcut.is_none()).count()
}

fn section_html(section: &SheetSection) -> Markup {
    let (boards, offcuts) = (bought(section), section.boards.len() - bought(section));
    html! {
        @if !section.title.is_empty() {
            h2 { (section.title) }
            p {
                (count(boards, "board"))
                @if offcuts > 0 { ", after " (count(offcuts, "offcut")) " from earlier walls" }
            }
        }
        table {
            thead {
                tr { th { "from mm" } th { "length mm" } th { "label" } th { "also" } th { "sealed" } }
            }
            @for board in &section.boards { (board_html(board)) }
        }
    }
}

fn board_html(board: &SheetBoard) -> Markup {
    html! {
        tbody {
            tr.board {
                th colspan="5" {
                    "Board " (board.number) ", "
                    @if let Some(id) = &board.offcut { "from offcut " (id) ", " }
                    (show(board.stock_mm)) " mm"
                    span.left { (left_over(board)) }
                    @if board.cuts.len() > 1 {
                        div.bar aria-hidden="true" {
                            @for cut in &board.cuts { span style={ "flex-grow:" (cut.length_mm) } { (cut.length_mm) } }
                            @if board.offcut_mm > 0.0 { span.off style={ "flex-grow:" (show(board.offcut_mm)) } {} }
                        }
                    }
                }
            }
            @for cut in &board.cuts {
                tr {
                    td { (show(cut.from_mm)) }
                    td { b { (cut.length_mm) } }
                    td { (cut.label) }
                    td { (cut.note) }
                    td { input type="checkbox" aria-label={ "edges sealed: " (cut.label) }; }
                }
            }
        }
    }
}

/// "keep 1811 mm as N/B35", or what goes to waste.
fn left_over(board: &SheetBoard) -> String {
    let left = show(board.offcut_mm);
    match &board.keep {
        Some(id) if !id.is_empty() => format!("keep {left} mm, mark it {id}"),
        Some(_) => format!("keep {left} mm"),
        None if board.offcut_mm > 0.0 => format!("{left} mm over"),
        None => String::new(),
    }
}

const STYLE: &str = "body{font:16px/1.35 sans-serif;margin:1em;max-width:50em}h1{font-size:1.5em}\
h2{break-after:avoid;margin:1.4em 0 0}h2+p{margin:.2em 0 .6em;break-after:avoid}\
table{border-collapse:collapse;width:100%;table-layout:fixed}tbody{break-inside:avoid}\
th,td{text-align:left;vertical-align:top;padding:.25em .4em .25em 0;overflow-wrap:anywhere}td{border-bottom:1px solid #bbb}\
thead th{font-size:.8em}.board th{border-top:2px solid;padding-top:.4em}.left{float:right;font-weight:normal}\
th:nth-child(1){width:15%}th:nth-child(2){width:15%}th:nth-child(3){width:22%}th:nth-child(5){width:13%}\
input{width:1.3em;height:1.3em;margin:0}\
.bar{display:flex;border:1px solid;margin:.3em 0 0;overflow:hidden;font-weight:normal;clear:both}\
.bar span{flex-basis:0;min-width:0;overflow:hidden;border-right:2px solid;text-align:center;font-size:.8em}\
.bar .off{border:0;background:repeating-linear-gradient(45deg,#bbb 0 2px,transparent 2px 7px)}";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::materials::cuts::request::{CutRequest, Piece};
    use crate::materials::cuts::solve::plan_cuts;

    fn boards() -> Vec<SheetBoard> {
        let piece = |label: &str, length_mm, count| Piece { label: label.into(), length_mm, count };
        let request = CutRequest {
            pieces: vec![piece("N/C1 <a>", 1700, 2), piece("N/C2", 1200, 2)],
            stock_mm: vec![3300],
            ..CutRequest::default()
        };
        let plan = plan_cuts(&request, &|| false).unwrap();
        let note = |label: &str| if label == "N/C2" { "rip to 566".to_owned() } else { String::new() };
        cut_sheet(&plan, 4.0, 300.0, Some("N"), &note).unwrap()
    }

    #[test]
    fn the_sheet_goes_board_by_board_and_counts_the_kerf() {
        let boards = boards();
        assert_eq!(boards.len(), 2);
        assert_eq!(boards[1].number, 2);
        let cuts: Vec<_> = boards[0].cuts.iter().map(|cut| (cut.length_mm, cut.from_mm)).collect();
        assert_eq!(cuts, [(1700, 0.0), (1200, 1704.0)]);
        assert_eq!((boards[0].offcut_mm, boards[0].keep.as_deref()), (392.0, Some("N/B1")));
        let rows = sheet_rows(&boards);
        assert_eq!(rows[0], ["1", "3300", "0", "1700", "[ ]", "N/C1 <a>", ""]);
        assert_eq!(rows[1], ["", "", "1704", "1200", "[ ]", "N/C2", "rip to 566"]);
        assert_eq!(rows[2], ["", "", "", "392", "", "offcut, keep", "mark it N/B1"]);
    }

    #[test]
    fn the_page_has_a_box_a_piece_and_no_label_can_break_it() {
        let section = SheetSection { title: "Wall N".into(), boards: boards() };
        let page = sheet_html("north", "Square the end.", &[section]);
        assert_eq!(page.matches("type=\"checkbox\"").count(), 4);
        assert!(page.contains("N/C1 &lt;a&gt;") && !page.contains("<a>"));
    }
}
