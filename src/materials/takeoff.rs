//! C8, the take-off: from the numbers of the set-out to what to order, each line with its rule, its basis and its waste.
//!
//! Every rule is arithmetic that a crew lead can redo on paper: what is counted, times a rate, plus waste, in whole
//! packs. Rates, packs and waste are [`Allowance`]s: they come from the sequence, never from here.

use serde::{Deserialize, Serialize};

use super::allowances::{Allowance, Measure};
use super::product::{Amount, SoldAs, counted, known_or_plain, unit};
use super::runs::{CutRun, Run, cut_runs, stock_lengths};
use super::wrap::{Wrapped, strips};
use crate::building::CornerKind;
use crate::plain::count;
use crate::units::number::{show, show_to};
use crate::units::{Bounds, OutOfRange};

/// How many of anything one wall may have.
const COUNT: Bounds = Bounds { what: "count", unit: "pieces", least: 0.0, most: 1_000_000.0 };
/// Metres, or square metres, of anything on one wall.
const METRES: Bounds = Bounds { what: "metres", unit: "m", least: 0.0, most: 100_000.0 };
/// The size of a packer or board.
const SIZE: Bounds = Bounds { what: "size", unit: "mm", least: 0.001, most: 1_000_000.0 };

/// So many of one size.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct OfSize {
    /// The size: of a board its stock length.
    pub size_mm: f64,
    /// How many.
    pub count: u32,
}

/// A corner that a wall is charged with.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CornerQuantity {
    /// What it is made of.
    pub kind: CornerKind,
    /// Its height, in metres.
    pub height_m: f64,
    /// The courses that meet it.
    pub courses: u32,
    /// Its flashing.
    pub run: Run,
}

/// The numbers of one wall's set-out.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct WallQuantities {
    /// The wall's key; `job` for what is of all walls together.
    pub wall: String,
    /// Boards that are bought for it, from the cut plan.
    pub boards: Vec<OfSize>,
    /// Its panels, in square metres.
    pub area_m2: f64,
    /// Places where a stud stands behind a piece; at a joint both pieces count.
    pub crossings: u32,
    /// Fixings by the job's table; without one, those places.
    pub fixings: u32,
    /// The starter line, in metres, door openings taken out; what runs over heads is in `head_m`.
    pub starter_m: f64,
    /// The starter over floor lines, in metres.
    pub floor_m: f64,
    /// Board ripped at the top, in metres: under the top and under sills.
    pub ripped_m: f64,
    /// Places where the ends of two lapped boards meet.
    pub board_ends: u32,
    /// Corners that this wall is charged with.
    pub corners: Vec<CornerQuantity>,
    /// This wall's side of each of its corners, in metres of height: sealed whichever wall the corner is charged to.
    pub corner_side_m: f64,
    /// Vertical movement joints between columns.
    pub joints: u32,
    /// Joints all together, in metres of height, openings taken out.
    pub joint_m: f64,
    /// Openings.
    pub openings: u32,
    /// Round all openings, in metres: where panels meet them.
    pub opening_m: f64,
    /// Of that along their heads, in metres: left open to drain, never sealed.
    pub head_m: f64,
    /// Of it what is sealed, in metres: neither heads nor openings that are left dry.
    pub opening_sealed_m: f64,
    /// Edges cut on site, in metres, from the pieces.
    pub cut_edge_m: f64,
    /// Packers by size, from the packing plan.
    pub packers: Vec<OfSize>,
    /// Flashings and battens, run by run; those of corners are with the corners.
    pub runs: Vec<Run>,
    /// What is wrapped.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wrapped: Option<Wrapped>,
}

impl WallQuantities {
    /// What is sealed, in metres: joints, this wall's sides of corners, and round openings but for their heads.
    pub fn sealed_m(&self) -> f64 {
        self.joint_m + self.corner_side_m + self.opening_sealed_m
    }

