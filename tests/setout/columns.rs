//! Columns against a plain search of every set-out, on short tapes.

use cladlog::setout::columns::{Columns, Gap, Run, columns};
use proptest::prelude::*;

fn run(length: f64, panel: f64, least: f64, joint: f64) -> Run {
    Run {
        length_mm: length,
        panel_mm: panel,
        least_mm: least,
        joint_mm: joint,
        studs_mm: vec![],
        openings: vec![],
        clear_of_opening_mm: 0.0,
    }
}

/// The four aims of a set-out, and whether every column is allowed, from its joints alone.
fn aims(run: &Run, joints: &[i64]) -> Option<(usize, usize, usize, f64)> {
    let half = run.joint_mm / 2.0;
    let mut from = 0.0;
    let mut squares = 0.0;
    for end in joints.iter().map(|&at| Some(at as f64)).chain([None]) {
        let length = end.map_or(run.length_mm, |at| at - half) - from;
        if length < run.least_mm - 1e-9 || length > run.panel_mm + 1e-9 {
            return None;
        }
        squares += length * length;
        from = end.unwrap_or(0.0) + half;
    }
    let clear = run.clear_of_opening_mm;
    let within = |at: f64| run.openings.iter().any(|o| at > o.from_mm - clear && at < o.to_mm + clear);
    let in_openings = joints.iter().filter(|&&at| within(at as f64)).count();
    let add = joints.iter().filter(|&&at| !run.studs_mm.contains(&(at as f64))).count();
    Some((in_openings, joints.len(), add, squares))
}

/// The best aims over every set of joints: slow, and with nothing of the sum's own method.
fn by_search(run: &Run) -> Option<(usize, usize, usize, f64)> {
    fn go(run: &Run, joints: &mut Vec<i64>, best: &mut Option<(usize, usize, usize, f64)>) {
        if let Some(found) = aims(run, joints).filter(|found| best.is_none_or(|least| *found < least)) {
            *best = Some(found);
        }
        let next = joints.last().map_or(0, |at| at + 1);
        let reach = joints.last().map_or(0.0, |&at| at as f64 + run.joint_mm / 2.0) + run.panel_mm + run.joint_mm;
        for at in next..=(reach.min(run.length_mm) as i64) {
            let from = joints.last().map_or(0.0, |&at| at as f64 + run.joint_mm / 2.0);
            if at as f64 - run.joint_mm / 2.0 - from < run.least_mm - 1e-9 {
                continue;
            }
            joints.push(at);
            go(run, joints, best);
            joints.pop();
        }
    }
    let mut best = None;
    go(run, &mut Vec::new(), &mut best);
    best
}

fn same(found: &Columns, run: &Run, best: (usize, usize, usize, f64)) {
    let joints: Vec<i64> = found.joints_mm.iter().map(|at| *at as i64).collect();
    let got = aims(run, &joints).unwrap_or_else(|| panic!("a column is too long or too short: {found:?}"));
    assert_eq!((got.0, got.1, got.2), (best.0, best.1, best.2), "{found:?} {run:?}");
    assert!((got.3 - best.3).abs() < 1e-6, "squares {} against {}: {found:?} {run:?}", got.3, best.3);
    assert_eq!(found.add_studs_mm.len(), got.2);
    assert_eq!(found.in_openings_mm.len(), got.0);
    assert_eq!(found.columns.len(), joints.len() + 1);
}

