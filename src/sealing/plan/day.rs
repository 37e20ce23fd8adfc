//! The sealing day, checked, in whole minutes from its first whole minute.

use std::collections::BTreeMap;

use chrono::TimeDelta;
use rust_decimal::Decimal;

use super::duration::{down, product_up, up};
use super::error::{DayError, DayErrors, ErrorKind};
use super::given::{GivenDay, GivenJoint, GivenRates, GivenSpan, MOST_CREW, MOST_JOINTS};
use crate::moment::Moment;
use crate::units::number::{shortened, show};

/// The longest day.
const MOST_HOURS: i64 = 48;
/// Bounds on what a number may be; beyond them it is a slip of the keyboard.
const MOST_LENGTH_M: u32 = 1_000;
const MOST_RATE: u32 = 1_000;
const MOST_WAIT_MIN: u32 = 100_000;
const MOST_BEADS: i32 = 100;
/// Intervals further than this from the day are cut off: they can't touch it.
const FAR_MIN: i64 = 1_000_000;

/// Whole minutes from the day's origin, `from` included, `to` not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Span {
    /// The first minute.
    pub from: i32,
    /// The minute after the last.
    pub to: i32,
}

/// The window from priming to gunning, in whole minutes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Window {
    /// Least time from the end of priming to the start of gunning.
    pub earliest: i32,
    /// Most time from the start of priming to the end of gunning, the margin taken off; negative when the margin is
    /// longer than the latest.
    pub latest: i32,
}

/// How soon the tape comes off after gunning, in whole minutes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TapeOff {
    /// It is begun no later than this after gunning ends.
    AfterGunning(i32),
    /// It is off no later than this after gunning begins: the skin forms from the first metre of the bead.
    FromBead(i32),
}

/// A wall and when the sun is on it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wall {
    /// Its key.
    pub key: String,
    /// When it stands in the sun, in order; none of them empty.
    pub sun: Vec<Span>,
}

/// When a joint was primed already; minutes before the origin are negative.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Primed {
    /// Start of priming, rounded down: the window must not look longer than it is.
    pub from: i32,
    /// End of priming, rounded up.
    pub to: i32,
}

/// A joint and how long the work on it takes, in whole minutes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Joint {
    /// Its id.
    pub id: String,
    /// The walls that it is on, as indexes into the day's walls; at least one.
    pub walls: Vec<usize>,
    /// In how many beads it is gunned.
    pub beads: i32,
    /// Masking.
    pub mask: i32,
    /// Priming.
    pub prime: i32,
    /// Gunning and tooling.
    pub gun: i32,
    /// Taking the tape off.
    pub tape_off: i32,
    /// When it was primed, where that is done: the joint then only waits to be gunned and comes first.
    pub primed: Option<Primed>,
}

/// A sealing day that passed every check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Day {
    /// The moment of minute 0: `from`, rounded up to a whole minute.
    pub origin: Moment,
    /// The last minute by which all is done.
    pub until: i32,
    /// How many people there are, from 1.
    pub crew: usize,
    /// How soon the tape comes off.
    pub tape_off: TapeOff,
    /// No rain for this long after gunning ends.
    pub dry_after_gun: i32,
    /// Where given, nothing is masked or primed in the rain or for this long after it.
    pub dry_before: Option<i32>,
    /// The window from priming to gunning.
    pub window: Window,
    /// When it rains, in order; none of them empty.
    pub rain: Vec<Span>,
    /// When else nothing is primed or gunned, in order; none of them empty.
    pub out_of_limits: Vec<Span>,
    /// The walls.
    pub walls: Vec<Wall>,
    /// The joints, in the order given.
    pub joints: Vec<Joint>,
}

impl Joint {
    /// All the minutes of work still to do on it.
    pub fn work(&self) -> i32 {
        let before = if self.primed.is_some() { 0 } else { self.mask + self.prime };
        before + self.gun + self.tape_off
    }

    /// The latest that taking the tape off may begin, from the beginning of gunning.
    ///
    /// Of several beads each is gunned and its tape taken off before the next, so that only what one of them leaves of the time
    /// to the skin may pass between.
    pub fn tape_off_by(&self, tape_off: TapeOff) -> i32 {
        match tape_off {
            TapeOff::AfterGunning(within) => self.gun + within,
            TapeOff::FromBead(within) => self.gun + within - self.of_a_bead(self.gun) - self.of_a_bead(self.tape_off),
        }
    }

