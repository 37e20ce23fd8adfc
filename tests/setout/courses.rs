//! The storey rod against a plain search in whole millimetres, written from what the sum promises.

use cladlog::setout::courses::{Building, Courses, Edge, Floors, LowNotch, MarkKind, Opening, Wall, courses, marks};
use cladlog::setout::outline::Outline;
use proptest::prelude::*;

fn opening(sides: Option<(f64, f64)>, sill_mm: Option<f64>, head_mm: Option<f64>) -> Opening {
    let (from_mm, to_mm) = sides.unzip();
    Opening { from_mm, to_mm, sill_mm, head_mm }
}

fn wall(key: &str, top_mm: f64, openings: &[Opening]) -> Wall {
    Wall { key: key.into(), top: Outline::level(top_mm), base: None, openings: openings.to_vec() }
}

fn outline(points: &[(i32, i32)]) -> Outline {
    Outline { points: points.iter().map(|&(x, y)| [f64::from(x), f64::from(y)]).collect() }
}

/// Bare: no overhang, no gaps.
fn building(cover: f64, lowest: f64, highest: f64, walls: Vec<Wall>) -> Building {
    Building {
        cover_mm: cover,
        gains_mm: None,
        overhang_mm: 0.0,
        lowest_mm: lowest,
        highest_mm: highest,
        least_piece_mm: 50.0,
        lift_in_mm: 10.0,
        head_gap_mm: 0.0,
        sill_gap_mm: 0.0,
        base_gap_mm: 0.0,
        floors: Floors::default(),
        walls,
    }
}

/// One window over another, as people of the trade meet it: overhang 16, gap 10, lift-in 5.
fn house(cover: f64, start: f64, walls: Vec<Wall>) -> Building {
    Building {
        overhang_mm: 16.0,
        head_gap_mm: 10.0,
        sill_gap_mm: 10.0,
        lift_in_mm: 5.0,
        ..building(cover, start, start, walls)
    }
}

/// Height of an outline a hair right (+1) or left (−1) of a place, its ends going on level.
fn height(outline: &Outline, x: f64, side: f64) -> f64 {
    let x = x + side * 1e-7;
    let points = &outline.points;
    let pair = points.windows(2).find(|pair| pair[0][0] < x && x < pair[1][0]);
    match pair {
        Some([[a, low], [b, high]]) => low + (high - low) * (x - a) / (b - a),
        _ if x < points[0][0] => points[0][1],
        _ => points[points.len() - 1][1],
    }
}

/// Heights at every place of a stretch where an outline may be lowest or highest.
fn heights(outline: &Outline, from: f64, to: f64) -> Vec<f64> {
    let inner = outline.points.iter().map(|point| point[0]).filter(|x| *x > from && *x < to);
    let both = inner.flat_map(|x| [height(outline, x, -1.0), height(outline, x, 1.0)]);
    both.chain([height(outline, from, 1.0), height(outline, to, -1.0)]).collect()
}

fn least(of: impl IntoIterator<Item = f64>) -> f64 {
    of.into_iter().fold(f64::INFINITY, f64::min)
}

fn most(of: impl IntoIterator<Item = f64>) -> f64 {
    of.into_iter().fold(f64::NEG_INFINITY, f64::max)
}

/// What lies between a wall's top or base and its lines: each piece with the line or edge that it meets exactly.
struct Pieces<'l> {
    lines: &'l [f64],
    all: Vec<f64>,
    met: i64,
}

const HAIR: f64 = 1e-4;

impl Pieces<'_> {
    fn under(&mut self, at: f64) {
        if at > self.lines[0] + HAIR {
            self.all.push(at - most(self.lines.iter().copied().filter(|line| *line < at - HAIR)));
        }
    }

    fn over(&mut self, at: f64, stop: f64) {
        if at > self.lines[0] + HAIR {
            self.all.push(least(self.lines.iter().copied().filter(|line| *line > at + HAIR)).min(stop) - at);
        }
    }

    fn met(&mut self, at: f64) {
        self.met += i64::from(self.lines[1..].iter().any(|line| (line - at).abs() < HAIR));
    }
}

