//! The time between two steps.

use chrono::TimeDelta;
use cladlog::building::Subject;
use cladlog::moment::Moment;
use cladlog::record::{Body, TakeReading};
use cladlog::sequence::{CountsFrom, LapseTrigger, Window};

use super::{Place, Second};

/// A window that was begun and not answered.
pub(super) struct Run {
    pub(super) began: Moment,
    pub(super) opens: Moment,
    pub(super) closes: Option<Moment>,
    spoiled: Option<Moment>,
}

impl Second<'_> {
    /// The run of a window that is neither answered nor begun anew.
    pub(super) fn running(&self, window: &Window, on: &Subject, place: Place) -> Option<Run> {
        let from = *self.work(window.from, on, place.before).last()?;
        let answered = self.work(window.to, on, place.before).last().is_some_and(|to| *to > from);
        (!answered && !self.is_wrong(from, place.before)).then(|| self.run(window, on, from, place))
    }

    pub(super) fn run(&self, window: &Window, on: &Subject, from: usize, place: Place) -> Run {
        let window = self.bounds(place.before).windows.iter().find(|it| it.key == window.key).unwrap();
        let began = match &self.entries[from].body {
            Body::StepDone(it) if window.counts_from == CountsFrom::Beginning => it.began,
            _ => None,
        };
        let began = began.unwrap_or(self.entries[from].happened_at);
        let walls = self.walls(on);
        let mut bounds: Vec<(Option<TimeDelta>, Option<TimeDelta>)> = Vec::new();
        for wall in &walls {
            // What the surface was when it began, and has been since.
            let before = self.readings(wall, 0..from).iter().rev().find_map(|reading| reading.surface_c);
            let mut surfaces: Vec<f64> = before.into_iter().collect();
            surfaces.extend(self.readings(wall, from..place.before).iter().filter_map(|reading| reading.surface_c));
            let rows = &window.by_surface;
            if before.is_none() {
                bounds.extend(rows.iter().map(|row| (row.earliest, row.latest)));
            }
            for surface in surfaces {
                let below = rows.iter().rposition(|row| row.surface_c <= surface);
                let above = rows.iter().position(|row| row.surface_c >= surface);
                let met = below.zip(above).map_or(rows.as_slice(), |(below, above)| &rows[below..=above]);
                bounds.extend(met.iter().map(|row| (row.earliest, row.latest)));
            }
        }
        if window.by_surface.is_empty() {
            bounds.push((window.earliest, window.latest));
        }
        let opens = began + bounds.iter().filter_map(|(earliest, _)| *earliest).max().unwrap_or_default();
        let closes = bounds.iter().filter_map(|(_, latest)| *latest).min().map(|latest| began + latest);
        let spoils = |reading: &TakeReading| {
            window.lapses_on.iter().any(|trigger| match trigger {
                LapseTrigger::Rain => reading.rain,
                LapseTrigger::Frost => [reading.air_c, reading.surface_c].iter().flatten().any(|read| *read <= 0.0),
            })
        };
        let read = (from..place.before).find(|at| match &self.entries[*at].body {
            Body::ReadingTaken(it) => (it.subject == "job" || walls.contains(&it.subject)) && spoils(it),
            _ => false,
        });
        let read = read.map(|at| self.entries[at].happened_at);
        // Rain that work stopped for falls as long as that lasts, also on what is begun meanwhile.
        let rain = window.lapses_on.contains(&LapseTrigger::Rain);
        let fell = walls.iter().filter(|_| rain).flat_map(|wall| self.stopped_by_rain(wall, place));
        let fell = fell.filter(|(_, _, ended)| ended.is_none_or(|(place, _)| place > from));
        let fell = fell.map(|(_, at, _)| at.max(began)).min();
        let spoiled = read.into_iter().chain(fell).min();
        Run { began, opens, closes, spoiled }
    }
}

impl Run {
    pub(super) fn lapsed(&self, at: Moment) -> bool {
        self.spoiled.is_some_and(|spoiled| spoiled <= at) || self.closes.is_some_and(|closes| at > closes)
    }

    /// Whether a step that was begun at one moment and done at another falls inside it.
    pub(super) fn is_open(&self, begun: Moment, done: Moment) -> bool {
        self.opens <= begun && !self.lapsed(done)
    }

    pub(super) fn phase(&self, window: &Window, now: Moment) -> &'static str {
        match () {
            () if self.lapsed(now) => "lapsed",
            () if now < self.opens => "waiting",
            () if !window.warn.is_zero() && self.closes.is_some_and(|closes| now >= closes - window.warn) => "closing",
            () => "open",
        }
    }
}