    /// What an allowance counts on this wall.
    fn amount(&self, allowance: &Allowance) -> f64 {
        let count = |sizes: &[OfSize]| sizes.iter().map(|sized| f64::from(sized.count)).sum();
        let corners = || self.corners.iter().filter(|corner| allowance.is_for(corner.kind));
        match allowance.per {
            Measure::Board => count(&self.boards),
            Measure::AreaM2 => self.area_m2,
            Measure::Crossing => f64::from(self.crossings),
            Measure::Fixing => f64::from(self.fixings),
            Measure::StarterM => self.starter_m + self.floor_m + self.head_m,
            Measure::RippedM => self.ripped_m,
            Measure::BoardEnd => f64::from(self.board_ends),
            Measure::Corner => corners().count() as f64,
            Measure::CornerM => corners().map(|corner| corner.height_m).sum(),
            Measure::CornerCourse => corners().map(|corner| f64::from(corner.courses)).sum(),
            Measure::Joint => f64::from(self.joints),
            Measure::JointM => self.joint_m,
            Measure::Opening => f64::from(self.openings),
            Measure::OpeningM => self.opening_m,
            Measure::SealedM => self.sealed_m(),
            Measure::CutEdgeM => self.cut_edge_m,
            Measure::Packer => count(&self.packers),
            Measure::BaseFlashing
            | Measure::HeadFlashing
            | Measure::FloorFlashing
            | Measure::CornerFlashing
            | Measure::Batten => self.runs_of(allowance).map(|(_, run)| run.length_mm).sum::<f64>() / 1e3,
            Measure::WrapM => self.strips(allowance).iter().map(|strip| f64::from(strip.length_mm)).sum::<f64>() / 1e3,
        }
    }

    /// The runs that an allowance counts on this wall, each with the wall's key.
    fn runs_of<'a>(&'a self, allowance: &'a Allowance) -> impl Iterator<Item = (&'a str, &'a Run)> {
        let of_corners = self.corners.iter().filter(|corner| allowance.is_for(corner.kind)).map(|corner| &corner.run);
        let runs = self.runs.iter().chain(of_corners).filter(|run| run.per == allowance.per);
        runs.map(|run| (self.wall.as_str(), run))
    }

    /// The strips of wrap of this wall.
    fn strips(&self, allowance: &Allowance) -> Vec<CutRun> {
        let cut = |wrapped: &Wrapped| {
            let width = allowance.width_mm.unwrap_or_default();
            strips(&self.wall, wrapped, width, allowance.lap_mm, allowance.past_mm)
        };
        self.wrapped.as_ref().map(cut).unwrap_or_default()
    }
}

/// What to order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TakeOff {
    /// The walls that it is for.
    #[serde(default)]
    pub walls: Vec<String>,
    /// Line by line.
    pub lines: Vec<TakeoffLine>,
    /// What was not counted, and where the boards come from.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
}

/// One line of the order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TakeoffLine {
    /// What it is, such as `clips`.
    pub item: String,
    /// The product that it comes to the site as, by its key; absent where the allowance names none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub product: Option<String>,
    /// How much the set-out needs, without waste.
    pub needed: f64,
    /// The unit of that: `m`, `pieces`, `ml`.
    pub unit: String,
    /// Waste on top, in per cent.
    pub waste_pct: f64,
    /// How many to order, in whole units of `sold_as`.
    pub order: u64,
    /// How much one of `sold_as` holds, in `unit`; absent in take-offs kept before it was written down.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pack: Option<f64>,
    /// What it is sold as, such as `box of 100 pieces`.
    pub sold_as: SoldAs,
    /// How the needed quantity was found, in words and numbers.
    pub rule: String,
    /// What rate, pack and waste rest on.
    pub basis: String,
    /// Of what is put up in runs: each with its lengths.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub runs: Vec<CutRun>,
}

impl TakeoffLine {
    /// "12 lengths of 3 m", "1 box of 500 pieces", "123 boards".
    pub fn in_words(&self) -> String {
        let pack = counted(Amount::of(self.order as f64), &self.sold_as.pack);
        SoldAs { pack, holds: self.sold_as.holds.clone() }.to_string()
    }

