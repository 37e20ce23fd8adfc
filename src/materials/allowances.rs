//! What goes with what, and what it is bought in: the lines of a take-off before anything is counted.

use serde::Serialize;

use super::product::SoldAs;
use crate::building::CornerKind;
use crate::units::number::show;
use crate::units::{Bounds, OutOfRange};

/// How much of something goes with one of what it is counted by.
pub const RATE: Bounds = Bounds { what: "rate", unit: "each", least: 0.0, most: 10_000.0 };
/// The size of a pack, tin, roll or length.
pub const PACK: Bounds = Bounds { what: "pack", unit: "each", least: 0.001, most: 1_000_000.0 };
/// The length of one stock length, in metres, of what is put up in runs.
const STOCK_M: Bounds = Bounds { what: "pack", unit: "m", least: 0.1, most: 100.0 };
/// The lap of one length over the next, and how far a run goes past its ends.
pub const LAP: Bounds = Bounds { what: "lap", unit: "mm", least: 0.0, most: 2_000.0 };
/// The width of a roll.
pub const WIDTH: Bounds = Bounds { what: "width", unit: "mm", least: 100.0, most: 10_000.0 };
/// Waste on top of what is measured.
pub const WASTE: Bounds = Bounds { what: "waste", unit: "%", least: 0.0, most: 100.0 };

/// What a line of the take-off is counted by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, strum::EnumString, strum::VariantNames)]
#[serde(rename_all = "kebab-case")]
#[strum(serialize_all = "kebab-case")]
pub enum Measure {
    /// Boards of the cut plan, each stock length a line of its own.
    Board,
    /// Square metres of panel.
    AreaM2,
    /// Places where a stud stands behind a piece; at a joint both pieces count.
    Crossing,
    /// Fixings by the job's own table; without one, places where a stud stands behind a piece.
    Fixing,
    /// Metres under every lowest edge: starter line less doors, over floor lines and over the heads of openings.
    StarterM,
    /// Metres of board ripped at the top: under the top and under sills.
    RippedM,
    /// Corners.
    Corner,
    /// Metres of corner.
    CornerM,
    /// Corners, course by course.
    CornerCourse,
    /// Places where the ends of two lapped boards meet within a course.
    BoardEnd,
    /// Vertical joints.
    Joint,
    /// Metres of vertical joint, openings taken out.
    JointM,
    /// Openings.
    Opening,
    /// Metres where panels meet openings.
    OpeningM,
    /// Metres of joint, of corner on both sides and round openings, their heads left open: what is sealed.
    SealedM,
    /// Metres of edge cut on site.
    CutEdgeM,
    /// Packers of the packing plan, each size a line of its own.
    Packer,
    /// Runs along the base, less doors; those of a stepped base each by themselves.
    BaseFlashing,
    /// Runs over the heads of openings.
    HeadFlashing,
    /// Runs along floor lines, less openings that stand across them.
    FloorFlashing,
    /// Runs up corners.
    CornerFlashing,
    /// Runs up every stud, beside openings and at the ends of the wall, from floor line to floor line.
    Batten,
    /// Strips of wrap from the bottom up, openings left whole.
    WrapM,
}

impl Measure {
    /// What is counted, in words that follow a number.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Board => "boards of the cut plan",
            Self::AreaM2 => "m² of panel",
            Self::Crossing => "places where a piece crosses a stud",
            Self::Fixing => "fixings",
            Self::StarterM => "m of starter line, floor lines and heads, less doors",
            Self::RippedM => "m of ripped top edge",
            Self::Corner => "corners",
            Self::CornerM => "m of corner",
            Self::CornerCourse => "courses at corners",
            Self::BoardEnd => "board ends that meet",
            Self::Joint => "joints",
            Self::JointM => "m of joint, less openings",
            Self::Opening => "openings",
            Self::OpeningM => "m round openings",
            Self::SealedM => "m of joint, corner side and round openings, less heads",
            Self::CutEdgeM => "m of cut edge",
            Self::Packer => "packers of the packing plan",
            Self::BaseFlashing => "m along the base, less doors",
            Self::HeadFlashing => "m over heads",
            Self::FloorFlashing => "m along floor lines",
            Self::CornerFlashing => "m up corners",
            Self::Batten => "m up studs, beside openings and at ends",
            Self::WrapM => "m of wrap",
        }
    }

    /// Whether it is taken in runs that are cut from stock lengths.
    pub fn is_in_runs(self) -> bool {
        matches!(
            self,
            Self::BaseFlashing | Self::HeadFlashing | Self::FloorFlashing | Self::CornerFlashing | Self::Batten
        )
    }

    /// Whether it counts corners.
    pub fn is_of_corners(self) -> bool {
        matches!(self, Self::Corner | Self::CornerM | Self::CornerCourse | Self::CornerFlashing)
    }
}

