//! What a cut plan is asked for, and what can't be meant.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::price::Parts;
use super::problem::{Problem, Reach};
use crate::form::InRow;
use crate::units::number::show;
use crate::units::{Bounds, OutOfRange};

/// The length of a piece.
const PIECE: Bounds = Bounds { what: "piece length", unit: "mm", least: 1.0, most: 200_000.0 };
/// The length of a board as bought.
const STOCK: Bounds = Bounds { what: "stock length", unit: "mm", least: 1.0, most: 200_000.0 };
/// How many pieces in all: one wall has hundreds, the largest job tens of thousands.
const PIECES: Bounds = Bounds { what: "count", unit: "pieces", least: 1.0, most: 1_000_000.0 };
/// The width that one cut takes: no blade is as wide as 100 mm, and a figure beyond is another column's.
const KERF: Bounds = Bounds { what: "kerf", unit: "mm", least: 0.0, most: 100.0 };
/// Boards in a bundle.
const BUNDLE: Bounds = Bounds { what: "bundle", unit: "boards", least: 1.0, most: 10_000.0 };
/// From which length an offcut is kept.
const OFFCUT: Bounds = Bounds { what: "offcut", unit: "mm", least: 0.0, most: 200_000.0 };
/// The time box.
const SECONDS: Bounds = Bounds { what: "time box", unit: "seconds", least: 0.0, most: 3_600.0 };
/// What is cut off one end of each board to square it.
const SQUARE: Bounds = Bounds { what: "squared end", unit: "mm", least: 0.0, most: 1_000.0 };
/// The most stock lengths.
pub const MOST_STOCKS: usize = 20;
/// The most lengths of offcut that are used: the longest ones.
pub const MOST_OFFCUT_LENGTHS: usize = 40;

/// Pieces of one label and length.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Piece {
    /// What is written on it at the saw.
    pub label: String,
    /// Its length, whole millimetres.
    pub length_mm: u32,
    /// How many.
    pub count: u32,
}

/// A piece of board left over from earlier cutting, to be used up before a board is bought.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Offcut {
    /// What is written on it: the wall and the board that it was cut from.
    pub id: String,
    /// Its length, to a tenth of a millimetre.
    pub length_mm: f64,
}

/// What is to be cut from what.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CutRequest {
    /// The pieces, cut exactly as asked: none more, none less.
    pub pieces: Vec<Piece>,
    /// The lengths that can be bought, whole millimetres; a length given twice counts once.
    pub stock_mm: Vec<u32>,
    /// Offcuts that are there already: each may be used once, and costs nothing.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub offcuts: Vec<Offcut>,
    /// What is cut off one end of each board before it is used, in tenths of a millimetre, that cut's own width in it.
    pub square_mm: f64,
    /// The width of a cut, in tenths of a millimetre.
    pub kerf_mm: f64,
    /// Boards in a bundle.
    pub bundle: u32,
    /// Offcuts from this length up are kept.
    pub offcut_mm: f64,
    /// The time box in seconds: sets how much work may be done, see [`super::plan_cuts`].
    pub seconds: f64,
}

impl Default for CutRequest {
    fn default() -> Self {
        Self {
            pieces: Vec::new(),
            stock_mm: Vec::new(),
            offcuts: Vec::new(),
            square_mm: 0.0,
            kerf_mm: 4.0,
            bundle: 1,
            offcut_mm: 300.0,
            seconds: 5.0,
        }
    }
}

/// Why no cut plan can be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[allow(missing_docs, reason = "the message of each says what it is")]
pub enum CutError {
    #[error("there is nothing to cut: at least one piece is needed")]
    Nothing,
    #[error("no stock length is given: at least one is needed, such as 3000")]
    NoStock,
    #[error("{0} stock lengths: the limit is {MOST_STOCKS}")]
    ManyStocks(usize),
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    #[error("{what} {} mm is finer than tenths of a millimetre", show(*mm))]
    TooFine { what: &'static str, mm: f64 },
    #[error("squaring takes {} mm off a board of {stock_mm} mm: nothing is left", show(*.square_mm))]
    NoBoardLeft { stock_mm: u32, square_mm: f64 },
    #[error("offcut '{id}': {error}")]
    Offcut { id: String, error: OutOfRange },
    #[error("with '{label}' there are {total} pieces in all: the limit is 1000000")]
    ManyPieces { label: String, total: u64 },
    #[error("'{label}' is {length_mm} mm, the longest stock is {longest_mm} mm{}: {} mm too long",
        squared(*.square_mm), show(f64::from(*.length_mm) + .square_mm - f64::from(*.longest_mm)))]
    TooLong { label: String, length_mm: u32, longest_mm: u32, square_mm: f64 },
    #[error("label '{label}' has {what} in it: a label is one line of plain text without commas")]
    Label { label: String, what: &'static str },
    #[error("label is blank: every piece needs a mark at the saw")]
    NoLabel,
}

