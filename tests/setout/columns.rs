//! Columns against a plain search of every set-out on short tapes, and against CP-SAT on real ones.

use std::collections::BTreeMap;

use cladlog::building::Ends;
use cladlog::setout::columns::{Columns, Gap, Run, columns};
use proptest::prelude::*;
use serde_json::Value;

fn run(length: f64, panel: f64, least: f64, joint: f64) -> Run {
    Run { length_mm: length, panel_mm: panel, least_mm: least, joint_mm: joint, ..Run::default() }
}

/// What a set-out comes to, aim by aim: joints in openings, joints, studs, panels, shorter columns, squares.
type Aims = (usize, usize, usize, u64, usize, f64);

/// The lengths of the columns between these joints.
fn lengths(run: &Run, joints: &[i64]) -> Vec<f64> {
    let half = run.joint_mm / 2.0;
    let mut from = run.ends.left_mm;
    let mut lengths = Vec::new();
    for &at in joints {
        lengths.push(at as f64 - half - from);
        from = at as f64 + half;
    }
    lengths.push(run.length_mm - run.ends.right_mm - from);
    lengths
}

/// Studs to add for a joint, by trying every place to a quarter of a millimetre; `None` where even two don't do.
fn studs(run: &Run, at: f64) -> Option<usize> {
    let (Some(width), Some(bearing)) = (run.stud_width_mm, run.bearing_mm) else {
        return Some(usize::from(!run.studs_mm.contains(&at)));
    };
    let (left, right) = (at - run.joint_mm / 2.0, at + run.joint_mm / 2.0);
    let bears_left = |stud: f64| stud - width / 2.0 <= left - bearing && left <= stud + width / 2.0;
    let bears_right = |stud: f64| stud - width / 2.0 <= right && right + bearing <= stud + width / 2.0;
    let given = |bears: &dyn Fn(f64) -> bool| run.studs_mm.iter().any(|&stud| bears(stud));
    let (l, r) = (given(&bears_left), given(&bears_right));
    if l && r {
        return Some(0);
    }
    let reach = (4.0 * (width + run.joint_mm + bearing)) as i32;
    let stands = |stud: &f64| run.studs_mm.iter().all(|given| (stud - given).abs() >= width);
    let free: Vec<f64> = (-reach..=reach).map(|n| at + 0.25 * f64::from(n)).filter(stands).collect();
    let lefts: Vec<f64> = free.iter().copied().filter(|&stud| bears_left(stud)).collect();
    let rights: Vec<f64> = free.iter().copied().filter(|&stud| bears_right(stud)).collect();
    if l && !rights.is_empty() || r && !lefts.is_empty() || lefts.iter().any(|stud| rights.contains(stud)) {
        return Some(1);
    }
    let two = lefts.first().zip(rights.last()).is_some_and(|(left, right)| right - left >= width);
    two.then_some(2)
}

/// Fewest panels for these pieces (lengths with the cut, longest first): the longest goes into a panel with every choice of
/// others that leaves no room for one more, and the rest are counted likewise. What was counted once is known.
fn panels(pieces: &[i64], room: i64, known: &mut BTreeMap<Vec<i64>, u64>) -> u64 {
    let Some((longest, others)) = pieces.split_first() else { return 0 };
    if let Some(&panels) = known.get(pieces) {
        return panels;
    }
    let least = (pieces.iter().sum::<i64>() + room - 1) / room;
    let mut best = u64::MAX;
    fill(others, room - longest, &mut Vec::new(), &mut |left| {
        if best > least as u64 {
            best = best.min(1 + panels(left, room, known));
        }
    });
    known.insert(pieces.to_vec(), best);
    best
}

/// Each way to fill a panel's room from these pieces, longest first, so that none left over fits; told what is left over.
fn fill(pieces: &[i64], room: i64, left: &mut Vec<i64>, tell: &mut dyn FnMut(&[i64])) {
    let Some((&piece, rest)) = pieces.split_first() else {
        if left.iter().all(|piece| *piece > room) {
            tell(left);
        }
        return;
    };
    if piece <= room {
        fill(rest, room - piece, left, tell);
    }
    // Of pieces of one length it matters only how many are taken.
    let same = pieces.iter().take_while(|other| **other == piece).count();
    let kept = left.len();
    left.extend(&pieces[..same]);
    fill(&pieces[same..], room, left, tell);
    left.truncate(kept);
}