/// Every piece that the definition names, on given lines (more of them than the walls need).
fn pieces<'l>(building: &Building, lines: &'l [f64]) -> Pieces<'l> {
    let mut pieces = Pieces { lines, all: Vec::new(), met: 0 };
    for wall in &building.walls {
        let points = &wall.top.points;
        let (left, right) = (points[0][0], points[points.len() - 1][0]);
        let level = points.len() == 1;
        let lift = building.lift_in_mm;
        if level {
            pieces.under(points[0][1] - building.lift_in_mm);
            pieces.met(points[0][1] - building.lift_in_mm);
        }
        let legs: Vec<_> = points.windows(2).filter(|pair| pair[0][0] < pair[1][0]).collect();
        for (place, leg) in legs.iter().enumerate() {
            let (from, to) = (leg[0][1], leg[1][1]);
            if from == to {
                pieces.under(from - building.lift_in_mm);
                let goes_on = place > 0 && legs[place - 1][0][1] == from && legs[place - 1][1][1] == from;
                if !goes_on {
                    pieces.met(from - building.lift_in_mm);
                }
                continue;
            }
            // The high end, what stands beside it, and whether that goes on rising.
            let (high, beside) = if to > from {
                (to, legs.get(place + 1))
            } else {
                (from, place.checked_sub(1).and_then(|p| legs.get(p)))
            };
            let beside = beside.map(|leg| if to > from { (leg[0][1], leg[1][1]) } else { (leg[1][1], leg[0][1]) });
            if beside.is_none_or(|(near, far)| near < high || (near == high && far < high)) {
                pieces.under(high - building.lift_in_mm);
            }
        }
        if let Some(base) = &wall.base {
            for leg in base.points.windows(2).filter(|pair| pair[0][0] < pair[1][0] && pair[0][1] == pair[1][1]) {
                let at = leg[0][1] + building.base_gap_mm;
                let above = wall.openings.iter().filter(|it| it.sill_mm.is_some_and(|sill| sill >= leg[0][1]));
                let above = above.map(|it| (it.from_mm.unwrap_or(-1e9), it.to_mm.unwrap_or(1e9), it.sill_mm.unwrap()));
                let above = above.filter(|(from, to, _)| from.max(leg[0][0]) < to.min(leg[1][0]));
                let above: Vec<_> = above.map(|(from, to, sill)| (from, to, sill - building.sill_gap_mm)).collect();
                // Millimetre by millimetre: where a sill's gap meets that of the base, nothing is left between.
                let mut along = (leg[0][0] as i32..leg[1][0] as i32).map(|mm| f64::from(mm) + 0.5);
                let is_left = along.any(|mm| above.iter().all(|(from, to, sill)| *sill > at || mm < *from || mm > *to));
                if is_left && at < most(heights(&wall.top, leg[0][0], leg[1][0])) - lift {
                    pieces.over(at, least(above.iter().map(|it| it.2).filter(|sill| *sill > at)));
                }
            }
        }
        let side = |o: &Opening| {
            (o.from_mm.unwrap_or(if level { -1e9 } else { left }), o.to_mm.unwrap_or(if level { 1e9 } else { right }))
        };
        for one in &wall.openings {
            let (from, to) = side(one);
            let tops = heights(&wall.top, from, to);
            if let Some(sill) = one.sill_mm.map(|sill| sill - building.sill_gap_mm)
                && sill < most(tops.clone()) - lift - HAIR
            {
                pieces.under(sill);
                pieces.met(sill);
            }
            if let Some(head) = one.head_mm {
                let (at, end) = (head + building.head_gap_mm, least(tops) - lift);
                let above = wall.openings.iter().filter(|other| {
                    let (a, b) = side(other);
                    other.sill_mm.is_some_and(|sill| sill >= head) && a.max(from) < b.min(to)
                });
                let sills: Vec<f64> = above.map(|other| other.sill_mm.unwrap() - building.sill_gap_mm).collect();
                // Sills so close that their gaps meet are left to a case of their own below.
                if at < end - HAIR && sills.iter().all(|sill| *sill > at) {
                    pieces.over(at, end.min(least(sills)));
                    pieces.met(at);
                }
            }
        }
    }
    pieces
}

