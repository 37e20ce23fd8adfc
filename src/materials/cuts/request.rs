//! What a cut plan is asked for, and what can't be meant.

use std::collections::BTreeMap;

use super::problem::{Problem, Reach};
use crate::units::number::show;
use crate::units::{Bounds, OutOfRange};

/// The length of a piece.
pub const PIECE: Bounds = Bounds { what: "piece length", unit: "mm", least: 1.0, most: 200_000.0 };
/// The length of a board as bought.
pub const STOCK: Bounds = Bounds { what: "stock length", unit: "mm", least: 1.0, most: 200_000.0 };
/// How many pieces in all: one wall has hundreds, the largest job tens of thousands.
pub const PIECES: Bounds = Bounds { what: "count", unit: "pieces", least: 1.0, most: 1_000_000.0 };
/// The width that one cut takes.
pub const KERF: Bounds = Bounds { what: "kerf", unit: "mm", least: 0.0, most: 200_000.0 };
/// Boards in a bundle.
pub const BUNDLE: Bounds = Bounds { what: "bundle", unit: "boards", least: 1.0, most: 10_000.0 };
/// From which length an offcut is kept.
pub const OFFCUT: Bounds = Bounds { what: "offcut", unit: "mm", least: 0.0, most: 200_000.0 };
/// The time box.
pub const SECONDS: Bounds = Bounds { what: "time box", unit: "seconds", least: 0.0, most: 3_600.0 };
/// So many stock lengths are told apart at most.
pub const MOST_STOCKS: usize = 20;

/// Pieces of one label and length.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Piece {
    /// What is written on it at the saw.
    pub label: String,
    /// Its length, whole millimetres.
    pub length_mm: u32,
    /// How many.
    pub count: u32,
    /// The line of the file that it stands on, for messages.
    pub line: u64,
}

/// What is to be cut from what.
#[derive(Debug, Clone, PartialEq)]
pub struct CutRequest {
    /// The pieces, cut exactly as asked: none more, none less.
    pub pieces: Vec<Piece>,
    /// The lengths that can be bought, whole millimetres; a length given twice counts once.
    pub stock_mm: Vec<u32>,
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
        Self { pieces: Vec::new(), stock_mm: Vec::new(), kerf_mm: 4.0, bundle: 1, offcut_mm: 300.0, seconds: 5.0 }
    }
}

/// Why no cut plan can be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CutFault {
    /// No pieces.
    #[error("there is nothing to cut: at least one piece is needed")]
    Nothing,
    /// No stock lengths.
    #[error("no stock length is given: at least one is needed, such as 3000")]
    NoStock,
    /// Too many stock lengths.
    #[error("{0} stock lengths are given, at most {MOST_STOCKS} are taken")]
    ManyStocks(usize),
    /// A number outside its range.
    #[error("{0}")]
    Range(OutOfRange),
    /// A number of one piece outside its range.
    #[error("{fault}")]
    PieceRange {
        /// The piece's line.
        line: u64,
        /// What is out of range.
        fault: OutOfRange,
    },
    /// A kerf finer than the saw can be set.
    #[error("kerf {} mm is finer than tenths of a millimetre", show(*.0))]
    FineKerf(f64),
    /// More pieces than are taken.
    #[error("with '{label}' there are {total} pieces in all, at most 1000000 are taken")]
    ManyPieces {
        /// The piece's line.
        line: u64,
        /// The piece's label.
        label: String,
        /// How many pieces there are up to here.
        total: u64,
    },
    /// A piece that no board is long enough for.
    #[error("'{label}' is {length_mm} mm, the longest stock is {longest_mm} mm: {} mm too long", .length_mm - .longest_mm)]
    TooLong {
        /// The piece's line.
        line: u64,
        /// The piece's label.
        label: String,
        /// Its length.
        length_mm: u32,
        /// The longest stock length.
        longest_mm: u32,
    },
    /// A kerf that is more than a whole piece.
    #[error("kerf {} mm is more than the whole of '{label}', {length_mm} mm", show(*.kerf_mm))]
    KerfTooWide {
        /// The piece's line.
        line: u64,
        /// The piece's label.
        label: String,
        /// Its length.
        length_mm: u32,
        /// The kerf.
        kerf_mm: f64,
    },
    /// A label that can't stand on a cut sheet or in a table.
    #[error("label '{label}' has {what} in it: a label is one line of plain text without commas")]
    Label {
        /// The piece's line.
        line: u64,
        /// The label, control characters shown.
        label: String,
        /// What is wrong with it.
        what: &'static str,
    },
    /// No label at all.
    #[error("label is blank: every piece needs a mark at the saw")]
    NoLabel {
        /// The piece's line.
        line: u64,
    },
}