/// The aims of a set-out from its joints alone; `None` where a column is too long or too short, or a joint not borne, and
/// where the first three aims are worse than those of `best`: then nobody need count its panels.
fn aims(run: &Run, joints: &[i64], best: Option<Aims>, known: &mut BTreeMap<Vec<i64>, u64>) -> Option<Aims> {
    let lengths = lengths(run, joints);
    let least = if joints.is_empty() { 0.0 } else { run.least_mm };
    if lengths.iter().any(|length| *length < least - 1e-9 || *length > run.panel_mm + 1e-9) {
        return None;
    }
    let clear = run.clear_of_opening_mm;
    let within = |at: f64| run.openings.iter().any(|o| at > o.from_mm - clear && at < o.to_mm + clear);
    let add: Option<Vec<usize>> = joints.iter().map(|&at| studs(run, at as f64)).collect();
    let first = (joints.iter().filter(|&&at| within(at as f64)).count(), joints.len(), add?.iter().sum());
    if best.is_some_and(|best| first > (best.0, best.1, best.2)) {
        return None;
    }
    let panels = run.kerf_mm.map_or(0, |kerf| {
        let whole = |mm: f64| ((mm + kerf) * 4.0).round() as i64;
        let mut pieces: Vec<i64> = lengths.iter().map(|length| whole(*length)).collect();
        pieces = pieces.repeat(run.courses.unwrap_or(1) as usize);
        pieces.sort_unstable_by(|a, b| b.cmp(a));
        self::panels(&pieces, whole(run.panel_mm), known)
    });
    Some((
        first.0,
        first.1,
        first.2,
        panels,
        lengths.iter().filter(|length| run.courses.is_some() && **length != run.panel_mm).count(),
        lengths.iter().map(|length| length * length).sum(),
    ))
}

/// The best aims over every set of joints: slow, and with nothing of the sum's own method.
fn by_search(run: &Run) -> Option<Aims> {
    fn go(run: &Run, joints: &mut Vec<i64>, best: &mut Option<Aims>, known: &mut BTreeMap<Vec<i64>, u64>) {
        if let Some(found) = aims(run, joints, *best, known).filter(|found| best.is_none_or(|least| *found < least)) {
            *best = Some(found);
        }
        let from = joints.last().map_or(run.ends.left_mm, |&at| at as f64 + run.joint_mm / 2.0);
        let first = joints.last().map_or(from.ceil() as i64, |at| at + 1);
        let reach = (from + run.panel_mm + run.joint_mm / 2.0).min(run.length_mm - run.ends.right_mm);
        for at in first..=(reach.floor() as i64) {
            if at as f64 - run.joint_mm / 2.0 - from < run.least_mm - 1e-9 {
                continue;
            }
            joints.push(at);
            go(run, joints, best, known);
            joints.pop();
        }
    }
    let mut best = None;
    go(run, &mut Vec::new(), &mut best, &mut BTreeMap::new());
    best
}

