//! R7: limits on site conditions.

use super::breach::Breach;
use crate::building::SubjectIx;
use crate::conditions::dew::dew_point;
use crate::conditions::forecast::Weather;
use crate::day::facts::{Reading, Stoppage};
use crate::day::state::State;
use crate::moment::{Moment, span};
use crate::record::TakeReading;
use crate::refusal::{Clears, Remedy, Rule};
use crate::sequence::{Limit, StepIx};
use crate::units::number::{show, show_beside};
use crate::units::{Humidity, Quantity, Temperature};

/// What the last bits of floats may lack of a margin that is exactly enough.
const FUZZ_C: f64 = 1e-9;

/// What is known of the conditions on a wall; absent what was not read.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Conditions {
    /// Air temperature, °C.
    pub air_c: Option<f64>,
    /// Relative humidity, %.
    pub humidity_pct: Option<f64>,
    /// Surface temperature, °C.
    pub surface_c: Option<f64>,
    /// Wind, km/h.
    pub wind_kmh: Option<f64>,
    /// Whether it rains.
    pub rain: Option<bool>,
}

impl Conditions {
    /// Takes one value of a reading.
    fn take(&mut self, quantity: Quantity, reading: &TakeReading) {
        match quantity {
            Quantity::Air => self.air_c = reading.air_c,
            Quantity::Humidity => self.humidity_pct = reading.humidity_pct,
            Quantity::Surface => self.surface_c = reading.surface_c,
            Quantity::Wind => self.wind_kmh = reading.wind_kmh,
            Quantity::Rain => self.rain = Some(reading.rain),
        }
    }
}

fn has(reading: &TakeReading, quantity: Quantity) -> bool {
    match quantity {
        Quantity::Air => reading.air_c.is_some(),
        Quantity::Humidity => reading.humidity_pct.is_some(),
        Quantity::Surface => reading.surface_c.is_some(),
        Quantity::Wind => reading.wind_kmh.is_some(),
        Quantity::Rain => true,
    }
}

/// What of a limit is known on a wall at a moment, each value by the newest reading that has it.
pub(in crate::day) struct Known<'s> {
    /// The values that are new enough.
    pub conditions: Conditions,
    /// The readings that they come from.
    pub readings: Vec<&'s Reading>,
    /// What is asked for and was never read, or too long ago: with its last reading.
    pub unread: Vec<(Quantity, Option<&'s Reading>)>,
    /// When work went on after rain, where nobody has said since that it is dry.
    pub rained_until: Option<Moment>,
}

impl State {
    /// What of a limit is known on a wall at a moment.
    pub(in crate::day) fn known(&self, limit: &Limit, wall: SubjectIx, at: Moment) -> Known<'_> {
        let mut known =
            Known { conditions: Conditions::default(), readings: Vec::new(), unread: Vec::new(), rained_until: None };
        for quantity in limit.asks() {
            let readings = self.readings(wall).iter().rev().filter(|reading| reading.at <= at);
            let last = readings.into_iter().find(|reading| has(reading, quantity));
            if quantity == Quantity::Rain
                && let Some(rain) = self.rains_by_stoppage(wall, last.map(|last| last.at), at, limit)
            {
                known.conditions.rain = Some(true);
                known.rained_until = rain.ended_at.filter(|ended| *ended <= at);
                continue;
            }
            match last.filter(|reading| at - reading.at <= limit.reading_within) {
                Some(reading) => {
                    known.conditions.take(quantity, reading);
                    if !known.readings.iter().any(|known| known.entry == reading.entry) {
                        known.readings.push(reading);
                    }
                }
                None => known.unread.push((quantity, last)),
            }
        }
        known
    }

    /// The rain that work stopped for, where it says that a wall is wet: as long as it lasts whatever was read meanwhile,
    /// then until it is read again.
    fn rains_by_stoppage(&self, wall: SubjectIx, read: Option<Moment>, at: Moment, limit: &Limit) -> Option<&Stoppage> {
        let lasts = |one: &Stoppage| one.ended_at.is_none_or(|ended| ended > at);
        let unread = |one: &Stoppage| {
            one.ended_at.is_some_and(|ended| at - ended <= limit.reading_within && read.is_none_or(|read| read < ended))
        };
        let rain = || self.rain_stoppages(wall).filter(|one| one.started_at <= at);
        rain().find(|one| lasts(one)).or_else(|| rain().filter(|one| unread(one)).max_by_key(|one| one.ended_at))
    }

    /// What somebody has to read on a wall so that a limit can be judged; nothing where it is out by what is known:
    /// that is weather, and another reading does not clear it.
    pub fn to_read(&self, limit: &Limit, wall: SubjectIx, at: Moment) -> Vec<Quantity> {
        let mut known = self.known(limit, wall, at);
        let mut to_read: Vec<Quantity> = known.unread.iter().map(|(quantity, _)| *quantity).collect();
        if known.rained_until.is_some() {
            known.conditions.rain = None;
            to_read.push(Quantity::Rain);
        }
        if out_of(limit, &known.conditions).is_empty() { to_read } else { Vec::new() }
    }
}

/// The limits that stop a step.
pub(super) fn judge(state: &State, step: StepIx, subject: SubjectIx, at: Moment) -> Vec<Breach> {
    let sequence = state.sequence();
    let limits = sequence.steps[step].limits.iter().map(|limit| &sequence.limits[*limit]);
    let walls = state.subjects.exposed_walls(subject);
    limits.filter_map(|limit| walls.iter().find_map(|wall| judge_on(state, limit, *wall, at))).collect()
}

