//! What the work does to the people who do it today (C13), as lines that are shown with the cautions: heat, dust, lifting.
//!
//! Each line has the number, what it rests on, and who comes first; a verdict only against the job's own limit. None of them
//! stops anything.

use crate::building::{PanelLift, Subjects};
use crate::conditions::exposure::{Exposure, Judged};
use crate::conditions::heat::heat_index;
use crate::conditions::lifting::{Duration, Lift, index, shared};
use crate::day::facts::Kept;
use crate::day::state::State;
use crate::moment::Moment;
use crate::sequence::{CautionIx, CautionSum};
use crate::units::number::show;
use crate::units::{Humidity, Temperature};

/// Who comes first.
const FIRST: &str = "Local law comes first.";

/// No verdict without a limit of the job's own.
const NO_LIMIT: &str = "the job gives no limit";

/// Key of the job's figure that the heat index is held against, in degrees Celsius.
pub const HEAT_LIMIT: &str = "heat-index";
/// The same of the lifting index.
pub const LIFTING_LIMIT: &str = "lifting-index";

impl State {
    /// What the sums of a caution say at `now`, a line each; nothing where their inputs are not known.
    pub fn caution_lines(&self, caution: CautionIx, now: Moment) -> Vec<String> {
        let shows = self.sequence().cautions.get(caution).map_or(&[][..], |caution| &caution.shows[..]);
        shows.iter().flat_map(|sum| self.sum_lines(*sum, now)).collect()
    }

    /// The same for every sum that a caution of the sequence shows, each once: for the pre-start talk and the report.
    pub fn exposure_lines(&self, now: Moment) -> Vec<String> {
        let cautions = &self.sequence().cautions;
        let shown = |sum: &CautionSum| cautions.iter().any(|caution| caution.shows.contains(sum));
        let all = [CautionSum::HeatIndex, CautionSum::Dust, CautionSum::Lifting];
        all.into_iter().filter(shown).flat_map(|sum| self.sum_lines(sum, now)).collect()
    }

    fn sum_lines(&self, sum: CautionSum, now: Moment) -> Vec<String> {
        match sum {
            CautionSum::HeatIndex => self.heat_read(now).into_iter().chain(self.heat_forecast(now)).collect(),
            CautionSum::Dust => self.dust(now).into_iter().collect(),
            CautionSum::Lifting => self.lifting().into_iter().collect(),
        }
    }

    /// By today's last reading.
    fn heat_read(&self, now: Moment) -> Option<String> {
        let today = |at: Moment| at <= now && at.date() == now.date();
        let walls = self.subjects.all_walls();
        let readings = walls.iter().flat_map(|wall| self.readings(*wall).iter().map(move |reading| (*wall, reading)));
        let whole = readings.filter(|(_, it)| today(it.at) && it.air_c.is_some() && it.humidity_pct.is_some());
        let (wall, last) = whole.max_by_key(|(_, reading)| reading.at)?;
        let by = format!("read on {} at {}", self.subjects.get(wall), last.at.clock(now.date()));
        self.heat_line(last.air_c?, last.humidity_pct?, &by)
    }

    /// The most of the hours still to come today, by the forecast.
    fn heat_forecast(&self, now: Moment) -> Option<String> {
        let hours = self.forecast.as_ref()?.forecast.hours().iter();
        let index = |air: f64, humidity: f64| {
            heat_index(Temperature::celsius(air), Humidity::percent(humidity)).map_or(f64::MIN, |i| i.as_celsius())
        };
        let ahead = hours.filter(|hour| hour.at >= now && hour.at.date() == now.date());
        let most = ahead.max_by(|a, b| {
            index(a.air_c, a.humidity_pct).total_cmp(&index(b.air_c, b.humidity_pct)).then(b.at.cmp(&a.at))
        })?;
        let by = format!("forecast for {}, the most of the day", most.at.clock(now.date()));
        self.heat_line(most.air_c, most.humidity_pct, &by)
    }

    fn heat_line(&self, air_c: f64, humidity_pct: f64, by: &str) -> Option<String> {
        let index = heat_index(Temperature::celsius(air_c), Humidity::percent(humidity_pct)).ok()?.as_celsius();
        Some(format!(
            "Heat index {index:.0} °C, {by} (U.S. National Weather Service, for shade; sun can add 8 °C): {}. {FIRST}",
            self.against(HEAT_LIMIT, index, " °C")
        ))
    }

    /// A number held against the job's own limit, where it gives one.
    fn against(&self, figure: &str, value: f64, unit: &str) -> String {
        let Some(limit) = self.job.figure(figure) else {
            return NO_LIMIT.to_owned();
        };
        let (verdict, most) = (if value > limit.value { "OVER" } else { "within" }, show(limit.value));
        format!("{verdict} the job's limit of {most}{unit} ({})", self.figures().source_of(limit))
    }

    /// By the exposure that was kept today.
    fn dust(&self, now: Moment) -> Option<String> {
        let today = |kept: &Kept<Exposure>| kept.at.date() == now.date() && kept.at <= now;
        let kept = self.kept::<Exposure>(Subjects::JOB).filter(today)?;
        let (twa8, at) = (show((kept.twa8 * 10.0).round() / 10.0), kept.at.clock(now.date()));
        let judged = kept.judged.as_ref().map_or_else(|| NO_LIMIT.to_owned(), Judged::in_words);
        Some(format!("Respirable silica {twa8} µg/m³ over eight hours, kept at {at}: {judged}. {FIRST}"))
    }

    /// By the panel's mass, where the job file gives it.
    fn lifting(&self) -> Option<String> {
        let mass = self.job.panel.as_ref()?.mass_kg?;
        let usual = PanelLift::default();
        let given = self.job.lift.as_ref().unwrap_or(&usual);
        let lift = Lift {
            reach_cm: given.reach_cm,
            height_cm: given.height_cm,
            travel_cm: given.travel_cm,
            twist_deg: given.twist_deg,
            per_minute: given.per_minute,
            duration: match given.hours {
                hours if hours <= 1.0 => Duration::Short,
                hours if hours <= 2.0 => Duration::Moderate,
                _ => Duration::Long,
            },
            grip: given.grip,
        };
        let (alone, pair) = (index(mass, &lift).ok()?, shared(mass, 2, &lift).ok()?);
        let shown = |index: f64| match index.is_finite() {
            true => format!("{:.1}", index),
            false => "beyond what anybody should lift".to_owned(),
        };
        let judged = match self.job.figure(LIFTING_LIMIT) {
            None => self.against(LIFTING_LIMIT, pair, ""),
            Some(_) => {
                let (one, two) = (self.against(LIFTING_LIMIT, alone, ""), self.against(LIFTING_LIMIT, pair, ""));
                if one == two { one } else { format!("in a pair {two}") }
            }
        };
        Some(format!(
            "Lifting index of a {} kg panel: {} alone, {} each in a pair that shares evenly (revised NIOSH equation, DHHS \
             94-110, which is for one person): {judged}. {FIRST}",
            show(mass),
            shown(alone),
            shown(pair)
        ))
    }
}