fn even_lines(building: &Building, start: f64) -> Vec<f64> {
    let highest = most(building.walls.iter().map(|wall| wall.top.highest_mm()));
    let lowest = start - building.overhang_mm;
    let count = ((highest - lowest) / building.cover_mm) as i32 + 3;
    (0..count).map(|k| lowest + f64::from(k) * building.cover_mm).collect()
}

/// Tops of every kind on a wall 6 m long, a base now and then.
fn some_wall() -> impl Strategy<Value = Wall> {
    let top = (0..6_usize, 2000..2600_i32, 2000..2900_i32, 1..5_i32).prop_map(|(kind, a, b, at)| {
        let at = at * 1200;
        match kind {
            0 => Outline::level(f64::from(a)),
            1 => outline(&[(0, a), (6000, b)]),
            2 => outline(&[(0, a), (at, a.max(b) + 600), (6000, b)]),
            3 => outline(&[(0, a), (at, a), (at, b), (6000, b)]),
            4 => outline(&[(0, a), (at, b), (at, a), (6000, b)]),
            _ => outline(&[(0, a), (600, a), (at.max(1200), b + 300), (5400, b + 300), (6000, b)]),
        }
    });
    let base = prop::option::of((0..700_i32, 0..700_i32, 1..5_i32, any::<bool>()).prop_map(|(a, b, at, slopes)| {
        let at = at * 1200;
        if slopes { outline(&[(0, a), (at, a), (6000, b)]) } else { outline(&[(0, a), (at, a), (at, b), (6000, b)]) }
    }));
    let window = (
        prop::option::of((0..4800_i32, 300..1200_i32)),
        prop::option::of(700..1500_i32),
        prop::option::of(1500..2500_i32),
    );
    let window = window.prop_map(|(sides, sill, head)| {
        let sides = sides.map(|(from, width)| (f64::from(from), f64::from(from + width)));
        // Above one another now and then.
        opening(sides, sill.map(f64::from), head.map(f64::from))
    });
    let upper = prop::option::of((0..4800_i32, 300..1200_i32, 2100..2400_i32).prop_map(|(from, width, sill)| {
        opening(Some((f64::from(from), f64::from(from + width))), Some(f64::from(sill)), None)
    }));
    (top, base, prop::collection::vec(window, 0..3), upper).prop_map(|(top, base, mut openings, upper)| {
        openings.extend(upper);
        openings.retain(|o| o.sill_mm.zip(o.head_mm).is_none_or(|(sill, head)| sill < head));
        Wall { key: String::new(), top, base, openings }
    })
}

fn some_building() -> impl Strategy<Value = Building> {
    let gaps = (0..20_i32, 0..20_i32, 0..20_i32, 0..15_i32, 0..30_i32);
    let walls = prop::collection::vec(some_wall(), 1..4);
    (150..460_i32, 0..100_i32, 0..300_i32, gaps, walls).prop_map(
        |(cover, lowest, range, (head, sill, base, lift, over), walls)| {
            let keyed = walls.into_iter().enumerate().map(|(n, wall)| Wall { key: format!("W{n}"), ..wall });
            Building {
                overhang_mm: f64::from(over),
                lift_in_mm: f64::from(lift),
                head_gap_mm: f64::from(head),
                sill_gap_mm: f64::from(sill),
                base_gap_mm: f64::from(base),
                ..building(f64::from(cover), f64::from(lowest), f64::from(lowest + range), keyed.collect())
            }
        },
    )
}

/// Openings whose gaps meet those of one above are not in the plain search.
fn gaps_meet(building: &Building) -> bool {
    building.walls.iter().any(|wall| {
        let pairs = wall.openings.iter().flat_map(|one| wall.openings.iter().map(move |other| (one, other)));
        pairs
            .filter_map(|(one, other)| Some((one.head_mm?, other.sill_mm?)))
            .any(|(head, sill)| sill >= head && sill - building.sill_gap_mm <= head + building.head_gap_mm)
    })
}

