//! The check of a sealing day: what was given becomes whole minutes, or every error is named with its place.

use std::collections::BTreeMap;

use chrono::TimeDelta;
use rust_decimal::Decimal;

use super::day::{Day, Joint, Primed, Span, TapeOff, Wall, Window};
use super::duration::{down, product_up, up};
use super::error::{DayError, DayErrors, ErrorKind};
use super::given::{GivenDay, GivenJoint, GivenSpan, GivenWall, MOST_CREW, MOST_JOINTS};
use crate::moment::Moment;
use crate::units::bounds;
use crate::units::number::{shortened, show};

/// The longest day.
const MOST_HOURS: i64 = 48;
/// Bounds on what a number may be; beyond them it is a slip of the keyboard.
const MOST_LENGTH_M: u32 = 1_000;
const MOST_RATE: u32 = bounds::SEALING_RATE.most as u32;
const MOST_WAIT_MIN: u32 = 100_000;
const MOST_BEADS: u32 = 100;
/// Intervals further than this from the day are cut off: they can't touch it.
const FAR: TimeDelta = TimeDelta::minutes(1_000_000);

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
        let mut check = Check { given, origin: minute_up(given.from), errors: Vec::new() };
        let day = check.day();
        day.filter(|_| check.errors.is_empty()).ok_or(DayErrors(check.errors))
    }
}

/// A day being checked. What is wrong is noted, and `None` stands for it.
struct Check<'g> {
    given: &'g GivenDay,
    origin: Moment,
    errors: Vec<DayError>,
}

/// Minutes a metre of each part of the work.
struct Rates {
    mask: Decimal,
    prime: Decimal,
    gun: Decimal,
    tape_off: Decimal,
}

impl<'g> Check<'g> {
    fn day(&mut self) -> Option<Day> {
        let given = self.given;
        self.check_length();
        let crew = self.crew();
        let within = self.wait("/tape_off_within_min", given.tape_off_within_min, down);
        let dry_after_gun = self.wait("/dry_after_gun_min", given.dry_after_gun_min, up);
        let dry_before = given.dry_before_min.map(|dry| self.wait("/dry_before_min", dry, up));
        let window = self.window();
        let rates = self.rates();
        if given.joints.len() > MOST_JOINTS {
            self.error("", ErrorKind::TooManyJoints { given: given.joints.len() });
            return None;
        }
        let rain = self.spans(&given.rain, "/rain", "rain");
        let out_of_limits = self.spans(&given.out_of_limits, "/out_of_limits", "weather outside the limits");
        let mut places = BTreeMap::new();
        let walls = (0..).zip(&given.walls).map(|(nth, wall)| self.wall(nth, wall, &mut places)).collect();
        let mut ids = BTreeMap::new();
        let joints = (0..).zip(&given.joints).map(|(nth, joint)| {
            self.name("the id of a joint", &joint.id, at("joint", nth, "id"));
            if ids.insert(joint.id.as_str(), nth).is_some() {
                self.error(at("joint", nth, "id"), ErrorKind::JointTwice { id: shortened(&joint.id) });
            }
            self.joint(nth, joint, rates.as_ref(), &places)
        });
        let joints: Vec<Option<Joint>> = joints.collect();
        let within = within?;
        Some(Day {
            origin: self.origin,
            until: minutes_down(given.until - self.origin).max(0),
            crew: crew?,
            tape_off: if given.from_bead { TapeOff::FromBead(within) } else { TapeOff::AfterGunning(within) },
            dry_after_gun: dry_after_gun?,
            dry_before: match dry_before {
                Some(dry) => Some(dry?),
                None => None,
            },
            window: window?,
            rain,
            out_of_limits,
            walls,
            joints: joints.into_iter().collect::<Option<_>>()?,
        })
    }

    fn error(&mut self, at: impl Into<String>, what: ErrorKind) {
        self.errors.push(DayError { at: at.into(), what });
    }

