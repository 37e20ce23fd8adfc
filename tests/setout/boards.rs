//! Board ends against every set of joints there is on small walls, and against CP-SAT on real ones.

use std::collections::BTreeMap;

use cladlog::building::Ends;
use cladlog::setout::boards::{BoardWall, Boards, boards};
use cladlog::setout::opening::WallOpening;
use proptest::prelude::*;
use serde_json::Value;

/// The stretches of a course that no opening takes whole.
fn runs(wall: &BoardWall, [bottom, top]: [f64; 2]) -> Vec<(f64, f64)> {
    let takes = |o: &&WallOpening| {
        o.sill_mm.is_none_or(|sill| sill - wall.gap_mm <= bottom)
            && o.head_mm.is_none_or(|head| top <= head + wall.gap_mm)
    };
    let mut left = vec![(wall.ends.left_mm, wall.length_mm - wall.ends.right_mm)];
    for opening in wall.openings.iter().filter(takes) {
        let (from, to) = (opening.from_mm - wall.gap_mm, opening.to_mm + wall.gap_mm);
        left = left.into_iter().flat_map(|(a, z)| [(a, z.min(from)), (a.max(to), z)]).filter(|(a, z)| a < z).collect();
    }
    left.sort_by(|a, b| a.partial_cmp(b).unwrap());
    left.dedup();
    left
}

/// Whether a board end of this course may be here.
fn clear(wall: &BoardWall, [bottom, top]: [f64; 2], end: f64) -> bool {
    let reach = wall.gap_mm + wall.clear_of_opening_mm;
    wall.openings.iter().all(|o| {
        let low = o.sill_mm.map_or(f64::NEG_INFINITY, |sill| sill - wall.gap_mm);
        let high = o.head_mm.map_or(f64::INFINITY, |head| head + wall.gap_mm);
        let notches = low < top && bottom < high && !(low <= bottom && top <= high);
        !notches || end <= o.from_mm - reach || end >= o.to_mm + reach
    })
}

/// Every set of joints that a course can take.
fn sets(wall: &BoardWall, course: [f64; 2]) -> Vec<Vec<f64>> {
    fn go(wall: &BoardWall, studs: &[f64], from: f64, to: f64, joints: &mut Vec<f64>, sets: &mut Vec<Vec<f64>>) {
        let fits = |board: f64| board >= wall.least_mm && board <= wall.board_mm;
        if fits(to - from) && !joints.is_empty() || joints.is_empty() && to - from <= wall.board_mm {
            sets.push(joints.clone());
        }
        for (place, &stud) in studs.iter().enumerate() {
            if fits(stud - wall.end_gap_mm / 2.0 - from) {
                joints.push(stud);
                go(wall, &studs[place + 1..], stud + wall.end_gap_mm / 2.0, to, joints, sets);
                joints.pop();
            }
        }
    }
    let mut all = vec![Vec::new()];
    for (from, to) in runs(wall, course) {
        let half = wall.end_gap_mm / 2.0;
        let may = |stud: &f64| {
            from < *stud && *stud < to && clear(wall, course, stud - half) && clear(wall, course, stud + half)
        };
        let studs: Vec<f64> = wall.studs_mm.iter().copied().filter(may).collect();
        let mut of_run = Vec::new();
        go(wall, &studs, from, to, &mut Vec::new(), &mut of_run);
        all = all.iter().flat_map(|set| of_run.iter().map(|joints| [set.as_slice(), joints].concat())).collect();
    }
    all
}

fn keeps_stagger(wall: &BoardWall, a: &[f64], b: &[f64]) -> bool {
    a.iter().all(|x| b.iter().all(|y| (x - y).abs() >= wall.stagger_mm))
}

/// The fewest joints in all, by every set on every course; `None` where none do.
fn by_search(wall: &BoardWall) -> Option<usize> {
    let mut below: Option<Vec<(Vec<f64>, usize)>> = None;
    for &course in &wall.courses {
        let mut here = Vec::new();
        for set in sets(wall, course) {
            let before = match &below {
                None => Some(0),
                Some(below) => below.iter().filter(|(joints, _)| keeps_stagger(wall, joints, &set)).map(|b| b.1).min(),
            };
            here.extend(before.map(|before| (set.clone(), before + set.len())));
        }
        below = Some(here);
    }
    below?.into_iter().map(|(_, count)| count).min()
}

