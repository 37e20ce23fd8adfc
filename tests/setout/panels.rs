//! Pieces by hand, against an independent polygon library, and against the storey rod.

use cladlog::setout::courses::{self, Building, Floors, Opening, Wall, courses};
use cladlog::setout::outline::Outline;
use cladlog::setout::panels::{Gaps, Notch, Panels, Piece, SetOut, WallOpening, columns_between, even_courses, panels};
use proptest::prelude::*;
use serde_json::Value;

use crate::harness::{Bench, root};

/// Two columns and three courses: 1200 and 900 long, 400 high, the last ripped to 190.
fn wall(openings: &[WallOpening]) -> SetOut {
    SetOut {
        length_mm: 2110.0,
        columns: vec![columns_between(0.0, 2110.0, &[1205.0], 10.0)],
        courses_mm: vec![0.0, 400.0, 800.0],
        board_height_mm: 400.0,
        top: Outline::level(1000.0),
        base: None,
        floors: Vec::new(),
        openings: openings.to_vec(),
        gaps: Gaps { lift_in_mm: 10.0, ..Gaps::default() },
        panel_mm: Some(1200.0),
        least_piece_mm: None,
    }
}

fn window(from: f64, to: f64, sill: f64, head: f64) -> WallOpening {
    WallOpening { from_mm: from, to_mm: to, sill_mm: Some(sill), head_mm: Some(head) }
}

fn piece<'p>(all: &'p Panels, label: &str) -> &'p Piece {
    all.pieces.iter().find(|piece| piece.label == label).unwrap_or_else(|| panic!("no {label}"))
}

#[test]
fn whole_and_ripped_pieces() {
    let all = panels(&wall(&[])).unwrap();
    let told: Vec<_> = all.pieces.iter().map(|p| (p.label.as_str(), p.length_mm, p.height_mm, p.cut_edge_m)).collect();
    assert_eq!(
        told,
        [
            ("C1-1", 1200.0, 400.0, 0.0),
            ("C1-2", 900.0, 400.0, 0.4),
            ("C2-1", 1200.0, 400.0, 0.0),
            ("C2-2", 900.0, 400.0, 0.4),
            ("C3-1", 1200.0, 190.0, 1.2),
            ("C3-2", 900.0, 190.0, 1.09),
        ]
    );
    assert!(all.pieces[4].ripped && !all.pieces[0].ripped);
    assert!((all.area_m2 - 2.1 * 0.99).abs() < 1e-9);
    assert_eq!(all.pieces[1].outline_mm, [[1210.0, 0.0], [2110.0, 0.0], [2110.0, 400.0], [1210.0, 400.0]]);
    // Where the panel's length is not known, no end is the board's own.
    let all = panels(&SetOut { panel_mm: None, ..wall(&[]) }).unwrap();
    assert_eq!(piece(&all, "C1-1").cut_edge_m, 0.8);
}

#[test]
fn a_window_makes_a_notch_and_a_door_makes_two_pieces() {
    // Over the joint at 1205: a notch at the top right of C1-1 and the top left of C1-2.
    let all = panels(&wall(&[window(1000.0, 1500.0, 300.0, 500.0)])).unwrap();
    assert_eq!(
        piece(&all, "C1-1").notches,
        [Notch { from_left_mm: 1000.0, from_bottom_mm: 300.0, length_mm: 200.0, height_mm: 100.0 }]
    );
    // Its two new edges; both ends and the rest of the top are the panel's own.
    assert!((piece(&all, "C1-1").cut_edge_m - 0.3).abs() < 1e-9);
    assert!((piece(&all, "C1-1").area_m2 - (0.48 - 0.02)).abs() < 1e-9);
    assert_eq!(piece(&all, "C2-2").notches[0].from_left_mm, 0.0);
    let door = WallOpening { from_mm: 200.0, to_mm: 900.0, sill_mm: None, head_mm: Some(400.0) };
    let all = panels(&wall(&[door])).unwrap();
    let told: Vec<_> = all.pieces.iter().map(|p| (p.label.as_str(), p.length_mm, p.cut_edge_m)).take(2).collect();
    assert_eq!(told, [("C1-1a", 200.0, 0.4), ("C1-1b", 300.0, 0.4)]);
    // A window inside one piece is a hole; across a whole column it leaves a rip below and one above.
    let all = panels(&wall(&[window(300.0, 600.0, 100.0, 300.0)])).unwrap();
    assert!((all.pieces[0].cut_edge_m - 1.0).abs() < 1e-9);
    assert_eq!(all.pieces[0].holes_mm, [[[300.0, 100.0], [300.0, 300.0], [600.0, 300.0], [600.0, 100.0]]]);
    let all = panels(&wall(&[window(0.0, 1205.0, 100.0, 300.0)])).unwrap();
    assert_eq!(all.pieces.iter().filter(|p| p.column == 1 && p.course == 1 && p.height_mm == 100.0).count(), 2);
}

