//! A second replay: slow, short, and written from 'How a record is judged' in `docs/sequence-language.md`, not from the
//! program. It keeps nothing between one entry and the next: whatever is asked, it looks through the whole record again.

use std::collections::{BTreeMap, BTreeSet};

use chrono::TimeDelta;
use cladlog::building::{Job, Subject, SubjectKind};
use cladlog::moment::Moment;
use cladlog::record::{Answer, Body, Cause, DefectId, Entry, EntryId, ReleaseHold, StepDone, TakeReading};
use cladlog::refusal::Rule;
use cladlog::sequence::{CountsFrom, LapseTrigger, Limit, Sequence, Window};

/// A site day that nobody closed is over after this long.
const LONGEST_DAY: TimeDelta = TimeDelta::hours(18);

/// What a record comes to, in words that can be compared.
#[derive(Debug, PartialEq, Eq)]
pub struct Outcome {
    /// Subject and state of every defect, by its id.
    pub defects: BTreeMap<String, (String, String)>,
    /// The state of every hold point, by its key and subject.
    pub holds: BTreeMap<(String, String), String>,
    /// Every running window, by its key and subject.
    pub windows: BTreeMap<(String, String), Running>,
    /// Every step that is done on a subject and need not be done again.
    pub complete: BTreeSet<(String, String)>,
}

/// State, beginning, opening and closing of a window.
pub type Running = (String, Moment, Moment, Option<Moment>);

/// A record, as far as it counts: without what is struck, in the order in which things happened.
pub struct Second<'a> {
    job: &'a Job,
    sequence: &'a Sequence,
    subjects: Vec<Subject>,
    entries: Vec<&'a Entry>,
    /// For each entry the first one that was recorded together with it.
    together: Vec<EntryId>,
}

/// A place in the record: what stands before it had happened, and what time it is there.
#[derive(Clone, Copy)]
struct Place {
    before: usize,
    at: Moment,
}

/// A site day.
struct Day {
    device: String,
    from: Moment,
    closed: Option<Moment>,
    crew: Vec<String>,
    acknowledged: BTreeSet<(String, String)>,
}

/// A window that was begun and not answered.
struct Run {
    began: Moment,
    opens: Moment,
    closes: Option<Moment>,
    spoiled: Option<Moment>,
}

/// Where in the record something ended, and when.
type Ended = (usize, Moment);

impl<'a> Second<'a> {
    /// Strikes what is struck, and puts the rest into order.
    pub fn new(job: &'a Job, sequence: &'a Sequence, record: &'a [Entry]) -> Self {
        let struck = struck(record);
        let mut entries: Vec<&Entry> = record.iter().filter(|entry| !struck.contains(&entry.id())).collect();
        let first: BTreeMap<EntryId, &Entry> =
            entries.iter().map(|entry| (entry.id(), first_of(&entries, entry))).collect();
        // What was recorded together stays together, in the place of its first.
        entries.sort_by_key(|entry| {
            let first = first[&entry.id()];
            let of_book = record.iter().filter(|other| other.device == first.device && other.seq <= first.seq);
            let recorded = of_book.map(|other| other.recorded_at).max();
            (first.happened_at, recorded, first.causal_rank(), first.id(), entry.seq)
        });
        let together = entries.iter().map(|entry| first[&entry.id()].id()).collect();
        Self { job, sequence, subjects: job.subjects().all().to_vec(), entries, together }
    }

    /// What the record comes to.
    pub fn outcome(&self, now: Moment) -> Outcome {
        let end = Place { before: self.entries.len(), at: now };
        let mut holds = BTreeMap::new();
        for hold in &self.sequence.holds {
            for on in self.subjects.iter().filter(|on| on.kind() == hold.per) {
                holds.insert((hold.key.clone(), on.to_string()), self.hold(&hold.key, on, end.before).to_owned());
            }
        }
        let mut windows = BTreeMap::new();
        for window in &self.sequence.windows {
            for on in &self.subjects {
                let Some(run) = self.running(window, on, end) else { continue };
                let row = (run.phase(window, now).to_owned(), run.began, run.opens, run.closes);
                windows.insert((window.key.clone(), on.to_string()), row);
            }
        }
        let mut complete = BTreeSet::new();
        for (step, asked) in self.sequence.steps.iter().enumerate() {
            for on in self.subjects.iter().filter(|on| self.sequence.asked_of(step, on, self.job)) {
                if self.is_complete(step, on, end) {
                    complete.insert((asked.key.clone(), on.to_string()));
                }
            }
        }
        Outcome { defects: self.defects(), holds, windows, complete }
    }