    /// What one bead takes of so many minutes, rounded up.
    fn of_a_bead(&self, minutes: i32) -> i32 {
        (minutes + self.beads - 1) / self.beads.max(1)
    }
}

impl Day {
    /// Checks a day and works out every duration: the exact product of length and rate, rounded up to whole minutes.
    ///
    /// The earliest is rounded up and what the latest leaves is rounded down to whole minutes, since starts are whole
    /// minutes; sun and rain are widened to whole minutes for the same reason.
    ///
    /// # Errors
    /// [`DayErrors`], every error with its place: a day that ends before it starts or is longer than 48 h; a crew
    /// outside 1 to 50; a negative or absurd rate (above 1,000 min/m), length (above 1,000 m) or time (above
    /// 100,000 min); an interval that ends before it starts; a repeated joint or wall; a joint on no given wall; a
    /// blank name or one with control characters; more than 1,000 joints; a joint primed after the day begins.
    pub fn new(given: &GivenDay) -> Result<Self, DayErrors> {
        let mut errors = Vec::new();
        let origin = minute_up(given.from);
        check_day(given, &mut errors);
        check_minutes(given, &mut errors);
        if given.joints.len() > MOST_JOINTS {
            error(&mut errors, String::new(), ErrorKind::TooManyJoints { given: given.joints.len() });
            return Err(DayErrors(errors));
        }
        let rain = spans(&given.rain, origin, |_| "rain".to_owned(), |at| format!("/rain/{at}"), &mut errors);
        let whose = |_| "weather outside the limits".to_owned();
        let place = |at| format!("/out_of_limits/{at}");
        let out_of_limits = spans(&given.out_of_limits, origin, whose, place, &mut errors);
        let mut keys = BTreeMap::new();
        let mut walls = Vec::new();
        for (nth, wall) in given.walls.iter().enumerate() {
            check_name("the key of a wall", &wall.key, format!("/wall/{nth}/key"), &mut errors);
            if keys.insert(wall.key.as_str(), nth).is_some() {
                error(&mut errors, format!("/wall/{nth}/key"), ErrorKind::WallTwice { key: shortened(&wall.key) });
            }
            let whose = |_| format!("sun on wall '{}'", shortened(&wall.key));
            let sun = spans(&wall.sun, origin, whose, |at| format!("/wall/{nth}/sun/{at}"), &mut errors);
            walls.push(Wall { key: wall.key.clone(), sun });
        }
        let mut ids = BTreeMap::new();
        let mut joints = Vec::new();
        for (nth, joint) in given.joints.iter().enumerate() {
            check_name("the id of a joint", &joint.id, joint_at(nth, "id"), &mut errors);
            if ids.insert(joint.id.as_str(), nth).is_some() {
                error(&mut errors, joint_at(nth, "id"), ErrorKind::JointTwice { id: shortened(&joint.id) });
            }
            let length = joint.length_m;
            check_number(joint_at(nth, "length_m"), "length_m", length, MOST_LENGTH_M, "m", &mut errors);
            if joint.walls.is_empty() {
                error(&mut errors, joint_at(nth, "wall"), ErrorKind::NoWall { id: shortened(&joint.id) });
            }
            let mut on = Vec::with_capacity(joint.walls.len());
            for wall in &joint.walls {
                match keys.get(wall.as_str()) {
                    Some(wall) => on.push(*wall),
                    None => {
                        let (id, wall, known) = (shortened(&joint.id), shortened(wall), known_walls(&keys));
                        error(&mut errors, joint_at(nth, "wall"), ErrorKind::UnknownWall { id, wall, known });
                    }
                }
            }
            joints.extend(joint_of(nth, joint, on, given, origin, &mut errors));
        }
        if !errors.is_empty() {
            return Err(DayErrors(errors));
        }
        let whole =
            |value: Option<i64>| i32::try_from(value.unwrap_or(i64::from(i32::MAX / 4))).unwrap_or(i32::MAX / 4);
        let window = Window {
            earliest: whole(up(given.window.earliest_min)),
            latest: whole(down(given.window.latest_min - given.window.margin_min)),
        };
        let until = clamp((given.until - origin).num_seconds().div_euclid(60)).max(0);
        let within = whole(down(given.tape_off_within_min));
        let tape_off = if given.from_bead { TapeOff::FromBead(within) } else { TapeOff::AfterGunning(within) };
        let dry_after_gun = whole(up(given.dry_after_gun_min));
        let dry_before = given.dry_before_min.map(|dry| whole(up(dry)));
        let crew = usize::try_from(given.crew).unwrap_or(1);
        Ok(Self {
            origin,
            until,
            crew,
            tape_off,
            dry_after_gun,
            dry_before,
            window,
            rain,
            out_of_limits,
            walls,
            joints,
        })
    }