proptest! {
    #[test]
    fn no_start_beats_the_answer(building in some_building()) {
        prop_assume!(!gaps_meet(&building));
        let found = courses(&building).unwrap();
        let smallest = |start: i64| least(pieces(&building, &even_lines(&building, start as f64)).all);
        let starts = building.lowest_mm as i64..=building.highest_mm as i64;
        let best = starts.clone().map(smallest).fold(f64::NEG_INFINITY, f64::max);
        prop_assert!((found.smallest_piece_mm - best).abs() < 0.001, "{} for {best}", found.smallest_piece_mm);
        let lowest = starts.into_iter().find(|start| smallest(*start) > best - 0.001).unwrap();
        // Sloping tops end between millimetres: of starts a hair apart either will do.
        let at = found.start_mm as i64;
        prop_assert!(at == lowest || (smallest(at) - smallest(lowest)).abs() > 0.0, "{at} for {lowest}");
        for (wall, rod) in building.walls.iter().zip(&found.walls) {
            let last = *rod.courses_mm.last().unwrap();
            let end = wall.top.highest_mm() - building.lift_in_mm;
            prop_assert!(rod.courses_mm[0] == found.start_mm - building.overhang_mm && end > last);
            prop_assert!(end - last <= building.cover_mm);
        }
    }
}

/// Every rod that the lap allows on a building, worth most first: met, smallest piece, near the cover.
fn best_lapped(building: &Building) -> (i64, f64, f64) {
    let (low, high) = building.gains_mm.unwrap();
    let end = most(building.walls.iter().map(|wall| wall.top.highest_mm())) - building.lift_in_mm;
    let edge = |at: f64| pieces(building, &[-1e6, at]).met > 0;
    let mut best = (-1, 0.0, 0.0);
    let mut rods: Vec<Vec<f64>> = (building.lowest_mm as i64..=building.highest_mm as i64)
        .map(|start| vec![start as f64 - building.overhang_mm])
        .collect();
    while let Some(rod) = rods.pop() {
        let last = *rod.last().unwrap();
        if last >= end {
            let found = pieces(building, &rod);
            let real = rod.windows(2).filter(|pair| pair[1] <= end);
            let off: f64 = real.map(|pair| (pair[1] - pair[0] - building.cover_mm).powi(2)).sum();
            let worth = (found.met, least(found.all), -off);
            if worth.partial_cmp(&best) == Some(std::cmp::Ordering::Greater) {
                best = worth;
            }
            continue;
        }
        for gain in low as i64..=high as i64 {
            let before = rod.windows(2).next_back().map(|pair| pair[1] - pair[0]);
            if before.is_none_or(|before| (before - gain as f64).abs() <= 1.0 || edge(last)) {
                rods.push(rod.iter().copied().chain([last + gain as f64]).collect());
            }
        }
    }
    best
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn no_gains_beat_the_answer_for_lapped_boards(
        cover in 9..12_i32, less in 0..3_i32, more in 0..3_i32, range in 0..4_i32, over in 0..3_i32,
        tops in prop::collection::vec(38..52_i32, 1..3),
        edges in prop::collection::vec((8..30_i32, 4..16_i32), 0..3),
    ) {
        let openings = edges.iter().map(|&(sill, high)| opening(None, Some(f64::from(sill)), Some(f64::from(sill + high))));
        let openings: Vec<Opening> = openings.collect();
        let walls = (0..).zip(&tops).map(|(n, top)| wall(&format!("W{n}"), f64::from(*top), &openings)).collect();
        let building = Building {
            gains_mm: Some((f64::from(cover - less), f64::from(cover + more))),
            overhang_mm: f64::from(over),
            lift_in_mm: 1.0,
            sill_gap_mm: 1.0,
            ..building(f64::from(cover), 0.0, f64::from(range), walls)
        };
        prop_assume!(!gaps_meet(&building));
        let found = courses(&building).unwrap();
        let best = best_lapped(&building);
        prop_assert_eq!((found.met.unwrap() as i64, found.smallest_piece_mm), (best.0, best.1));
        let longest = found.walls.iter().max_by_key(|wall| wall.courses_mm.len()).unwrap();
        let mut lines = longest.courses_mm.clone();
        let end = most(building.walls.iter().map(|wall| wall.top.highest_mm())) - 1.0;
        // The top's line is not a course's: it counts where a line meets the top.
        if pieces(&building, &[-1e6, end]).met > 0 && (found.met.unwrap() as i64) > pieces(&building, &lines).met {
            lines.push(end);
        }
        let off: f64 = lines.windows(2).map(|pair| (pair[1] - pair[0] - building.cover_mm).powi(2)).sum();
        prop_assert_eq!(-off, best.2, "{:?}", lines);
    }
}

