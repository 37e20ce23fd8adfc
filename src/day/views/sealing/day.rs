//! The sealing day, gathered from the job, the record and the forecast.

use chrono::{NaiveDate, TimeDelta};

use crate::building::{SubjectIx, Wall};
use crate::conditions::shade::{Facing, Polar, SunDay, day, offset_at_noon};
use crate::conditions::sun::Place;
use crate::day::facts::{Inputs, LeftRow};
use crate::day::rules::{LimitReason, Phase, in_words, judge, out_of, reasons};
use crate::day::state::State;
use crate::moment::{Moment, at_time, span};
use crate::refusal::Rule;
use crate::sealing::plan::{DayErrors, GivenDay, GivenJoint, GivenRates, GivenSpan, GivenWall, GivenWindow};
use crate::sequence::{LapseTrigger, LastLight, Limit, LimitIx, Sealing, Window};
use crate::units::decimal::exact;

/// A window without an end is planned as if it closed after this long.
const NO_END_MIN: i64 = 2880;
/// Weather is looked at this often.
const LOOK: TimeDelta = TimeDelta::minutes(5);
/// A day that the forecast is looked at for at most.
const LONGEST: TimeDelta = TimeDelta::hours(48);

/// What is asked for.
#[derive(Debug, Clone, Default)]
pub struct SealAsk {
    /// The joints; all that are ready where it is `None`.
    pub on: Option<Vec<SubjectIx>>,
    /// Nothing begins before; now where it is `None`.
    pub from: Option<Moment>,
    /// Nothing ends after; last light where it is `None`.
    pub until: Option<Moment>,
    /// Who works; the crew of the open day where it is empty.
    pub crew: Vec<String>,
}

/// A sealing day, ready to be planned.
#[derive(Debug, Clone)]
pub struct SealDay {
    /// What the plan is made from.
    pub inputs: Inputs,
    /// Joints that can't be planned at all, and why.
    pub unready: Vec<LeftRow>,
    /// What a lead should know besides.
    pub remarks: Vec<String>,
}

/// Why there is no sealing day.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SealError {
    /// The sequence does not say which steps prime and gun.
    #[error("sequence {0} does not say which steps mask, prime and gun: give it a [sealing] table")]
    NoSteps(String),
    /// Nobody is there to do it.
    #[error("no site day is open, so nobody is on site to plan for: open the day, or name who works")]
    NoCrew,
    /// The end of the day is not known.
    #[error("last light is not known: say when work ends, or give the job file its latitude_deg and longitude_deg")]
    NoPlace,
    /// The sun does not rise.
    #[error("the sun does not rise on {0} at this place: say when work ends")]
    PolarNight(NaiveDate),
    /// Work is over for the day.
    #[error(
        "knock-off is at {knock_off}, and the plan would begin at {from}: say when work ends, or plan for another day"
    )]
    KnockOff {
        /// When work ends.
        knock_off: String,
        /// The beginning asked for.
        from: String,
    },
    /// It is dark.
    #[error(
        "last light was at {last}, and the plan would begin at {from}: say when work ends, or plan for another day"
    )]
    Dark {
        /// Last light.
        last: String,
        /// The beginning asked for.
        from: String,
    },
    /// Latitude, bearing or horizon that can't be.
    #[error("the sun's position can't be worked out: {0}")]
    Sun(String),
    /// No joint can be planned.
    #[error("no joint is ready to be sealed{}", .0.first().map(first_of).unwrap_or_default())]
    NoJoints(Vec<LeftRow>),
    /// The day as a whole is wrong.
    #[error(transparent)]
    Day(#[from] DayErrors),
}

fn first_of(left: &LeftRow) -> String {
    format!(": {}: {}", left.id, left.why)
}

