//! A sealing day as it was given, before any of it is checked; kept plans hold it under the keys of the file.

use rust_decimal::Decimal;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::moment::Moment;
use crate::units::decimal;

/// The most people a plan is made for.
pub const MOST_CREW: i64 = 50;
/// The most joints a plan is made for.
pub const MOST_JOINTS: usize = 1_000;

/// An interval of time, `from` included, `to` not.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GivenSpan {
    /// Its beginning.
    pub from: Moment,
    /// Its end; the same moment makes it empty.
    pub to: Moment,
}

/// The time between priming a joint and gunning it, in minutes.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct GivenWindow {
    /// Least time from the end of priming to the start of gunning.
    #[serde(with = "decimal")]
    pub earliest_min: Decimal,
    /// Most time from the start of priming to the end of gunning.
    #[serde(with = "decimal")]
    pub latest_min: Decimal,
    /// What is kept in hand of the latest.
    #[serde(with = "decimal")]
    pub margin_min: Decimal,
}

/// How long the work takes one person, in minutes a metre of joint.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct GivenRates {
    /// Masking both sides.
    #[serde(with = "decimal")]
    pub mask_min_per_m: Decimal,
    /// Priming.
    #[serde(with = "decimal")]
    pub prime_min_per_m: Decimal,
    /// Gunning and tooling.
    #[serde(with = "decimal")]
    pub gun_min_per_m: Decimal,
    /// Taking the tape off.
    #[serde(with = "decimal")]
    pub tape_off_min_per_m: Decimal,
}

/// A wall and when the sun is on it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GivenWall {
    /// Its key.
    pub key: String,
    /// When it stands in the sun.
    pub sun: Vec<GivenSpan>,
}

/// A joint to seal, or anything else that is sealed in the same way: round an opening, at a corner.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GivenJoint {
    /// Its id.
    pub id: String,
    /// The keys of the walls that it is on, at least one: the sun on any of them keeps people off it.
    #[serde(rename = "wall", with = "one_or_more")]
    pub walls: Vec<String>,
    /// Its length in metres.
    #[serde(with = "decimal")]
    pub length_m: Decimal,
    /// In how many beads: each is gunned and its tape taken off before the next.
    #[serde(default = "one", skip_serializing_if = "is_one")]
    pub beads: u32,
    /// Whether it is masked already: no time goes into that.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub masked: bool,
    /// When its priming began, where that is known apart from its end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub primed_from: Option<Moment>,
    /// When it was primed, where that is done already. It then comes before every joint that is not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub primed_at: Option<Moment>,
}

/// A sealing day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GivenDay {
    /// Nothing begins before.
    pub from: Moment,
    /// Nothing ends after.
    pub until: Moment,
    /// How many people there are; what the record keeps names them instead.
    #[serde(skip)]
    pub crew: i64,
    /// Most time from the end of gunning to the start of taking the tape off, in minutes.
    #[serde(with = "decimal")]
    pub tape_off_within_min: Decimal,
    /// That time counts from the beginning of the bead, and by then the tape is off.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub from_bead: bool,
    /// No rain for this long after gunning ends, in minutes.
    #[serde(default, skip_serializing_if = "Decimal::is_zero", with = "decimal")]
    pub dry_after_gun_min: Decimal,
    /// Where given, nothing is masked or primed in the rain or for this long after it, in minutes.
    #[serde(default, skip_serializing_if = "Option::is_none", with = "decimal::option")]
    pub dry_before_min: Option<Decimal>,
    /// The window from priming to gunning.
    pub window: GivenWindow,
    /// How long the work takes.
    pub rates: GivenRates,
    /// When it rains.
    pub rain: Vec<GivenSpan>,
    /// When else nothing is primed or gunned anywhere: it is too cold, or too near the dew point. Such weather does not
    /// spoil a primed joint.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub out_of_limits: Vec<GivenSpan>,
    /// The walls.
    #[serde(rename = "wall")]
    pub walls: Vec<GivenWall>,
    /// The joints.
    #[serde(rename = "joint")]
    pub joints: Vec<GivenJoint>,
}

fn one() -> u32 {
    1
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde passes a reference")]
fn is_one(beads: &u32) -> bool {
    *beads == 1
}

/// One key by itself, several in a list.
mod one_or_more {
    use super::*;

    #[derive(Deserialize)]
    #[serde(untagged)]
    enum OneOrMore {
        One(String),
        More(Vec<String>),
    }

    pub fn serialize<S: Serializer>(keys: &[String], serializer: S) -> Result<S::Ok, S::Error> {
        match keys {
            [only] => only.serialize(serializer),
            all => all.serialize(serializer),
        }
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Vec<String>, D::Error> {
        Ok(match OneOrMore::deserialize(deserializer)? {
            OneOrMore::One(key) => vec![key],
            OneOrMore::More(keys) => keys,
        })
    }
}
