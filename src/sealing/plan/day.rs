//! The sealing day, checked, in whole minutes from its first whole minute.

use chrono::TimeDelta;

use crate::moment::Moment;

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