/// Whether a limit stops work on a wall: out by what is known, or something that it asks for is not known.
fn judge_on(state: &State, limit: &Limit, wall: SubjectIx, at: Moment) -> Option<Breach> {
    let known = state.known(limit, wall, at);
    let (id, today) = (state.subjects.get(wall).to_string(), at.date());
    let breach = |why: String, before: Option<String>, what: Vec<Quantity>| {
        let words = before.as_ref().map(|before| format!("{before}; then take a reading")).unwrap_or_default();
        let clears = Clears::from(words).by(Remedy::Read { on: id.clone(), what, before });
        Some(Breach::new(Rule::Condition, &limit.key, why, clears))
    };
    let mut out = out_of(limit, &known.conditions);
    if let (Some(until), Some(rain)) = (known.rained_until, out.iter_mut().find(|out| out.reason == LimitReason::Rain))
    {
        rain.why =
            format!("work stopped for rain until {}, and nobody has said since that it is dry", until.clock(today));
    }
    if !out.is_empty() {
        let (why, brings): (Vec<String>, Vec<String>) = out.into_iter().map(|out| (out.why, out.brings)).unzip();
        let read = known.readings.iter().map(|reading| reading.at).max();
        let read = read.map(|read| format!(" at {}", read.clock(today))).unwrap_or_default();
        let why = format!("{} on {id}{read}: {}", limit.title, why.join("; "));
        return breach(why, Some(brings.join("; ")), limit.asks());
    }
    let (first, last) = known.unread.first()?;
    let same = |(_, other): &&(Quantity, Option<&Reading>)| {
        other.map(|reading| &reading.entry) == last.map(|reading| &reading.entry)
    };
    let words: Vec<&str> = known.unread.iter().filter(same).map(|(quantity, _)| quantity.word()).collect();
    let what = match words.as_slice() {
        [all @ .., end] if !all.is_empty() => format!("{} and {end}", all.join(", ")),
        _ => first.word().to_owned(),
    };
    let (title, within) = (&limit.title, span(limit.reading_within));
    let why = match last {
        None => format!("no reading of {what} on {id} yet; {title} needs one within {within}"),
        Some(reading) => format!(
            "the last reading of {what} on {id} is from {}, {} old; {title} needs one within {within}",
            reading.at.clock(today),
            span(at - reading.at)
        ),
    };
    let unread: Vec<Quantity> = known.unread.iter().map(|(quantity, _)| *quantity).collect();
    breach(why, None, unread)
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
    /// The dew point can't be worked out.
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
    let conditions = Conditions {
        air_c: Some(weather.air_c),
        humidity_pct: Some(weather.humidity_pct),
        surface_c: Some(weather.surface_c),
        wind_kmh: Some(weather.wind_kmh),
        rain: Some(weather.rain),
    };
    let mut reasons: Vec<LimitReason> = out_of(limit, &conditions).into_iter().map(|out| out.reason).collect();
    reasons.sort_unstable();
    reasons.dedup();
    reasons
}

/// A condition that lies outside a limit.
pub struct OutOfLimit {
    /// What it is about.
    pub reason: LimitReason,
    /// What was read, and what is required.
    pub why: String,
    /// What would bring it in.
    pub brings: String,
}

/// What of the conditions, as far as they are known, lies outside a limit, and what would bring each in.
pub fn out_of(limit: &Limit, known: &Conditions) -> Vec<OutOfLimit> {
    use LimitReason::{Cold, Dew, Hot, Humid, Rain, Unread, Wind};
    let mut out = Vec::new();
    let mut add = |reason, why: String, brings: String| out.push(OutOfLimit { reason, why, brings });
    let mut check =
        |what: &str, unit: &str, value: Option<f64>, (least, most): (Option<f64>, Option<f64>), under, over| {
            let Some(value) = value else { return };
            if let Some(least) = least.filter(|least| value < *least) {
                let why = format!(
                    "{what} is {} {unit}; at least {} {unit} is needed",
                    show_beside(value, least),
                    show(least)
                );
                add(under, why, format!("{what} up by {} {unit}", show_beside(least - value, 0.0)));
            }
            if let Some(most) = most.filter(|most| value > *most) {
                let why =
                    format!("{what} is {} {unit}; at most {} {unit} is allowed", show_beside(value, most), show(most));
                add(over, why, format!("{what} down by {} {unit}", show_beside(value - most, 0.0)));
            }
        };
    check("air", "°C", known.air_c, limit.air_c, Cold, Hot);
    check("surface", "°C", known.surface_c, limit.surface_c, Cold, Hot);
    check("humidity", "%", known.humidity_pct, (None, limit.humidity_pct), Humid, Humid);
    if let (Some(least), Some(air), Some(humidity), Some(surface)) =
        (limit.dew_margin_c, known.air_c, known.humidity_pct, known.surface_c)
    {
        match dew_point(Temperature::celsius(air), Humidity::percent(humidity)) {
            Ok(dew) => {
                let margin = surface - dew.as_celsius();
                // Shown to a tenth: a thermometer reads no finer. But 2.96 °C is not 3 °C.
                let (near, under) = ((margin * 10.0).round() / 10.0, (margin * 10.0).floor() / 10.0);
                let margin = if margin < least - FUZZ_C && near >= least { under } else { near };
                check("surface over dew point", "°C", Some(margin), (Some(least), None), Dew, Dew);
            }
            Err(error) => add(Unread, error.to_string(), "read the air and humidity again".to_owned()),
        }
    }
    if let (Some(most), Some(wind)) = (limit.wind_kmh, known.wind_kmh)
        && wind > most
    {
        let why = format!("wind is {} km/h; at most {} km/h is allowed", show_beside(wind, most), show(most));
        add(Wind, why, format!("wait for the wind to drop by {} km/h", show_beside(wind - most, 0.0)));
    }
    if limit.dry && known.rain == Some(true) {
        add(Rain, "it is raining".to_owned(), "wait until it is dry".to_owned());
    }
    out
}
