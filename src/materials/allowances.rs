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
            Self::StarterM => "m of starter line, doors out",
            Self::Corner => "corners",
            Self::CornerM => "m of corner",
            Self::Joint => "joints",
            Self::JointM => "m of joint, openings out",
            Self::Opening => "openings",
            Self::OpeningM => "m round openings",
            Self::SealedM => "m of joint, corner side and round openings, heads left open",
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

    /// "box of 100 pieces"; a pack of one is just that.
    pub fn pack_in_words(&self) -> String {
        if self.pack == 1.0 {
            return self.sold_as.clone();
        }
        format!("{} of {} {}", self.sold_as, crate::units::number::show(self.pack), self.unit)
    }
}

/// What stands in for a sequence that has no allowances: common practice, without a source, to be replaced by the
/// maker's instructions.
pub fn usual() -> Vec<Allowance> {
    let line = |item: &str, per, rate, unit: &str, (sold_as, pack): (&str, f64), waste_pct, note: &str| Allowance {
        item: item.to_owned(),
        product: usual_product(item).map(str::to_owned),
        per,
        rate,
        unit: unit.to_owned(),
        pack,
        sold_as: sold_as.to_owned(),
        waste_pct,
        basis: format!("common practice: {note}"),
    };
    use Measure as M;
    vec![
        line("boards", M::Board, 1.0, "boards", ("board", 1.0), 0.0, "the cut plan holds their waste"),
        line("starter", M::StarterM, 1.0, "m", ("length", 3.0), 5.0, "laps and short ends"),
        line("clips", M::Crossing, 1.0, "pieces", ("box", 100.0), 5.0, "one where a course crosses a stud"),
        line("corner pieces", M::CornerM, 1.0, "m", ("length", 3.0), 5.0, "cut to height"),
        line("joint backers", M::JointM, 1.0, "m", ("length", 3.0), 5.0, "cut to height"),
        line("packers", M::Packer, 1.0, "pieces", ("bag", 100.0), 5.0, "as the packing plan says, some are lost"),
        line("fixings", M::Crossing, 2.0, "pieces", ("box", 500.0), 5.0, "two a clip"),
        line("starter fixings", M::StarterM, 2.5, "pieces", ("box", 500.0), 5.0, "one each 400 mm"),
        line("edge sealer", M::CutEdgeM, 15.0, "ml", ("tin", 500.0), 10.0, "two coats on an edge, 15 ml a metre"),
        line("primer", M::SealedM, 1.0, "m", ("tin", 50.0), 10.0, "a tin does 50 m of joint, both sides"),
        line(
            "sealant",
            M::SealedM,
            100.0,
            "ml",
            ("cartridge", 300.0),
            10.0,
            "10 mm wide by 10 mm deep, where the job gives no joint",
        ),
        line("tape", M::SealedM, 2.0, "m", ("roll", 50.0), 5.0, "one run on each side"),
    ]
}

/// The product of a usual line. Boards are whatever the sequence hangs, which is not known here.
fn usual_product(item: &str) -> Option<&'static str> {
    Some(match item {
        "starter" => "starter",
        "clips" => "clip",
        "corner pieces" => "corner",
        "joint backers" => "backer",
        "packers" => "packer",
        "fixings" | "starter fixings" => "fixing",
        "edge sealer" => "edge-sealer",
        "primer" => "primer",
        "sealant" => "sealant",
        "tape" => "tape",
        _ => return None,
    })
}
