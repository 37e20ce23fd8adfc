//! R6: the time between two steps on one subject.

use chrono::TimeDelta;
use serde::{Deserialize, Serialize};

use super::breach::Breach;
use super::missed::{Miss, Missed, Spoiled};
use crate::building::SubjectIx;
use crate::day::facts::{Done, Judged, Stoppage};
use crate::day::state::State;
use crate::moment::{Moment, span};
use crate::record::{Answer, EntryId};
use crate::refusal::{Clears, Remedy, Rule};
use crate::sequence::{CountsFrom, LapseTrigger, StepIx, Window, WindowIx};

/// Where a window stands at a moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, strum::IntoStaticStr)]
#[serde(rename_all = "lowercase")]
#[strum(serialize_all = "lowercase")]
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
        self.into()
    }
}

/// One run of a window on one subject: from the last time that its first step was done.
#[derive(Debug, Clone)]
pub struct Run<'s> {
    /// The window.
    pub window: &'s Window,
    /// Index of the subject.
    pub subject: SubjectIx,
    /// The step that began it.
    pub from: &'s Done,
    /// What it counts from: the beginning or the end of that step.
    pub began: Moment,
    /// When it opens.
    pub opens_at: Moment,
    /// When it warns.
    pub warns_at: Option<Moment>,
    /// When it closes.
    pub closes_at: Option<Moment>,
    /// The weather that made it lapse.
    pub spoiled: Option<Spoiled>,
    /// The second step, done since.
    pub answered: Option<&'s Done>,
}