fn squared(square_mm: f64) -> String {
    if square_mm > 0.0 { format!(", {} mm of it to square its end", show(square_mm)) } else { String::new() }
}

/// A request that can be solved.
#[derive(Debug)]
pub(super) struct Checked {
    /// What the solver sees.
    pub problem: Problem,
    /// Stock lengths, longest first, one for each kind of board in the problem.
    pub stock_mm: Vec<u32>,
    /// For each size of the problem its length.
    pub length_mm: Vec<u32>,
    /// For each size the labels that want it, with how many, in the order of the request.
    pub labels: Vec<Vec<(String, u32)>>,
    /// For each kind behind the stock lengths, an offcut length: which offcuts of the request have it.
    pub offcuts: Vec<Vec<usize>>,
    /// Millimetres in one unit of cost.
    pub unit_mm: u32,
    /// Kerf in tenths of a millimetre.
    pub kerf_tenths: u64,
    /// What squaring takes off a board, in tenths of a millimetre.
    pub square_tenths: u64,
}

impl Checked {
    /// What these parts and a cut each take, in tenths of a millimetre.
    pub fn cut(&self, parts: &Parts) -> u64 {
        let each = |&(size, copies): &(usize, u32)| {
            u64::from(copies) * (u64::from(self.length_mm[size]) * 10 + self.kerf_tenths)
        };
        parts.iter().map(each).sum()
    }
}

/// Checks a request and turns it into the solver's problem. A row is a piece.
pub(super) fn check(request: &CutRequest) -> Result<Checked, InRow<CutError>> {
    let settings = Settings::of(request).map_err(InRow::whole)?;
    let Settings { stock_mm, kerf_tenths, square_tenths } = settings;
    let mut total = 0u64;
    let mut by_length: BTreeMap<std::cmp::Reverse<u32>, Vec<(String, u32)>> = BTreeMap::new();
    let mut seen: BTreeMap<(u32, &str), usize> = BTreeMap::new();
    for (row, piece) in (1..).zip(&request.pieces) {
        check_piece(piece, request, stock_mm[0]).map_err(|error| InRow::of(row, error))?;
        total += u64::from(piece.count);
        if total as f64 > PIECES.most {
            return Err(InRow::of(row, CutError::ManyPieces { label: piece.label.clone(), total }));
        }
        let labels = by_length.entry(std::cmp::Reverse(piece.length_mm)).or_default();
        match seen.get(&(piece.length_mm, piece.label.as_str())) {
            Some(&place) => labels[place].1 += piece.count,
            None => {
                seen.insert((piece.length_mm, &piece.label), labels.len());
                labels.push((piece.label.clone(), piece.count));
            }
        }
    }
    if by_length.is_empty() {
        return Err(InRow::whole(CutError::Nothing));
    }
    let length_mm: Vec<u32> = by_length.keys().map(|length| length.0).collect();
    let labels: Vec<_> = by_length.into_values().collect();
    let unit_mm = stock_mm.iter().copied().fold(0, |a, b| gcd(u64::from(a), u64::from(b)) as u32);
    let takes: Vec<u64> = length_mm.iter().map(|&length| u64::from(length) * 10 + kerf_tenths).collect();
    let step = takes.iter().copied().fold(0, gcd);
    let mut costs: Vec<u64> = stock_mm.iter().map(|&length| u64::from(length / unit_mm)).collect();
    let mut supply = vec![None; stock_mm.len()];
    let reach = Reach::of(&costs);
    let boards = stock_mm.iter().map(|&length| u64::from(length) * 10 - square_tenths);
    let (lengths, offcuts): (Vec<u64>, Vec<Vec<usize>>) =
        offcuts_by_length(request, length_mm.last().copied().unwrap_or(1)).map_err(InRow::whole)?.into_iter().unzip();
    costs.extend(offcuts.iter().map(|_| 0));
    supply.extend(offcuts.iter().map(|alike| Some(alike.len() as u32)));
    let problem = Problem {
        sizes: takes.iter().map(|&size| (size / step) as usize).collect(),
        demand: labels.iter().map(|wanted| wanted.iter().map(|(_, count)| count).sum()).collect(),
        rooms: boards.chain(lengths).map(|length| ((length + kerf_tenths) / step) as usize).collect(),
        reach,
        costs,
        supply,
    };
    Ok(Checked { problem, stock_mm, length_mm, labels, offcuts, unit_mm, kerf_tenths, square_tenths })
}

