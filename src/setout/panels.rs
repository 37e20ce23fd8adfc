//! C6: every piece of every column and course, with its rip, notches, area and cut edge.
//!
//! One course of one column is a rectangle; openings, widened by the gap around them, are cut out of it. What is left
//! may be one piece with a notch, a piece with a hole, or several pieces. Faces are counted: a board that laps its
//! neighbour is taller than its face by the lap.

use serde::Serialize;

use super::columns::Gap;
use super::exact::{LengthError, mm, nearest_tick};
use crate::units::number::show;

/// More pieces than any wall has.
const MOST_PIECES: usize = 100_000;
/// More openings than one wall has.
const MOST_OPENINGS: usize = 500;

/// One wall, set out. Lengths along from its left end, heights above the datum, in millimetres.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SetOut {
    /// The columns, from [`super::columns::columns`].
    pub columns: Vec<Gap>,
    /// The bottom of each course, from [`super::courses::courses`].
    pub courses_mm: Vec<f64>,
    /// The face of a full course.
    pub cover_mm: f64,
    /// Where the cladding ends.
    pub top_mm: f64,
    /// What the top course loses so that it can be lifted in.
    pub lift_in_mm: f64,
    /// The length of a whole panel: a column as long keeps both factory ends.
    pub panel_mm: f64,
    /// Windows and doors.
    pub openings: Vec<WallOpening>,
    /// The gap left between panel and opening, all round.
    pub gap_mm: f64,
}

/// A window or door in its wall; a door has no sill.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WallOpening {
    /// Its left side.
    pub from_mm: f64,
    /// Its right side.
    pub to_mm: f64,
    /// Its bottom edge.
    pub sill_mm: Option<f64>,
    /// Its top edge.
    pub head_mm: Option<f64>,
}

/// A rectangle that is cut out of a piece, measured from the piece's lower left corner.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Notch {
    /// From the left edge of the piece.
    pub from_left_mm: f64,
    /// From the bottom edge of the piece.
    pub from_bottom_mm: f64,
    /// Its length.
    pub length_mm: f64,
    /// Its height.
    pub height_mm: f64,
}

/// One piece as it goes on the wall.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Piece {
    /// What is written on its back: course, column, and a letter where an opening leaves several.
    pub label: String,
    /// Its column, counted from 1 at the left.
    pub column: usize,
    /// Its course, counted from 1 at the start.
    pub course: usize,
    /// Its left edge along the wall.
    pub from_mm: f64,
    /// Its bottom edge above the datum.
    pub bottom_mm: f64,
    /// Its length over all.
    pub length_mm: f64,
    /// Its height over all.
    pub height_mm: f64,
    /// Whether it is ripped: less high than a full course.
    pub ripped: bool,
    /// What is cut out of it.
    pub notches: Vec<Notch>,
    /// Its area, notches taken off, in square metres.
    pub area_m2: f64,
    /// The edge that was cut and has to be sealed, in metres.
    pub cut_edge_m: f64,
}

/// Every piece of a wall.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Panels {
    /// The pieces: by course from the bottom, then by column.
    pub pieces: Vec<Piece>,
    /// Their area in all, in square metres.
    pub area_m2: f64,
    /// Their cut edge in all, in metres.
    pub cut_edge_m: f64,
}

/// Why the pieces can't be counted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PanelsError {
    /// A length that can't be taken.
    #[error("{0}")]
    Length(#[from] LengthError),
    /// Something that has to have some size has none.
    #[error("{what} {} mm has to be more than 0", show(*given_mm))]
    NoSize {
        /// What it is.
        what: &'static str,
        /// What was given.
        given_mm: f64,
    },
    /// A length that can't be negative is.
    #[error("{what} {} mm is less than 0", show(*given_mm))]
    Negative {
        /// What it is.
        what: &'static str,
        /// What was given.
        given_mm: f64,
    },
    /// A column or opening that ends before it begins.
    #[error("{what} {number} ends before it begins")]
    Backwards {
        /// What it is.
        what: &'static str,
        /// Which, counted from 1.
        number: usize,
    },
    /// More pieces or openings than a wall has.
    #[error("{given} {what} are more than one wall has: at most {most}")]
    TooMany {
        /// What they are.
        what: &'static str,
        /// How many.
        given: usize,
        /// How many are taken.
        most: usize,
    },
}

