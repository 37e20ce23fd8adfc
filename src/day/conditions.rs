//! R7: limits on site conditions.

use super::breach::Breach;
use super::state::{Reading, State};
use crate::building::Subject;
use crate::moment::{Moment, clock, span};
use crate::refusal::Rule;
use crate::sequence::Limit;
use crate::units::number::show;
use crate::units::{Humidity, Temperature};

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
            let id = state.subjects.get(wall).to_string();
            let take = format!("cladlog reading --on {id} --air C --humidity PCT --surface C --wind KMH");
            let last = state.readings(wall).iter().rev().find(|reading| reading.at <= at);
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
                        clock(&reading.at, at.date_naive()),
                        span(at - reading.at),
                        limit.title,
                        span(limit.reading_within)
                    ),
                    take,
                ),
                Some(reading) => {
                    let out = out_of(limit, reading);
                    if out.is_empty() {
                        continue;
                    }
                    let (why, brings): (Vec<String>, Vec<String>) = out.into_iter().unzip();
                    Breach::new(
                        Rule::R7,
                        &limit.key,
                        format!(
                            "{} on {id} at {}: {}",
                            limit.title,
                            clock(&reading.at, at.date_naive()),
                            why.join("; ")
                        ),
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

/// What of a reading lies outside a limit, and what would bring each in.
fn out_of(limit: &Limit, reading: &Reading) -> Vec<(String, String)> {
    let mut out = Vec::new();
    let mut check = |what: &str, unit: &str, value: f64, (least, most): (Option<f64>, Option<f64>)| {
        if let Some(least) = least.filter(|least| value < *least) {
            let (is, needs) = (show(value), show(least));
            out.push((
                format!("{what} is {is} {unit}, {needs} {unit} or more is needed"),
                format!("{what} up by {} {unit}", show(least - value)),
            ));
        }
        if let Some(most) = most.filter(|most| value > *most) {
            let (is, needs) = (show(value), show(most));
            out.push((
                format!("{what} is {is} {unit}, at most {needs} {unit} is allowed"),
                format!("{what} down by {} {unit}", show(value - most)),
            ));
        }
    };
    check("air", "°C", reading.air_c, limit.air_c);
    check("surface", "°C", reading.surface_c, limit.surface_c);
    check("humidity", "%", reading.humidity_pct, (None, limit.humidity_pct));
    if let Some(least) = limit.dew_margin_c {
        let dew = crate::conditions::dew::dew_point(
            Temperature::celsius(reading.air_c),
            Humidity::percent(reading.humidity_pct),
        );
        match dew {
            Ok(dew) => {
                let margin = reading.surface_c - dew.as_celsius();
                // Shown to a tenth: a thermometer reads no finer, and the lead has to read it.
                check("surface over dew point", "°C", (margin * 10.0).round() / 10.0, (Some(least), None));
            }
            Err(fault) => out.push((fault.to_string(), "read the air and humidity again".to_owned())),
        }
    }
    if let Some(most) = limit.wind_kmh {
        match reading.wind_kmh {
            Some(wind) if wind > most => out.push((
                format!("wind is {} km/h, at most {} km/h is allowed", show(wind), show(most)),
                format!("wait for the wind to drop by {} km/h", show(wind - most)),
            )),
            Some(_) => {}
            None => out.push(("the wind was not read".to_owned(), "read the wind as well".to_owned())),
        }
    }
    if limit.dry && reading.rain {
        out.push(("it is raining".to_owned(), "wait until it is dry".to_owned()));
    }
    out
}