    // Defects: what opens one, and what ends it.

    fn defects(&self) -> BTreeMap<String, (String, String)> {
        let mut defects = BTreeMap::new();
        for at in 0..self.entries.len() {
            let entry = self.entries[at];
            for cause in self.causes(at) {
                let id = DefectId::new(entry.id(), cause);
                let state = self.defect_state(at, &id, self.entries.len());
                defects.insert(id.to_string(), (entry.body.subject().to_owned(), state.to_owned()));
            }
        }
        defects
    }

    /// What is wrong with an entry.
    fn causes(&self, at: usize) -> BTreeSet<Cause> {
        let entry = self.entries[at];
        match &entry.body {
            Body::StepDone(done) => self.causes_of_step(at, done),
            Body::DayClosed(_) if to_close(&self.days(at), &entry.device).is_none() => {
                BTreeSet::from([Cause::Rule(Rule::R12, "day".to_owned())])
            }
            // What had not begun, or was over, does not end.
            Body::StoppageEnded(it) => {
                let began = (0..at).rfind(|other| Some(self.entries[*other].id()) == it.stoppage);
                let over = |other: usize| match &self.entries[other].body {
                    Body::StoppageEnded(before) => before.stoppage == it.stoppage,
                    _ => false,
                };
                let wrong = began.is_none_or(|began| (began..at).any(over));
                wrong.then(|| Cause::Rule(Rule::R12, "stoppage".to_owned())).into_iter().collect()
            }
            Body::DefectOpened(_) => BTreeSet::from([Cause::Reported]),
            Body::HoldRefused(it) => BTreeSet::from([Cause::Rule(Rule::R5, it.hold.clone())]),
            Body::HoldReleased(it) => {
                let again = self.hold(&it.hold, self.subject(&it.subject), at) == "released";
                let wrong = again || !self.may_release(at, it);
                wrong.then(|| Cause::Rule(Rule::R5, it.hold.clone())).into_iter().collect()
            }
            _ => BTreeSet::new(),
        }
    }

    fn causes_of_step(&self, at: usize, done: &StepDone) -> BTreeSet<Cause> {
        let entry = self.entries[at];
        let place = Place { before: at, at: entry.happened_at };
        let (index, on) = (self.sequence.step(&done.step).unwrap(), self.subject(&done.subject));
        let step = &self.sequence.steps[index];
        let mut causes = BTreeSet::new();
        let mut found = |wrong: bool, rule: Rule, key: &str| {
            if wrong {
                causes.insert(Cause::Rule(rule, key.to_owned()));
            }
        };
        let windows: Vec<&Window> = self.sequence.windows.iter().filter(|window| window.to == index).collect();
        // What it waits for by a window is judged there.
        let after = step.after.iter().filter(|step| windows.iter().all(|window| window.from != **step));
        let waits = |before: usize| self.related(before, on).any(|on| !self.is_complete(before, on, place));
        found(after.copied().any(waits), Rule::R4, "order");
        if let (true, Some(below)) = (step.in_turn, self.below(index, on)) {
            let with_it = (0..self.entries.len()).any(|other| {
                self.together[other] == self.together[at] && self.entries[other].body.subject() == below.to_string()
            });
            found(!with_it && !self.is_complete(index, below, place), Rule::R4, "order");
        }
        for (gate, _) in self.sequence.steps.iter().enumerate().filter(|(_, gate)| gate.gates.contains(&index)) {
            let mut lower = self.row(on).filter(|other| other.number() < on.number());
            let open = lower
                .any(|lower| self.sequence.asked_of(gate, lower, self.job) && !self.is_complete(gate, lower, place));
            found(open, Rule::R4, "order");
        }
        for hold in self.sequence.holds.iter().filter(|hold| hold.holds.contains(&index)) {
            let held = self.subjects.iter().filter(|place| place.kind() == hold.per && self.belong(place, on));
            found(held.into_iter().any(|on| self.hold(&hold.key, on, at) != "released"), Rule::R5, &hold.key);
        }
        for window in windows {
            match self.work(window.from, on, at).last() {
                None => found(true, Rule::R4, "order"),
                Some(from) if self.is_wrong(*from, at) => found(true, Rule::R4, "order"),
                Some(from) => {
                    found(self.is_undone(window.from, on, *from, place), Rule::R4, "order");
                    let run = self.run(window, on, *from, place);
                    let used = self.work(index, on, at).last().is_some_and(|to| to > from)
                        && self.is_spoiled(index, on, place);
                    found(used || !run.is_open(place.at), Rule::R6, &window.key);
                }
            }
        }
        for limit in step.limits.iter().map(|limit| &self.sequence.limits[*limit]) {
            found(!self.walls(on).iter().all(|wall| self.is_within(limit, wall, place)), Rule::R7, &limit.key);
        }
        match self.day(&entry.device, place) {
            None => found(true, Rule::R12, "day"),
            Some(day) => {
                for caution in step.cautions.iter().map(|caution| &self.sequence.cautions[*caution].key) {
                    let missing =
                        day.crew.iter().any(|name| !day.acknowledged.contains(&(caution.clone(), name.clone())));
                    found(missing, Rule::R9, caution);
                }
            }
        }
        let unaware = |other: &Entry| !entry.had_seen(&other.id()) && !other.had_seen(&entry.id());
        found(self.work(index, on, at).iter().any(|other| unaware(self.entries[*other])), Rule::R2, "twice");
        let wrong = done.answers.keys().filter(|key| self.is_wrong_answer(done, key));
        causes.extend(wrong.map(|key| Cause::Measured(key.clone())));
        causes
    }