#[test]
fn a_gable_has_long_points_angles_and_small_pieces() {
    // 3000 long, from 1000 at the eaves to 1750 in the middle: 1 in 2, 26.565°, the arctangent of a half.
    let top = Outline { points: vec![[0.0, 1000.0], [1500.0, 1750.0], [3000.0, 1000.0]] };
    let (courses_mm, board_height_mm) = even_courses(0.0, 400.0, 0.0, &top).unwrap();
    let gable = SetOut {
        length_mm: 3000.0,
        columns: vec![columns_between(0.0, 3000.0, &[1500.0], 10.0)],
        courses_mm,
        board_height_mm,
        top,
        gaps: Gaps::default(),
        least_piece_mm: Some(200.0),
        ..wall(&[])
    };
    let all = panels(&gable).unwrap();
    // At 1495 the top is 1747.5 high.
    let peak = piece(&all, "C5-1");
    assert_eq!(peak.outline_mm, [[1200.0, 1600.0], [1495.0, 1600.0], [1495.0, 1747.5]]);
    assert_eq!((peak.length_mm, peak.height_mm, peak.angles_deg.as_slice()), (295.0, 147.5, [26.565051].as_slice()));
    // Long point to long point: from the eaves at 1000 to the joint.
    assert_eq!(piece(&all, "C3-1").outline_mm[4], [0.0, 1000.0]);
    assert_eq!(all.small, Some(vec!["C5-1".to_owned(), "C5-2".to_owned()]));
    // Each pair of slopes and ends adds up to the whole.
    assert!((all.area_m2 - (3.0 * 1.375 - 0.01 * 1.7475 - 0.01 * 0.0025 / 2.0)).abs() < 1e-6, "{}", all.area_m2);
}

#[test]
fn a_lap_reaches_up_behind_the_next_course_but_stands_over_no_head() {
    // Boards 182 high on a gain of 150: the notch under a sill at 300 is cut a lap deeper than the face.
    let lapped = |openings: &[WallOpening]| {
        panels(&SetOut {
            courses_mm: (0..7).map(|course| f64::from(course) * 150.0).collect(),
            board_height_mm: 182.0,
            columns: vec![columns_between(0.0, 2110.0, &[], 0.0)],
            ..wall(openings)
        })
        .unwrap()
    };
    let all = lapped(&[window(500.0, 900.0, 310.0, 460.0)]);
    // The board of course 2 is hidden from 300 up to 332; the window takes it from 310.
    let notch = Notch { from_left_mm: 500.0, from_bottom_mm: 160.0, length_mm: 400.0, height_mm: 22.0 };
    assert_eq!((piece(&all, "C2-1").height_mm, piece(&all, "C2-1").notches.as_slice()), (182.0, [notch].as_slice()));
    // Course 3 has its face cut from 310 to 450: over the head at 460 nothing hidden stands, though it would reach 482.
    let notch = Notch { from_left_mm: 500.0, from_bottom_mm: 10.0, length_mm: 400.0, height_mm: 172.0 };
    assert_eq!(piece(&all, "C3-1").notches, [notch]);
    // The last board is cut at the wall's end, 990, and has nothing to hide behind.
    assert_eq!(piece(&all, "C7-1").height_mm, 90.0);
}