    /// The moment of a minute.
    pub fn moment(&self, minute: i32) -> Moment {
        self.origin + TimeDelta::minutes(i64::from(minute))
    }

    /// Whether the window leaves room for the work on a joint itself.
    pub fn window_can_be_met(&self, joint: &Joint) -> bool {
        let prime = joint.primed.map_or(joint.prime, |primed| primed.to - primed.from);
        prime + self.window.earliest + joint.gun <= self.window.latest
    }
}

fn error(errors: &mut Vec<DayError>, at: impl Into<String>, what: ErrorKind) {
    errors.push(DayError { at: at.into(), what });
}

fn joint_at(nth: usize, key: &str) -> String {
    format!("/joint/{nth}/{key}")
}

fn minute_up(moment: Moment) -> Moment {
    let instant = moment.instant();
    let into = instant.timestamp().rem_euclid(60);
    let nanos = i64::from(instant.timestamp_subsec_nanos());
    if into == 0 && nanos == 0 {
        return moment;
    }
    moment + TimeDelta::seconds(60 - into) - TimeDelta::nanoseconds(nanos)
}

fn check_day(given: &GivenDay, errors: &mut Vec<DayError>) {
    let (from, until) = (given.from.to_string(), given.until.to_string());
    let long = given.until - given.from;
    if long < TimeDelta::zero() {
        error(errors, "/until", ErrorKind::EndsBeforeItStarts { from, until });
    } else if long > TimeDelta::hours(MOST_HOURS) {
        let hours = show(long.num_seconds() as f64 / 3600.0);
        error(errors, "/until", ErrorKind::TooLong { from, until, hours });
    }
    if given.crew < 1 || given.crew > MOST_CREW {
        error(errors, "/crew", ErrorKind::Crew(given.crew));
    }
}

fn check_minutes(given: &GivenDay, errors: &mut Vec<DayError>) {
    let dry_before = given.dry_before_min.unwrap_or_default();
    for (key, value) in [
        ("tape_off_within_min", given.tape_off_within_min),
        ("dry_after_gun_min", given.dry_after_gun_min),
        ("dry_before_min", dry_before),
    ] {
        check_number(format!("/{key}"), key, value, MOST_WAIT_MIN, "min", errors);
    }
    let window = &given.window;
    for (key, value) in
        [("earliest_min", window.earliest_min), ("latest_min", window.latest_min), ("margin_min", window.margin_min)]
    {
        check_number(format!("/window/{key}"), key, value, MOST_WAIT_MIN, "min", errors);
    }
    let GivenRates { mask_min_per_m, prime_min_per_m, gun_min_per_m, tape_off_min_per_m } = given.rates;
    for (key, value) in [
        ("mask_min_per_m", mask_min_per_m),
        ("prime_min_per_m", prime_min_per_m),
        ("gun_min_per_m", gun_min_per_m),
        ("tape_off_min_per_m", tape_off_min_per_m),
    ] {
        check_number(format!("/rates/{key}"), key, value, MOST_RATE, "min/m", errors);
    }
}

fn check_number(
    place: impl Into<String>,
    key: &'static str,
    given: Decimal,
    most: u32,
    unit: &'static str,
    errors: &mut Vec<DayError>,
) {
    if given < Decimal::ZERO {
        error(errors, place, ErrorKind::Negative { key, given });
    } else if given > Decimal::from(most) {
        error(errors, place, ErrorKind::TooMuch { key, given, most, unit });
    }
}