/// A rectangle in ticks.
#[derive(Debug, Clone, Copy)]
struct Rect {
    left: i64,
    right: i64,
    bottom: i64,
    top: i64,
}

/// One course of one column before openings are cut out, and which of its edges come from the factory.
struct Blank {
    face: Rect,
    /// The top edge is the board's own.
    own_top: bool,
    /// The column is as long as the panel: both ends are the board's own.
    own_ends: bool,
}

/// Every piece of a wall, with its notches, area and cut edge.
///
/// An edge is cut unless it is the panel's own: bottom and top of a full course, both ends of a full length. Of a
/// shorter column one end is cut, counted at the right; of two pieces left and right of an opening each keeps its own
/// outer end.
///
/// # Errors
/// [`PanelsError`] for a length that is out of range, or more than one wall has.
pub fn panels(wall: &SetOut) -> Result<Panels, PanelsError> {
    let panel = size("panel", wall.panel_mm)?;
    let cover = size("cover", wall.cover_mm)?;
    let lift_in = not_negative("lift-in", wall.lift_in_mm)?;
    let top = nearest_tick("top", wall.top_mm)?;
    let holes = holes(wall)?;
    let count = wall.columns.len().saturating_mul(wall.courses_mm.len());
    if count > MOST_PIECES {
        return Err(PanelsError::TooMany { what: "pieces", given: count, most: MOST_PIECES });
    }
    let mut pieces = Vec::with_capacity(count);
    for (course, &bottom_mm) in (1..).zip(&wall.courses_mm) {
        let bottom = nearest_tick("course", bottom_mm)?;
        // The course that reaches the top loses the lift-in, be it ripped or whole.
        let face_top = if bottom + cover >= top { top - lift_in } else { bottom + cover };
        for (column, gap) in (1..).zip(&wall.columns) {
            let (left, right) = (nearest_tick("column", gap.from_mm)?, nearest_tick("column", gap.to_mm)?);
            if right < left {
                return Err(PanelsError::Backwards { what: "column", number: column });
            }
            let face = Rect { left, right, bottom, top: face_top };
            let blank = Blank { face, own_top: face_top == bottom + cover, own_ends: right - left == panel };
            pieces.extend(blank.pieces(&holes, course, column, cover));
        }
    }
    let area_m2 = pieces.iter().map(|piece| piece.area_m2).sum();
    let cut_edge_m = pieces.iter().map(|piece| piece.cut_edge_m).sum();
    Ok(Panels { pieces, area_m2, cut_edge_m })
}

fn size(what: &'static str, given_mm: f64) -> Result<i64, PanelsError> {
    let ticks = nearest_tick(what, given_mm)?;
    if ticks > 0 { Ok(ticks) } else { Err(PanelsError::NoSize { what, given_mm }) }
}

fn not_negative(what: &'static str, given_mm: f64) -> Result<i64, PanelsError> {
    let ticks = nearest_tick(what, given_mm)?;
    if ticks >= 0 { Ok(ticks) } else { Err(PanelsError::Negative { what, given_mm }) }
}

/// The openings widened by the gap; an open side runs on past any wall.
fn holes(wall: &SetOut) -> Result<Vec<Rect>, PanelsError> {
    if wall.openings.len() > MOST_OPENINGS {
        return Err(PanelsError::TooMany { what: "openings", given: wall.openings.len(), most: MOST_OPENINGS });
    }
    let gap = not_negative("gap", wall.gap_mm)?;
    let mut holes = Vec::with_capacity(wall.openings.len());
    for (number, opening) in (1..).zip(&wall.openings) {
        let edge = |edge: Option<f64>, open: i64| edge.map_or(Ok(open), |mm| nearest_tick("opening", mm));
        let hole = Rect {
            left: nearest_tick("opening", opening.from_mm)? - gap,
            right: nearest_tick("opening", opening.to_mm)? + gap,
            bottom: edge(opening.sill_mm, i64::MIN / 4)? - gap,
            top: edge(opening.head_mm, i64::MAX / 4)? + gap,
        };
        if hole.right - hole.left <= 2 * gap || hole.top - hole.bottom <= 2 * gap {
            return Err(PanelsError::Backwards { what: "opening", number });
        }
        holes.push(hole);
    }
    Ok(holes)
}