#[test]
fn openings_over_one_another_merge_by_their_gaps() {
    let gaps = Gaps { gap_mm: 10.0, head_gap_mm: 10.0, sill_gap_mm: 10.0, lift_in_mm: 10.0, ..Gaps::default() };
    let stacked = [window(300.0, 700.0, 100.0, 190.0), window(300.0, 700.0, 205.0, 300.0)];
    let all = panels(&SetOut { gaps, ..wall(&stacked) }).unwrap();
    assert_eq!(piece(&all, "C1-1").holes_mm.len(), 1);
    let apart = [window(300.0, 700.0, 100.0, 190.0), window(300.0, 700.0, 215.0, 300.0)];
    let all = panels(&SetOut { gaps, ..wall(&apart) }).unwrap();
    assert_eq!(piece(&all, "C1-1").holes_mm.len(), 2);
}

#[test]
fn bad_walls_are_named() {
    let said = |wall: SetOut| panels(&wall).unwrap_err().to_string();
    assert_eq!(said(wall(&[window(500.0, 400.0, 0.0, 100.0)])), "opening 1 ends before it begins");
    assert_eq!(said(SetOut { board_height_mm: 0.0, ..wall(&[]) }), "board height 0 mm has to be more than 0");
    let gaps = Gaps { gap_mm: -1.0, ..Gaps::default() };
    assert_eq!(said(SetOut { gaps, ..wall(&[]) }), "gap -1 mm is less than 0");
    assert!(said(SetOut { top: Outline::level(f64::NAN), ..wall(&[]) }).starts_with("top not a number"));
    let window_at = |from: f64, sill: f64| window(from, from + 500.0, sill, sill + 300.0);
    assert_eq!(said(wall(&[window_at(100.0, 100.0), window_at(599.0, 399.0)])), "opening 2 overlaps opening 1");
    assert_eq!(said(wall(&[window_at(1700.0, 100.0)])), "opening 1 reaches past an end of the wall");
    assert_eq!(said(wall(&[window_at(100.0, 701.0)])), "opening 1 reaches past the top of the wall");
    assert!(panels(&wall(&[window_at(100.0, 100.0), window_at(600.0, 100.0), window_at(100.0, 400.0)])).is_ok());
    assert_eq!(
        said(SetOut { courses_mm: vec![0.0, 400.0], ..wall(&[]) }),
        "the courses reach 800 mm and the cladding ends at 990 mm: add courses"
    );
    assert_eq!(
        said(SetOut { board_height_mm: 390.0, ..wall(&[]) }),
        "course 1 gains 400 mm, more than a board is high, 390 mm"
    );
    assert_eq!(
        said(SetOut { board_height_mm: 800.0, ..wall(&[]) }),
        "lap 400 mm is as high as the cover, 400 mm, or higher"
    );
    assert_eq!(
        even_courses(0.0, 150.0, 150.0, &Outline::level(900.0)).unwrap_err().to_string(),
        "lap 150 mm is as high as the cover, 150 mm, or higher"
    );
    let crossing =
        Outline { points: vec![[0.0, 900.0], [1000.0, 900.0], [1000.0, 1200.0], [1000.0, 1000.0], [2110.0, 1000.0]] };
    assert_eq!(
        said(SetOut { top: crossing, ..wall(&[]) }),
        "the top crosses itself: points 2 to 4 all stand at 1000 mm, and a step has two"
    );
}

/// Points of two rings, each of which has one of the other within a thousandth.
fn same_ring(ours: &Value, theirs: &Value) -> bool {
    let points = |ring: &Value| serde_json::from_value::<Vec<[f64; 2]>>(ring.clone()).unwrap();
    let (ours, theirs) = (points(ours), points(theirs));
    let near = |one: &[f64; 2], other: &[f64; 2]| (0..2).all(|axis| (one[axis] - other[axis]).abs() < 0.0011);
    ours.len() == theirs.len() && ours.iter().all(|one| theirs.iter().any(|other| near(one, other)))
}

