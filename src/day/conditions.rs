//! R7: limits on site conditions.

use super::breach::Breach;
use super::forecast::Trouble;
use super::state::{Reading, State};
use crate::building::Subject;
use crate::moment::{Moment, span};
use crate::refusal::Rule;
use crate::sequence::Limit;
use crate::units::number::show;
use crate::units::{Humidity, Temperature};

/// What the last bits of floats may lack of a margin that is exactly enough.
const FUZZ_C: f64 = 1e-9;

/// The limits that stop a step.
pub(super) fn judge(state: &State, step: usize, subject: usize, at: Moment) -> Vec<Breach> {
    let sequence = state.sequence();
    let walls = match state.subjects.get(subject) {
        Subject::Job => state.walls(),
        _ => state.subjects.walls_of(subject).to_vec(),
    };
    let mut breaches = Vec::new();
    for &limit in &sequence.steps[step].limits {
        let limit = &sequence.limits[limit];
        for &wall in &walls {
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

/// Something of a reading that lies outside a limit.
pub(super) struct Out {
    /// Its sort.
    pub trouble: Trouble,
    /// What was read, and what is required.
    pub why: String,
    /// What would bring it in.
    pub brings: String,
}

/// What of a reading lies outside a limit, and what would bring each in.
pub(super) fn out_of(limit: &Limit, reading: &Reading) -> Vec<Out> {
    let mut out = Vec::new();
    let mut check =
        |what: &str, unit: &str, value: f64, bounds: (Option<f64>, Option<f64>), sorts: (Trouble, Trouble)| {
            let (least, most) = bounds;
            if let Some(least) = least.filter(|least| value < *least) {
                let (is, needs) = (show(value), show(least));
                out.push(Out {
                    trouble: sorts.0,
                    why: format!("{what} is {is} {unit}, {needs} {unit} or more is needed"),
                    brings: format!("{what} up by {} {unit}", show(least - value)),
                });
            }
            if let Some(most) = most.filter(|most| value > *most) {
                let (is, needs) = (show(value), show(most));
                out.push(Out {
                    trouble: sorts.1,
                    why: format!("{what} is {is} {unit}, at most {needs} {unit} is allowed"),
                    brings: format!("{what} down by {} {unit}", show(value - most)),
                });
            }
        };
    check("air", "°C", reading.air_c, limit.air_c, (Trouble::Cold, Trouble::Hot));
    check("surface", "°C", reading.surface_c, limit.surface_c, (Trouble::Cold, Trouble::Hot));
    check("humidity", "%", reading.humidity_pct, (None, limit.humidity_pct), (Trouble::Humid, Trouble::Humid));
    if let Some(least) = limit.dew_margin_c {
        let dew = crate::conditions::dew::dew_point(
            Temperature::celsius(reading.air_c),
            Humidity::percent(reading.humidity_pct),
        );
        match dew {
            Ok(dew) => {
                let margin = reading.surface_c - dew.as_celsius();
                // Shown to a tenth: a thermometer reads no finer. But 2.96 °C is not 3 °C.
                let (near, under) = ((margin * 10.0).round() / 10.0, (margin * 10.0).floor() / 10.0);
                let margin = if margin < least - FUZZ_C && near >= least { under } else { near };
                check("surface over dew point", "°C", margin, (Some(least), None), (Trouble::Dew, Trouble::Dew));
            }
            Err(error) => out.push(Out {
                trouble: Trouble::Unread,
                why: error.to_string(),
                brings: "read the air and humidity again".to_owned(),
            }),
        }
    }
    if let Some(most) = limit.wind_kmh {
        match reading.wind_kmh {
            Some(wind) if wind > most => out.push(Out {
                trouble: Trouble::Wind,
                why: format!("wind is {} km/h, at most {} km/h is allowed", show(wind), show(most)),
                brings: format!("wait for the wind to drop by {} km/h", show(wind - most)),
            }),
            Some(_) => {}
            None => out.push(Out {
                trouble: Trouble::Unread,
                why: "the wind was not read".to_owned(),
                brings: "read the wind as well".to_owned(),
            }),
        }
    }
    if limit.dry && reading.rain {
        out.push(Out {
            trouble: Trouble::Rain,
            why: "it is raining".to_owned(),
            brings: "wait until it is dry".to_owned(),
        });
    }
    out
}
