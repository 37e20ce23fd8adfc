//! A sealing day as it was given, before any of it is checked.

use rust_decimal::Decimal;

use crate::moment::Moment;

/// The most people a plan is made for.
pub const MOST_CREW: i64 = 50;
/// The most joints a plan is made for.
pub const MOST_JOINTS: usize = 1_000;

/// An interval of time, `from` included, `to` not.
#[derive(Debug, Clone, PartialEq)]
pub struct GivenSpan {
    /// Its beginning.
    pub from: Moment,
    /// Its end; the same moment makes it empty.
    pub to: Moment,
}

/// The time between priming a joint and gunning it, in minutes.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct GivenWindow {
    /// Least time from the end of priming to the start of gunning.
    pub earliest_min: Decimal,
    /// Most time from the start of priming to the end of gunning.
    pub latest_min: Decimal,
    /// What is kept in hand of the latest.
    pub margin_min: Decimal,
}

/// How long the work takes, in minutes a metre of joint.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct GivenRates {
    /// Masking both sides.
    pub mask_min_per_m: Decimal,
    /// Priming.
    pub prime_min_per_m: Decimal,
    /// Gunning and tooling.
    pub gun_min_per_m: Decimal,
    /// Taking the tape off.
    pub tape_off_min_per_m: Decimal,
}

/// A wall and when the sun is on it.
#[derive(Debug, Clone, PartialEq)]
pub struct GivenWall {
    /// Its key.
    pub key: String,
    /// When it stands in the sun.
    pub sun: Vec<GivenSpan>,
}

/// A joint to seal.
#[derive(Debug, Clone, PartialEq)]
pub struct GivenJoint {
    /// Its id.
    pub id: String,
    /// The key of its wall.
    pub wall: String,
    /// Its length in metres.
    pub length_m: Decimal,
    /// Whether it is masked already: no time goes into that.
    pub masked: bool,
    /// When it was primed, where that is done already. It then comes before every joint that is not.
    pub primed: Option<GivenSpan>,
}

/// A sealing day.
#[derive(Debug, Clone, PartialEq)]
pub struct GivenDay {
    /// Nothing begins before.
    pub from: Moment,
    /// Nothing ends after.
    pub until: Moment,
    /// How many people there are.
    pub crew: i64,
    /// Most time from the end of gunning to the start of taking the tape off, in minutes.
    pub tape_off_within_min: Decimal,
    /// The window from priming to gunning.
    pub window: GivenWindow,
    /// How long the work takes.
    pub rates: GivenRates,
    /// When it rains.
    pub rain: Vec<GivenSpan>,
    /// The walls.
    pub walls: Vec<GivenWall>,
    /// The joints.
    pub joints: Vec<GivenJoint>,
}