#[test]
fn lapped_courses_meet_every_edge_with_even_gains() {
    // Sill 900 and head 2100 on a 150 gain from 0; the top at 2410 is 10 more than two storeys of eight would give.
    let walls = vec![wall("N", 2410.0, &[opening(None, Some(900.0), Some(2100.0))])];
    let boards = Building { gains_mm: Some((140.0, 160.0)), ..building(150.0, 0.0, 0.0, walls) };
    let rod = courses(&boards).unwrap();
    assert_eq!(rod.met, Some(3));
    let lines = &rod.walls[0].courses_mm;
    assert!([900.0, 2100.0].iter().all(|edge| lines.contains(edge)), "{lines:?}");
    assert_eq!(rod.walls[0].top_rip_mm, Some(2400.0 - lines[lines.len() - 1]));
}

#[test]
fn the_overhang_is_below_the_start_and_every_height_counts_from_that_edge() {
    // By hand: edge 61 − 16 = 45, course 6 at 45 + 5 · 455 = 2320, top piece 2700 − 5 − 2320 = 375.
    let rod = courses(&house(455.0, 61.0, vec![wall("E", 2700.0, &[])])).unwrap();
    assert_eq!((rod.start_mm, rod.walls[0].courses_mm[0], rod.walls[0].courses_mm[5]), (61.0, 45.0, 2320.0));
    assert_eq!(rod.walls[0].top_rip_mm, Some(375.0));
    // Sill 900 less its gap is 390 over course 2.
    let rod = courses(&house(455.0, 61.0, vec![wall("E", 2750.0, &[opening(None, Some(900.0), None)])])).unwrap();
    assert_eq!((rod.smallest_piece_mm, rod.smallest_by.what), (390.0, Edge::Sill));
}

#[test]
fn over_a_head_the_wall_ends_before_the_course_does() {
    // A window under a soffit: 2700 − 5 − 2660 − 10 = 25, not a course.
    let rod =
        courses(&house(600.0, 16.0, vec![wall("N", 2700.0, &[opening(None, Some(1500.0), Some(2660.0))])])).unwrap();
    assert_eq!((rod.smallest_piece_mm, rod.smallest_by.what, rod.ok), (25.0, Edge::Head, false));
    assert_eq!(rod.smallest_by.at_mm, 2660.0);
}

#[test]
fn a_sill_above_a_head_ends_its_piece_where_they_share_some_length() {
    let windows = |from: f64| {
        let low = opening(Some((1000.0, 2200.0)), Some(900.0), Some(2100.0));
        let high = opening(Some((from, from + 1200.0)), Some(2290.0), Some(3300.0));
        courses(&house(600.0, 16.0, vec![wall("N", 5000.0, &[low, high])])).unwrap()
    };
    // 2290 − 10 − (2100 + 10).
    assert_eq!(windows(2100.0).smallest_piece_mm, 170.0);
    // End to end they share none; then 2280 − 1800 and 3310 → 3600 are left, and 195 at the top.
    assert_eq!(windows(2200.0).smallest_piece_mm, 195.0);
    // A window that stands on another leaves no piece between them: 1205 would be 5 over the line at 1200.
    let stacked = [
        opening(Some((0.0, 900.0)), Some(900.0), Some(1200.0)),
        opening(Some((0.0, 900.0)), Some(1215.0), Some(2390.0)),
    ];
    let rod = courses(&house(600.0, 16.0, vec![wall("N", 2705.0, &stacked)])).unwrap();
    assert_eq!((rod.smallest_piece_mm, rod.smallest_by.what), (290.0, Edge::Sill));
}