impl State {
    /// Gathers the sealing day at `now`: joints that are ready, masked or primed; the crew; the sequence's rates and
    /// window; the sun on each wall; rain and weather outside the limits by the forecast; last light.
    ///
    /// A joint that was primed and not gunned comes first. One that waits for other work, or whose length is not known,
    /// is left out with the reason.
    ///
    /// # Errors
    /// [`SealError`]: no steps to seal by, no crew, no light, no joint.
    pub fn seal_day(&self, ask: &SealAsk, now: Moment) -> Result<SealDay, SealError> {
        let sequence = self.sequence();
        let sealing = sequence.sealing.as_ref().ok_or_else(|| SealError::NoSteps(sequence.key.clone()))?;
        let people = match (&ask.crew[..], self.open_day()) {
            ([], Some(today)) => today.crew_at(now).filter(|name| self.installs(name)).map(str::to_owned).collect(),
            (named, _) => named.to_vec(),
        };
        if people.is_empty() {
            return Err(SealError::NoCrew);
        }
        let mut remarks = Vec::new();
        let begin = ask.from.unwrap_or(now);
        let (from, until) = self.light(sealing, ask, begin, &mut remarks)?;
        let (joints, unready) = self.joints_to_seal(sealing, ask, now);
        if joints.is_empty() {
            return Err(SealError::NoJoints(unready));
        }
        let walls: Vec<&Wall> =
            self.job.walls.iter().filter(|wall| joints.iter().any(|joint| joint.walls.contains(&wall.key))).collect();
        let sunlit = self.sunlit(sealing, &walls, from, until, &mut remarks)?;
        let (rain, out_of_limits) = self.forecast_shut(sealing, from, until, &mut remarks);
        self.remark_on_weather(sealing, &walls, now, &mut remarks);
        self.remark_on_tape(sealing, now, &mut remarks);
        let window = &sequence.windows[sealing.window];
        let (earliest, latest) = self.strictest(window, &walls, from, until);
        let latest_min = latest.map_or(NO_END_MIN, minutes);
        let day = GivenDay {
            from,
            until,
            crew: 0,
            tape_off_within_min: minutes(sequence.tape_off_within(sealing)).into(),
            from_bead: sealing.from_bead,
            dry_after_gun_min: minutes(sealing.dry_after).into(),
            dry_before_min: sealing.dry_before.map(|dry| minutes(dry).into()),
            window: GivenWindow {
                earliest_min: earliest.map_or(0, minutes).into(),
                latest_min: latest_min.into(),
                margin_min: sealing.margin.map_or(latest_min / 10, minutes).into(),
            },
            rates: GivenRates {
                mask_min_per_m: exact(sealing.mask_min_per_m),
                prime_min_per_m: exact(sealing.prime_min_per_m),
                gun_min_per_m: exact(sealing.gun_min_per_m),
                tape_off_min_per_m: exact(sealing.tape_off_min_per_m),
            },
            rain,
            out_of_limits,
            walls: sunlit,
            joints,
        };
        let inputs = Inputs {
            day,
            people,
            forecast: self.forecast.as_ref().map(|it| it.entry.clone()),
            basis: vec![format!("rates: {}", sealing.basis), format!("{}: {}", window.title, window.basis)],
        };
        inputs.day()?;
        Ok(SealDay { inputs, unready, remarks })
    }