    fn check_length(&mut self) {
        let (from, until) = (self.given.from.to_string(), self.given.until.to_string());
        let long = self.given.until - self.given.from;
        if long < TimeDelta::zero() {
            self.error("/until", ErrorKind::EndsBeforeItStarts { from, until });
        } else if long > TimeDelta::hours(MOST_HOURS) {
            let hours = show(long.num_seconds() as f64 / 3600.0);
            self.error("/until", ErrorKind::TooLong { from, until, hours });
        }
    }

    fn crew(&mut self) -> Option<usize> {
        let people = Some(self.given.crew).filter(|people| (1..=MOST_CREW).contains(people));
        let crew = people.and_then(|people| usize::try_from(people).ok());
        if crew.is_none() {
            self.error("/crew", ErrorKind::Crew(self.given.crew));
        }
        crew
    }

    fn window(&mut self) -> Option<Window> {
        let given = &self.given.window;
        let earliest = self.wait("/window/earliest_min", given.earliest_min, up);
        let latest = self.number("/window/latest_min", "latest_min", given.latest_min, MOST_WAIT_MIN, "min");
        let margin = self.number("/window/margin_min", "margin_min", given.margin_min, MOST_WAIT_MIN, "min");
        let left = i32::try_from(down(latest? - margin?)?).ok()?;
        Some(Window { earliest: earliest?, latest: left })
    }

    fn rates(&mut self) -> Option<Rates> {
        let given = &self.given.rates;
        let mut rate = |key, value| self.number(format!("/rates/{key}"), key, value, MOST_RATE, "min/m");
        let mask = rate("mask_min_per_m", given.mask_min_per_m);
        let prime = rate("prime_min_per_m", given.prime_min_per_m);
        let gun = rate("gun_min_per_m", given.gun_min_per_m);
        let tape_off = rate("tape_off_min_per_m", given.tape_off_min_per_m);
        Some(Rates { mask: mask?, prime: prime?, gun: gun?, tape_off: tape_off? })
    }

    /// A number from 0 to `most`.
    fn number(
        &mut self,
        at: impl Into<String>,
        key: &'static str,
        given: Decimal,
        most: u32,
        unit: &'static str,
    ) -> Option<Decimal> {
        if given < Decimal::ZERO {
            self.error(at, ErrorKind::Negative { key, given });
            None
        } else if given > Decimal::from(most) {
            self.error(at, ErrorKind::TooMuch { key, given, most, unit });
            None
        } else {
            Some(given)
        }
    }

    /// A time in minutes, rounded to whole ones; its key ends its place.
    fn wait(&mut self, at: &'static str, given: Decimal, round: fn(Decimal) -> Option<i64>) -> Option<i32> {
        let key = at.rsplit('/').next().unwrap_or(at);
        let minutes = self.number(at, key, given, MOST_WAIT_MIN, "min")?;
        i32::try_from(round(minutes)?).ok()
    }

    fn name(&mut self, what: &'static str, name: &str, at: String) {
        if name.trim().is_empty() {
            self.error(at, ErrorKind::Blank { what });
        } else if name.chars().any(char::is_control) {
            let given = shortened(&name.replace(char::is_control, "\u{fffd}"));
            self.error(at, ErrorKind::Control { what, given });
        }
    }

    /// A wall; its place among the others is noted by its key.
    fn wall(&mut self, nth: usize, wall: &'g GivenWall, places: &mut BTreeMap<&'g str, usize>) -> Wall {
        self.name("the key of a wall", &wall.key, at("wall", nth, "key"));
        if places.insert(&wall.key, nth).is_some() {
            self.error(at("wall", nth, "key"), ErrorKind::WallTwice { key: shortened(&wall.key) });
        }
        let whose = format!("sun on wall '{}'", shortened(&wall.key));
        Wall { key: wall.key.clone(), sun: self.spans(&wall.sun, &at("wall", nth, "sun"), &whose) }
    }