#[test]
fn notches_lower_than_the_least_piece_are_named_with_a_start_that_leaves_fewer() {
    // Lines each 150 from 15 below the start. From -50: 835 under the sill's 890, so 55 are left; 2035 under the head's 2040,
    // a notch of 5. From -45: 50 are left, which is the least, and a line runs on 2040.
    let window = opening(Some((1000.0, 1880.0)), Some(900.0), Some(2030.0));
    let lapped = |openings: &[Opening]| Building {
        overhang_mm: 15.0,
        lowest_mm: -50.0,
        highest_mm: -40.0,
        ..house(150.0, 0.0, vec![wall("N", 2720.0, openings)])
    };
    let rod = courses(&lapped(&[window, window])).unwrap();
    assert_eq!((rod.start_mm, rod.smallest_piece_mm), (-50.0, 55.0));
    assert_eq!(rod.low_notches, [LowNotch { wall: "N".into(), what: Edge::Head, at_mm: 2030.0, height_mm: 5.0 }]);
    assert_eq!(rod.fewest_notches_at_mm, Some(-45.0));
    let other = Building { lowest_mm: -45.0, highest_mm: -45.0, ..lapped(&[window]) };
    let other = courses(&other).unwrap();
    assert_eq!((other.smallest_piece_mm, other.ok, other.low_notches), (50.0, true, vec![]));
    // An opening as wide as the wall notches nothing.
    assert_eq!(courses(&lapped(&[opening(None, Some(900.0), Some(2030.0))])).unwrap().low_notches, []);
}

#[test]
fn peaks_high_ends_and_steps_leave_pieces_and_the_rest_of_a_slope_none() {
    let of = |top: &[(i32, i32)]| {
        let wall = Wall { key: "G".into(), top: outline(top), base: None, openings: vec![] };
        courses(&Building { lift_in_mm: 0.0, ..building(300.0, 0.0, 0.0, vec![wall]) }).unwrap()
    };
    let gable = of(&[(0, 2410), (3000, 3900), (6000, 2410)]);
    // 3900 is a line; 2410 at the eaves is only the foot of a slope.
    assert_eq!((gable.smallest_piece_mm, gable.smallest_by.what), (300.0, Edge::Peak));
    assert_eq!((gable.walls[0].courses_mm.len(), gable.walls[0].top_rip_mm), (13, None));
    assert_eq!(of(&[(0, 2405), (6000, 3020)]).smallest_piece_mm, 20.0, "the high end of a single pitch");
    assert_eq!(
        of(&[(0, 2405), (3000, 2650), (3000, 2750), (6000, 2750)]).smallest_piece_mm,
        50.0,
        "2650 has 2750 beside it"
    );
    assert_eq!(of(&[(0, 2405), (3000, 2550), (3000, 2410), (6000, 2410)]).smallest_piece_mm, 10.0, "a level step");
}

#[test]
fn a_base_begins_a_piece_and_edges_outside_the_wall_begin_none() {
    let stepped =
        Wall { base: Some(outline(&[(0, 0), (3000, 0), (3000, 260), (6000, 260)])), ..wall("N", 2400.0, &[]) };
    let rod =
        courses(&Building { lift_in_mm: 0.0, base_gap_mm: 10.0, ..building(300.0, 0.0, 0.0, vec![stepped]) }).unwrap();
    // 0 + 10 is over the line at 0: the piece goes to 300; 260 + 10 leaves 30.
    assert_eq!((rod.smallest_piece_mm, rod.smallest_by.what), (30.0, Edge::Base));
    let door = opening(None, Some(5.0), Some(2410.0));
    let rod = courses(&building(300.0, 10.0, 10.0, vec![wall("N", 2420.0, &[door])])).unwrap();
    assert_eq!(rod.smallest_piece_mm, 300.0, "a sill below the lowest line, a head at the wall's end");
}

#[test]
fn lined_up_counts_as_a_full_cover_and_ties_go_low() {
    // Every 300 mm it all lines up again: the lowest of the starts that do.
    let lines_up = wall("N", 2410.0, &[opening(None, Some(900.0), Some(2100.0))]);
    let found = courses(&building(300.0, 10.0, 1000.0, vec![lines_up])).unwrap();
    assert_eq!((found.start_mm, found.smallest_piece_mm, found.ok), (300.0, 300.0, true));
    // A full cover, less what the wall's end takes.
    let low = wall("N", 2310.0, &[opening(None, None, Some(2100.0))]);
    assert_eq!(courses(&building(300.0, 0.0, 0.0, vec![low])).unwrap().smallest_piece_mm, 200.0);
}

