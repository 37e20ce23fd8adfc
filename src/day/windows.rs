//! R6: the time between two steps on one subject.

use chrono::TimeDelta;

use super::breach::Breach;
use super::state::{Done, Reading, State};
use crate::moment::{Moment, span};
use crate::refusal::Rule;
use crate::sequence::{LapseTrigger, Window};

/// Where a window stands at a moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Phase {
    /// Not open yet.
    Waiting,
    /// Open.
    Open,
    /// Open, and about to close.
    Closing,
    /// Closed unused.
    Lapsed,
    /// The second step was done.
    Met,
}

impl Phase {
    /// The word, as the contract writes it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Waiting => "waiting",
            Self::Open => "open",
            Self::Closing => "closing",
            Self::Lapsed => "lapsed",
            Self::Met => "met",
        }
    }
}

/// One run of a window on one subject: from the last time that its first step was done.
#[derive(Debug, Clone)]
pub struct Run<'s> {
    /// The window.
    pub window: &'s Window,
    /// Index of the subject.
    pub subject: usize,
    /// The step that began it.
    pub from: &'s Done,
    /// When it opens.
    pub opens_at: Moment,
    /// When it warns.
    pub warns_at: Option<Moment>,
    /// When it closes.
    pub closes_at: Option<Moment>,
    /// Rain or frost that made it lapse, and when.
    pub spoiled: Option<(LapseTrigger, Moment)>,
    /// The second step, done since.
    pub answered: Option<&'s Done>,
}

impl Run<'_> {
    /// When it lapsed, if it had by `now` and nothing answered it.
    pub fn lapsed(&self, now: Moment) -> Option<Moment> {
        let spoiled = self.spoiled.map(|(_, at)| at).filter(|at| *at <= now);
        let closed = self.closes_at.filter(|closes| *closes < now);
        match (spoiled, closed) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        }
    }

    /// Where it stands.
    pub fn phase(&self, now: Moment) -> Phase {
        if self.answered.is_some() {
            Phase::Met
        } else if self.lapsed(now).is_some() {
            Phase::Lapsed
        } else if now < self.opens_at {
            Phase::Waiting
        } else if self.warns_at.is_some_and(|warns| warns <= now) {
            Phase::Closing
        } else {
            Phase::Open
        }
    }
}

impl State {
    /// The last run of a window on a subject, when its first step was ever done there.
    pub fn run(&self, window: usize, subject: usize) -> Option<Run<'_>> {
        let last = self.done(self.sequence().windows[window].from, subject).len().checked_sub(1)?;
        self.run_from(window, subject, last)
    }

    /// Every run of a window on a subject, oldest first: one for each time that its first step was done.
    pub fn runs_of(&self, window: usize, subject: usize) -> Vec<Run<'_>> {
        let times = self.done(self.sequence().windows[window].from, subject).len();
        (0..times).filter_map(|begun| self.run_from(window, subject, begun)).collect()
    }

    /// The run that began when the first step was done for the `begun`-th time, counted from 0.
    fn run_from(&self, window: usize, subject: usize, begun: usize) -> Option<Run<'_>> {
        let found = &self.sequence().windows[window];
        let times = self.done(found.from, subject);
        let from = times.get(begun)?;
        // A first step out of tolerance has not been done yet: no clock runs on it.
        if !from.failing.is_empty() {
            return None;
        }
        // Done again, the first step begins a new run: what comes after answers that one.
        let again = times.get(begun + 1).map(|next| next.at);
        let seconds = self.done(found.to, subject);
        let after = seconds.partition_point(|done| done.at < from.at);
        let answered = seconds.get(after).filter(|done| again.is_none_or(|again| done.at < again));
        let until = answered.map(|done| done.at).or(again);
        let spoiled = self.spoiling(found, subject, from.at).find_map(|reading| {
            if until.is_some_and(|until| reading.at >= until) {
                return None;
            }
            let frost = reading.air_c <= 0.0 || reading.surface_c <= 0.0;
            let trigger = if reading.rain && found.lapses_on.contains(&LapseTrigger::Rain) {
                LapseTrigger::Rain
            } else if frost && found.lapses_on.contains(&LapseTrigger::Frost) {
                LapseTrigger::Frost
            } else {
                return None;
            };
            Some((trigger, reading.at))
        });
        let (earliest, latest) = self.bounds(found, subject, from.at, until);
        // By the clocks that the site has by then: summer time may begin or end while a window runs.
        let after = |length: TimeDelta| (from.at + length).at_site(self.job.time_zone);
        let closes_at = latest.map(after);
        Some(Run {
            window: found,
            subject,
            from,
            opens_at: after(earliest.unwrap_or_default()),
            warns_at: latest
                .filter(|_| !found.warn.is_zero())
                .map(|latest| after((latest - found.warn).max(TimeDelta::zero()))),
            closes_at,
            // What had closed unused, no rain spoils any more.
            spoiled: spoiled.filter(|(_, at)| closes_at.is_none_or(|closes| *at <= closes)),
            answered,
        })
    }

    /// When what answered a run lapsed in its turn, if it has: then the first step is spent, and done again as well.
    ///
    /// A primer that was gunned over, and cut out since, seals nothing any more.
    pub(super) fn spent(&self, run: &Run<'_>, now: Moment) -> Option<Moment> {
        run.answered?;
        let windows = self.sequence().windows.iter().enumerate();
        windows.filter(|(_, onward)| onward.from == run.window.to).find_map(|(index, _)| {
            let onward = self.run(index, run.subject).filter(|onward| onward.answered.is_none())?;
            onward.lapsed(now)
        })
    }

    /// Every window that runs: begun and not answered.
    pub fn runs(&self) -> Vec<Run<'_>> {
        let mut runs = Vec::new();
        for window in 0..self.sequence().windows.len() {
            for subject in 0..self.subjects.len() {
                runs.extend(self.run(window, subject).filter(|run| run.answered.is_none()));
            }
        }
        runs
    }

    /// The readings on a subject's walls from a moment on, oldest first on each wall.
    fn readings_from(&self, subject: usize, from: Moment) -> impl Iterator<Item = &Reading> {
        self.subjects.walls_of(subject).iter().flat_map(move |wall| {
            let readings = self.readings(*wall);
            &readings[readings.partition_point(|reading| reading.at < from)..]
        })
    }

    /// The readings that may make a window lapse; none where nothing does.
    fn spoiling(&self, window: &Window, subject: usize, from: Moment) -> impl Iterator<Item = &Reading> {
        let walls = if window.lapses_on.is_empty() { &[] } else { self.subjects.walls_of(subject) };
        walls
            .iter()
            .filter_map(|wall| self.foul.get(wall))
            .flat_map(move |readings| &readings[readings.partition_point(|reading| reading.at < from)..])
    }

    /// The bounds that hold for a run: those of the table, read to the safe side, where there is one.
    ///
    /// Every surface temperature read since the first step counts, and the one in force when it was done;
    /// between two rows, and where nothing was read, the stricter bound; outside the table the strictest row.
    fn bounds(
        &self,
        window: &Window,
        subject: usize,
        from: Moment,
        until: Option<Moment>,
    ) -> (Option<TimeDelta>, Option<TimeDelta>) {
        if window.by_surface.is_empty() {
            return (window.earliest, window.latest);
        }
        let mut temperatures: Vec<f64> = self
            .readings_from(subject, from)
            .filter(|reading| reading.at > from && until.is_none_or(|until| reading.at <= until))
            .map(|reading| reading.surface_c)
            .collect();
        let before = self.subjects.walls_of(subject).iter().filter_map(|wall| {
            let readings = self.readings(*wall);
            readings[..readings.partition_point(|reading| reading.at <= from)].last()
        });
        let before = before.max_by_key(|reading| reading.at);
        match before {
            Some(reading) => temperatures.push(reading.surface_c),
            // Nothing was read before: as if every row might hold.
            None => temperatures.push(f64::NAN),
        }
        window.bounds_at(&temperatures)
    }
}