impl Run<'_> {
    /// The answer by which the second step, as it was done, left the work to somebody else; and until when they have.
    pub fn handed_on<'d>(&self, done: &'d Done) -> Option<(&'d Judged, Moment)> {
        let choice = self.window.handed_on.as_deref()?;
        let answer =
            done.answers.iter().find(|judged| matches!(&judged.answer, Answer::Words(words) if words == choice))?;
        Some((answer, self.closes_at?))
    }

    /// When it lapsed, if it had by `now` and nothing answered it.
    pub fn lapsed(&self, now: Moment) -> Option<Moment> {
        let spoiled = self.spoiled.map(|spoiled| spoiled.at).filter(|at| *at <= now);
        let closed = self.closes_at.filter(|closes| *closes < now);
        spoiled.into_iter().chain(closed).min()
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
    /// Whether a step stands complete on a subject at a moment: done, in tolerance, its window not lapsed,
    /// and the step that its window runs from not done again since.
    pub fn complete(&self, step: StepIx, subject: SubjectIx, now: Moment) -> bool {
        self.is_done_in_turn(step, subject)
            && self.counts_still(step, subject, now)
            && self.undone_by(step, subject, now).is_none()
    }

    /// The lapsed window by which a step that was done on a subject is to be done again: one that it began, one that was
    /// begun by what answered that, or one that the work is to be done again for from this step on.
    pub fn undone_by(&self, step: StepIx, subject: SubjectIx, now: Moment) -> Option<Run<'_>> {
        let last = self.done(step, subject).last()?;
        let lapsed = |run: &Run<'_>| run.answered.is_none() && run.lapsed(now).is_some();
        self.sequence().windows.indexed().find_map(|(index, window)| match window {
            _ if window.from == step => {
                let run = self.run(index, subject)?;
                if run.answered.is_some() { self.voided_by(&run, now) } else { Some(run).filter(lapsed) }
            }
            _ if window.redo_from == Some(step) => {
                self.run(index, subject).filter(|run| lapsed(run) && last.order < run.from.order)
            }
            _ => None,
        })
    }

    /// A daily step counts on the date on which it was done, until a site day of a later date is opened.
    fn counts_still(&self, step: StepIx, subject: SubjectIx, now: Moment) -> bool {
        let last = self.done(step, subject).last().filter(|_| self.sequence().steps[step].daily);
        let since = |date| self.days.iter().any(|day| day.opened_at <= now && day.date > date);
        last.is_none_or(|last| !since(last.at.at_site(self.job.time_zone).date()))
    }

    /// Whether a step was done in tolerance, and after every step that a window leads from to it: a joint primed again
    /// after it was gunned has to be gunned again.
    pub(in crate::day) fn is_done_in_turn(&self, step: StepIx, subject: SubjectIx) -> bool {
        let Some(last) = self.done(step, subject).last().filter(|last| !last.is_out_of_tolerance()) else {
            return false;
        };
        let mut firsts = self.sequence().windows.iter().filter(|window| window.to == step);
        firsts.all(|window| self.done(window.from, subject).last().is_none_or(|from| from.order <= last.order))
    }

    /// The last run of a window on a subject, when its first step was ever done there.
    pub fn run(&self, window: WindowIx, subject: SubjectIx) -> Option<Run<'_>> {
        self.last_run(window, subject, true)
    }

    /// The last run; where it is not followed `to_second`, as whoever does its second step once more meets it: time and
    /// weather have gone on counting.
    fn last_run(&self, window: WindowIx, subject: SubjectIx, to_second: bool) -> Option<Run<'_>> {
        let last = self.done(self.sequence().windows[window].from, subject).len().checked_sub(1)?;
        self.run_from(window, subject, last, to_second)
    }

    /// Every run of a window on a subject, oldest first: one for each time that its first step was done.
    pub fn runs_of(&self, window: WindowIx, subject: SubjectIx) -> Vec<Run<'_>> {
        let times = self.done(self.sequence().windows[window].from, subject).len();
        (0..times).filter_map(|begun| self.run_from(window, subject, begun, true)).collect()
    }

    /// Every window that runs: begun and not answered.
    pub fn runs(&self) -> Vec<Run<'_>> {
        let windows = self.sequence().windows.indexes();
        let all = windows.flat_map(|window| self.subjects.indexes().filter_map(move |on| self.run(window, on)));
        all.filter(|run| run.answered.is_none()).collect()
    }

    /// The run that began when the first step was done for the `begun`-th time, counted from 0; to the second step, or past
    /// it.
    fn run_from(&self, window: WindowIx, subject: SubjectIx, begun: usize, to_second: bool) -> Option<Run<'_>> {
        let found = &self.sequence().windows[window];
        let times = self.done(found.from, subject);
        let from = times.get(begun)?;
        // A first step out of tolerance has not been done yet: no clock runs on it.
        if from.is_out_of_tolerance() {
            return None;
        }
        // Done again, the first step begins a new run: what comes after answers that one.
        let again = times.get(begun + 1);
        let seconds = self.done(found.to, subject);
        let after = seconds.partition_point(|done| done.order < from.order);
        let second = seconds.get(after).filter(|done| again.is_none_or(|again| done.order < again.order));
        let answered = second.filter(|_| to_second);
        let until = answered.or(again).map_or(usize::MAX, |done| done.order);
        let (earliest, latest) = self.bounds(found, subject, from.order, until);
        let began = match found.counts_from {
            CountsFrom::Beginning => from.began,
            CountsFrom::End => from.at,
        };
        // By the clocks that the site has by then: summer time may begin or end while a window runs.
        let after = |length: TimeDelta| (began + length).at_site(self.job.time_zone);
        let closes_at = latest.map(after);
        // Rain after the window closed changes nothing: it had lapsed already.
        let counts = |spoiled: &Spoiled| closes_at.is_none_or(|closes| spoiled.at <= closes);
        Some(Run {
            window: found,
            subject,
            from,
            began,
            opens_at: after(earliest.unwrap_or_default()),
            warns_at: latest
                .filter(|_| !found.warn.is_zero())
                .map(|latest| after((latest - found.warn).max(TimeDelta::zero()))),
            closes_at,
            spoiled: self.spoiled(found, subject, from, until).filter(counts),
            answered,
        })
    }

    /// The earliest weather, on any wall that a subject touches, that makes a window lapse between two places.
    fn spoiled(&self, window: &Window, subject: SubjectIx, from: &Done, until: usize) -> Option<Spoiled> {
        if window.lapses_on.is_empty() {
            return None;
        }
        let read = |wall: &SubjectIx| {
            let readings = self.readings(*wall);
            let adverse = self.wet_or_freezing.get(wall).map_or(&[][..], Vec::as_slice);
            let first = adverse.partition_point(|at| readings[*at].order < from.order);
            let within = adverse[first..].iter().map(|at| &readings[*at]);
            within.take_while(|reading| reading.order < until).find_map(|reading| {
                let by = [(reading.rain, LapseTrigger::Rain), (reading.is_frost(), LapseTrigger::Frost)];
                let (_, by) = by.into_iter().find(|(is, trigger)| *is && window.lapses_on.contains(trigger))?;
                Some(Spoiled { by, at: reading.at, wall: *wall })
            })
        };
        // Rain that work stopped for falls from then to its end: also on what was begun meanwhile.
        let stopped = |wall: &SubjectIx| {
            let rain = self.rain_stoppages(*wall).filter(|_| window.lapses_on.contains(&LapseTrigger::Rain));
            let fell = rain.filter(|one| one.started < until && one.ended.is_none_or(|ended| ended > from.order));
            let at = fell.map(|one| one.started_at.max(from.at)).min()?;
            Some(Spoiled { by: LapseTrigger::Rain, at, wall: *wall })
        };
        let walls = self.subjects.exposed_walls(subject).iter();
        walls.flat_map(|wall| read(wall).into_iter().chain(stopped(wall))).min_by_key(|spoiled| spoiled.at)
    }

    /// The stoppages for rain that touch a wall.
    pub(in crate::day) fn rain_stoppages(&self, wall: SubjectIx) -> impl Iterator<Item = &Stoppage> {
        self.stoppages.iter().filter(move |one| {
            let on = self.subjects.index(&one.subject).filter(|_| one.rain);
            on.is_some_and(|on| self.subjects.exposed_walls(on).contains(&wall))
        })
    }

    /// The first rain on a wall of a subject within so long after a moment, as it was read or as work stopped for it: when,
    /// and the entry that says so.
    pub fn rain_within(&self, subject: SubjectIx, after: Moment, length: TimeDelta) -> Option<(Moment, EntryId)> {
        let of_wall = |wall: &SubjectIx| {
            let read = self.readings(*wall).iter().filter(|reading| reading.rain);
            let read = read.map(|reading| (reading.at, reading.entry.clone()));
            let stopped = self.rain_stoppages(*wall).filter(|one| one.ended_at.is_none_or(|ended| ended > after));
            read.chain(stopped.map(|one| (one.started_at.max(after), one.entry.clone()))).collect::<Vec<_>>()
        };
        let rain = self.subjects.exposed_walls(subject).iter().flat_map(of_wall);
        rain.filter(|(at, _)| after <= *at && *at - after < length).min_by_key(|(at, _)| *at)
    }

    /// The window begun by what answered a run, where it lapsed in its turn: gunned, but the tape never came off. The second
    /// step is undone then, and the first has to be repeated as well.
    fn voided_by(&self, run: &Run<'_>, now: Moment) -> Option<Run<'_>> {
        run.answered?;
        let windows = self.sequence().windows.indexed();
        let mut onward = windows.filter(|(_, onward)| onward.from == run.window.to);
        onward.find_map(|(index, _)| {
            self.run(index, run.subject).filter(|onward| onward.answered.is_none() && onward.lapsed(now).is_some())
        })
    }

    /// The bounds that hold for a run: those of the table, read to the safe side, where there is one.
    ///
    /// On every wall that the subject touches, each surface temperature read since the first step counts, and the one
    /// in force when it was done; between two rows, and where nothing was read, the stricter bound; outside the table
    /// the strictest row.
    fn bounds(
        &self,
        window: &Window,
        subject: SubjectIx,
        from: usize,
        until: usize,
    ) -> (Option<TimeDelta>, Option<TimeDelta>) {
        if window.by_surface.is_empty() {
            return (window.earliest, window.latest);
        }
        let mut temperatures: Vec<Option<f64>> = Vec::new();
        for wall in self.subjects.exposed_walls(subject) {
            let readings = self.readings(*wall);
            let (before, since) = readings.split_at(readings.partition_point(|reading| reading.order < from));
            // Nothing was read before: as if every row might hold.
            temperatures.push(before.iter().rev().find_map(|reading| reading.surface_c));
            let counts = since.iter().take_while(|reading| reading.order < until);
            temperatures.extend(counts.map(|reading| reading.surface_c).filter(Option::is_some));
        }
        window.bounds_at(&temperatures)
    }
}