    /// From when until when there is light, as far as it was not given.
    fn light(
        &self,
        sealing: &Sealing,
        ask: &SealAsk,
        begin: Moment,
        remarks: &mut Vec<String>,
    ) -> Result<(Moment, Moment), SealError> {
        let date = begin.date();
        let sun = match self.place()? {
            Some(place) => Some(self.sun_day(&place, date, &[])?),
            None => None,
        };
        let edges = sun.as_ref().map(|sun| match sealing.last_light {
            LastLight::Sunset => (sun.sunrise, sun.sunset),
            LastLight::Twilight => (sun.civil_dawn, sun.civil_dusk),
        });
        let knock_off = sealing.knock_off.map(|time| at_time(date, time, self.job.time_zone));
        if let Some(knock_off) = knock_off.filter(|knock_off| ask.until.is_none() && *knock_off <= begin) {
            let (knock_off, from) = (knock_off.clock(date), begin.clock(date));
            return Err(SealError::KnockOff { knock_off, from });
        }
        let until = match (ask.until, &sun, edges) {
            (Some(until), _, _) => until,
            (None, None, _) => knock_off.ok_or(SealError::NoPlace)?,
            (None, Some(_), Some((_, Some(last)))) => {
                if last <= begin {
                    let (last, from) = (last.clock(date), begin.clock(date));
                    return Err(SealError::Dark { last, from });
                }
                knock_off.map_or(last, |knock_off| knock_off.min(last))
            }
            (None, Some(sun), _) if sun.polar == Some(Polar::Day) => knock_off.unwrap_or(begin + TimeDelta::hours(12)),
            (None, Some(_), _) => return Err(SealError::PolarNight(date)),
        };
        let first = edges.and_then(|(first, _)| first).filter(|first| *first > begin && *first < until);
        match first {
            Some(first) if ask.from.is_none() => {
                remarks.push(format!("It is dark until {}: the plan begins then.", first.clock(date)));
                Ok((first, until))
            }
            _ => Ok((begin, until)),
        }
    }

    fn place(&self) -> Result<Option<Place>, SealError> {
        Place::of_job(&self.job).map_err(|error| SealError::Sun(error.to_string()))
    }

    fn sun_day(&self, place: &Place, date: NaiveDate, walls: &[Facing]) -> Result<SunDay, SealError> {
        day(place, date, offset_at_noon(date, self.job.time_zone), walls)
            .map_err(|error| SealError::Sun(error.to_string()))
    }

    /// When each wall stands in the sun between two moments.
    fn sunlit(
        &self,
        sealing: &Sealing,
        walls: &[&Wall],
        from: Moment,
        until: Moment,
        remarks: &mut Vec<String>,
    ) -> Result<Vec<GivenWall>, SealError> {
        let place = if sealing.in_sun { None } else { self.place()? };
        if !sealing.in_sun && place.is_none() {
            remarks.push("The sun is left out: the job has no latitude_deg and longitude_deg.".to_owned());
        }
        let mut all = Vec::new();
        for wall in walls {
            let mut sun = Vec::new();
            match (&place, facing(wall)?) {
                (Some(place), Some(facing)) => {
                    let mut date = from.date();
                    while date <= until.date() && until - from <= LONGEST {
                        let lit = self.sun_day(place, date, &[facing])?.walls.remove(0).lit;
                        let lit = lit.into_iter().filter(|lit| lit.to > from && lit.from < until);
                        sun.extend(lit.map(|lit| GivenSpan { from: lit.from, to: lit.to }));
                        let Some(next) = date.succ_opt() else { break };
                        date = next;
                    }
                }
                (Some(_), None) => {
                    remarks.push(format!("The sun on wall {} is left out: it has no bearing_deg.", wall.key));
                }
                (None, _) => {}
            }
            all.push(GivenWall { key: wall.key.clone(), sun });
        }
        Ok(all)
    }

    /// The joints to seal, those left out with the reason.
    fn joints_to_seal(&self, sealing: &Sealing, ask: &SealAsk, now: Moment) -> (Vec<GivenJoint>, Vec<LeftRow>) {
        let all = || self.subjects.indexes().filter(|subject| self.asked_of(sealing.gun, *subject)).collect();
        let scope: Vec<SubjectIx> = ask.on.clone().unwrap_or_else(all);
        let (mut joints, mut unready) = (Vec::new(), Vec::new());
        for subject in scope {
            let id = self.subjects.get(subject).to_string();
            if self.complete(sealing.gun, subject, now) {
                if ask.on.is_some() {
                    unready.push(LeftRow { id, why: "it is already sealed".to_owned() });
                }
                continue;
            }
            match self.joint_in(sealing, subject, now) {
                Ok(joint) => joints.push(joint),
                Err(why) => unready.push(LeftRow { id, why }),
            }
        }
        (joints, unready)
    }