/// The windows that a step must fall inside.
pub(super) fn judge(state: &State, step: usize, subject: usize, at: Moment) -> Vec<Breach> {
    let sequence = state.sequence();
    let today = at.date();
    let mut breaches = Vec::new();
    for (index, window) in sequence.windows.iter().enumerate() {
        if window.to != step {
            continue;
        }
        let Some(run) = state.run(index, subject) else { continue };
        let spent = state.spent(&run, at);
        let spoiled = run.spoiled.filter(|(_, when)| *when <= at);
        let closed = run.closes_at.filter(|closes| *closes < at);
        if spent.is_none() && spoiled.is_none() && closed.is_none() && run.opens_at <= at {
            continue;
        }
        let first = &sequence.steps[window.from];
        let id = state.subjects.get(subject).to_string();
        let again = format!("do '{}' again: cladlog record {} --on {id}", first.title, first.key);
        let again = window.redo.as_ref().map_or(again.clone(), |redo| format!("{redo} Then {again}"));
        let begun = format!("'{}' was done on {id} at {}", first.title, run.from.at.clock(today));
        let mut breach = Breach::new(Rule::R6, &window.key, String::new(), again);
        if let Some(when) = spent {
            let second = &sequence.steps[window.to].title;
            breach.why =
                format!("{begun}, but '{second}' after it lapsed at {} and has to come out", when.clock(today));
            breach.closed_at = Some(when);
        } else if let Some((trigger, when)) = spoiled {
            let verb = if trigger == LapseTrigger::Rain { "fell on" } else { "was read on" };
            let wall = state.subjects.get(subject).wall().unwrap_or("the wall").to_owned();
            breach.why =
                format!("{begun}; {} {verb} {wall} at {}, so the {} lapsed", trigger, when.clock(today), window.title);
            breach.closed_at = Some(when);
        } else if let Some(closes) = run.closes_at.filter(|closes| *closes < run.opens_at) {
            // Waiting would not help: the table of surface temperatures leaves nothing between the two.
            breach.why = format!(
                "{begun}; by how warm the surface was the {} closes at {}, and opens only at {}: it can't be met",
                window.title,
                closes.clock(today),
                run.opens_at.clock(today)
            );
            breach.closed_at = Some(closes).filter(|closes| *closes < at);
        } else if at < run.opens_at {
            breach.why = format!(
                "{begun}; the {} opens {} later, at {}, in {}",
                window.title,
                span(run.opens_at - run.from.at),
                run.opens_at.clock(today),
                span(run.opens_at - at)
            );
            breach.clears = format!("wait until {}", run.opens_at.clock(today));
            breach.opens_at = Some(run.opens_at);
        } else if let Some(closes) = closed {
            breach.why = format!(
                "{begun}; the {} closed {} later, at {}, {} ago",
                window.title,
                span(closes - run.from.at),
                closes.clock(today),
                span(at - closes)
            );
            breach.closed_at = Some(closes);
        }
        breaches.push(breach);
    }
    breaches
}