#[track_caller]
fn same(found: &Columns, run: &Run, best: Aims) {
    let joints: Vec<i64> = found.joints_mm.iter().map(|at| *at as i64).collect();
    let got = aims(run, &joints, None, &mut BTreeMap::new());
    let got = got.unwrap_or_else(|| panic!("a column is too long or too short, or a joint not borne: {found:?}"));
    assert_eq!((got.0, got.1, got.2, got.3, got.4), (best.0, best.1, best.2, best.3, best.4), "{found:?} {run:?}");
    assert!((got.5 - best.5).abs() < 1e-6, "squares {} against {}: {found:?} {run:?}", got.5, best.5);
    assert_eq!(found.add_studs_mm.len(), got.2);
    assert_eq!(found.in_openings_mm.len(), got.0);
    assert_eq!(found.material.map_or(0, |material| material.panels), got.3);
    let columns: Vec<f64> = found.columns.iter().map(|column| column.to_mm - column.from_mm).collect();
    assert!(columns.iter().zip(lengths(run, &joints)).all(|(a, b)| (a - b).abs() < 1e-9) && columns.len() == got.1 + 1);
    let Some((width, bearing)) = run.stud_width_mm.zip(run.bearing_mm) else { return };
    let apart = |stud: &f64| run.studs_mm.iter().all(|given| (stud - given).abs() >= width);
    assert!(found.add_studs_mm.iter().all(apart), "{found:?} {run:?}");
    for &joint in &found.joints_mm {
        let bears = |low: f64, high: f64| {
            let all = run.studs_mm.iter().chain(&found.add_studs_mm);
            all.into_iter().any(|stud| stud - width / 2.0 <= low && high <= stud + width / 2.0)
        };
        let (left, right) = (joint - run.joint_mm / 2.0, joint + run.joint_mm / 2.0);
        assert!(bears(left - bearing, left) && bears(right, right + bearing), "{joint}: {found:?} {run:?}");
    }
}

