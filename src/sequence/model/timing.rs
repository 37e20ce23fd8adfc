//! When work may be done: windows between two steps, limits on site conditions, the sealing day.

use chrono::{NaiveTime, TimeDelta};

use super::basis::{Basis, FigureKeys};
use super::{StepIx, WindowIx};
use crate::units::Quantity;

/// What makes a window lapse at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq, strum::Display, strum::EnumString, strum::VariantNames)]
#[strum(serialize_all = "kebab-case")]
pub enum LapseTrigger {
    /// A reading that says it rains.
    Rain,
    /// A reading of air or surface at 0 °C or below.
    Frost,
}

/// The time between two steps on one subject.
#[derive(Debug, Clone)]
pub struct Window {
    /// Short key.
    pub key: String,
    /// In a few words.
    pub title: String,
    /// The step that starts it.
    pub from: StepIx,
    /// The step that must fall inside it.
    pub to: StepIx,
    /// Whether it counts from the beginning of the first step or from its end.
    pub counts_from: CountsFrom,
    /// Not before this long after the first step.
    pub earliest: Option<TimeDelta>,
    /// Not after this long after the first step.
    pub latest: Option<TimeDelta>,
    /// Warn this long before it closes.
    pub warn: TimeDelta,
    /// What makes it lapse at once.
    pub lapses_on: Vec<LapseTrigger>,
    /// What is done when it has lapsed.
    pub redo: Option<String>,
    /// An earlier step that is then to be done again as well.
    pub redo_from: Option<StepIx>,
    /// The choice at its second step that leaves the work to somebody else, who then has until it closes.
    pub handed_on: Option<String>,
    /// Other bounds by surface temperature, coldest first.
    pub by_surface: Vec<SurfaceRow>,
    /// What its times rest on.
    pub basis: Basis,
    /// The figures of the job that they are taken from, where it gives them.
    pub figures: FigureKeys,
}

/// What a window counts from.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, strum::Display, strum::EnumString, strum::VariantNames)]
#[strum(serialize_all = "kebab-case")]
pub enum CountsFrom {
    /// The beginning of the first step, where that is recorded: a skin forms from the first metre of the bead.
    Beginning,
    /// Its end.
    #[default]
    End,
}

/// Bounds at one surface temperature.
#[derive(Debug, Clone)]
pub struct SurfaceRow {
    /// Surface temperature, °C.
    pub surface_c: f64,
    /// Not before.
    pub earliest: Option<TimeDelta>,
    /// Not after.
    pub latest: Option<TimeDelta>,
}

/// Bounds on site conditions.
#[derive(Debug, Clone)]
pub struct Limit {
    /// Short key.
    pub key: String,
    /// In a few words.
    pub title: String,
    /// How old a reading may be.
    pub reading_within: TimeDelta,
    /// Air temperature, least and most, °C.
    pub air_c: (Option<f64>, Option<f64>),
    /// Surface temperature, least and most, °C.
    pub surface_c: (Option<f64>, Option<f64>),
    /// Surface over dew point, least, °C.
    pub dew_margin_c: Option<f64>,
    /// Relative humidity, most, %.
    pub humidity_pct: Option<f64>,
    /// Wind, most, km/h.
    pub wind_kmh: Option<f64>,
    /// No rain.
    pub dry: bool,
    /// What its numbers rest on.
    pub basis: Basis,
    /// The figures of the job that they are taken from, where it gives them.
    pub figures: FigureKeys,
}

impl Limit {
    /// What has to be read so that it can be judged.
    pub fn asks(&self) -> Vec<Quantity> {
        let dew = self.dew_margin_c.is_some();
        let any = |(least, most): (Option<f64>, Option<f64>)| least.or(most).is_some();
        let asked = [
            (Quantity::Air, dew || any(self.air_c)),
            (Quantity::Humidity, dew || self.humidity_pct.is_some()),
            (Quantity::Surface, dew || any(self.surface_c)),
            (Quantity::Wind, self.wind_kmh.is_some()),
            (Quantity::Rain, self.dry),
        ];
        asked.into_iter().filter(|(_, asked)| *asked).map(|(quantity, _)| quantity).collect()
    }
}

/// How joints are sealed: the steps, how long each takes, and by what light.
#[derive(Debug, Clone)]
pub struct Sealing {
    /// The step that cleans and masks a joint.
    pub mask: Option<StepIx>,
    /// The step that primes it.
    pub prime: StepIx,
    /// The step that fills and tools it.
    pub gun: StepIx,
    /// The step that takes the tape off.
    pub tape_off: Option<StepIx>,
    /// The window from priming to gunning.
    pub window: WindowIx,
    /// Masking, minutes a metre.
    pub mask_min_per_m: f64,
    /// Priming, minutes a metre.
    pub prime_min_per_m: f64,
    /// Gunning and tooling, minutes a metre.
    pub gun_min_per_m: f64,
    /// Taking the tape off, minutes a metre.
    pub tape_off_min_per_m: f64,
    /// The tape comes off this soon after gunning; where it is `None`, [`Sequence::tape_off_within`](super::Sequence::tape_off_within) says.
    pub tape_off_within: Option<TimeDelta>,
    /// That counts from the beginning of the bead, and by then the tape is off.
    pub from_bead: bool,
    /// Kept in hand at the end of the window; a tenth of it where it is `None`.
    pub margin: Option<TimeDelta>,
    /// No rain is to fall for this long after gunning.
    pub dry_after: TimeDelta,
    /// Nothing is masked or primed in the rain or for this long after it, where it is given.
    pub dry_before: Option<TimeDelta>,
    /// Nothing is done after this time of day.
    pub knock_off: Option<NaiveTime>,
    /// Joints may be primed and gunned in the sun.
    pub in_sun: bool,
    /// When the day ends.
    pub last_light: LastLight,
    /// What its numbers rest on.
    pub basis: Basis,
}

/// When it is too dark to seal.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, strum::EnumString, strum::VariantNames)]
#[strum(serialize_all = "kebab-case")]
pub enum LastLight {
    /// When the sun is down: dew follows.
    #[default]
    Sunset,
    /// At the end of civil twilight.
    Twilight,
}
