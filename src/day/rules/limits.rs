//! R7: limits on site conditions.

use super::breach::Breach;
use crate::conditions::dew::dew_point;
use crate::conditions::forecast::Weather;
use crate::day::state::State;
use crate::moment::{Moment, span};
use crate::record::TakeReading;
use crate::refusal::Rule;
use crate::sequence::Limit;
use crate::units::number::{show, show_beside};
use crate::units::{Humidity, Temperature};

/// What the last bits of floats may lack of a margin that is exactly enough.
const FUZZ_C: f64 = 1e-9;

/// The limits that stop a step.
pub(super) fn judge(state: &State, step: usize, subject: usize, at: Moment) -> Vec<Breach> {
    let sequence = state.sequence();
    let walls = state.subjects.exposed_walls(subject);
    let mut breaches = Vec::new();
    for &limit in &sequence.steps[step].limits {
        let limit = &sequence.limits[limit];
        for &wall in walls {
            let last = state.readings(wall).iter().rev().find(|reading| reading.at <= at);
            let fresh = last.filter(|reading| at - reading.at <= limit.reading_within);
            if fresh.is_some_and(|reading| out_of(limit, reading).is_empty()) {
                continue;
            }
            let id = state.subjects.get(wall).to_string();
            let take = format!("cladlog reading --on {id} --air C --humidity PCT --surface C --wind KMH");
            let breach = match last {
                None => Breach::new(
                    Rule::R7,
                    &limit.key,
                    format!("no reading on {id} yet; {} needs one within {}", limit.title, span(limit.reading_within)),
                    take,
                ),
                Some(reading) if at - reading.at > limit.reading_within => Breach::new(
                    Rule::R7,
                    &limit.key,
                    format!(
                        "the last reading on {id} is from {}, {} old; {} needs one within {}",
                        reading.at.clock(at.date()),
                        span(at - reading.at),
                        limit.title,
                        span(limit.reading_within)
                    ),
                    take,
                ),
                Some(reading) => {
                    let (why, brings): (Vec<String>, Vec<String>) =
                        out_of(limit, reading).into_iter().map(|out| (out.why, out.brings)).unzip();
                    Breach::new(
                        Rule::R7,
                        &limit.key,
                        format!("{} on {id} at {}: {}", limit.title, reading.at.clock(at.date()), why.join("; ")),
                        format!("{}; then take a reading: {take}", brings.join("; ")),
                    )
                }
            };
            breaches.push(breach);
            break;
        }
    }
    breaches
}

/// Why a limit does not hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LimitReason {
    /// Rain.
    Rain,
    /// Air or surface under the least.
    Cold,
    /// Air or surface over the most.
    Hot,
    /// Surface too little over the dew point.
    Dew,
    /// Humidity over the most.
    Humid,
    /// Wind over the most.
    Wind,
    /// The reading does not say.
    Unread,
}

impl LimitReason {
    /// In a few words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Rain => "rain",
            Self::Cold => "too cold",
            Self::Hot => "too hot",
            Self::Dew => "too near the dew point",
            Self::Humid => "too damp",
            Self::Wind => "too windy",
            Self::Unread => "not known",
        }
    }
}

/// Reasons as they are read: "rain and too cold".
pub(in crate::day) fn in_words(reasons: &[LimitReason]) -> String {
    reasons.iter().map(|reason| reason.words()).collect::<Vec<_>>().join(" and ")
}

/// Why a limit does not hold in such weather; nothing when it does.
pub(in crate::day) fn reasons(limit: &Limit, weather: &Weather) -> Vec<LimitReason> {
    let reading = TakeReading {
        subject: String::new(),
        air_c: weather.air_c,
        humidity_pct: weather.humidity_pct,
        surface_c: weather.surface_c,
        wind_kmh: Some(weather.wind_kmh),
        rain: weather.rain,
    };
    let mut reasons: Vec<LimitReason> = out_of(limit, &reading).into_iter().map(|out| out.reason).collect();
    reasons.sort_unstable();
    reasons.dedup();
    reasons
}

/// Something of a reading that lies outside a limit.
pub(in crate::day) struct OutOfLimit {
    /// What it is about.
    pub reason: LimitReason,
    /// What was read, and what is required.
    pub why: String,
    /// What would bring it in.
    pub brings: String,
}

/// What of a reading lies outside a limit, and what would bring each in.
pub(in crate::day) fn out_of(limit: &Limit, reading: &TakeReading) -> Vec<OutOfLimit> {
    use LimitReason::{Cold, Dew, Hot, Humid, Rain, Unread, Wind};
    let mut out = Vec::new();
    let mut add = |reason, why: String, brings: String| out.push(OutOfLimit { reason, why, brings });
    let mut check = |what: &str, unit: &str, value: f64, (least, most): (Option<f64>, Option<f64>), under, over| {
        if let Some(least) = least.filter(|least| value < *least) {
            let why =
                format!("{what} is {} {unit}; at least {} {unit} is needed", show_beside(value, least), show(least));
            add(under, why, format!("{what} up by {} {unit}", show_beside(least - value, 0.0)));
        }
        if let Some(most) = most.filter(|most| value > *most) {
            let why =
                format!("{what} is {} {unit}; at most {} {unit} is allowed", show_beside(value, most), show(most));
            add(over, why, format!("{what} down by {} {unit}", show_beside(value - most, 0.0)));
        }
    };
    check("air", "°C", reading.air_c, limit.air_c, Cold, Hot);
    check("surface", "°C", reading.surface_c, limit.surface_c, Cold, Hot);
    check("humidity", "%", reading.humidity_pct, (None, limit.humidity_pct), Humid, Humid);
    if let Some(least) = limit.dew_margin_c {
        match dew_point(Temperature::celsius(reading.air_c), Humidity::percent(reading.humidity_pct)) {
            Ok(dew) => {
                let margin = reading.surface_c - dew.as_celsius();
                // Shown to a tenth: a thermometer reads no finer. But 2.96 °C is not 3 °C.
                let (near, under) = ((margin * 10.0).round() / 10.0, (margin * 10.0).floor() / 10.0);
                let margin = if margin < least - FUZZ_C && near >= least { under } else { near };
                check("surface over dew point", "°C", margin, (Some(least), None), Dew, Dew);
            }
            Err(error) => add(Unread, error.to_string(), "read the air and humidity again".to_owned()),
        }
    }
    match (limit.wind_kmh, reading.wind_kmh) {
        (Some(_), None) => add(Unread, "the wind was not read".to_owned(), "read the wind as well".to_owned()),
        (Some(most), Some(wind)) if wind > most => {
            let why = format!("wind is {} km/h; at most {} km/h is allowed", show_beside(wind, most), show(most));
            add(Wind, why, format!("wait for the wind to drop by {} km/h", show_beside(wind - most, 0.0)));
        }
        _ => {}
    }
    if limit.dry && reading.rain {
        add(Rain, "it is raining".to_owned(), "wait until it is dry".to_owned());
    }
    out
}
