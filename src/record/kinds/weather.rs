//! Site conditions, read and forecast.

use clap::Args;
use serde::{Deserialize, Serialize};

use crate::conditions::beaufort::parse_force;
use crate::conditions::forecast::Hour;
use crate::units::number::show;
use crate::units::parse_decimal;

/// Site conditions on a wall, or on every wall: what was read of them.
#[derive(Debug, Clone, Default, PartialEq, Args, Serialize, Deserialize)]
pub struct TakeReading {
    /// The wall or walls; job for all of them
    #[arg(long = "on", value_name = "WALL|job")]
    pub subject: String,
    /// Air temperature in the shade, °C
    #[arg(long = "air", value_name = "C", allow_hyphen_values = true, value_parser = parse_decimal)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub air_c: Option<f64>,
    /// Relative humidity, %
    #[arg(long = "humidity", value_name = "PCT", allow_hyphen_values = true, value_parser = parse_decimal)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub humidity_pct: Option<f64>,
    /// Surface temperature of the wall, °C
    #[arg(long = "surface", value_name = "C", allow_hyphen_values = true, value_parser = parse_decimal)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub surface_c: Option<f64>,
    /// Wind, km/h
    #[arg(long = "wind", value_name = "KMH", allow_hyphen_values = true, value_parser = parse_decimal)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wind_kmh: Option<f64>,
    /// Wind as a Beaufort force, 0 to 12; it stands for the middle of its range
    #[arg(long, value_name = "FORCE", conflicts_with = "wind_kmh", allow_hyphen_values = true, value_parser = parse_force)]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub beaufort: Option<u8>,
    /// It is raining on the wall
    #[arg(long)]
    pub rain: bool,
    /// It is dry, and nothing else was read; every reading without --rain says so too
    #[arg(long, conflicts_with = "rain")]
    #[serde(skip)]
    pub dry: bool,
}

impl TakeReading {
    /// Whether it was freezing.
    pub fn is_frost(&self) -> bool {
        self.air_c.is_some_and(|air| air <= 0.0) || self.surface_c.is_some_and(|surface| surface <= 0.0)
    }

    /// What was read, in words; `rain` is the word for rain.
    pub fn in_words(&self, rain: &str) -> String {
        let value =
            |what: &str, value: Option<f64>, unit: &str| value.map(|value| format!("{what} {} {unit}", show(value)));
        let force = self.beaufort.map(|force| format!(" (force {force})")).unwrap_or_default();
        let parts = [
            value("air", self.air_c, "°C"),
            value("humidity", self.humidity_pct, "%"),
            value("surface", self.surface_c, "°C"),
            value("wind", self.wind_kmh, "km/h").map(|wind| wind + &force),
            self.rain.then(|| rain.to_owned()),
        ];
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        if parts.is_empty() { "dry".to_owned() } else { parts.join(", ") }
    }
}

/// A weather forecast: what is expected, never what was read.
#[derive(Debug, Clone, PartialEq, Args, Serialize, Deserialize)]
pub struct AddForecast {
    /// Where it comes from
    #[arg(long, value_name = "TEXT")]
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
    /// The hours, in order.
    #[arg(skip)]
    pub hours: Vec<Hour>,
}