#[test]
fn starts_are_whole_millimetres_and_heights_may_be_finer() {
    let found = courses(&building(283.5, 25.2, 25.9, vec![wall("N", 2400.0, &[])])).unwrap_err();
    assert_eq!(found.to_string(), "no whole millimetre lies between 25.2 and 25.9 mm: the nearest start is 26 mm");
    let found = courses(&building(283.5, 25.2, 26.9, vec![wall("N", 2400.0, &[])])).unwrap();
    assert_eq!(found.start_mm, 26.0);
    // 2390 − 26 = 8 · 283.5 + 96.
    assert_eq!(found.smallest_piece_mm, 96.0);
}

#[test]
fn bad_buildings_are_named() {
    let said = |building: Building| courses(&building).unwrap_err().to_string();
    let one = |wall: Wall| said(building(300.0, 0.0, 20.0, vec![wall]));
    assert_eq!(said(building(300.0, 50.0, 20.0, vec![])), "lowest start 50 mm is above the highest, 20 mm");
    assert_eq!(said(building(300.0, 0.0, 20.0, vec![])), "0 walls: give 1 to 200");
    let twice = vec![wall("N", 2400.0, &[]), wall("N", 2400.0, &[])];
    assert_eq!(said(building(300.0, 0.0, 20.0, twice)), "wall 'N' is given twice");
    assert_eq!(
        one(wall("N", 2400.0, &[opening(None, Some(900.0), Some(800.0))])),
        "wall 'N', opening 1: sill 900 mm is not below its head, 800 mm"
    );
    assert_eq!(
        said(building(300.0, 30.0, 40.0, vec![wall("N", 20.0, &[])])),
        "wall 'N': top 20 mm is not above the lowest start, 30 mm"
    );
    assert_eq!(said(building(0.0, 0.0, 20.0, vec![wall("N", 2400.0, &[])])), "cover 0 mm is outside 1 to 200000 mm");
    assert_eq!(
        said(building(11.0, 0.0, 20.0, vec![wall("N", 60_500.0, &[])])),
        "wall 'N' would have 5499 courses: the limit is 5000. Is the cover right?"
    );
    assert_eq!(said(building(300.0, 0.0, 9e9, vec![])), "highest start 9000000000 mm is outside -200000 to 200000 mm");
    let shaped = |top: &[(i32, i32)], base: Option<&[(i32, i32)]>| {
        one(Wall { top: outline(top), base: base.map(outline), ..wall("N", 0.0, &[]) })
    };
    assert_eq!(
        shaped(&[(0, 2400), (3000, 2400), (2900, 2600)], None),
        "wall 'N': the top runs backwards: point 3, at 2900 mm, stands left of the point before it"
    );
    assert_eq!(
        shaped(&[(0, 2400), (3000, 2400), (3000, 2900), (3000, 2600), (6000, 2600)], None),
        "wall 'N': the top crosses itself: points 2 to 4 all stand at 3000 mm, and a step has two"
    );
    assert_eq!(
        shaped(&[(0, 2400), (6000, 2400)], Some(&[(0, 0), (6000, 3000)])),
        "wall 'N': base and top cross: at 6000 mm the base, 3000 mm, is above the top, 2400 mm"
    );
    assert_eq!(
        one(Wall {
            top: outline(&[(0, 2400), (6000, 2400)]),
            ..wall("N", 0.0, &[opening(Some((5000.0, 6100.0)), None, None)])
        }),
        "wall 'N', opening 1 reaches past the end of the wall"
    );
    let gains = |least: f64, most: f64| {
        said(Building { gains_mm: Some((least, most)), ..building(300.0, 0.0, 20.0, vec![wall("N", 2400.0, &[])]) })
    };
    assert_eq!(gains(290.0, 295.0), "cover 300 mm is not between the least, 290 mm, and the most, 295 mm");
    assert!(gains(1.0, 200_000.0).contains("bring them closer together"));
}

