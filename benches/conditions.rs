//! A year of sun and shade for a building of eight walls.
//!
//! `cargo bench --no-default-features --bench conditions`. To hold: a year under 100 ms.

// A bench that can't be set up has nothing to report but the panic.
#![allow(clippy::unwrap_used)]

use chrono::{FixedOffset, NaiveDate};
use cladlog::conditions::shade::{Facing, SunDay, day};
use cladlog::conditions::sun::Place;
use cladlog::units::Angle;
use divan::black_box;

fn main() {
    divan::main();
}

/// Every edge to the second, from tracks looked at every five minutes.
#[divan::bench]
fn year_of_shade_for_eight_walls() -> usize {
    year().iter().map(|day| day.walls.iter().map(|wall| wall.lit.len()).sum::<usize>()).sum()
}

/// The same, then a table of lit or not for every wall at every five minutes of the year.
#[divan::bench]
fn year_of_shade_as_a_table_of_five_minutes() -> usize {
    let mut lit = 0;
    for day in year() {
        let midnight = day.walls[0].lit[0].from.date().and_time(chrono::NaiveTime::MIN);
        for step in 0..288 {
            let now = midnight + chrono::TimeDelta::minutes(5 * step);
            let on = |wall: &cladlog::conditions::shade::WallLight| {
                wall.lit.iter().any(|s| s.from.instant().naive_local() <= now && now < s.to.instant().naive_local())
            };
            lit += day.walls.iter().filter(|wall| on(wall)).count();
        }
    }
    black_box(lit)
}

/// One day, as `calc shade` asks for it.
#[divan::bench]
fn one_day_for_eight_walls() -> SunDay {
    days(NaiveDate::from_ymd_opt(2026, 3, 2).unwrap(), 1).remove(0)
}

fn year() -> Vec<SunDay> {
    days(NaiveDate::from_ymd_opt(2026, 1, 1).unwrap(), 365)
}

fn days(first: NaiveDate, count: usize) -> Vec<SunDay> {
    let wellington = Place::new(Angle::degrees(-41.29), Angle::degrees(174.78)).unwrap();
    let walls: Vec<Facing> =
        (0..8).map(|wall| Facing::new(Angle::degrees(10.0 + f64::from(wall) * 45.0)).unwrap()).collect();
    let offset = FixedOffset::east_opt(12 * 3600).unwrap();
    first.iter_days().take(count).map(|date| day(black_box(&wellington), date, offset, &walls).unwrap()).collect()
}