    fn joint_in(&self, sealing: &Sealing, subject: SubjectIx, now: Moment) -> Result<GivenJoint, String> {
        let walls = self.subjects.walls_of(subject).iter().map(|wall| self.subjects.get(*wall).to_string());
        let walls: Vec<String> = walls.collect();
        let primed = self.run(sealing.window, subject).map(|run| (run.phase(now), run.from));
        let runs = |phase: &Phase| matches!(phase, Phase::Waiting | Phase::Open | Phase::Closing);
        let primed = primed.filter(|(phase, _)| runs(phase)).map(|(_, done)| done);
        let masked = sealing.mask.is_some_and(|mask| self.complete(mask, subject, now));
        if primed.is_none() {
            let first = sealing.mask.filter(|_| !masked).unwrap_or(sealing.prime);
            let waits = judge(self, first, subject, now, &[])
                .into_iter()
                .find(|breach| matches!(breach.rule, Rule::Order | Rule::HoldPoint));
            if let Some(breach) = waits {
                return Err(format!("not ready: {}", breach.why));
            }
        }
        let length_m = self.sealed_m(subject).ok_or_else(|| {
            format!("its length is not known: the job file gives no height_mm or sizes on {}", walls.join(" or "))
        })?;
        Ok(GivenJoint {
            id: self.subjects.get(subject).to_string(),
            walls,
            length_m: exact(length_m),
            beads: self.beads(subject),
            masked,
            primed_from: primed.map(|done| done.began).filter(|began| primed.is_some_and(|done| *began < done.at)),
            primed_at: primed.map(|done| done.at),
        })
    }

    /// The limits of the steps that the weather stops.
    fn sealing_limits(&self, sealing: &Sealing) -> Vec<&Limit> {
        let sequence = self.sequence();
        let mut limits: Vec<LimitIx> =
            [sealing.prime, sealing.gun].iter().flat_map(|step| sequence.steps[*step].limits.iter().copied()).collect();
        limits.sort_unstable();
        limits.dedup();
        limits.into_iter().map(|limit| &sequence.limits[limit]).collect()
    }

    /// By the forecast: when it rains, and when else the weather is outside the limits.
    fn forecast_shut(
        &self,
        sealing: &Sealing,
        from: Moment,
        until: Moment,
        remarks: &mut Vec<String>,
    ) -> (Vec<GivenSpan>, Vec<GivenSpan>) {
        let Some(in_force) = &self.forecast else {
            remarks.push("No forecast: rain and cold are not taken into account.".to_owned());
            return (Vec::new(), Vec::new());
        };
        let limits = self.sealing_limits(sealing);
        let lapses = self.sequence().windows[sealing.window].lapses_on.contains(&LapseTrigger::Rain);
        let wet = lapses || limits.iter().any(|limit| limit.dry);
        // Rain before and after the day counts as far as what is sealed has to be dry.
        let (first, last) = (from - sealing.dry_before.unwrap_or_default(), until + sealing.dry_after);
        let rain = in_force.forecast.rain().into_iter().filter(|(a, b)| wet && *b > first && *a < last);
        let rain = rain.map(|(from, to)| GivenSpan { from, to }).collect();
        let (mut out, mut why): (Vec<GivenSpan>, Vec<LimitReason>) = (Vec::new(), Vec::new());
        let (mut at, mut unseen) = (from, None);
        let mut air_for_surface = false;
        while at < until && at - from <= LONGEST {
            let to = (at + LOOK).min(until);
            match in_force.forecast.at(at) {
                None => unseen = unseen.or(Some(at)),
                Some(weather) => {
                    air_for_surface |= !weather.surface_given;
                    let mut found: Vec<LimitReason> =
                        limits.iter().flat_map(|limit| reasons(limit, &weather)).collect();
                    found.retain(|reason| *reason != LimitReason::Rain);
                    if !found.is_empty() {
                        match out.last_mut() {
                            Some(last) if last.to == at => last.to = to,
                            _ => out.push(GivenSpan { from: at, to }),
                        }
                    }
                    why.extend(found);
                }
            }
            at = to;
        }
        why.sort_unstable();
        why.dedup();
        let today = from.date();
        if !out.is_empty() {
            let spans: Vec<String> =
                out.iter().map(|s| format!("{} to {}", s.from.clock(today), s.to.clock(today))).collect();
            remarks.push(format!("By the forecast {}: {}.", in_words(&why), spans.join(", ")));
        }
        if air_for_surface && limits.iter().any(|limit| limit.dew_margin_c.is_some() || limit.surface_c.0.is_some()) {
            remarks.push("No surface temperature in the forecast; air temperature used. Measure the wall.".to_owned());
        }
        if let Some(unseen) = unseen {
            remarks.push(format!("The forecast has nothing from {} on.", unseen.clock(today)));
        }
        (rain, out)
    }