    /// Where a defect that an entry opened stands before a place: what ends it first, counts.
    fn defect_state(&self, opened: usize, id: &DefectId, before: usize) -> &'static str {
        let by = &self.entries[opened].body;
        let ends = |at: usize| match (&self.entries[at].body, by, &id.cause) {
            (Body::DefectClosed(it), ..) => (it.defect == *id).then_some("closed"),
            (Body::DefectConceded(it), ..) => (it.defect == *id).then_some("conceded"),
            (Body::StepDone(again), Body::StepDone(first), Cause::Measured(ask)) => {
                let same = again.step == first.step && again.subject == first.subject;
                (same && again.answers.contains_key(ask)).then_some("closed")
            }
            (Body::HoldReleased(it), Body::HoldRefused(refused), _) => {
                let same = it.hold == refused.hold && it.subject == refused.subject;
                (same && self.may_release(at, it)).then_some("closed")
            }
            _ => None,
        };
        (opened + 1..before).find_map(ends).unwrap_or("open")
    }

    // Answers.

    fn is_wrong_answer(&self, done: &StepDone, key: &str) -> bool {
        let step = &self.sequence.steps[self.sequence.step(&done.step).unwrap()];
        let ask = step.asks.iter().find(|ask| ask.key == key).unwrap();
        let choice = ask.by.as_ref().and_then(|by| done.answers.get(by)).map(ToString::to_string);
        let bound = ask.bounds.iter().find(|bound| Some(&bound.choice) == choice.as_ref());
        let tolerance = bound.map_or(&ask.tolerance, |bound| &bound.tolerance);
        match done.answers[key] {
            Answer::Yes(yes) => !yes,
            Answer::Number(value) => {
                tolerance.least.is_some_and(|least| value < least) || tolerance.most.is_some_and(|most| value > most)
            }
            _ => false,
        }
    }

    /// Whether an answer of a step done is wrong and, before a place, not conceded.
    fn is_wrong(&self, done: usize, before: usize) -> bool {
        let Body::StepDone(it) = &self.entries[done].body else { return false };
        it.answers.keys().any(|key| {
            let id = DefectId::new(self.entries[done].id(), Cause::Measured(key.clone()));
            self.is_wrong_answer(it, key) && self.defect_state(done, &id, before) != "conceded"
        })
    }

    // Subjects.

    fn subject(&self, id: &str) -> &Subject {
        self.subjects.iter().find(|subject| subject.to_string() == id).unwrap()
    }

    /// The walls that a subject stands on; every wall for the job.
    fn walls(&self, on: &Subject) -> Vec<String> {
        match on {
            Subject::Job => self.job.walls.iter().map(|wall| wall.key.clone()).collect(),
            Subject::Corner(key) => self.job.corners.iter().find(|corner| corner.key == *key).unwrap().walls.clone(),
            other => other.wall().map(str::to_owned).into_iter().collect(),
        }
    }

    /// Whether one of two subjects is part of the other, or both are on one wall.
    fn belong(&self, one: &Subject, other: &Subject) -> bool {
        if one.kind() == other.kind() {
            return one == other;
        }
        *one == Subject::Job
            || *other == Subject::Job
            || self.walls(one).iter().any(|wall| self.walls(other).contains(wall))
    }

    /// The subjects on which a step has to be done before something is done on `on`.
    fn related(&self, step: usize, on: &Subject) -> impl Iterator<Item = &Subject> {
        let kinds: &[SubjectKind] = &self.sequence.steps[step].on;
        let own = on.kind();
        let all = self.subjects.iter().filter(move |other| match kinds.contains(&own) {
            true => other.kind() == own,
            false => kinds.contains(&other.kind()),
        });
        all.filter(move |other| self.belong(other, on) && self.sequence.asked_of(step, other, self.job))
    }

    /// The courses or joints of a subject's wall.
    fn row(&self, on: &Subject) -> impl Iterator<Item = &Subject> {
        self.subjects.iter().filter(move |other| other.kind() == on.kind() && other.wall() == on.wall())
    }

    /// The one that comes before a subject where a step is done in turn.
    fn below(&self, step: usize, on: &Subject) -> Option<&Subject> {
        let lower =
            self.row(on).filter(|other| other.number() < on.number() && self.sequence.asked_of(step, other, self.job));
        lower.max_by_key(|other| other.number())
    }

    // What was done, and whether it still holds.

    /// The entries before a place by which a step was done on a subject, oldest first.
    fn work(&self, step: usize, on: &Subject, before: usize) -> Vec<usize> {
        let (key, on) = (&self.sequence.steps[step].key, on.to_string());
        let is_it =
            |at: &usize| matches!(&self.entries[*at].body, Body::StepDone(it) if it.step == *key && it.subject == on);
        (0..before).filter(is_it).collect()
    }

    fn is_complete(&self, step: usize, on: &Subject, place: Place) -> bool {
        let Some(last) = self.work(step, on, place.before).last().copied() else { return false };
        let date = self.entries[last].happened_at.date();
        let later_day = |day: &Day| day.from <= place.at && day.from.date() > date;
        let is_old = self.sequence.steps[step].daily && self.days(place.before).iter().any(later_day);
        !is_old
            && !self.is_wrong(last, place.before)
            && !self.is_undone(step, on, last, place)
            && !self.is_spoiled(step, on, place)
    }

    /// Whether the step that a window begins with was done again since.
    fn is_undone(&self, step: usize, on: &Subject, done: usize, place: Place) -> bool {
        let mut begun_by = self.sequence.windows.iter().filter(|window| window.to == step);
        begun_by.any(|window| self.work(window.from, on, place.before).last().is_some_and(|from| *from > done))
    }

    /// Whether the window that a step begins lapsed unused, or was used by work that has to come out again.
    fn is_spoiled(&self, step: usize, on: &Subject, place: Place) -> bool {
        self.sequence.windows.iter().filter(|window| window.from == step).any(|window| {
            let Some(from) = self.work(step, on, place.before).last().copied() else { return false };
            match self.work(window.to, on, place.before).last() {
                Some(to) if *to > from => self.is_spoiled(window.to, on, place),
                _ => self.run(window, on, from, place).lapsed(place.at),
            }
        })
    }

    // Windows.

    /// The run of a window that is neither answered nor begun anew.
    fn running(&self, window: &Window, on: &Subject, place: Place) -> Option<Run> {
        let from = *self.work(window.from, on, place.before).last()?;
        let answered = self.work(window.to, on, place.before).last().is_some_and(|to| *to > from);
        (!answered && !self.is_wrong(from, place.before)).then(|| self.run(window, on, from, place))
    }

    fn run(&self, window: &Window, on: &Subject, from: usize, place: Place) -> Run {
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

    // Site conditions.

    fn readings(&self, wall: &str, places: std::ops::Range<usize>) -> Vec<&TakeReading> {
        let reading = |at: usize| match &self.entries[at].body {
            Body::ReadingTaken(it) if it.subject == wall || it.subject == "job" => Some(it),
            _ => None,
        };
        places.filter_map(reading).collect()
    }

    /// The stoppages for rain on a wall, as far as a place: where and when each began, and where and when it ended.
    fn stopped_by_rain(&self, wall: &str, place: Place) -> Vec<(usize, Moment, Option<Ended>)> {
        let began = (0..place.before).filter(|at| match &self.entries[*at].body {
            Body::StoppageStarted(it) if it.rain && it.subject == "job" => true,
            Body::StoppageStarted(it) if it.rain => self.walls(self.subject(&it.subject)).iter().any(|on| on == wall),
            _ => false,
        });
        let ended = |at: usize| {
            let id = self.entries[at].id();
            let end = (at..place.before).find(|end| match &self.entries[*end].body {
                Body::StoppageEnded(it) => it.stoppage.as_ref() == Some(&id),
                _ => false,
            });
            end.map(|end| (end, self.entries[end].happened_at))
        };
        began.map(|at| (at, self.entries[at].happened_at, ended(at))).collect()
    }

    /// Whether what a limit asks for was read on a wall, each value not too long ago, and lies within it.
    fn is_within(&self, limit: &Limit, wall: &str, place: Place) -> bool {
        let readings: Vec<(Moment, &TakeReading)> = (0..place.before)
            .rev()
            .filter_map(|at| match &self.entries[at].body {
                Body::ReadingTaken(it) if it.subject == wall || it.subject == "job" => {
                    Some((self.entries[at].happened_at, it))
                }
                _ => None,
            })
            .collect();
        let fresh = |at: Moment| place.at - at <= limit.reading_within;
        // The newest reading that has the value, if it is new enough.
        let value = |of: fn(&TakeReading) -> Option<f64>| {
            let (at, value) = readings.iter().find_map(|(at, it)| Some((*at, of(it)?)))?;
            fresh(at).then_some(value)
        };
        let (air, humidity) = (value(|it| it.air_c), value(|it| it.humidity_pct));
        let (surface, wind) = (value(|it| it.surface_c), value(|it| it.wind_kmh));
        let within = |(least, most): (Option<f64>, Option<f64>), value: Option<f64>| {
            least.is_none_or(|least| value.is_some_and(|value| value >= least))
                && most.is_none_or(|most| value.is_some_and(|value| value <= most))
        };
        let margin = || {
            // Magnus over water, WMO-No. 8, Annex 4.B.
            let (air, humidity, surface) = (air?, humidity?, surface?);
            let g = (humidity / 100.0).ln() + 17.62 * air / (243.12 + air);
            Some(surface - 243.12 * g / (17.62 - g))
        };
        // Every reading says whether it rains; a stoppage for rain says so as long as it lasts, and then until it is read.
        let read = readings.first().map(|(at, it)| (*at, it.rain));
        let wet = self.stopped_by_rain(wall, place).into_iter().any(|(_, _, ended)| match ended {
            None => true,
            Some((_, until)) => fresh(until) && read.is_none_or(|(at, _)| at < until),
        });
        let dry = !wet && read.is_some_and(|(at, rain)| fresh(at) && !rain);
        within(limit.air_c, air)
            && within(limit.surface_c, surface)
            && limit.dew_margin_c.is_none_or(|least| margin().is_some_and(|margin| margin >= least))
            && within((None, limit.humidity_pct), humidity)
            && within((None, limit.wind_kmh), wind)
            && (!limit.dry || dry)
    }

    // Hold points and days.

    fn hold(&self, key: &str, on: &Subject, before: usize) -> &'static str {
        let on = on.to_string();
        let last = (0..before).rev().find_map(|at| match &self.entries[at].body {
            Body::StepDone(it) if self.is_covered_again(at, it, key, &on) => Some("held"),
            Body::HoldReleased(it) if it.hold == key && it.subject == on && self.may_release(at, it) => {
                Some("released")
            }
            Body::HoldRefused(it) if it.hold == key && it.subject == on => Some("refused"),
            _ => None,
        });
        last.unwrap_or("held")
    }

    /// Whether a step is one that a hold point covers, done again by somebody who knew that it was done, after a release.
    fn is_covered_again(&self, at: usize, done: &StepDone, key: &str, on: &str) -> bool {
        let hold = &self.sequence.holds[self.sequence.hold(key).unwrap()];
        let (step, subject) = (self.sequence.step(&done.step).unwrap(), self.subject(&done.subject));
        if !hold.after.contains(&step) || !self.belong(self.subject(on), subject) {
            return false;
        }
        let (entry, before) = (self.entries[at], self.work(step, subject, at));
        let unaware = |other: &usize| {
            let other = self.entries[*other];
            !entry.had_seen(&other.id()) && !other.had_seen(&entry.id())
        };
        !before.is_empty() && !before.iter().any(unaware) && self.hold(key, self.subject(on), at) == "released"
    }

    /// Whether a release is one: what it covers is complete, and none of it is the work of whoever gives it.
    fn may_release(&self, at: usize, release: &ReleaseHold) -> bool {
        let hold = &self.sequence.holds[self.sequence.hold(&release.hold).unwrap()];
        let (on, place) = (self.subject(&release.subject), Place { before: at, at: self.entries[at].happened_at });
        hold.after.iter().all(|step| {
            self.related(*step, on).all(|on| {
                let by_others = |done: &usize| self.entries[*done].by != release.person;
                self.is_complete(*step, on, place) && self.work(*step, on, at).iter().all(by_others)
            })
        })
    }

    /// The site day that something falls into: of the device's own days the last that was open then, else of another's.
    fn day(&self, device: &str, place: Place) -> Option<Day> {
        let mut days = self.days(place.before);
        open_at(&days, device, place.at).map(|day| days.swap_remove(day))
    }

    /// The site days that were begun before a place.
    fn days(&self, before: usize) -> Vec<Day> {
        let mut days: Vec<Day> = Vec::new();
        for entry in &self.entries[..before] {
            let open = open_at(&days, &entry.device, entry.happened_at);
            match &entry.body {
                Body::DayOpened(it) => days.push(Day {
                    device: entry.device.to_string(),
                    from: entry.happened_at,
                    closed: None,
                    crew: it.crew.clone(),
                    acknowledged: BTreeSet::new(),
                }),
                Body::DayClosed(_) => {
                    if let Some(day) = to_close(&days, &entry.device) {
                        days[day].closed = Some(entry.happened_at);
                    }
                }
                Body::DayJoined(it) => open.into_iter().for_each(|day| days[day].crew.extend(it.crew.iter().cloned())),
                Body::CautionAcknowledged(it) => open.into_iter().for_each(|day| {
                    days[day].acknowledged.extend(it.people.iter().map(|name| (it.caution.clone(), name.clone())));
                }),
                _ => {}
            }
        }
        days
    }
}

