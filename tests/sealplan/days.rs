//! Sealing days for tests.

use chrono::TimeDelta;
use cladlog::moment::Moment;
use cladlog::sealing::plan::{Day, GivenDay, GivenJoint, GivenRates, GivenSpan, GivenWall, GivenWindow};
use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;
use rust_decimal::Decimal;

/// Seven in the morning, from which tests count minutes.
pub fn seven() -> Moment {
    Moment::parse_from_rfc3339("2026-03-02T07:00:00+13:00").unwrap()
}

/// A moment so many minutes after seven.
pub fn at(minute: i64) -> Moment {
    seven() + TimeDelta::minutes(minute)
}

/// An interval in minutes after seven.
pub fn span(from: i64, to: i64) -> GivenSpan {
    GivenSpan { from: at(from), to: at(to) }
}

/// A joint on a wall.
pub fn joint(id: &str, wall: &str, length_m: i64) -> GivenJoint {
    GivenJoint {
        id: id.into(),
        walls: vec![wall.into()],
        length_m: Decimal::from(length_m),
        beads: 1,
        masked: false,
        primed_from: None,
        primed_at: None,
    }
}

/// A wall that stands in the sun once.
pub fn wall(key: &str, sun: GivenSpan) -> GivenWall {
    GivenWall { key: key.into(), sun: vec![sun] }
}

/// A ten-hour day for two on a shady wall N: mask 2, prime 1, gun 2, tape off 1 min/m; gun 30 to 220 min after priming.
pub fn plain(joints: Vec<GivenJoint>) -> GivenDay {
    GivenDay {
        from: at(0),
        until: at(600),
        crew: 2,
        tape_off_within_min: Decimal::from(10),
        from_bead: false,
        dry_after_gun_min: Decimal::ZERO,
        dry_before_min: None,
        window: window(30, 240, 20),
        rates: rates(2, 1, 2, 1),
        rain: vec![],
        out_of_limits: vec![],
        walls: vec![GivenWall { key: "N".into(), sun: vec![] }],
        joints,
    }
}

/// A window in minutes.
pub fn window(earliest: i64, latest: i64, margin: i64) -> GivenWindow {
    GivenWindow { earliest_min: earliest.into(), latest_min: latest.into(), margin_min: margin.into() }
}

/// Rates in minutes a metre.
pub fn rates(mask: i64, prime: i64, gun: i64, tape_off: i64) -> GivenRates {
    GivenRates {
        mask_min_per_m: mask.into(),
        prime_min_per_m: prime.into(),
        gun_min_per_m: gun.into(),
        tape_off_min_per_m: tape_off.into(),
    }
}

/// What a random day is drawn from.
pub struct Range {
    /// Most joints.
    pub joints: usize,
    /// Most people.
    pub crew: i64,
    /// Most minutes.
    pub until: i64,
    /// Most minutes a metre.
    pub rate: i64,
    /// Most metres.
    pub length: i64,
    /// Most minutes to wait, and then most minutes more to gun in.
    pub wait: i64,
    /// Whether some joints may be primed already.
    pub primed: bool,
}

/// Random days: two walls with sun, corners of both, rain and the time to dry in, tasks that take no time, windows that
/// can't be met, joints owed.
pub fn any_day(range: Range) -> impl Strategy<Value = Day> {
    let Range { joints, crew, until, rate, length, wait, primed } = range;
    let spans = move || vec((0..until, 0..=until / 3).prop_map(|(from, long)| span(from, from + long)), 0..=2);
    let owed = move || {
        let times = (1..=until / 2 + 1, 0..=2i64).prop_map(|(ago, long)| span(-ago - long, -ago));
        (0..4, times).prop_map(move |(chance, span)| (primed && chance == 0).then_some(span))
    };
    let joint = (0..3usize, 0..=length, owed());
    let dry = (any::<bool>(), 0..=until / 6, option::of(0..=until / 6));
    let rates = (0..=rate, 0..=rate, 0..=rate, 0..=rate);
    let window = (0..=wait, 0..=3 * wait + 2 * rate * length, 0..=2i64);
    let times = (until / 2..=until, 1..=crew, 0..=3i64);
    let shut = (spans(), spans(), spans(), vec(spans().prop_map(|mut all| all.pop()), 0..=1));
    (times, window, rates, dry, shut, vec(joint, 1..=joints)).prop_map(
        move |((until, crew, within), (earliest, more, margin), r, dry, (rain, east, west, limits), joints)| {
            let (from_bead, dry_after_gun, dry_before) = dry;
            // Counted from the bead, the tape has to come off within the gunning as well.
            let within = if from_bead { within + r.2 * length } else { within };
            let given = GivenDay {
                from: at(0),
                until: at(until),
                crew,
                tape_off_within_min: within.into(),
                from_bead,
                dry_after_gun_min: dry_after_gun.into(),
                dry_before_min: dry_before.map(Decimal::from),
                window: self::window(earliest, earliest + more, margin),
                rates: self::rates(r.0, r.1, r.2, r.3),
                rain,
                out_of_limits: limits.into_iter().flatten().collect(),
                walls: vec![GivenWall { key: "E".into(), sun: east }, GivenWall { key: "W".into(), sun: west }],
                joints: joints
                    .into_iter()
                    .enumerate()
                    .map(|(nth, (wall, length, primed))| GivenJoint {
                        beads: 1 + (nth % 2) as u32,
                        walls: [&["E"][..], &["W"], &["E", "W"]][wall].iter().map(|key| (*key).to_owned()).collect(),
                        primed_from: primed.as_ref().map(|span: &GivenSpan| span.from),
                        primed_at: primed.map(|span| span.to),
                        ..self::joint(&format!("J{}", nth + 1), "E", length)
                    })
                    .collect(),
            };
            Day::new(&given).unwrap()
        },
    )
}