#[test]
fn pieces_are_those_of_an_independent_polygon_library() {
    // fixtures/panels_shapely.py: shapely 2.1.2, random walls of every kind.
    let text = std::fs::read_to_string(root().join("tests/setout/fixtures/panels_shapely.json")).unwrap();
    let fixture: Value = serde_json::from_str(&text).unwrap();
    let bench = Bench::at("2026-03-02T08:00:00+13:00");
    for (number, wall) in fixture["walls"].as_array().unwrap().iter().enumerate() {
        bench.file("wall.toml", wall["toml"].as_str().unwrap());
        let answer = bench.run(["--json", "calc", "panels", "wall.toml"]).exits(0).json();
        let mut ours = answer["pieces"].as_array().unwrap().clone();
        for their in wall["pieces"].as_array().unwrap() {
            let alike = |our: &Value| {
                our["course"] == their["course"]
                    && our["column"] == their["column"]
                    && same_ring(&our["outline_mm"], &their["outline_mm"])
            };
            let place = ours.iter().position(alike).unwrap_or_else(|| panic!("wall {number} has no {their}"));
            let our = ours.swap_remove(place);
            let near =
                |key: &str, within: f64| (our[key].as_f64().unwrap() - their[key].as_f64().unwrap()).abs() < within;
            let sizes = near("length_mm", 0.001) && near("height_mm", 0.001);
            assert!(sizes && near("area_m2", 1e-8) && near("cut_edge_m", 1e-5), "wall {number}: {our} for {their}");
            let (our_holes, their_holes) = (our["holes_mm"].as_array().unwrap(), their["holes_mm"].as_array().unwrap());
            let found = |their: &Value| our_holes.iter().any(|our| same_ring(our, their));
            assert!(our_holes.len() == their_holes.len() && their_holes.iter().all(found), "wall {number}: {our}");
            let degrees = |piece: &Value| {
                let mut angles: Vec<f64> = serde_json::from_value(piece["angles_deg"].clone()).unwrap();
                angles.sort_by(f64::total_cmp);
                angles
            };
            let (ours, theirs) = (degrees(&our), degrees(their));
            // Theirs are of points rounded to 0.001 mm.
            let close = ours.iter().zip(&theirs).all(|(one, other)| (one - other).abs() < 0.1);
            assert!(ours.len() == theirs.len() && close, "wall {number}: {our} for {their}");
        }
        assert!(ours.is_empty(), "wall {number} has {ours:?} too many");
    }
}

#[test]
fn a_slope_that_ends_at_a_joint_keeps_the_corner_there() {
    let door = WallOpening { from_mm: 372.0, to_mm: 1435.0, sill_mm: None, head_mm: Some(587.0) };
    let all = panels(&SetOut {
        length_mm: 3000.0,
        columns: vec![columns_between(-10.0, 3000.0, &[1500.0], 0.0)],
        courses_mm: (0..10).map(|course| 100.0 + 300.0 * f64::from(course)).collect(),
        board_height_mm: 300.0,
        top: Outline::level(3000.0),
        base: Some(Outline { points: vec![[0.0, 200.0], [3000.0, 0.0]] }),
        ..wall(&[door])
    })
    .unwrap();
    let beside = piece(&all, "C1-1a");
    assert_eq!(beside.outline_mm, [[1500.0, 100.0], [1500.0, 400.0], [1435.0, 400.0], [1435.0, 104.333]]);
}

type Corners = Vec<[f64; 2]>;

/// What of a convex polygon lies above the line through two points from left to right (Sutherland and Hodgman 1974).
fn above(polygon: &Corners, [from, to]: [[f64; 2]; 2]) -> Corners {
    let over = |p: [f64; 2]| (to[0] - from[0]) * (p[1] - from[1]) - (to[1] - from[1]) * (p[0] - from[0]);
    let mut left = Corners::new();
    for (a, b) in polygon.iter().zip(polygon.iter().cycle().skip(1)) {
        let (at_a, at_b) = (over(*a), over(*b));
        if at_a >= 0.0 {
            left.push(*a);
        }
        if at_a * at_b < 0.0 {
            let share = at_a / (at_a - at_b);
            left.push([0, 1].map(|axis| a[axis] + share * (b[axis] - a[axis])));
        }
    }
    left
}