impl CutFault {
    /// The line of the piece that is at fault, where it is one piece.
    pub fn line(&self) -> Option<u64> {
        match self {
            Self::PieceRange { line, .. }
            | Self::ManyPieces { line, .. }
            | Self::TooLong { line, .. }
            | Self::KerfTooWide { line, .. }
            | Self::Label { line, .. }
            | Self::NoLabel { line } => Some(*line),
            Self::Nothing | Self::NoStock | Self::ManyStocks(_) | Self::Range(_) | Self::FineKerf(_) => None,
        }
    }
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
    /// Millimetres in one unit of cost.
    pub unit_mm: u32,
    /// Kerf in tenths of a millimetre.
    pub kerf_tenths: u64,
}

/// Checks a request and turns it into the solver's problem.
pub(super) fn check(request: &CutRequest) -> Result<Checked, CutFault> {
    let range = CutFault::Range;
    if request.stock_mm.is_empty() {
        return Err(CutFault::NoStock);
    }
    let mut stock_mm = request.stock_mm.clone();
    stock_mm.sort_unstable_by(|a, b| b.cmp(a));
    stock_mm.dedup();
    if stock_mm.len() > MOST_STOCKS {
        return Err(CutFault::ManyStocks(stock_mm.len()));
    }
    for &length in &stock_mm {
        STOCK.check(f64::from(length)).map_err(range)?;
    }
    KERF.check(request.kerf_mm).map_err(range)?;
    BUNDLE.check(f64::from(request.bundle)).map_err(range)?;
    OFFCUT.check(request.offcut_mm).map_err(range)?;
    SECONDS.check(request.seconds).map_err(range)?;
    let kerf_tenths = (request.kerf_mm * 10.0).round();
    if (kerf_tenths - request.kerf_mm * 10.0).abs() > 1e-6 {
        return Err(CutFault::FineKerf(request.kerf_mm));
    }
    let kerf_tenths = kerf_tenths as u64;
    let mut total = 0u64;
    let mut by_length: BTreeMap<std::cmp::Reverse<u32>, Vec<(String, u32)>> = BTreeMap::new();
    let mut seen: BTreeMap<(u32, &str), usize> = BTreeMap::new();
    for piece in &request.pieces {
        check_piece(piece, request.kerf_mm, stock_mm[0])?;
        total += u64::from(piece.count);
        if total as f64 > PIECES.most {
            return Err(CutFault::ManyPieces { line: piece.line, label: piece.label.clone(), total });
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
        return Err(CutFault::Nothing);
    }
    let length_mm: Vec<u32> = by_length.keys().map(|length| length.0).collect();
    let labels: Vec<_> = by_length.into_values().collect();
    let unit_mm = stock_mm.iter().copied().fold(0, |a, b| gcd(u64::from(a), u64::from(b)) as u32);
    let tenths: Vec<u64> = length_mm.iter().map(|&length| u64::from(length) * 10 + kerf_tenths).collect();
    let step = tenths.iter().copied().fold(0, gcd);
    let costs: Vec<u64> = stock_mm.iter().map(|&length| u64::from(length / unit_mm)).collect();
    let problem = Problem {
        sizes: tenths.iter().map(|&size| (size / step) as usize).collect(),
        demand: labels.iter().map(|wanted| wanted.iter().map(|(_, count)| count).sum()).collect(),
        rooms: stock_mm.iter().map(|&length| ((u64::from(length) * 10 + kerf_tenths) / step) as usize).collect(),
        reach: Reach::of(&costs),
        costs,
    };
    Ok(Checked { problem, stock_mm, length_mm, labels, unit_mm, kerf_tenths })
}

fn check_piece(piece: &Piece, kerf_mm: f64, longest_mm: u32) -> Result<(), CutFault> {
    let line = piece.line;
    let ranged = |fault| CutFault::PieceRange { line, fault };
    let label = || crate::units::number::shortened(&piece.label.replace(char::is_control, "\u{fffd}"));
    let bad = |what| CutFault::Label { line, label: label(), what };
    if piece.label.trim().is_empty() {
        return Err(CutFault::NoLabel { line });
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
    PIECE.check(f64::from(piece.length_mm)).map_err(ranged)?;
    PIECES.check(f64::from(piece.count)).map_err(ranged)?;
    let length_mm = piece.length_mm;
    if length_mm > longest_mm {
        return Err(CutFault::TooLong { line, label: label(), length_mm, longest_mm });
    }
    if kerf_mm > f64::from(length_mm) {
        return Err(CutFault::KerfTooWide { line, label: label(), length_mm, kerf_mm });
    }
    Ok(())
}

fn gcd(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { gcd(b, a % b) }
}