    /// What the order comes to in the unit that a product is counted in on the job; `None` where the one does not say the other,
    /// as metres say nothing of pieces.
    pub fn in_unit(&self, product: &str, of_job: &str) -> Option<Amount> {
        let order = self.order as f64;
        if unit(&self.sold_as.pack).is_some_and(|pack| pack.many == of_job) {
            return Some(Amount::of(order));
        }
        let is_piece = |word| unit(word).is_some_and(|unit| unit.is_piece);
        let by_the_piece = of_job == known_or_plain(product).unit && is_piece(of_job) && is_piece(&self.unit);
        self.pack.filter(|_| by_the_piece).map(|pack| Amount::of(order * pack))
    }
}

/// What a take-off leaves out on purpose, so that nobody takes it for ordered.
pub const LEFT_OUT: &str = "Not in it unless a line names it: fixings of battens and flashings, flexible tape at sills and \
                            openings, cavity closers, insulation, scaffold and tools.";

/// Why no take-off can be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TakeoffError {
    /// Nothing to take off.
    #[error("there is no wall to take off")]
    NoWall,
    /// More pieces than any job has.
    #[error("{0} come to more pieces than any job has: check the length that they are sold in, and their lap")]
    ManyPieces(String),
    /// A number of a wall out of its range.
    #[error("wall {wall}: {field}: {error}")]
    Wall {
        /// The wall's key.
        wall: String,
        /// Which number.
        field: &'static str,
        /// What is out of range.
        error: OutOfRange,
    },
    /// An allowance out of its range.
    #[error("allowance for {item}: {field}: {error}")]
    Allowance {
        /// What it is for.
        item: String,
        /// Which number.
        field: &'static str,
        /// What is out of range.
        error: OutOfRange,
    },
}

/// Takes off what some walls need together.
///
/// Quantities are added over the walls before anything is rounded up to whole packs, so that two walls share a box.
/// Lines whose need is 0 are left out.
///
/// # Errors
/// [`TakeoffError`] when there is no wall, or a number is negative, not a number or absurdly large.
///
/// # Example
/// ```
/// use cladlog::materials::takeoff::{WallQuantities, take_off};
/// use cladlog::sequence::usual_allowances;
/// let wall = WallQuantities { wall: "N".into(), fixings: 96, ..WallQuantities::default() };
/// let lines = take_off(&[wall], &usual_allowances()).unwrap();
/// let clips = lines.iter().find(|line| line.item == "clips").unwrap();
/// // One a crossing, 5 % waste: 100.8, so two boxes of 100.
/// assert_eq!((clips.needed, clips.order), (96.0, 2));
/// ```
pub fn take_off(walls: &[WallQuantities], allowances: &[Allowance]) -> Result<Vec<TakeoffLine>, TakeoffError> {
    if walls.is_empty() {
        return Err(TakeoffError::NoWall);
    }
    for allowance in allowances {
        let item = || allowance.item.clone();
        allowance.check().map_err(|(field, error)| TakeoffError::Allowance { item: item(), field, error })?;
    }
    walls.iter().try_for_each(check_wall)?;
    let mut lines = Vec::new();
    for allowance in allowances {
        let sizes: Option<fn(&WallQuantities) -> &[OfSize]> = match allowance.per {
            Measure::Board => Some(|wall| &wall.boards),
            Measure::Packer => Some(|wall| &wall.packers),
            _ => None,
        };
        match sizes {
            Some(of) => lines.extend(tally_sizes(walls.iter().flat_map(of).copied()).into_iter().map(|sized| {
                let item = format!("{} {} mm", allowance.item, show(sized.size_mm));
                line(allowance, item, f64::from(sized.count))
            })),
            None if allowance.per.is_in_runs() => lines.push(line_of_runs(walls, allowance)?),
            None if allowance.per == Measure::WrapM => lines.push(line_of_wrap(walls, allowance)),
            None => {
                let amount = walls.iter().map(|wall| wall.amount(allowance)).sum();
                lines.push(line(allowance, allowance.item.clone(), amount));
            }
        }
    }
    lines.retain(|line| line.needed > 0.0);
    Ok(lines)
}