fn area_mm2(polygon: &Corners) -> f64 {
    let edges = polygon.iter().zip(polygon.iter().cycle().skip(1));
    edges.map(|(a, b)| a[0] * b[1] - b[0] * a[1]).sum::<f64>() / 2.0
}

/// Without the points that change no area: those on an edge, and all but one of those that coincide.
fn corners_of(polygon: &Corners) -> Corners {
    let mut left = polygon.clone();
    while let Some(place) = (0..left.len()).find(|place| {
        let at = |step: usize| left[(place + step) % left.len()];
        area_mm2(&vec![at(left.len() - 1), at(0), at(1)]).abs() < 1e-6
    }) {
        left.remove(place);
    }
    left
}

/// An outline on a grid of 50 mm between two ends 3 m apart, with a third point so many spaces over or under the line
/// between them: none for 0.
fn bent((left, right): (i32, i32), at: i32, spaces: i32) -> Corners {
    let straight = (left + (right - left) * at / 3000).div_euclid(50) * 50;
    let over = if spaces > 0 { straight + 50 } else { straight };
    let bend = (at, over + 50 * spaces);
    let points = [(0, left), bend, (3000, right)].into_iter().filter(|point| spaces != 0 || *point != bend);
    points.map(|(x, y)| [f64::from(x), f64::from(y)]).collect()
}

/// The height of the lowest strip of a piece between two level edges with nothing between them.
fn lowest_strip(piece: &Piece) -> f64 {
    let rings = || std::iter::once(&piece.outline_mm).chain(&piece.holes_mm);
    let edges = rings().flat_map(|ring| ring.iter().zip(ring.iter().cycle().skip(1)));
    // The inside lies left of every edge: above one that runs to the right.
    let level: Vec<([f64; 2], [f64; 2])> = edges.filter(|(a, b)| a[1] == b[1]).map(|(a, b)| (*a, *b)).collect();
    let mut places: Vec<f64> = level.iter().flat_map(|(a, b)| [a[0], b[0]]).collect();
    places.sort_by(f64::total_cmp);
    let mut lowest = f64::INFINITY;
    for middle in places.windows(2).filter(|pair| pair[0] < pair[1]).map(|pair| f64::midpoint(pair[0], pair[1])) {
        let across = |(a, b): &&([f64; 2], [f64; 2])| (a[0].min(b[0])..a[0].max(b[0])).contains(&middle);
        let mut heights: Vec<f64> = level.iter().filter(across).map(|(a, _)| a[1]).collect();
        heights.sort_by(f64::total_cmp);
        lowest = heights.chunks(2).map(|pair| pair[1] - pair[0]).fold(lowest, f64::min);
    }
    lowest
}

/// Tops without slopes, and windows of which one may stand over another.
fn some_level_wall() -> impl Strategy<Value = (Outline, Vec<WallOpening>)> {
    let top = (2300..2900_i32, 2300..2900_i32, 1..5_i32, any::<bool>()).prop_map(|(a, b, at, step)| {
        let (a, b, at) = (f64::from(a), f64::from(b), f64::from(at) * 1200.0);
        if step { Outline { points: vec![[0.0, a], [at, a], [at, b], [6000.0, b]] } } else { Outline::level(a) }
    });
    let window = (0..5200_i32, 300..1500_i32, 250..1900_i32, 100..1200_i32).prop_map(|(from, width, sill, high)| {
        let ends = (f64::from(from), f64::from((from + width).min(6000)));
        window(ends.0, ends.1, f64::from(sill), f64::from((sill + high).min(2240)))
    });
    (top, prop::collection::vec(window, 0..5)).prop_map(|(top, windows)| {
        let apart = |a: &WallOpening, b: &WallOpening| {
            a.to_mm <= b.from_mm || b.to_mm <= a.from_mm || a.head_mm <= b.sill_mm || b.head_mm <= a.sill_mm
        };
        let mut kept: Vec<WallOpening> = Vec::new();
        for window in windows.into_iter().filter(|window| window.sill_mm < window.head_mm) {
            if kept.iter().all(|other| apart(other, &window)) {
                kept.push(window);
            }
        }
        (top, kept)
    })
}