#[test]
fn the_rod_has_every_mark_once() {
    let window = opening(None, Some(250.0), Some(650.0));
    let door = opening(None, None, Some(650.0));
    let two = building(300.0, 20.0, 20.0, vec![wall("N", 700.0, &[window]), wall("E", 950.0, &[door])]);
    let two = Building { overhang_mm: 20.0, ..two };
    let rod: Courses = courses(&two).unwrap();
    let told: Vec<_> = marks(&two, &rod).into_iter().map(|m| (m.height_mm, m.what, m.walls.join(" "))).collect();
    assert_eq!(
        told,
        [
            (0.0, MarkKind::Course(1), String::new()),
            (20.0, MarkKind::Start, String::new()),
            (250.0, MarkKind::Sill, "N".into()),
            (300.0, MarkKind::Course(2), String::new()),
            (600.0, MarkKind::Course(3), String::new()),
            (650.0, MarkKind::Head, String::new()),
            (700.0, MarkKind::Top, "N".into()),
            (900.0, MarkKind::Course(4), "E".into()),
            (950.0, MarkKind::Top, "E".into()),
        ]
    );
}

#[test]
fn each_lift_starts_where_it_leaves_most() {
    let floors = Floors { lines_mm: vec![2700.0], gap_mm: 20.0, range_mm: 300.0 };
    let one = Building { lift_in_mm: 5.0, floors, ..building(600.0, 0.0, 0.0, vec![wall("N", 5400.0, &[])]) };
    let found = courses(&one).unwrap();
    // By hand: below 2400 is the last line, 295 under 2695. Above any start from 2720 to 3020 may be taken: from 2995 on the
    // fourth course ends at 5395.
    assert_eq!((found.smallest_piece_mm, found.smallest_by.what, found.smallest_by.at_mm), (295.0, Edge::Top, 2700.0));
    assert_eq!((found.start_mm, found.lifts[0].line_mm), (0.0, 2995.0));
    assert_eq!(found.walls[0].courses_mm[4..], [2400.0, 2995.0, 3595.0, 4195.0, 4795.0]);
    assert_eq!(found.walls[0].top_rip_mm, Some(600.0));
    // A wall that ends below the floor line has no part above it, one on a roof none below.
    let roof = Outline { points: vec![[0.0, 2800.0], [3000.0, 2800.0]] };
    let upper = Wall { base: Some(roof), ..wall("U", 5400.0, &[]) };
    let floors = Floors { lines_mm: vec![2700.0], gap_mm: 20.0, range_mm: 0.0 };
    let walls = vec![wall("N", 2400.0, &[]), upper];
    let found = courses(&Building { floors, ..building(600.0, 0.0, 0.0, walls) }).unwrap();
    let lines: Vec<f64> = found.walls.iter().map(|wall| wall.courses_mm[0]).collect();
    assert_eq!((lines, found.walls[0].courses_mm.len()), (vec![0.0, 2720.0], 4));
    let close = Floors { lines_mm: vec![2700.0, 2710.0], gap_mm: 20.0, range_mm: 0.0 };
    let said = courses(&Building { floors: close, ..building(600.0, 0.0, 0.0, vec![wall("N", 5400.0, &[])]) });
    let message =
        "floor lines at 2700 and 2710 mm: the second has to be further above the first than the joint is high";
    assert_eq!(said.unwrap_err().to_string(), message);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// A lift above a floor line is what a building of its own would be that stands there.
    #[test]
    fn a_lift_is_a_building_of_its_own(cover in 150..460_i32, floor in 1500..3000_i32, range in 0..300_i32, high in 900..3000_i32) {
        let [cover, floor, range, high] = [cover, floor, range, high].map(f64::from);
        let at = |up: f64, floors: Floors, lowest: f64, highest: f64| {
            let one = building(cover, lowest, highest, vec![wall("N", high + up, &[])]);
            courses(&Building { floors, ..one }).unwrap()
        };
        let whole = at(floor + 20.0, Floors { lines_mm: vec![floor], gap_mm: 20.0, range_mm: range }, 0.0, 0.0);
        let alone = at(0.0, Floors::default(), 0.0, range);
        let above: Vec<f64> = whole.walls[0].courses_mm.iter().filter(|line| **line > floor).map(|line| line - floor - 20.0).collect();
        prop_assert_eq!(&above, &alone.walls[0].courses_mm);
        prop_assert_eq!(whole.walls[0].top_rip_mm, alone.walls[0].top_rip_mm);
        prop_assert!(whole.smallest_piece_mm <= alone.smallest_piece_mm);
    }
}