/// So many of each size, smallest first.
pub fn tally_sizes(sizes: impl Iterator<Item = OfSize>) -> Vec<OfSize> {
    let mut all: Vec<OfSize> = Vec::new();
    for sized in sizes {
        match all.iter_mut().find(|held| held.size_mm == sized.size_mm) {
            Some(held) => held.count = held.count.saturating_add(sized.count),
            None => all.push(sized),
        }
    }
    all.sort_by(|a, b| a.size_mm.total_cmp(&b.size_mm));
    all
}

fn line(allowance: &Allowance, item: String, amount: f64) -> TakeoffLine {
    // To a thousandth, which no tape measure tells apart: sums of metres carry noise behind that.
    let needed = (amount * allowance.rate * 1e3).round() / 1e3;
    // A hair over a whole pack is a whole pack: 1.1 x 100 must not come to 111.
    let order = (needed * (100.0 + allowance.waste_pct) / 100.0 / allowance.pack - 1e-9).ceil().max(0.0) as u64;
    let counted = format!("{} {}", show_to(amount, 2), allowance.per.in_words());
    TakeoffLine {
        item,
        product: allowance.product.clone(),
        needed,
        unit: allowance.unit.clone(),
        waste_pct: allowance.waste_pct,
        order,
        pack: Some(allowance.pack),
        sold_as: allowance.sold(),
        rule: match allowance.rate == 1.0 {
            true => counted,
            false => format!("{counted}, {} {} each", show(allowance.rate), allowance.unit),
        },
        basis: allowance.basis.clone(),
        runs: Vec::new(),
    }
}

/// What is put up in runs: each cut to its lengths, and those cut from stock lengths.
fn line_of_runs(walls: &[WallQuantities], allowance: &Allowance) -> Result<TakeoffLine, TakeoffError> {
    let runs = cut_runs(walls.iter().flat_map(|wall| wall.runs_of(allowance)), allowance);
    let runs = runs.ok_or_else(|| TakeoffError::ManyPieces(allowance.item.clone()))?;
    let amount = walls.iter().map(|wall| wall.amount(allowance)).sum();
    let pieces = runs.iter().map(|run| run.pieces_mm.len()).sum::<usize>();
    let cut_m = runs.iter().flat_map(|run| &run.pieces_mm).map(|piece| f64::from(*piece)).sum::<f64>() / 1e3;
    let lengths = stock_lengths(&runs, allowance.pack) as f64 * allowance.rate;
    let (runs_in_words, pieces) = (count(runs.len(), "run"), count(pieces, "piece"));
    let laps = if allowance.lap_mm > 0.0 { format!(", laps of {} mm", show(allowance.lap_mm)) } else { String::new() };
    let past = match allowance.past_mm > 0.0 {
        true => format!(", {} mm past each end", show(allowance.past_mm)),
        false => String::new(),
    };
    let line = line(allowance, allowance.item.clone(), amount);
    Ok(TakeoffLine {
        needed: (cut_m * allowance.rate * 1e3).round() / 1e3,
        order: (lengths * (100.0 + allowance.waste_pct) / 100.0 - 1e-9).ceil().max(0.0) as u64,
        rule: format!("{}: {runs_in_words} in {pieces}{laps}{past}", line.rule),
        runs,
        ..line
    })
}

/// Wrap: its strips, and what of them is cut out at openings.
fn line_of_wrap(walls: &[WallQuantities], allowance: &Allowance) -> TakeoffLine {
    let strips: Vec<CutRun> = walls.iter().flat_map(|wall| wall.strips(allowance)).collect();
    let amount = walls.iter().map(|wall| wall.amount(allowance)).sum();
    let area_m2 = amount * allowance.width_mm.unwrap_or_default() / 1e3;
    let openings_m2: f64 = walls.iter().filter_map(|wall| wall.wrapped.as_ref()).map(|it| it.openings_m2).sum();
    let line = line(allowance, allowance.item.clone(), amount);
    let (width, lap) = (show(allowance.width_mm.unwrap_or_default()), show(allowance.lap_mm));
    let (strips_in_words, area, openings) =
        (count(strips.len(), "strip"), show_to(area_m2, 1), show_to(openings_m2, 1));
    let rule = format!(
        "{}: {strips_in_words} {width} mm wide, laps of {lap} mm; {area} m², {openings} m² of it cut out at openings",
        line.rule
    );
    TakeoffLine { rule, runs: strips, ..line }
}