fn some_run() -> impl Strategy<Value = Run> {
    let sizes = (6..15_i32, 3..10_i32, 1..4_i32, 0..5_i32, 0..2_i32);
    let marks =
        (prop::collection::btree_set(0..19_i32, 0..6), prop::collection::vec((0..16_i32, 1..6_i32), 0..3), 0..3_i32);
    let timber = prop::option::of((2..5_i32, 0..8_i32));
    let cut = (prop::option::of(0..3_i32), prop::option::of(1..4_u32), (-3..4_i32, -3..4_i32));
    (sizes, marks, timber, cut).prop_map(|(sizes, (studs, gaps, clear), timber, (kerf, courses, ends))| {
        let (length, panel, least, joint, odd) = sizes;
        let length = f64::from(length) + 0.25 * f64::from(odd);
        let opening =
            |(from, width): (i32, i32)| Gap { from_mm: f64::from(from), to_mm: f64::from(from + width).min(length) };
        let mut studs: Vec<f64> = studs.into_iter().map(f64::from).filter(|stud| *stud <= length).collect();
        let (width, bearing) =
            timber.map(|(width, bearing)| (f64::from(width), (f64::from(bearing) * 0.5).min(f64::from(width)))).unzip();
        let mut last = f64::NEG_INFINITY;
        studs.retain(|&stud| {
            let apart = width.is_none_or(|width| stud - last >= width);
            last = if apart { stud } else { last };
            apart
        });
        Run {
            drawn_mm: Vec::new(),
            length_mm: length,
            panel_mm: f64::from(panel),
            least_mm: f64::from(least.min(panel)),
            joint_mm: f64::from(joint) * 0.5,
            studs_mm: studs,
            openings: gaps.into_iter().map(opening).filter(|gap| gap.from_mm < gap.to_mm).collect(),
            clear_of_opening_mm: f64::from(clear) * 0.5,
            stud_width_mm: width,
            bearing_mm: bearing,
            kerf_mm: kerf.map(|kerf| 0.5 * f64::from(kerf)),
            courses,
            ends: Ends { left_mm: 0.5 * f64::from(ends.0), right_mm: 0.5 * f64::from(ends.1) },
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn no_set_out_beats_the_answer(run in some_run()) {
        match by_search(&run) {
            Some(best) => same(&columns(&run).unwrap(), &run, best),
            None => prop_assert!(columns(&run).is_err()),
        }
    }
}

/// Real walls with CP-SAT's optimum: see make_column_cases.py.
#[test]
fn or_tools_agrees_on_real_walls() {
    let cases: Vec<Value> = serde_json::from_str(include_str!("fixtures/column_cases.json")).unwrap();
    for case in &cases {
        let number = |key: &str| case["run"][key].as_f64();
        let gap = |opening: &Value| Gap { from_mm: opening[0].as_f64().unwrap(), to_mm: opening[1].as_f64().unwrap() };
        let run = Run {
            drawn_mm: Vec::new(),
            length_mm: number("length_mm").unwrap(),
            panel_mm: number("panel_mm").unwrap(),
            least_mm: number("least_mm").unwrap(),
            joint_mm: number("joint_mm").unwrap(),
            studs_mm: case["run"]["studs_mm"].as_array().unwrap().iter().filter_map(Value::as_f64).collect(),
            openings: case["run"]["openings"].as_array().unwrap().iter().map(gap).collect(),
            clear_of_opening_mm: number("clear_of_opening_mm").unwrap(),
            stud_width_mm: number("stud_width_mm"),
            bearing_mm: number("bearing_mm"),
            kerf_mm: number("kerf_mm"),
            courses: number("courses").map(|courses| courses as u32),
            ends: Ends { left_mm: number("left_mm").unwrap_or(0.0), right_mm: number("right_mm").unwrap_or(0.0) },
        };
        let found = columns(&run).unwrap();
        let material = found.material.unwrap();
        let shorter = found.columns.iter().filter(|column| column.to_mm - column.from_mm != run.panel_mm).count();
        let squares: f64 = found.columns.iter().map(|column| (column.to_mm - column.from_mm).powi(2)).sum();
        let got = [
            found.in_openings_mm.len() as f64,
            found.joints_mm.len() as f64,
            found.add_studs_mm.len() as f64,
            material.panels as f64,
            if run.courses.is_some() { shorter as f64 } else { 0.0 },
            squares,
        ];
        let best: Vec<f64> = case["aims"].as_array().unwrap().iter().filter_map(Value::as_f64).collect();
        assert_eq!(got.as_slice(), best, "{}", case["run"]);
        assert!(material.panels_proven, "{}", case["run"]);
    }
}

/// A plain table over every joint and the one before it: long tapes, still without envelopes.
fn by_table(run: &Run) -> Option<Aims> {
    let half = run.joint_mm / 2.0;
    let clear = run.clear_of_opening_mm;
    let fits = |length: f64| length >= run.least_mm && length <= run.panel_mm;
    if run.length_mm <= run.panel_mm {
        return Some((0, 0, 0, 0, 0, run.length_mm.powi(2)));
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
    let best = ends.min_by(|a, b| a.partial_cmp(b).unwrap())?;
    Some((best.0, best.1, best.2, 0, 0, best.3))
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
    assert!(found.joints_mm.is_empty() && found.add_studs_mm.is_empty() && found.short_run_mm.is_none());
}

#[test]
fn a_run_without_a_joint_may_be_short_and_is_named() {
    let found = columns(&run(200.0, 2400.0, 300.0, 6.0)).unwrap();
    assert_eq!((found.columns.len(), found.short_run_mm), (1, Some(200.0)));
}

#[test]
fn windows_over_one_another_are_no_mistake() {
    let openings = vec![Gap { from_mm: 1100.0, to_mm: 1900.0 }, Gap { from_mm: 900.0, to_mm: 1500.0 }];
    let found = columns(&Run { openings, ..run(3000.0, 2400.0, 300.0, 10.0) }).unwrap();
    assert_eq!((found.joints_mm.as_slice(), found.in_openings_mm.len()), (&[1900.0][..], 0));
}

#[test]
fn whole_panels_come_before_even_columns() {
    // Even columns take 45 panels of 9 courses here, whole ones with one offcut 36.
    let wall = Run {
        studs_mm: (0..=16).map(|n| f64::from(n) * 600.0).collect(),
        openings: vec![Gap { from_mm: 2300.0, to_mm: 2900.0 }],
        clear_of_opening_mm: 100.0,
        kerf_mm: Some(4.0),
        courses: Some(9),
        ..run(9600.0, 2400.0, 300.0, 10.0)
    };
    let found = columns(&wall).unwrap();
    let material = found.material.unwrap();
    assert_eq!((material.panels, material.even_panels, material.panels_proven), (36, 45, true));
    assert!(found.add_studs_mm.is_empty() && found.joints_mm.len() == 4);
}

#[test]
fn a_joint_between_two_studs_that_touch_takes_bearing_on_each() {
    let studs = |at: &[f64]| Run {
        studs_mm: at.to_vec(),
        stud_width_mm: Some(45.0),
        bearing_mm: Some(20.0),
        ..run(3000.0, 1605.0, 1405.0, 10.0)
    };
    // One stud of 45 bears one edge: the second one stands against it.
    assert_eq!(columns(&studs(&[1500.0])).unwrap().add_studs_mm.len(), 1);
    assert!(columns(&studs(&[1477.5, 1522.5])).unwrap().add_studs_mm.is_empty());
    let two = columns(&studs(&[])).unwrap();
    assert_eq!((two.joints_mm.as_slice(), two.add_studs_mm.as_slice()), (&[1500.0][..], &[1477.5, 1522.5][..]));
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
    let timber = Run { stud_width_mm: Some(45.0), bearing_mm: Some(18.0), ..wall.clone() };
    assert_eq!(
        said(&Run { studs_mm: vec![600.0, 640.0], ..timber.clone() }),
        "stud 2 at 640 mm overlaps the one at 600 mm: they are 45 mm wide"
    );
    assert_eq!(
        said(&Run { bearing_mm: Some(46.0), ..timber.clone() }),
        "bearing 46 mm is more than a stud is wide, 45 mm"
    );
    assert_eq!(
        said(&Run { bearing_mm: None, ..timber.clone() }),
        "stud_width_mm and bearing_mm are given together or not at all: bearing_mm is missing"
    );
    // Studs every 60 mm leave no room for a second one, and none bears both edges.
    let crowded = (0..=50).map(|n| f64::from(n) * 60.0).collect();
    assert_eq!(
        said(&Run { studs_mm: crowded, bearing_mm: Some(30.0), ..timber }),
        "no joints fit 3000 mm: the studs leave no room to add one beside them where a joint must stand"
    );
    assert_eq!(
        said(&Run { ends: Ends { left_mm: 2000.0, right_mm: 1000.0 }, ..wall.clone() }),
        "the two ends take 3000 mm of a wall of 3000 mm: nothing is left to clad"
    );
    assert_eq!(said(&Run { courses: Some(0), ..wall }), "courses 0 is outside 1 to 500");
    let exact = run(2001.5, 1000.5, 1000.5, 0.5);
    assert!(said(&exact).starts_with("no joints on whole millimetres fit 2001.5 mm"));
}

#[test]
fn joints_that_the_drawings_give_are_kept_where_they_can_be() {
    let run = Run {
        length_mm: 3600.0,
        panel_mm: 2400.0,
        least_mm: 300.0,
        joint_mm: 10.0,
        studs_mm: (0..=6).map(|n| f64::from(n) * 600.0).collect(),
        ..Run::default()
    };
    let joints = |drawn_mm: &[f64]| columns(&Run { drawn_mm: drawn_mm.to_vec(), ..run.clone() }).unwrap().joints_mm;
    // Left alone it stands on a stud in the middle.
    assert_eq!(joints(&[]), [1800.0]);
    assert_eq!(joints(&[2000.0]), [2000.0]);
    // Both are kept, although one would do.
    assert_eq!(joints(&[1200.0, 2400.0]), [1200.0, 2400.0]);
    // 100 mm from the end leaves less than the least piece: that one is moved.
    assert_eq!(joints(&[100.0]), [1800.0]);
    assert_eq!(joints(&[100.0, 2000.0]), [2000.0]);
    // A run as short as a panel is divided where the drawings say so, and nowhere else.
    let short = |drawn_mm: &[f64]| {
        let studs_mm = run.studs_mm[..5].to_vec();
        columns(&Run { length_mm: 2400.0, drawn_mm: drawn_mm.to_vec(), studs_mm, ..run.clone() }).unwrap().joints_mm
    };
    assert_eq!((short(&[]), short(&[1000.0]), short(&[100.0])), (vec![], vec![1000.0], vec![]));
    // A joint between two drawn ones that are too far apart is found as ever.
    let long = Run { length_mm: 7200.0, drawn_mm: vec![1000.0, 6000.0], ..run.clone() };
    let found = columns(&long).unwrap().joints_mm;
    assert!(found.contains(&1000.0) && found.contains(&6000.0) && found.len() == 4, "{found:?}");
}