impl Run {
    fn lapsed(&self, at: Moment) -> bool {
        self.spoiled.is_some_and(|spoiled| spoiled <= at) || self.closes.is_some_and(|closes| at > closes)
    }

    fn is_open(&self, at: Moment) -> bool {
        self.opens <= at && !self.lapsed(at)
    }

    fn phase(&self, window: &Window, now: Moment) -> &'static str {
        match () {
            () if self.lapsed(now) => "lapsed",
            () if now < self.opens => "waiting",
            () if self.closes.is_some_and(|closes| now >= closes - window.warn) => "closing",
            () => "open",
        }
    }
}

/// The day that a device closes: the last of its own that is not closed.
fn to_close(days: &[Day], device: &str) -> Option<usize> {
    days.iter().rposition(|day| day.device == device && day.closed.is_none())
}

fn open_at(days: &[Day], device: &str, at: Moment) -> Option<usize> {
    let is_open =
        |day: &Day| day.from <= at && at - day.from <= LONGEST_DAY && day.closed.is_none_or(|closed| at < closed);
    let own = days.iter().rposition(|day| day.device == device && is_open(day));
    own.or_else(|| days.iter().rposition(is_open))
}

/// The entries that are struck, by strikes that are not struck themselves.
fn struck(record: &[Entry]) -> BTreeSet<EntryId> {
    let mut strikes: Vec<&Entry> = record.iter().filter(|entry| matches!(entry.body, Body::Struck(_))).collect();
    // Whoever strikes a strike had seen it.
    strikes.sort_by_key(|entry| std::cmp::Reverse(entry.causal_rank()));
    let mut struck = BTreeSet::new();
    for entry in strikes {
        if let (Body::Struck(it), false) = (&entry.body, struck.contains(&entry.id())) {
            struck.insert(it.entry.clone());
        }
    }
    struck
}

/// The first of the entries that were recorded together with one: the same step, by the same person, at one time, and
/// one after the other in the book.
fn first_of<'a>(entries: &[&'a Entry], entry: &'a Entry) -> &'a Entry {
    let about = |entry: &Entry| match &entry.body {
        Body::StepDone(it) => {
            Some((it.step.clone(), it.anyway.clone(), it.began, entry.by.clone(), entry.happened_at, entry.recorded_at))
        }
        _ => None,
    };
    let mut first = entry;
    while let Some(before) = entries.iter().find(|before| before.device == entry.device && before.seq + 1 == first.seq)
    {
        if about(before).is_none() || about(before) != about(entry) {
            break;
        }
        first = before;
    }
    first
}