fn check_wall(wall: &WallQuantities) -> Result<(), TakeoffError> {
    let about = |field| move |error| TakeoffError::Wall { wall: wall.wall.clone(), field, error };
    let counts = [
        ("crossings", wall.crossings),
        ("fixings", wall.fixings),
        ("joints", wall.joints),
        ("board_ends", wall.board_ends),
        ("openings", wall.openings),
    ];
    for (field, value) in counts {
        COUNT.check(f64::from(value)).map_err(about(field))?;
    }
    let lengths = [
        ("area_m2", wall.area_m2),
        ("joint_m", wall.joint_m),
        ("starter_m", wall.starter_m),
        ("floor_m", wall.floor_m),
        ("ripped_m", wall.ripped_m),
        ("corners", wall.corners.iter().map(|corner| corner.height_m).sum()),
        ("corner_side_m", wall.corner_side_m),
        ("opening_m", wall.opening_m),
        ("head_m", wall.head_m),
        ("opening_sealed_m", wall.opening_sealed_m),
        ("cut_edge_m", wall.cut_edge_m),
    ];
    for (field, value) in lengths {
        METRES.check(value).map_err(about(field))?;
    }
    for (field, sizes) in [("boards", &wall.boards), ("packers", &wall.packers)] {
        for sized in sizes {
            SIZE.check(sized.size_mm).map_err(about(field))?;
            COUNT.check(f64::from(sized.count)).map_err(about(field))?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(order: u64, sold_as: &str, pack: f64, unit: &str) -> TakeoffLine {
        let (item, rule, basis) = (String::new(), String::new(), String::new());
        let (sold_as, unit) = (SoldAs::from(sold_as.to_owned()), unit.to_owned());
        TakeoffLine {
            item,
            product: None,
            order,
            sold_as,
            pack: Some(pack),
            needed: 1.0,
            unit,
            waste_pct: 0.0,
            rule,
            basis,
            runs: Vec::new(),
        }
    }

    #[test]
    fn orders_read_as_people_say_them() {
        let words = |order, sold_as| line(order, sold_as, 1.0, "m").in_words();
        assert_eq!(
            [words(12, "length of 3 m"), words(1, "box of 500 pieces"), words(7, "box of 100 pieces")],
            ["12 lengths of 3 m", "1 box of 500 pieces", "7 boxes of 100 pieces"]
        );
        assert_eq!([words(123, "board"), words(1, "board")], ["123 boards", "1 board"]);
    }

    #[test]
    fn an_order_is_put_into_the_unit_of_the_count_or_not_at_all() {
        let units = |line: TakeoffLine, product, unit| line.in_unit(product, unit).map(Amount::units);
        assert_eq!(units(line(7, "box of 100 pieces", 100.0, "pieces"), "clip", "clips"), Some(700.0));
        assert_eq!(units(line(7, "box of 100 pieces", 100.0, "pieces"), "clip", "boxes"), Some(7.0));
        assert_eq!(units(line(16, "bundle of 8 boards", 8.0, "boards"), "panel", "panels"), Some(128.0));
        assert_eq!(units(line(12, "length of 3 m", 3.0, "m"), "starter", "lengths"), Some(12.0));
        assert_eq!(units(line(28, "cartridge of 300 ml", 300.0, "ml"), "sealant", "cartridges"), Some(28.0));
        assert_eq!(units(line(12, "length of 3 m", 3.0, "m"), "corner", "pieces"), None);
        assert_eq!(units(line(28, "cartridge of 300 ml", 300.0, "ml"), "sealant", "boxes"), None);
        let older = TakeoffLine { pack: None, ..line(7, "box of 100 pieces", 1.0, "pieces") };
        assert_eq!(units(older, "clip", "clips"), None);
    }
}