impl Blank {
    fn pieces(&self, holes: &[Rect], course: usize, column: usize, cover: i64) -> Vec<Piece> {
        let face = self.face;
        if face.left >= face.right || face.bottom >= face.top {
            return Vec::new();
        }
        let grid = Grid::cut(face, holes);
        let parts = grid.parts();
        let several = parts.len() > 1;
        let mut pieces = Vec::with_capacity(parts.len());
        for (place, part) in parts.iter().enumerate() {
            let over_all = grid.over_all(part);
            let mut label = format!("C{course}-{column}");
            if several {
                label.push(char::from(b'a' + (place % 26) as u8));
            }
            pieces.push(Piece {
                label,
                column,
                course,
                from_mm: mm(over_all.left),
                bottom_mm: mm(over_all.bottom),
                length_mm: mm(over_all.right - over_all.left),
                height_mm: mm(over_all.top - over_all.bottom),
                ripped: over_all.top - over_all.bottom < cover,
                notches: grid.notches(part, over_all),
                area_m2: part.iter().map(|&cell| grid.area_m2(cell)).sum(),
                cut_edge_m: mm(self.cut_edge(&grid, part, over_all)) / 1000.0,
            });
        }
        pieces
    }

    /// The boundary of a part that is not the board's own edge, in ticks.
    fn cut_edge(&self, grid: &Grid, part: &[(usize, usize)], over_all: Rect) -> i64 {
        let face = self.face;
        let end_to_end = over_all.left == face.left && over_all.right == face.right;
        let mut cut = 0;
        for &(column, row) in part {
            let cell = grid.rect(column, row);
            let (length, height) = (cell.right - cell.left, cell.top - cell.bottom);
            let beside = |across: isize, up: isize| {
                let at = column.checked_add_signed(across).zip(row.checked_add_signed(up));
                at.is_some_and(|at| part.binary_search(&at).is_ok())
            };
            let sides = [
                (beside(-1, 0), cell.left == face.left, height),
                (beside(1, 0), cell.right == face.right && (self.own_ends || !end_to_end), height),
                (beside(0, -1), cell.bottom == face.bottom, length),
                (beside(0, 1), cell.top == face.top && self.own_top, length),
            ];
            cut += sides.iter().filter(|(inside, own, _)| !inside && !own).map(|(_, _, size)| size).sum::<i64>();
        }
        cut
    }
}

/// A face cut by the edges of the holes: each cell is wholly board or wholly hole.
struct Grid {
    across: Vec<i64>,
    up: Vec<i64>,
    /// Row by row from the bottom.
    solid: Vec<bool>,
}

impl Grid {
    fn cut(face: Rect, holes: &[Rect]) -> Self {
        let here: Vec<Rect> = holes
            .iter()
            .map(|hole| Rect {
                left: hole.left.max(face.left),
                right: hole.right.min(face.right),
                bottom: hole.bottom.max(face.bottom),
                top: hole.top.min(face.top),
            })
            .filter(|hole| hole.left < hole.right && hole.bottom < hole.top)
            .collect();
        let lines = |ends: [i64; 2], edges: &mut dyn Iterator<Item = i64>| {
            let mut lines: Vec<i64> = ends.into_iter().chain(edges).collect();
            lines.sort_unstable();
            lines.dedup();
            lines
        };
        let across = lines([face.left, face.right], &mut here.iter().flat_map(|hole| [hole.left, hole.right]));
        let up = lines([face.bottom, face.top], &mut here.iter().flat_map(|hole| [hole.bottom, hole.top]));
        let mut solid = Vec::new();
        for rows in up.windows(2) {
            for columns in across.windows(2) {
                let (left, bottom) = (columns.first().copied(), rows.first().copied());
                let inside = |hole: &Rect| {
                    left.is_some_and(|left| (hole.left..hole.right).contains(&left))
                        && bottom.is_some_and(|bottom| (hole.bottom..hole.top).contains(&bottom))
                };
                solid.push(!here.iter().any(inside));
            }
        }
        Self { across, up, solid }
    }