    /// The window's bounds on the safe side: by the surfaces read last and foreseen, where it has a table.
    fn strictest(
        &self,
        window: &Window,
        walls: &[&Wall],
        from: Moment,
        until: Moment,
    ) -> (Option<TimeDelta>, Option<TimeDelta>) {
        let mut surfaces: Vec<Option<f64>> = Vec::new();
        for wall in walls {
            let place = self.subjects.index(&wall.key);
            let read = place.map_or(&[][..], |place| self.readings(place)).iter().rev();
            let fresh = read.take_while(|reading| from - reading.at <= TimeDelta::hours(4));
            surfaces.extend(fresh.into_iter().find_map(|reading| reading.surface_c).map(Some));
        }
        let hours = self.forecast.iter().flat_map(|it| it.forecast.hours());
        let within = hours.filter(|hour| hour.at >= from - TimeDelta::hours(1) && hour.at <= until);
        surfaces.extend(within.map(|hour| hour.surface_c.or(Some(hour.air_c))));
        window.bounds_at(&surfaces)
    }

    /// A wall that was read outside the limits: the plan does not know how long that lasts.
    fn remark_on_weather(&self, sealing: &Sealing, walls: &[&Wall], now: Moment, remarks: &mut Vec<String>) {
        for limit in self.sealing_limits(sealing) {
            for wall in walls {
                let Some(known) = self.subjects.index(&wall.key).map(|place| self.known(limit, place, now)) else {
                    continue;
                };
                let out = out_of(limit, &known.conditions);
                if let (Some(first), Some(last)) = (out.first(), known.readings.iter().map(|it| it.at).max()) {
                    let when = last.clock(now.date());
                    remarks.push(format!("Read on {} at {when}: {}. Read again before priming.", wall.key, first.why));
                }
            }
        }
    }

    /// Gunned joints whose tape is still on: somebody has to take it off beside the plan.
    fn remark_on_tape(&self, sealing: &Sealing, now: Moment, remarks: &mut Vec<String>) {
        let Some(tape_off) = sealing.tape_off else { return };
        let windows = &self.sequence().windows;
        for run in self.runs().into_iter().filter(|run| run.window.to == tape_off && run.lapsed(now).is_none()) {
            let is_gun = windows.iter().any(|window| window.key == run.window.key && window.from == sealing.gun);
            if let Some(closes) = run.closes_at.filter(|_| is_gun) {
                remarks.push(format!(
                    "{} has its tape on: off by {}, in {}. The plan leaves it to you.",
                    self.subjects.get(run.subject),
                    closes.clock(now.date()),
                    span(closes - now)
                ));
            }
        }
    }
}

fn facing(wall: &Wall) -> Result<Option<Facing>, SealError> {
    Facing::of_wall(wall).map_err(|error| SealError::Sun(format!("wall {}: {error}", wall.key)))
}

fn minutes(span: TimeDelta) -> i64 {
    span.num_minutes()
}