/// The windows that a step must fall inside: begun no earlier than they open, done no later than they close.
pub(super) fn judge(state: &State, step: StepIx, subject: SubjectIx, begun: Moment, at: Moment) -> Vec<Breach> {
    let windows = state.sequence().windows.indexed().filter(|(_, window)| window.to == step);
    windows.filter_map(|(index, _)| judge_window(state, index, subject, begun, at)).collect()
}

/// How a window is missed by its second step; nothing where it is met.
fn missed(run: &Run<'_>, voided_by: Option<&Run<'_>>, begun: Moment, at: Moment) -> Option<Miss> {
    if let Some(when) = voided_by.and_then(|onward| onward.lapsed(at)) {
        return Some(Miss::Undone(when));
    }
    if let Some(spoiled) = run.spoiled.filter(|spoiled| spoiled.at <= at) {
        return Some(Miss::Spoiled(spoiled));
    }
    match run.closes_at {
        // Waiting would not help.
        Some(closes) if closes < run.opens_at => Some(Miss::Never(closes)),
        _ if begun < run.opens_at => Some(Miss::Early),
        Some(closes) if closes < at => Some(Miss::Late(closes)),
        _ => None,
    }
}

/// Why a window is missed by its second step; nothing where it is met.
fn judge_window(state: &State, index: WindowIx, subject: SubjectIx, begun: Moment, at: Moment) -> Option<Breach> {
    let run = state.last_run(index, subject, false)?;
    let voided_by = state.run(index, subject).and_then(|answered| state.voided_by(&answered, at));
    let how = missed(&run, voided_by.as_ref(), begun, at)?;
    let (window, steps) = (run.window, &state.sequence().steps);
    let clock = |moment: Moment| moment.clock(at.date());
    let id = state.subjects.get(subject).to_string();
    let done = if run.began == run.from.at { "done" } else { "begun" };
    let since = format!("'{}' was {done} on {id} at {}", steps[window.from].title, clock(run.began));
    // A title is a heading, and no part of a sentence.
    let its = format!("its window ({})", window.title);
    let opens = clock(run.opens_at);
    let (why, closed_at) = match how {
        Miss::Undone(when) => {
            let (second, lapsed) = (&steps[window.to].title, clock(when));
            (format!("{since}, but the '{second}' done on it lapsed at {lapsed} and has to come out"), Some(when))
        }
        Miss::Spoiled(spoiled) => {
            let verb = if spoiled.by == LapseTrigger::Rain { "fell on" } else { "was read on" };
            let (wall, when) = (state.subjects.get(spoiled.wall), clock(spoiled.at));
            (format!("{since}; {} {verb} {wall} at {when}, so {its} lapsed", spoiled.by), Some(spoiled.at))
        }
        Miss::Never(closes) => {
            let why = format!(
                "{since}; at this surface temperature {its} closes at {}, before it opens at {opens}, so it can't be met",
                clock(closes)
            );
            (why, Some(closes).filter(|closes| *closes < at))
        }
        Miss::Early => {
            let (length, left) = (span(run.opens_at - run.began), span(run.opens_at - begun));
            (format!("{since}; {its} opens {length} after that, at {opens} (in {left})"), None)
        }
        Miss::Late(closes) => {
            let (length, ago) = (span(closes - run.began), span(at - closes));
            (format!("{since}; {its} closed {length} after that, at {} ({ago} ago)", clock(closes)), Some(closes))
        }
    };
    let bounds = (run.opens_at, run.closes_at);
    let missed = Some(Missed { began: [run.began, run.from.at], bounds, how });
    if matches!(how, Miss::Early) {
        let breach = Breach::new(Rule::Window, &window.key, why, format!("wait until {opens}"));
        return Some(Breach { opens_at: Some(run.opens_at), missed, ..breach });
    }
    // Where the work has to come out, what lapsed on it says what is done first, and from which step on.
    let lapsed = voided_by.as_ref().map_or(window, |onward| onward.window);
    let redone = &steps[lapsed.redo_from.unwrap_or(window.from)];
    let first = lapsed.redo.as_ref().map(|redo| format!("{redo} Then ")).unwrap_or_default();
    let remedy = Remedy::Record { step: redone.key.clone(), on: id, before: lapsed.redo.clone() };
    let clears = Clears::from(format!("{first}do '{}' again", redone.title)).by(remedy);
    Some(Breach { closed_at, missed, ..Breach::new(Rule::Window, &window.key, why, clears) })
}