/// Holds an answer against the wall itself.
#[track_caller]
fn holds(found: &Boards, wall: &BoardWall) {
    let mut below: Vec<f64> = Vec::new();
    for (course, &face) in found.courses.iter().zip(&wall.courses) {
        assert!(keeps_stagger(wall, &below, &course.joints_mm), "course {}: {wall:?}", course.course);
        below = course.joints_mm.clone();
        let half = wall.end_gap_mm / 2.0;
        assert!(below.iter().all(|at| wall.studs_mm.contains(at)));
        assert!(below.iter().all(|at| clear(wall, face, at - half) && clear(wall, face, at + half)));
        for (from, to) in runs(wall, face) {
            let within: Vec<f64> = below.iter().copied().filter(|at| from < *at && *at < to).collect();
            let starts = std::iter::once(from).chain(within.iter().map(|at| at + half));
            let ends = within.iter().map(|at| at - half).chain([to]);
            let least = if within.is_empty() { 0.0 } else { wall.least_mm };
            let fits = |(a, z): (f64, f64)| z - a >= least && z - a <= wall.board_mm;
            assert!(starts.zip(ends).all(fits), "course {}: {wall:?}", course.course);
        }
    }
    let count: usize = found.courses.iter().map(|course| course.joints_mm.len()).sum();
    assert_eq!((found.courses.len(), found.joints), (wall.courses.len(), count));
}