proptest! {
    #[test]
    fn under_a_bent_top_and_over_a_bent_base_every_piece_has_all_its_corners(
        (base, top) in (
            (0..13_i32, 0..13_i32, 1..30_i32, -4..1_i32).prop_map(|(l, r, at, dip)| bent((50 * l, 50 * r), 100 * at, dip)),
            (36..60_i32, 36..60_i32, 1..30_i32, 0..9_i32).prop_map(|(l, r, at, up)| bent((50 * l, 50 * r), 100 * at, up)),
        ),
        (start, cover) in (-2..8_i32, 3..13_i32).prop_map(|(start, cover)| (f64::from(50 * start), f64::from(50 * cover))),
        (joints, joint) in (prop::collection::btree_set(1..60_i32, 0..4), 0..2_i32),
        ends in (-2..3_i32, -2..3_i32),
        door in prop::option::of((0..60_i32, 1..30_i32)),
    ) {
        // On this grid many a slope meets a course line just at a joint, a door or an end.
        let joints: Vec<f64> = joints.into_iter().map(|joint| f64::from(50 * joint)).collect();
        let (left, right) = (f64::from(5 * ends.0), f64::from(3000 + 5 * ends.1));
        let columns = columns_between(left, right, &joints, f64::from(10 * joint));
        let courses_mm: Vec<f64> =
            (0..40).map(|course| start + f64::from(course) * cover).take_while(|line| *line < 4000.0).collect();
        let door = door.map(|(from, width)| (f64::from(50 * from), f64::from((50 * (from + width)).min(3000))));
        let opening = door.map(|(from_mm, to_mm)| WallOpening { from_mm, to_mm, sill_mm: None, head_mm: None });
        let cut = panels(&SetOut {
            length_mm: 3000.0,
            columns: vec![columns.clone()],
            courses_mm: courses_mm.clone(),
            board_height_mm: cover,
            top: Outline { points: top.clone() },
            base: Some(Outline { points: base.clone() }),
            gaps: Gaps::default(),
            ..wall(opening.as_slice())
        }).unwrap();
        let mut ours: Vec<&Piece> = cut.pieces.iter().collect();
        for (course, line) in (1..).zip(&courses_mm) {
            for (column, gap) in (1..).zip(&columns) {
                let (from, to) = door.unwrap_or((gap.to_mm, gap.to_mm));
                let strips = [(gap.from_mm, gap.to_mm.min(from)), (gap.from_mm.max(to), gap.to_mm)];
                for (from, to) in strips.into_iter().filter(|(from, to)| from < to) {
                    let mut left = vec![[from, *line], [to, *line], [to, line + cover], [from, line + cover]];
                    for pair in base.windows(2) {
                        left = above(&left, [pair[0], pair[1]]);
                    }
                    for pair in top.windows(2) {
                        left = above(&left, [pair[1], pair[0]]);
                    }
                    let corners = corners_of(&left);
                    if corners.is_empty() {
                        continue;
                    }
                    let near = |one: &[f64; 2], other: &[f64; 2]| (0..2).all(|axis| (one[axis] - other[axis]).abs() < 0.0011);
                    let place = ours.iter().position(|our| {
                        let outline = &our.outline_mm;
                        (our.course, our.column) == (course, column) && outline.len() == corners.len()
                            && corners.iter().all(|corner| outline.iter().any(|ours| near(ours, corner)))
                    });
                    prop_assert!(place.is_some(), "C{course}-{column} has no {corners:?}: {ours:?}");
                    let our = ours.swap_remove(place.unwrap());
                    prop_assert!((our.area_m2 - area_mm2(&corners) / 1e6).abs() < 1e-9, "{our:?} for {corners:?}");
                }
            }
        }
        prop_assert!(ours.is_empty(), "{ours:?} too many");
    }

    #[test]
    fn what_the_storey_rod_calls_the_smallest_piece_is_cut(
        (top, openings) in some_level_wall(), cover in 150..600_i32, lowest in 0..60_i32, range in 0..60_i32,
        (overhang, lift, head, sill) in (0..30_i32, 0..15_i32, 0..20_i32, 0..20_i32),
        joints in prop::collection::vec(1..6_i32, 0..2),
    ) {
        let gaps = Gaps {
            lift_in_mm: f64::from(lift),
            head_gap_mm: f64::from(head),
            sill_gap_mm: f64::from(sill),
            ..Gaps::default()
        };
        let of_rod = |o: &WallOpening| Opening {
            from_mm: Some(o.from_mm), to_mm: Some(o.to_mm), sill_mm: o.sill_mm, head_mm: o.head_mm,
        };
        let rod = courses(&Building {
            cover_mm: f64::from(cover),
            gains_mm: None,
            overhang_mm: f64::from(overhang),
            lowest_mm: f64::from(lowest),
            highest_mm: f64::from(lowest + range),
            least_piece_mm: 0.0,
            lift_in_mm: gaps.lift_in_mm,
            head_gap_mm: gaps.head_gap_mm,
            sill_gap_mm: gaps.sill_gap_mm,
            base_gap_mm: 0.0,
            floors: Floors::default(),
            walls: vec![Wall {
                key: "N".into(), top: top.clone(), base: None, openings: openings.iter().map(of_rod).collect(),
            }],
        }).unwrap();
        let joints: Vec<f64> = joints.into_iter().map(|joint| f64::from(joint) * 950.0).collect();
        let cut = panels(&SetOut {
            length_mm: 6000.0,
            columns: vec![columns_between(0.0, 6000.0, &joints, 10.0)],
            courses_mm: rod.walls[0].courses_mm.clone(),
            board_height_mm: f64::from(cover),
            top,
            openings,
            gaps,
            ..wall(&[])
        }).unwrap();
        let least = cut.pieces.iter().map(lowest_strip).fold(f64::INFINITY, f64::min);
        prop_assert!((least - rod.smallest_piece_mm).abs() < 0.001, "{least} for {}", rod.smallest_piece_mm);
    }

    #[test]
    fn under_a_peak_the_storey_rod_and_the_pieces_agree(
        left in 2000..2600_i32, right in 2000..2600_i32, up in 300..1200_i32, at in 1..5_i32, cover in 150..600_i32,
    ) {
        let peak = f64::from(left.max(right) + up);
        let top = Outline {
            points: vec![[0.0, f64::from(left)], [f64::from(at) * 1200.0, peak], [6000.0, f64::from(right)]],
        };
        let rod = courses(&Building {
            cover_mm: f64::from(cover), gains_mm: None, overhang_mm: 16.0, lowest_mm: 30.0, highest_mm: 90.0,
            least_piece_mm: 0.0, lift_in_mm: 5.0, head_gap_mm: 0.0, sill_gap_mm: 0.0, base_gap_mm: 0.0, floors: Floors::default(),
            walls: vec![Wall { key: "G".into(), top: top.clone(), base: None, openings: Vec::new() }],
        }).unwrap();
        prop_assert_eq!(rod.smallest_by.what, courses::Edge::Peak);
        let cut = panels(&SetOut {
            length_mm: 6000.0,
            columns: vec![columns_between(0.0, 6000.0, &[], 0.0)],
            courses_mm: rod.walls[0].courses_mm.clone(),
            board_height_mm: f64::from(cover),
            top,
            gaps: Gaps { lift_in_mm: 5.0, ..Gaps::default() },
            ..wall(&[])
        }).unwrap();
        let last = cut.pieces.last().unwrap();
        prop_assert!((last.height_mm - rod.smallest_piece_mm).abs() < 0.001);
    }
}