/// What is cut from and how, checked.
struct Settings {
    /// Stock lengths, longest first.
    stock_mm: Vec<u32>,
    kerf_tenths: u64,
    square_tenths: u64,
}

impl Settings {
    fn of(request: &CutRequest) -> Result<Self, CutError> {
        if request.stock_mm.is_empty() {
            return Err(CutError::NoStock);
        }
        let mut stock_mm = request.stock_mm.clone();
        stock_mm.sort_unstable_by(|a, b| b.cmp(a));
        stock_mm.dedup();
        if stock_mm.len() > MOST_STOCKS {
            return Err(CutError::ManyStocks(stock_mm.len()));
        }
        for &length in &stock_mm {
            STOCK.check(f64::from(length))?;
        }
        BUNDLE.check(f64::from(request.bundle))?;
        OFFCUT.check(request.offcut_mm)?;
        SECONDS.check(request.seconds)?;
        let (kerf_tenths, square_tenths) = (tenths(KERF, request.kerf_mm)?, tenths(SQUARE, request.square_mm)?);
        let square_mm = request.square_mm;
        if let Some(&stock_mm) = stock_mm.iter().find(|&&length| u64::from(length) * 10 <= square_tenths) {
            return Err(CutError::NoBoardLeft { stock_mm, square_mm });
        }
        Ok(Self { stock_mm, kerf_tenths, square_tenths })
    }
}

/// Whole tenths of a millimetre: no saw is set finer.
fn tenths(bounds: Bounds, mm: f64) -> Result<u64, CutError> {
    let tenths = (bounds.check(mm)? * 10.0).round();
    if (tenths - mm * 10.0).abs() < 1e-6 { Ok(tenths as u64) } else { Err(CutError::TooFine { what: bounds.what, mm }) }
}

/// The offcuts that a piece fits on, by length in tenths of a millimetre, the longest first.
fn offcuts_by_length(request: &CutRequest, shortest_mm: u32) -> Result<Vec<(u64, Vec<usize>)>, CutError> {
    let mut by_length: BTreeMap<std::cmp::Reverse<u64>, Vec<usize>> = BTreeMap::new();
    for (number, offcut) in request.offcuts.iter().enumerate() {
        let error = |error| CutError::Offcut { id: offcut.id.clone(), error };
        let length_mm = OFFCUT.check(offcut.length_mm).map_err(error)?;
        // Down to the tenth: never longer than it is.
        let length = (length_mm * 10.0 + 1e-6).floor() as u64;
        if length >= u64::from(shortest_mm) * 10 {
            by_length.entry(std::cmp::Reverse(length)).or_default().push(number);
        }
    }
    Ok(by_length.into_iter().map(|(length, alike)| (length.0, alike)).take(MOST_OFFCUT_LENGTHS).collect())
}

fn check_piece(piece: &Piece, request: &CutRequest, longest_mm: u32) -> Result<(), CutError> {
    let square_mm = request.square_mm;
    let label = || crate::units::number::shortened(&piece.label.replace(char::is_control, "\u{fffd}"));
    let bad = |what| CutError::Label { label: label(), what };
    if piece.label.trim().is_empty() {
        return Err(CutError::NoLabel);
    }
    if piece.label.contains(',') {
        return Err(bad("a comma"));
    }
    if piece.label.contains(['\n', '\r']) {
        return Err(bad("a line break"));
    }
    if piece.label.contains(char::is_control) {
        return Err(bad("a control character"));
    }
    PIECE.check(f64::from(piece.length_mm))?;
    PIECES.check(f64::from(piece.count))?;
    let length_mm = piece.length_mm;
    if f64::from(length_mm) > f64::from(longest_mm) - square_mm {
        return Err(CutError::TooLong { label: label(), length_mm, longest_mm, square_mm });
    }
    Ok(())
}

fn gcd(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { gcd(b, a % b) }
}
