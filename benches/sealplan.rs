//! How long the seal plan takes: the targets are 2 s for a day of up to 60 joints and 3 s for 120.

#![allow(clippy::panic, reason = "a bench with a wrong day must stop")]

use cladlog::sealing::plan::{Day, Effort, Plan, plan, read_toml};

fn main() {
    divan::main();
}

/// A crowded day: four walls with half a day of sun each, one shower, joints of eight lengths.
fn day(joints: usize, crew: usize) -> Day {
    let mut text = format!(
        "from = 2026-03-02T07:00:00+13:00\nuntil = 2026-03-02T17:00:00+13:00\ncrew = {crew}\n\
         tape_off_within_min = 10\n\
         rain = [{{ from = 2026-03-02T13:00:00+13:00, to = 2026-03-02T13:30:00+13:00 }}]\n\
         [window]\nearliest_min = 30\nlatest_min = 180\nmargin_min = 15\n\
         [rates]\nmask_min_per_m = 1.5\nprime_min_per_m = 0.5\ngun_min_per_m = 2.5\ntape_off_min_per_m = 0.5\n"
    );
    for (key, from, to) in [("N", 9, 13), ("E", 7, 11), ("S", 15, 16), ("W", 12, 17)] {
        text += &format!(
            "[[wall]]\nkey = \"{key}\"\nsun = [{{ from = 2026-03-02T{from:02}:00:00+13:00, \
             to = 2026-03-02T{to}:00:00+13:00 }}]\n"
        );
    }
    for nth in 0..joints {
        let (wall, length) = (["N", "E", "S", "W"][nth * 7 % 4], 2.4 + (nth * 5 % 8) as f64 * 0.6);
        text += &format!("[[joint]]\nid = \"J{nth}\"\nwall = \"{wall}\"\nlength_m = {length:.1}\n");
    }
    read_toml(&text).unwrap_or_else(|errors| panic!("{errors:?}"))
}

#[divan::bench(args = [(8, 2), (30, 2), (60, 3), (120, 6)], sample_count = 3)]
fn whole_plan(bencher: divan::Bencher<'_, '_>, (joints, crew): (usize, usize)) {
    let day = day(joints, crew);
    bencher.bench(|| -> Plan { plan(&day, Effort::default(), &mut || false) });
}
