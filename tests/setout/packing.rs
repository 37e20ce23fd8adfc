//! Packing against worked examples, brute force over every corner, and HiGHS.

use cladlog::form::InRow;
use cladlog::setout::packing::{Fixing, Packing, PackingError, PackingRules, pack};
use proptest::prelude::*;
use serde_json::Value;

fn rules(flat: f64, lean: f64, along: f64, most: f64) -> PackingRules {
    PackingRules { flat_mm: flat, lean_mm_per_m: lean, along_mm_per_m: along, most_mm: most, ..Default::default() }
}

fn row(readings: &[(f64, f64)]) -> Vec<Fixing> {
    readings.iter().map(|&(stud_mm, reading_mm)| Fixing { stud_mm, height_mm: 0.0, reading_mm }).collect()
}

/// Excess and total as the answer's own numbers give them; every rule of the sum is checked on the way.
fn checked(packing: &Packing, fixings: &[Fixing], rules: &PackingRules) -> (f64, f64) {
    let plane = packing.plane;
    assert!(plane.along_mm_per_m.abs() <= rules.along_mm_per_m && plane.lean_mm_per_m.abs() <= rules.lean_mm_per_m);
    assert_eq!(packing.fixings.len(), fixings.len());
    let (mut excess, mut total) = (0.0, 0.0);
    for (packed, fixing) in packing.fixings.iter().zip(fixings) {
        let face = plane.at_origin_mm
            + plane.along_mm_per_m * fixing.stud_mm / 1000.0
            + plane.lean_mm_per_m * fixing.height_mm / 1000.0;
        assert!(packed.pack_mm >= 0.0);
        assert!((fixing.reading_mm + packed.pack_mm - face).abs() <= rules.flat_mm + 1e-8, "{packed:?} {plane:?}");
        if let Some(packers) = &packed.packers_mm {
            let stack: f64 = packers.iter().sum();
            assert!((fixing.reading_mm + stack - face).abs() <= rules.flat_mm + 1e-6, "{packed:?} {plane:?}");
            assert!(packers.iter().all(|size| rules.packers_mm.contains(size)));
        }
        excess += (packed.pack_mm - rules.most_mm).max(0.0);
        total += packed.pack_mm;
    }
    assert!((total - packing.total_mm).abs() < 1e-6);
    let over = packing.fixings.iter().filter(|f| f.pack_mm > rules.most_mm + 1e-6).count();
    assert_eq!(over, packing.over.len());
    (excess, total)
}

#[test]
fn lines_come_out_as_by_hand() {
    // By hand: the answer is the edge of the upper hull above the mean stud (constructed, no publication found).
    let five = row(&[(0.0, 0.0), (600.0, 3.0), (1200.0, -2.0), (1800.0, 4.0), (2400.0, 1.0)]);
    let found = pack(&five, &rules(0.0, 2.0, 2.0, 12.0)).unwrap();
    assert_eq!(found.total_mm, 11.5);
    assert_eq!(found.fixings.iter().map(|f| f.pack_mm).collect::<Vec<_>>(), [2.5, 0.0, 5.5, 0.0, 3.5]);
    let six = row(&[(0.0, 2.0), (600.0, 0.0), (1200.0, 5.0), (1800.0, 1.0), (2400.0, 3.0), (3000.0, 0.0)]);
    let found = pack(&six, &rules(0.0, 2.0, 2.0, 12.0)).unwrap();
    assert_eq!(found.total_mm, 16.0);
    assert_eq!(found.plane.lean_mm_per_m, 0.0, "one row of readings says nothing about lean");
}

#[test]
fn a_plane_over_six_studs_needs_twelve() {
    let grid = [
        (0.0, 0.0, 0.0),
        (600.0, 0.0, 2.0),
        (1200.0, 0.0, -1.0),
        (0.0, 2400.0, 1.0),
        (600.0, 2400.0, 4.0),
        (1200.0, 2400.0, 0.0),
    ];
    let grid = grid.map(|(stud_mm, height_mm, reading_mm)| Fixing { stud_mm, height_mm, reading_mm });
    // Slopes of 3.3 mm a metre are needed for the 12 mm.
    let wide = rules(0.0, 10.0, 10.0, 12.0);
    let found = pack(&grid, &wide).unwrap();
    assert_eq!(checked(&found, &grid, &wide), (0.0, 12.0));
}

#[test]
fn a_straight_wall_needs_nothing_whatever_its_size() {
    for count in [1, 2, 400] {
        let wall: Vec<Fixing> = (0..count)
            .map(|i| Fixing {
                stud_mm: f64::from(i % 100) * 600.0,
                height_mm: f64::from(i / 100) * 800.0,
                reading_mm: 3.0,
            })
            .collect();
        let found = pack(&wall, &PackingRules::default()).unwrap();
        assert_eq!(found.total_mm, 0.0);
        assert_eq!((found.plane.along_mm_per_m, found.plane.lean_mm_per_m), (0.0, 0.0));
        assert!(found.fixings.iter().all(|f| f.packers_mm.as_deref() == Some(&[])));
    }
}