    fn size(&self) -> (usize, usize) {
        (self.across.len() - 1, self.up.len() - 1)
    }

    fn rect(&self, column: usize, row: usize) -> Rect {
        let at = |lines: &[i64], place: usize| lines.get(place).copied().unwrap_or_default();
        Rect {
            left: at(&self.across, column),
            right: at(&self.across, column + 1),
            bottom: at(&self.up, row),
            top: at(&self.up, row + 1),
        }
    }

    fn is_solid(&self, column: usize, row: usize) -> bool {
        let (columns, _) = self.size();
        column < columns && self.solid.get(row * columns + column).copied().unwrap_or(false)
    }

    /// Cells that hang together, each part one piece, its cells in order; from the bottom left.
    fn parts(&self) -> Vec<Vec<(usize, usize)>> {
        let (columns, rows) = self.size();
        let mut seen = vec![false; columns * rows];
        let mut parts = Vec::new();
        for start in (0..rows).flat_map(|row| (0..columns).map(move |column| (column, row))) {
            let mut part = Vec::new();
            let mut open = vec![start];
            while let Some((column, row)) = open.pop() {
                let place = row * columns + column;
                if !self.is_solid(column, row) || seen.get(place).copied().unwrap_or(true) {
                    continue;
                }
                if let Some(seen) = seen.get_mut(place) {
                    *seen = true;
                }
                part.push((column, row));
                open.extend([(column + 1, row), (column, row + 1)]);
                open.extend(column.checked_sub(1).map(|column| (column, row)));
                open.extend(row.checked_sub(1).map(|row| (column, row)));
            }
            if !part.is_empty() {
                part.sort_unstable();
                parts.push(part);
            }
        }
        parts
    }

    fn over_all(&self, part: &[(usize, usize)]) -> Rect {
        let first = part.first().map_or(Rect { left: 0, right: 0, bottom: 0, top: 0 }, |&(c, r)| self.rect(c, r));
        part.iter().map(|&(column, row)| self.rect(column, row)).fold(first, |a, b| Rect {
            left: a.left.min(b.left),
            right: a.right.max(b.right),
            bottom: a.bottom.min(b.bottom),
            top: a.top.max(b.top),
        })
    }

    /// What is missing from the part's rectangle over all, in as few rectangles as rows of one width make.
    fn notches(&self, part: &[(usize, usize)], over_all: Rect) -> Vec<Notch> {
        let (columns, rows) = self.size();
        let mut open: Vec<Rect> = Vec::new();
        for row in 0..rows {
            let mut column = 0;
            while column < columns {
                let missing = |column: usize| {
                    let cell = self.rect(column, row);
                    let within = cell.left >= over_all.left
                        && cell.right <= over_all.right
                        && cell.bottom >= over_all.bottom
                        && cell.top <= over_all.top;
                    within && column < columns && part.binary_search(&(column, row)).is_err()
                };
                let begins = column;
                while missing(column) {
                    column += 1;
                }
                if column == begins {
                    column += 1;
                    continue;
                }
                let (near, far) = (self.rect(begins, row), self.rect(column - 1, row));
                let under = open
                    .iter_mut()
                    .find(|below| below.left == near.left && below.right == far.right && below.top == near.bottom);
                match under {
                    Some(below) => below.top = near.top,
                    None => open.push(Rect { left: near.left, right: far.right, ..near }),
                }
            }
        }
        open.iter()
            .map(|rect| Notch {
                from_left_mm: mm(rect.left - over_all.left),
                from_bottom_mm: mm(rect.bottom - over_all.bottom),
                length_mm: mm(rect.right - rect.left),
                height_mm: mm(rect.top - rect.bottom),
            })
            .collect()
    }

    fn area_m2(&self, (column, row): (usize, usize)) -> f64 {
        let cell = self.rect(column, row);
        mm(cell.right - cell.left) * mm(cell.top - cell.bottom) / 1e6
    }
}