fn check_name(what: &'static str, name: &str, place: String, errors: &mut Vec<DayError>) {
    if name.trim().is_empty() {
        error(errors, place, ErrorKind::Blank { what });
    } else if name.chars().any(char::is_control) {
        let given = shortened(&name.replace(char::is_control, "\u{fffd}"));
        error(errors, place, ErrorKind::Control { what, given });
    }
}

fn known_walls(keys: &BTreeMap<&str, usize>) -> String {
    const SHOWN: usize = 12;
    let mut names: Vec<_> = keys.keys().take(SHOWN).map(|key| format!("'{}'", shortened(key))).collect();
    if keys.len() > SHOWN {
        names.push(format!("and {} more", keys.len() - SHOWN));
    }
    if names.is_empty() { "none".to_owned() } else { names.join(", ") }
}

fn joint_of(
    nth: usize,
    joint: &GivenJoint,
    walls: Vec<usize>,
    given: &GivenDay,
    origin: Moment,
    errors: &mut Vec<DayError>,
) -> Option<Joint> {
    let id = joint.id.clone();
    let rates = &given.rates;
    let take = |rate: Decimal| product_up(joint.length_m, rate).and_then(|minutes| i32::try_from(minutes).ok());
    let all = (
        take(rates.mask_min_per_m),
        take(rates.prime_min_per_m),
        take(rates.gun_min_per_m),
        take(rates.tape_off_min_per_m),
    );
    let (Some(mask), Some(prime), Some(gun), Some(tape_off)) = all else {
        // A number out of range has been reported already.
        if errors.is_empty() {
            error(errors, joint_at(nth, "length_m"), ErrorKind::Digits { id: shortened(&id) });
        }
        return None;
    };
    let mask = if joint.masked { 0 } else { mask };
    let primed = joint.primed_at.map(|to| GivenSpan { from: joint.primed_from.unwrap_or(to), to });
    let primed = match primed {
        None => None,
        Some(span) if span.to < span.from => {
            let whose = format!("the priming of joint '{}'", shortened(&id));
            let (from, to) = (span.from.to_string(), span.to.to_string());
            error(errors, joint_at(nth, "primed_from"), ErrorKind::Backwards { whose, from, to });
            None
        }
        Some(span) if span.to > origin => {
            let (to, from) = (span.to.to_string(), given.from.to_string());
            error(errors, joint_at(nth, "primed_at"), ErrorKind::PrimedLate { id: shortened(&id), to, from });
            None
        }
        Some(span) => {
            let wide = widened(&span, origin);
            Some(Primed { from: wide.from, to: wide.to })
        }
    };
    let beads = i32::try_from(joint.beads.max(1)).unwrap_or(i32::MAX / 4).min(MOST_BEADS);
    Some(Joint { id, walls, beads, mask, prime, gun, tape_off, primed })
}

/// Intervals as whole minutes, widened, in order, without the empty ones: an empty interval touches nothing.
fn spans(
    given: &[GivenSpan],
    origin: Moment,
    whose: impl Fn(usize) -> String,
    place: impl Fn(usize) -> String,
    errors: &mut Vec<DayError>,
) -> Vec<Span> {
    let mut spans = Vec::new();
    for (nth, span) in given.iter().enumerate() {
        if span.to < span.from {
            let (from, to) = (span.from.to_string(), span.to.to_string());
            error(errors, place(nth), ErrorKind::Backwards { whose: whose(nth), from, to });
        } else if span.to > span.from {
            spans.push(widened(span, origin));
        }
    }
    spans.sort_unstable();
    spans
}

fn widened(span: &GivenSpan, origin: Moment) -> Span {
    let from = (span.from - origin).num_microseconds().unwrap_or(i64::MAX / 2);
    let to = (span.to - origin).num_microseconds().unwrap_or(i64::MAX / 2);
    Span { from: clamp(from.div_euclid(60_000_000)), to: clamp(-(-to).div_euclid(60_000_000)) }
}

fn clamp(minutes: i64) -> i32 {
    i32::try_from(minutes.clamp(-FAR_MIN, FAR_MIN)).unwrap_or(0)
}