fn some_run() -> impl Strategy<Value = Run> {
    let sizes = (6..19_i32, 3..9_i32, 1..4_i32, 0..5_i32, 0..2_i32);
    let marks = (prop::collection::btree_set(0..19_i32, 0..6), prop::collection::vec((0..16_i32, 1..6_i32), 0..3));
    (sizes, marks, 0..3_i32).prop_map(|((length, panel, least, joint, odd), (studs, gaps), clear)| {
        let length = f64::from(length) + 0.25 * f64::from(odd);
        let mut openings: Vec<Gap> = Vec::new();
        for (from, width) in gaps {
            let gap = Gap { from_mm: f64::from(from), to_mm: f64::from(from + width).min(length) };
            let apart = |o: &Gap| gap.to_mm <= o.from_mm || o.to_mm <= gap.from_mm;
            if gap.from_mm < gap.to_mm && openings.iter().all(apart) {
                openings.push(gap);
            }
        }
        Run {
            length_mm: length,
            panel_mm: f64::from(panel),
            least_mm: f64::from(least.min(panel)),
            joint_mm: f64::from(joint) * 0.5,
            studs_mm: studs.into_iter().map(f64::from).filter(|s| *s <= length).collect(),
            openings,
            clear_of_opening_mm: f64::from(clear) * 0.5,
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn no_set_out_beats_the_answer(run in some_run()) {
        match by_search(&run) {
            Some(best) => same(&columns(&run).unwrap(), &run, best),
            None => prop_assert!(columns(&run).is_err()),
        }
    }
}

/// A plain table over every joint and the one before it: long tapes, still without envelopes.
fn by_table(run: &Run) -> Option<(usize, usize, usize, f64)> {
    let half = run.joint_mm / 2.0;
    let clear = run.clear_of_opening_mm;
    let fits = |length: f64| length >= run.least_mm && length <= run.panel_mm;
    if fits(run.length_mm) {
        return Some((0, 0, 0, run.length_mm.powi(2)));
    }
    let places = run.length_mm as usize + 1;
    let mut best: Vec<Option<(usize, usize, usize, f64)>> = vec![None; places];
    for at in 0..places {
        let x = at as f64;
        let within = run.openings.iter().any(|o| x > o.from_mm - clear && x < o.to_mm + clear);
        let add = !run.studs_mm.contains(&x);
        let step = |before: (usize, usize, usize, f64), length: f64| {
            (before.0 + usize::from(within), before.1 + 1, before.2 + usize::from(add), before.3 + length * length)
        };
        let mut least = fits(x - half).then(|| step((0, 0, 0, 0.0), x - half));
        let near = (x - run.joint_mm - run.panel_mm).max(0.0).ceil() as usize;
        for (before, upto) in best.iter().enumerate().take(at).skip(near) {
            let length = x - before as f64 - run.joint_mm;
            let found = upto.filter(|_| fits(length)).map(|upto| step(upto, length));
            least = match (least, found) {
                (Some(a), Some(b)) => Some(if b < a { b } else { a }),
                (a, b) => a.or(b),
            };
        }
        best[at] = least;
    }
    let ends = best.iter().enumerate().filter_map(|(at, best)| {
        let length = run.length_mm - at as f64 - half;
        best.filter(|_| fits(length)).map(|b| (b.0, b.1, b.2, b.3 + length * length))
    });
    ends.min_by(|a, b| a.partial_cmp(b).unwrap())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn long_tapes_agree_with_a_plain_table(
        length in 500..3000_i32, panel in 100..500_i32, least in 20..90_i32, joint in 0..20_i32,
        every in 30..120_i32, doors in 0..6_i32, clear in 0..30_i32,
    ) {
        let wall = Run {
            studs_mm: (0..length / every + 1).map(|n| f64::from(n * every)).filter(|s| *s <= f64::from(length)).collect(),
            openings: (0..doors)
                .map(|n| Gap { from_mm: f64::from(n * 480 + 60), to_mm: f64::from(n * 480 + 60 + 47 * (n + 1)) })
                .filter(|o| o.to_mm <= f64::from(length))
                .collect(),
            clear_of_opening_mm: f64::from(clear),
            ..run(f64::from(length), f64::from(panel), f64::from(least), f64::from(joint))
        };
        match by_table(&wall) {
            Some(best) => same(&columns(&wall).unwrap(), &wall, best),
            None => prop_assert!(columns(&wall).is_err()),
        }
    }
}

#[test]
fn one_panel_does_where_it_reaches() {
    let found = columns(&run(2400.0, 2400.0, 300.0, 10.0)).unwrap();
    assert_eq!(found.columns, [Gap { from_mm: 0.0, to_mm: 2400.0 }]);
    assert!(found.joints_mm.is_empty() && found.add_studs_mm.is_empty());
}

#[test]
fn a_joint_at_the_edge_of_the_clearance_is_clear() {
    // Strictly within counts: at 1000 and 2000 a joint touches the widened opening and is clear of it.
    let wall = Run {
        openings: vec![Gap { from_mm: 1100.0, to_mm: 1900.0 }],
        clear_of_opening_mm: 100.0,
        ..run(3000.0, 2010.0, 300.0, 10.0)
    };
    let found = columns(&wall).unwrap();
    assert!(found.in_openings_mm.is_empty());
    assert_eq!(found.joints_mm, [1000.0]);
}

#[test]
fn keeping_out_of_an_opening_is_worth_two_more_joints() {
    let wall = Run {
        openings: vec![Gap { from_mm: 1500.0, to_mm: 2500.0 }],
        clear_of_opening_mm: 150.0,
        ..run(4000.0, 2400.0, 300.0, 10.0)
    };
    let found = columns(&wall).unwrap();
    assert_eq!(found.joints_mm.len(), 2);
    assert!(found.in_openings_mm.is_empty());
}

#[test]
fn what_cannot_be_set_out_says_why() {
    let said = |run: &Run| columns(run).unwrap_err().to_string();
    assert_eq!(
        said(&run(2500.0, 2400.0, 1300.0, 6.0)),
        "no columns fit 2500 mm: 1 column reaches 2400 mm, 2 columns need at least 2606 mm"
    );
    assert_eq!(said(&run(200.0, 2400.0, 300.0, 6.0)), "no columns fit 200 mm: 1 column needs at least 300 mm");
    assert_eq!(said(&run(2500.0, 200.0, 300.0, 6.0)), "panel 200 mm is shorter than the least piece, 300 mm");
    assert_eq!(said(&run(f64::NAN, 200.0, 100.0, 6.0)), "length not a number mm is outside 1 to 200000 mm");
    let wall = run(3000.0, 2400.0, 300.0, 10.0);
    let with = |studs: &[f64], openings: &[(f64, f64)]| {
        said(&Run {
            studs_mm: studs.to_vec(),
            openings: openings.iter().map(|&(from_mm, to_mm)| Gap { from_mm, to_mm }).collect(),
            ..wall.clone()
        })
    };
    assert_eq!(with(&[0.0, 3600.0], &[]), "stud 2 at 3600 mm is beyond the end of the wall, 3000 mm");
    assert_eq!(with(&[-1.0], &[]), "stud 1: at -1 mm is outside 0 to 200000 mm");
    assert_eq!(with(&[600.0, 0.0, 600.0], &[]), "stud 3 at 600 mm is given twice");
    assert_eq!(with(&[], &[(900.0, 800.0)]), "opening 1: from 900 mm is not before to, 800 mm");
    assert_eq!(with(&[], &[(900.0, 3001.0)]), "opening 1: to 3001 mm is beyond the end of the wall, 3000 mm");
    assert_eq!(with(&[], &[(900.0, 1000.0), (500.0, 901.0)]), "opening 2 overlaps opening 1");
    let exact = run(2001.5, 1000.5, 1000.5, 0.5);
    assert!(said(&exact).starts_with("no joints on whole millimetres fit 2001.5 mm"));
}