fn some_wall() -> impl Strategy<Value = BoardWall> {
    let sizes = (8..20_i32, 5..12_i32, 1..4_i32, 0..3_i32, 0..5_i32);
    let openings = prop::collection::vec((0..16_i32, 1..6_i32, prop::option::of(0..9_i32), 1..8_i32), 0..3);
    let around = (0..3_i32, 0..3_i32, (-2..3_i32, -2..3_i32));
    (sizes, 2..5_i32, 1..5_i32, openings, around).prop_map(|(sizes, every, courses, openings, (gap, clear, ends))| {
        let (length, board, least, end_gap, stagger) = sizes;
        let length_mm = f64::from(length);
        let opening = |(from, width, sill, height): (i32, i32, Option<i32>, i32)| WallOpening {
            from_mm: f64::from(from),
            to_mm: f64::from(from + width).min(length_mm),
            sill_mm: sill.map(f64::from),
            head_mm: Some(f64::from(sill.unwrap_or(0) + height)),
        };
        BoardWall {
            length_mm,
            board_mm: f64::from(board),
            least_mm: f64::from(least),
            end_gap_mm: 0.5 * f64::from(end_gap),
            stagger_mm: f64::from(stagger),
            studs_mm: (0..=length / every).map(|n| f64::from(n * every)).collect(),
            ends: Ends { left_mm: 0.5 * f64::from(ends.0), right_mm: 0.5 * f64::from(ends.1) },
            courses: (0..courses).map(|n| [f64::from(3 * n), f64::from(3 * n + 3)]).collect(),
            openings: openings.into_iter().map(opening).filter(|o| o.from_mm < o.to_mm).collect(),
            gap_mm: 0.5 * f64::from(gap),
            clear_of_opening_mm: 0.5 * f64::from(clear),
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn no_set_of_joints_beats_the_answer(wall in some_wall()) {
        let found = boards(&wall).unwrap();
        match by_search(&wall) {
            Some(fewest) => {
                holds(&found, &wall);
                prop_assert_eq!((found.joints, found.proven), (fewest, true));
            }
            None => prop_assert!(!found.unmet.is_empty() && found.courses.is_empty()),
        }
    }
}

/// Real walls with CP-SAT's optimum: see make_board_cases.py.
#[test]
fn or_tools_agrees_on_forty_walls() {
    let cases: Vec<Value> = serde_json::from_str(include_str!("fixtures/board_cases.json")).unwrap();
    let mut proven: BTreeMap<bool, usize> = BTreeMap::new();
    for case in &cases {
        let wall = &case["wall"];
        let number = |value: &Value, key: &str| value[key].as_f64();
        let list = |value: &Value| value.as_array().unwrap().iter().filter_map(Value::as_f64).collect::<Vec<f64>>();
        let opening = |o: &Value| WallOpening {
            from_mm: number(o, "from_mm").unwrap(),
            to_mm: number(o, "to_mm").unwrap(),
            sill_mm: number(o, "sill_mm"),
            head_mm: number(o, "head_mm"),
        };
        let wall = BoardWall {
            length_mm: number(wall, "length_mm").unwrap(),
            board_mm: number(wall, "board_mm").unwrap(),
            least_mm: number(wall, "least_mm").unwrap(),
            end_gap_mm: number(wall, "end_gap_mm").unwrap(),
            stagger_mm: number(wall, "stagger_mm").unwrap(),
            studs_mm: list(&wall["studs_mm"]),
            ends: Ends::default(),
            courses: wall["courses"].as_array().unwrap().iter().map(|face| list(face).try_into().unwrap()).collect(),
            openings: wall["openings"].as_array().unwrap().iter().map(opening).collect(),
            gap_mm: number(wall, "gap_mm").unwrap(),
            clear_of_opening_mm: number(wall, "clear_of_opening_mm").unwrap(),
        };
        let found = boards(&wall).unwrap();
        holds_or_unmet(&found, &wall, case["joints"].as_u64());
        *proven.entry(found.proven).or_insert(0) += 1;
    }
    assert!(proven.get(&false).is_none_or(|count| *count <= 1), "{proven:?}");
}

#[track_caller]
fn holds_or_unmet(found: &Boards, wall: &BoardWall, joints: Option<u64>) {
    match joints {
        Some(joints) => {
            holds(found, wall);
            assert_eq!(found.joints as u64, joints, "{wall:?}");
        }
        None => assert!(!found.unmet.is_empty(), "{wall:?}"),
    }
}

fn plain(courses: usize) -> BoardWall {
    BoardWall {
        length_mm: 6000.0,
        board_mm: 4200.0,
        least_mm: 600.0,
        end_gap_mm: 2.0,
        stagger_mm: 600.0,
        studs_mm: (0..=10).map(|n| f64::from(n) * 600.0).collect(),
        courses: (0..courses).map(|n| [150.0 * n as f64, 150.0 * n as f64 + 150.0]).collect(),
        ..BoardWall::default()
    }
}

#[test]
fn a_notched_board_runs_through_and_a_whole_face_is_cut() {
    // The gap counts: the second course loses its whole face, the third only its lower half.
    let window = WallOpening { from_mm: 2400.0, to_mm: 3600.0, sill_mm: Some(155.0), head_mm: Some(365.0) };
    let wall = BoardWall { openings: vec![window], gap_mm: 5.0, clear_of_opening_mm: 500.0, ..plain(3) };
    let found = boards(&wall).unwrap();
    holds(&found, &wall);
    let joints: Vec<usize> = found.courses.iter().map(|course| course.joints_mm.len()).collect();
    assert_eq!(joints, [1, 0, 1]);
    assert!(found.courses[2].joints_mm.iter().all(|at| *at <= 1800.0 || *at >= 4200.0));
}

#[test]
fn a_run_that_cannot_be_met_is_named() {
    let found = boards(&BoardWall { studs_mm: vec![0.0, 1200.0, 6000.0], ..plain(2) }).unwrap();
    let first = found.unmet[0];
    assert_eq!(
        (found.unmet.len(), first.course, first.from_mm, first.to_mm, first.by_stagger),
        (2, 1, 0.0, 6000.0, false)
    );
    let found = boards(&BoardWall { studs_mm: vec![0.0, 3000.0, 6000.0], ..plain(2) }).unwrap();
    let second = found.unmet[0];
    assert_eq!((found.unmet.len(), second.course, second.by_stagger, found.proven), (1, 2, true, true));
}

#[test]
fn what_cannot_be_meant_says_why() {
    let said = |wall: BoardWall| boards(&wall).unwrap_err().to_string();
    assert_eq!(said(plain(0)), "there are no courses: at least one is needed, as in courses = [[0, 150]]");
    assert_eq!(
        said(BoardWall { courses: vec![[0.0, 150.0], [150.0, 150.0]], ..plain(1) }),
        "course 2: bottom 150 mm is not below top, 150 mm"
    );
    assert_eq!(
        said(BoardWall { courses: vec![[0.0, 150.0], [140.0, 290.0]], ..plain(1) }),
        "course 2 begins at 140 mm, below the top of the course under it, 150 mm"
    );
    assert_eq!(said(BoardWall { board_mm: 500.0, ..plain(1) }), "board 500 mm is shorter than the least piece, 600 mm");
    let backwards = WallOpening { from_mm: 100.0, to_mm: 200.0, sill_mm: Some(900.0), head_mm: Some(900.0) };
    assert_eq!(
        said(BoardWall { openings: vec![backwards], ..plain(1) }),
        "opening 1: sill 900 mm is not below head, 900 mm"
    );
    assert_eq!(said(BoardWall { studs_mm: vec![600.0, 600.0], ..plain(1) }), "stud 2 at 600 mm is given twice");
}