    fn joint(
        &mut self,
        nth: usize,
        joint: &GivenJoint,
        rates: Option<&Rates>,
        places: &BTreeMap<&str, usize>,
    ) -> Option<Joint> {
        let id = || shortened(&joint.id);
        let length = self.number(at("joint", nth, "length_m"), "length_m", joint.length_m, MOST_LENGTH_M, "m");
        if joint.walls.is_empty() {
            self.error(at("joint", nth, "wall"), ErrorKind::NoWall { id: id() });
        }
        let mut walls = Vec::with_capacity(joint.walls.len());
        for wall in &joint.walls {
            match places.get(wall.as_str()) {
                Some(place) => walls.push(*place),
                None => {
                    let (wall, known) = (shortened(wall), known_walls(places));
                    self.error(at("joint", nth, "wall"), ErrorKind::UnknownWall { id: id(), wall, known });
                }
            }
        }
        let primed = self.primed(nth, joint);
        let (rates, length) = (rates?, length?);
        let take = |rate: Decimal| product_up(length, rate).and_then(|minutes| i32::try_from(minutes).ok());
        let all = [rates.mask, rates.prime, rates.gun, rates.tape_off].map(take);
        let [Some(mask), Some(prime), Some(gun), Some(tape_off)] = all else {
            self.error(at("joint", nth, "length_m"), ErrorKind::Digits { id: id() });
            return None;
        };
        let mask = if joint.masked { 0 } else { mask };
        let beads = joint.beads.clamp(1, MOST_BEADS) as i32;
        Some(Joint { id: joint.id.clone(), walls, beads, mask, prime, gun, tape_off, primed })
    }

    fn primed(&mut self, nth: usize, joint: &GivenJoint) -> Option<Primed> {
        let to = joint.primed_at?;
        let from = joint.primed_from.unwrap_or(to);
        if to < from {
            let whose = format!("the priming of joint '{}'", shortened(&joint.id));
            let (from, to) = (from.to_string(), to.to_string());
            self.error(at("joint", nth, "primed_from"), ErrorKind::Backwards { whose, from, to });
        } else if to > self.origin {
            let (to, from) = (to.to_string(), self.given.from.to_string());
            self.error(at("joint", nth, "primed_at"), ErrorKind::PrimedLate { id: shortened(&joint.id), to, from });
        }
        let Span { from, to } = self.widened(&GivenSpan { from, to });
        Some(Primed { from, to })
    }

    /// Intervals as whole minutes, widened, in order, without the empty ones: an empty interval touches nothing.
    fn spans(&mut self, given: &[GivenSpan], at: &str, whose: &str) -> Vec<Span> {
        let mut spans = Vec::new();
        for (nth, span) in given.iter().enumerate() {
            if span.to < span.from {
                let (from, to) = (span.from.to_string(), span.to.to_string());
                self.error(format!("{at}/{nth}"), ErrorKind::Backwards { whose: whose.to_owned(), from, to });
            } else if span.to > span.from {
                spans.push(self.widened(span));
            }
        }
        spans.sort_unstable();
        spans
    }

    fn widened(&self, span: &GivenSpan) -> Span {
        Span { from: minutes_down(span.from - self.origin), to: -minutes_down(self.origin - span.to) }
    }
}

/// A JSON Pointer to a key of one of several tables.
fn at(table: &str, nth: usize, key: &str) -> String {
    format!("/{table}/{nth}/{key}")
}

fn known_walls(places: &BTreeMap<&str, usize>) -> String {
    const SHOWN: usize = 12;
    let mut names: Vec<_> = places.keys().take(SHOWN).map(|key| format!("'{}'", shortened(key))).collect();
    if places.len() > SHOWN {
        names.push(format!("and {} more", places.len() - SHOWN));
    }
    if names.is_empty() { "none".to_owned() } else { names.join(", ") }
}

/// The first whole minute from a moment on.
fn minute_up(moment: Moment) -> Moment {
    let instant = moment.instant();
    let into = instant.timestamp().rem_euclid(60);
    let nanos = i64::from(instant.timestamp_subsec_nanos());
    if into == 0 && nanos == 0 {
        return moment;
    }
    moment + TimeDelta::seconds(60 - into) - TimeDelta::nanoseconds(nanos)
}

/// Whole minutes of a length of time, rounded down; no more than [`FAR`] either way.
fn minutes_down(length: TimeDelta) -> i32 {
    let length = length.clamp(-FAR, FAR);
    let seconds = length.num_seconds() - i64::from(length.subsec_nanos() < 0);
    seconds.div_euclid(60) as i32
}