#[test]
fn a_stud_beyond_the_most_is_named() {
    let wall = row(&[(0.0, 0.0), (600.0, -30.0), (1200.0, 0.0)]);
    let found = pack(&wall, &PackingRules::default()).unwrap();
    assert_eq!(checked(&found, &wall, &PackingRules::default()).1, 28.0);
    let [over] = found.over.as_slice() else { panic!("{found:?}") };
    assert_eq!((over.stud_mm, over.pack_mm), (600.0, 28.0));
}

#[test]
fn the_proud_stud_is_named_and_not_the_good_ones() {
    // Eight good studs and one that stands out 25 mm: without it there is next to nothing to pack.
    let wall: Vec<Fixing> = (0..9)
        .flat_map(|n| [(150.0, 0.0), (2250.0, 1.0)].map(|(height_mm, by)| (n, height_mm, by)))
        .map(|(n, height_mm, by)| {
            let reading_mm = if n == 4 { 25.0 - by } else { f64::from(n % 3) };
            Fixing { stud_mm: f64::from(n) * 600.0, height_mm, reading_mm }
        })
        .collect();
    let rules = PackingRules::default();
    let found = pack(&wall, &rules).unwrap();
    assert!(found.over.len() >= 8, "{found:?}");
    let [proud] = found.proud.as_slice() else { panic!("{found:?}") };
    assert_eq!((proud.stud_mm, proud.height_mm, proud.over), (2400.0, 150.0, 0));
    assert!((proud.saves_mm - (found.total_mm - proud.total_mm)).abs() < 1e-9);
    // Planed down to flatness, it leaves what was said; no other stud does as much, whatever is planed off it.
    let planed = |stud: f64, by: f64| -> Vec<Fixing> {
        let plane = |f: &Fixing| if f.stud_mm == stud { Fixing { reading_mm: f.reading_mm - by, ..*f } } else { *f };
        wall.iter().map(plane).collect()
    };
    let right = pack(&planed(2400.0, proud.proud_mm), &rules).unwrap();
    assert!((right.total_mm - proud.total_mm).abs() < 2.0 && right.over.is_empty(), "{right:?}");
    for stud in (0..9).filter(|n| *n != 4).map(|n| f64::from(n) * 600.0) {
        for by in 1..30 {
            let other = pack(&planed(stud, f64::from(by)), &rules).unwrap();
            assert!(other.total_mm > proud.total_mm && !other.over.is_empty(), "{stud} by {by}");
        }
    }
}

#[test]
fn a_stud_that_is_shy_makes_no_good_one_proud() {
    let wall = row(&[(0.0, 0.0), (600.0, -30.0), (1200.0, 0.0), (1800.0, 1.0)]);
    let found = pack(&wall, &PackingRules::default()).unwrap();
    assert_eq!((found.over.len(), found.over[0].stud_mm), (1, 600.0));
    assert!(found.proud.is_empty());
}

#[test]
fn bad_readings_are_named() {
    let error = |wall: &[Fixing], rules: &PackingRules| pack(wall, rules).unwrap_err();
    let usual = PackingRules::default();
    let out = |error: InRow<PackingError>| match error {
        InRow { row, error: PackingError::OutOfRange(error) } => (row, error.what),
        other => panic!("{other:?}"),
    };
    assert_eq!(error(&[], &usual).error, PackingError::Empty);
    assert_eq!(out(error(&row(&[(0.0, 1.0), (600.0, 300.0)]), &usual)), (Some(2), "reading"));
    assert_eq!(out(error(&row(&[(f64::NAN, 1.0)]), &usual)), (Some(1), "stud"));
    assert_eq!(out(error(&row(&[(0.0, f64::INFINITY)]), &usual)), (Some(1), "reading"));
    let twice = error(&row(&[(0.0, 1.0), (600.0, 1.0), (0.0, 2.0)]), &usual);
    assert_eq!(twice.row, Some(3));
    assert_eq!(twice.to_string(), "stud 0 at height 0 is given twice, first in reading 1");
    let negative = PackingRules { flat_mm: -1.0, ..PackingRules::default() };
    assert_eq!(out(error(&row(&[(0.0, 1.0)]), &negative)), (None, "flatness"));
}