/// One line of an order before it is counted.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Allowance {
    /// What it is, such as `clips`.
    pub item: String,
    /// The product that it comes to the site as, by its key, so that what was ordered can be held against what came and was used.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub product: Option<String>,
    /// What it is counted by.
    pub per: Measure,
    /// How much of it goes with each, in `unit`.
    pub rate: f64,
    /// The unit of the need and of the pack: `pieces`, `m`, `ml`.
    pub unit: String,
    /// How much a pack holds.
    pub pack: f64,
    /// What a pack is called: `box`, `length`, `tin`.
    pub sold_as: String,
    /// Of runs and strips: how far each length laps the one before.
    #[serde(skip_serializing_if = "is_zero")]
    pub lap_mm: f64,
    /// Of runs and strips: how far they go past either end.
    #[serde(skip_serializing_if = "is_zero")]
    pub past_mm: f64,
    /// Of strips: the width of a roll.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub width_mm: Option<f64>,
    /// Only corners of these kinds, where there are any.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub kinds: Vec<CornerKind>,
    /// Waste on top, in per cent.
    pub waste_pct: f64,
    /// What the numbers rest on.
    pub basis: String,
}

fn is_zero(length_mm: &f64) -> bool {
    *length_mm == 0.0
}

impl Allowance {
    /// Checks the numbers.
    ///
    /// # Errors
    /// [`OutOfRange`], with the field.
    pub fn check(&self) -> Result<(), (&'static str, OutOfRange)> {
        let about = |field| move |error| (field, error);
        RATE.check(self.rate).map_err(about("rate"))?;
        PACK.check(self.pack).map_err(about("pack"))?;
        WASTE.check(self.waste_pct).map_err(about("waste_pct"))?;
        LAP.check(self.lap_mm).map_err(about("lap_mm"))?;
        Bounds { what: "length past an end", ..LAP }.check(self.past_mm).map_err(about("past_mm"))?;
        if let Some(width) = self.width_mm {
            let least = self.lap_mm + 1.0;
            WIDTH.check(width).and_then(|_| Bounds { least, ..WIDTH }.check(width)).map_err(about("width_mm"))?;
        }
        if self.per.is_in_runs() {
            // A length that laps the one before has to be longer than the lap.
            let least = STOCK_M.least.max(self.lap_mm / 1e3 + 0.001);
            Bounds { least, ..STOCK_M }.check(self.pack).map_err(about("pack"))?;
        }
        Ok(())
    }

    /// Whether it counts corners of a kind.
    pub fn is_for(&self, kind: CornerKind) -> bool {
        self.kinds.is_empty() || self.kinds.contains(&kind)
    }

    /// Whether it orders this product. Older sequences name none: there the item is the product's own word.
    pub fn orders(&self, product: &str) -> bool {
        self.product.as_deref().unwrap_or(&self.item) == product
    }

    /// "box of 100 pieces"; a pack of one is just that.
    pub fn sold(&self) -> SoldAs {
        let holds = if self.pack == 1.0 { String::new() } else { format!(" of {} {}", show(self.pack), self.unit) };
        SoldAs::from(format!("{}{holds}", self.sold_as))
    }
}
