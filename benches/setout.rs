//! The set-out sums at the size of a large building. Each is to take under 50 ms:
//! `cargo bench --no-default-features --bench setout`.

use cladlog::setout::columns::{Gap, Run, columns};
use cladlog::setout::courses::{Building, Floors, Opening, Wall, courses};
use cladlog::setout::outline::Outline;
use cladlog::setout::packing::{Fixing, PackingRules, pack};
use cladlog::setout::panels::{Gaps, SetOut, WallOpening, columns_between, even_courses, panels};

fn main() {
    divan::main();
}

/// A small generator, so that every run measures the same wall.
fn noise(seed: &mut u64) -> f64 {
    *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    (*seed >> 33) as f64 / f64::from(1_u32 << 31) - 0.5
}

/// 100 studs, four heights; readings to the millimetre or to the hundredth.
fn frame(parts: f64) -> Vec<Fixing> {
    let mut seed = 1;
    (0..400)
        .map(|i| Fixing {
            stud_mm: f64::from(i / 4) * 600.0,
            height_mm: f64::from(i % 4) * 800.0,
            reading_mm: (noise(&mut seed) * 16.0 * parts).round() / parts,
        })
        .collect()
}

#[divan::bench]
fn packing_400_fixings(bencher: divan::Bencher) {
    let frame = frame(1.0);
    bencher.bench(|| pack(&frame, &PackingRules::default()));
}

#[divan::bench]
fn packing_400_fixings_to_the_hundredth(bencher: divan::Bencher) {
    let frame = frame(100.0);
    bencher.bench(|| pack(&frame, &PackingRules::default()));
}

#[divan::bench]
fn packing_400_fixings_all_true(bencher: divan::Bencher) {
    let frame: Vec<Fixing> = frame(1.0).into_iter().map(|f| Fixing { reading_mm: 2.0, ..f }).collect();
    bencher.bench(|| pack(&frame, &PackingRules::default()));
}

#[divan::bench]
fn storey_rod_12_walls_60_openings(bencher: divan::Bencher) {
    let mut seed = 2;
    let mut whole = |middle: f64, spread: f64| (middle + spread * noise(&mut seed)).round();
    let walls = (0..12)
        .map(|n| Wall {
            key: format!("W{n}"),
            top: Outline::level(whole(2700.0, 400.0)),
            base: None,
            openings: (0..5)
                .map(|_| Opening {
                    sill_mm: Some(whole(900.0, 300.0)),
                    head_mm: Some(whole(2100.0, 200.0)),
                    ..Opening::default()
                })
                .collect(),
        })
        .collect();
    let building = Building {
        cover_mm: 283.0,
        gains_mm: None,
        overhang_mm: 16.0,
        lowest_mm: 26.0,
        highest_mm: 309.0,
        least_piece_mm: 50.0,
        lift_in_mm: 10.0,
        head_gap_mm: 10.0,
        sill_gap_mm: 10.0,
        base_gap_mm: 0.0,
        floors: Floors::default(),
        walls,
    };
    bencher.bench(|| courses(&building));
}

fn wall_of_60_m(studs: bool) -> Run {
    Run {
        length_mm: 60_000.0,
        panel_mm: 2400.0,
        least_mm: 300.0,
        joint_mm: 10.0,
        studs_mm: if studs { (0..=100).map(|n| f64::from(n) * 600.0).collect() } else { Vec::new() },
        openings: (0..40)
            .map(|n| Gap { from_mm: f64::from(n) * 1480.0 + 500.0, to_mm: f64::from(n) * 1480.0 + 1300.0 })
            .collect(),
        clear_of_opening_mm: 100.0,
        ..Run::default()
    }
}

#[divan::bench]
fn columns_60_m_40_openings(bencher: divan::Bencher) {
    let wall = wall_of_60_m(true);
    bencher.bench(|| columns(&wall));
}

#[divan::bench]
fn columns_60_m_40_openings_no_studs(bencher: divan::Bencher) {
    let wall = wall_of_60_m(false);
    bencher.bench(|| columns(&wall));
}

#[divan::bench]
fn columns_60_m_bare(bencher: divan::Bencher) {
    let wall = Run { openings: Vec::new(), ..wall_of_60_m(false) };
    bencher.bench(|| columns(&wall));
}

/// 60 m with a gable, 60 windows in two rows, 40 courses.
#[divan::bench(args = [0.0, 30.0])]
fn panels_60_m_gable_60_openings_40_courses(bencher: divan::Bencher, lap_mm: f64) {
    let top = Outline { points: vec![[0.0, 4000.0], [30_000.0, 12_000.0], [60_000.0, 4000.0]] };
    let window = |n: i32| {
        let (from_mm, sill_mm) = (500.0 + f64::from(n % 30) * 1980.0, if n < 30 { 900.0 } else { 2600.0 });
        WallOpening { from_mm, to_mm: from_mm + 1200.0, sill_mm: Some(sill_mm), head_mm: Some(sill_mm + 1200.0) }
    };
    let joints: Vec<f64> = (1..25).map(|n| f64::from(n) * 2400.0).collect();
    let (courses_mm, board_height_mm) = even_courses(13.0, 300.0, lap_mm, &top).unwrap_or_default();
    let wall = SetOut {
        length_mm: 60_000.0,
        columns: vec![columns_between(0.0, 60_000.0, &joints, 10.0)],
        courses_mm,
        board_height_mm,
        top,
        base: None,
        openings: (0..60).map(window).collect(),
        floors: Vec::new(),
        gaps: Gaps { lift_in_mm: 5.0, gap_mm: 10.0, head_gap_mm: 10.0, sill_gap_mm: 10.0, ..Gaps::default() },
        panel_mm: Some(2400.0),
        least_piece_mm: Some(50.0),
    };
    bencher.bench(|| panels(&wall));
}

#[divan::bench]
fn columns_60_m_fewest_panels(bencher: divan::Bencher) {
    let wall = Run { kerf_mm: Some(4.0), courses: Some(40), ..wall_of_60_m(true) };
    bencher.bench(|| columns(&wall));
}

#[divan::bench]
fn columns_9600_fewest_panels_on_studs_of_45(bencher: divan::Bencher) {
    let wall = Run {
        length_mm: 9600.0,
        studs_mm: (0..=16).map(|n| f64::from(n) * 600.0).collect(),
        openings: vec![Gap { from_mm: 2300.0, to_mm: 2900.0 }, Gap { from_mm: 5000.0, to_mm: 6200.0 }],
        stud_width_mm: Some(45.0),
        bearing_mm: Some(18.0),
        kerf_mm: Some(4.0),
        courses: Some(9),
        ..wall_of_60_m(false)
    };
    bencher.bench(|| columns(&wall));
}