/// Least (excess, total) over every corner where three sheets meet: slow, and with nothing of the sum's own method.
fn by_brute_force(fixings: &[Fixing], rules: &PackingRules) -> (f64, f64) {
    let mut sheets: Vec<([f64; 3], f64)> = Vec::new();
    for f in fixings {
        let normal = [1.0, f.stud_mm / 1000.0, f.height_mm / 1000.0];
        for level in [-rules.flat_mm, rules.flat_mm, rules.flat_mm + rules.most_mm] {
            sheets.push((normal, f.reading_mm + level));
        }
    }
    for bound in [-1.0, 0.0, 1.0] {
        sheets.push(([0.0, 1.0, 0.0], bound * rules.along_mm_per_m));
        sheets.push(([0.0, 0.0, 1.0], bound * rules.lean_mm_per_m));
    }
    let det = |a: [f64; 3], b: [f64; 3], c: [f64; 3]| {
        a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0]) + a[2] * (b[0] * c[1] - b[1] * c[0])
    };
    let mut best = (f64::INFINITY, f64::INFINITY);
    for i in 0..sheets.len() {
        for j in i + 1..sheets.len() {
            for k in j + 1..sheets.len() {
                let [(a, p), (b, q), (c, r)] = [sheets[i], sheets[j], sheets[k]];
                let whole = det(a, b, c);
                if whole.abs() < 1e-9 {
                    continue;
                }
                let with = |column: usize| {
                    let put = |mut row: [f64; 3], value: f64| {
                        row[column] = value;
                        row
                    };
                    det(put(a, p), put(b, q), put(c, r)) / whole
                };
                let (out, along, lean) = (with(0), with(1), with(2));
                if along.abs() > rules.along_mm_per_m + 1e-9 || lean.abs() > rules.lean_mm_per_m + 1e-9 {
                    continue;
                }
                let at = |f: &Fixing| out + along * f.stud_mm / 1000.0 + lean * f.height_mm / 1000.0;
                if fixings.iter().any(|f| at(f) < f.reading_mm - rules.flat_mm - 1e-9) {
                    continue;
                }
                let packs = fixings.iter().map(|f| (at(f) - rules.flat_mm - f.reading_mm).max(0.0));
                let (mut excess, mut total) = (0.0, 0.0);
                for pack in packs {
                    excess += (pack - rules.most_mm).max(0.0);
                    total += pack;
                }
                if excess < best.0 - 1e-7 || (excess < best.0 + 1e-7 && total < best.1) {
                    best = (excess, total);
                }
            }
        }
    }
    best
}

fn some_frame() -> impl Strategy<Value = (Vec<Fixing>, PackingRules)> {
    let fixing = (0..5_i32, 0..3_i32, -60..60_i32, any::<bool>());
    let rule = (0..3_i32, 0..4_i32, 0..4_i32, 0..8_i32);
    (prop::collection::vec(fixing, 1..7), rule).prop_map(|(fixings, (flat, lean, along, most))| {
        let mut wall: Vec<Fixing> = Vec::new();
        for (stud, height, reading, fine) in fixings {
            // Whole millimetres make corners where many sheets meet; tenths make ordinary ones.
            let reading_mm = if fine { f64::from(reading) / 4.7 } else { f64::from(reading / 6) };
            let fixing = Fixing { stud_mm: f64::from(stud) * 600.0, height_mm: f64::from(height) * 1200.0, reading_mm };
            if !wall.iter().any(|f| f.stud_mm == fixing.stud_mm && f.height_mm == fixing.height_mm) {
                wall.push(fixing);
            }
        }
        (wall, rules(f64::from(flat) * 0.5, f64::from(lean), f64::from(along), f64::from(most) * 2.0))
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn no_corner_beats_the_answer((wall, rules) in some_frame()) {
        let found = pack(&wall, &rules).unwrap();
        let (excess, total) = checked(&found, &wall, &rules);
        let (least_excess, least_total) = by_brute_force(&wall, &rules);
        prop_assert!((excess - least_excess).abs() < 1e-6, "excess {} against {}", excess, least_excess);
        prop_assert!((total - least_total).abs() < 1e-6, "total {} against {}", total, least_total);
    }
}

#[test]
fn large_frames_agree_with_highs() {
    // Written by tests/setout/fixtures/packing_highs.py.
    let text = include_str!("fixtures/packing_highs.json");
    let frames: Value = serde_json::from_str(text).unwrap();
    for frame in frames["frames"].as_array().unwrap() {
        let number = |value: &Value| value.as_f64().unwrap();
        let [flat, lean, along, most] = ["flat", "lean", "along", "most"].map(|key| number(&frame[key]));
        let rules = rules(flat, lean, along, most);
        let wall: Vec<Fixing> = frame["fixings"]
            .as_array()
            .unwrap()
            .iter()
            .map(|f| Fixing { stud_mm: number(&f[0]), height_mm: number(&f[1]), reading_mm: number(&f[2]) })
            .collect();
        let (excess, total) = checked(&pack(&wall, &rules).unwrap(), &wall, &rules);
        assert!((excess - number(&frame["excess"])).abs() < 1e-4, "{}: {excess} {}", frame["name"], frame["excess"]);
        assert!((total - number(&frame["total"])).abs() < 1e-3, "{}: {total} {}", frame["name"], frame["total"]);
    }
}
