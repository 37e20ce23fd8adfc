//! Until when the forecast keeps a limit from holding. It satisfies no rule: readings do.

use chrono::TimeDelta;

use crate::day::rules::{in_words, reasons};
use crate::day::state::State;
use crate::moment::Moment;
use crate::sequence::Limit;

/// Times are given to this grain.
const GRAIN_MIN: i64 = 5;
/// How far ahead it is said when a limit will hold again.
const AHEAD: TimeDelta = TimeDelta::hours(36);

impl State {
    /// Until when the forecast keeps a limit from holding, in words: "by the forecast too cold until about 09:40".
    ///
    /// `None` without a forecast for `now`, and where by it the limit holds now.
    pub fn forecast_until(&self, limit: &Limit, now: Moment) -> Option<String> {
        let forecast = &self.forecast.as_ref()?.forecast;
        let mut found = reasons(limit, &forecast.at(now)?);
        if found.is_empty() {
            return None;
        }
        let mut at = grain_after(now);
        while at - now <= AHEAD {
            let Some(weather) = forecast.at(at) else { break };
            let still = reasons(limit, &weather);
            if still.is_empty() {
                return Some(format!("by the forecast {} until about {}", in_words(&found), at.clock(now.date())));
            }
            // What comes in its place keeps the lead waiting as well.
            let new: Vec<_> = still.into_iter().filter(|reason| !found.contains(reason)).collect();
            found.extend(new);
            at += TimeDelta::minutes(GRAIN_MIN);
        }
        let end = at - TimeDelta::minutes(GRAIN_MIN);
        Some(format!("by the forecast {} until {} at least", in_words(&found), end.clock(now.date())))
    }
}

/// The next moment on the grain.
fn grain_after(now: Moment) -> Moment {
    let into = now.instant().timestamp().rem_euclid(GRAIN_MIN * 60);
    now + TimeDelta::seconds(GRAIN_MIN * 60 - into)
}
