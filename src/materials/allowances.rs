//! What goes with what, and what it is bought in: the lines of a take-off before anything is counted.

use serde::Serialize;

use crate::units::{Bounds, OutOfRange};

/// How much of something goes with one of what it is counted by.
const RATE: Bounds = Bounds { what: "rate", unit: "each", least: 0.0, most: 10_000.0 };
/// The size of a pack, tin, roll or length.
const PACK: Bounds = Bounds { what: "pack", unit: "each", least: 0.001, most: 1_000_000.0 };
/// Waste on top of what is measured.
const WASTE: Bounds = Bounds { what: "waste", unit: "%", least: 0.0, most: 100.0 };

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
    /// Metres of starter line, doors taken out.
    StarterM,
    /// Corners.
    Corner,
    /// Metres of corner.
    CornerM,
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
}

impl Measure {
    /// What is counted, in words that follow a number.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Board => "boards of the cut plan",
            Self::AreaM2 => "m² of panel",
            Self::Crossing => "places where a piece crosses a stud",
            Self::StarterM => "m of starter line, less doors",
            Self::Corner => "corners",
            Self::CornerM => "m of corner",
            Self::Joint => "joints",
            Self::JointM => "m of joint, less openings",
            Self::Opening => "openings",
            Self::OpeningM => "m round openings",
            Self::SealedM => "m of joint, corner side and round openings, less heads",
            Self::CutEdgeM => "m of cut edge",
            Self::Packer => "packers of the packing plan",
        }
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
    /// Waste on top, in per cent.
    pub waste_pct: f64,
    /// What the numbers rest on.
    pub basis: String,
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
        Ok(())
    }

    /// Whether it orders this product. Older sequences name none: there the item is the product's own word.
    pub fn orders(&self, product: &str) -> bool {
        self.product.as_deref().unwrap_or(&self.item) == product
    }

    /// "box of 100 pieces"; a pack of one is just that.
    pub fn pack_in_words(&self) -> String {
        if self.pack == 1.0 {
            return self.sold_as.clone();
        }
        format!("{} of {} {}", self.sold_as, crate::units::number::show(self.pack), self.unit)
    }
}
