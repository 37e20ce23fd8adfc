//! The take-off: worked by hand (common practice, no source), one published figure, properties, exact messages, and
//! the command on the demonstration's job.

use cladlog::building::CornerKind;
use cladlog::materials::allowances::{Allowance, Measure};
use cladlog::materials::runs::Run;
use cladlog::materials::takeoff::{CornerQuantity, OfSize, WallQuantities, take_off};
use cladlog::sequence::usual_allowances;
use proptest::prelude::*;
use strum::VariantNames;

use super::job::{run, set_out, site};

fn of(size_mm: f64, count: u32) -> OfSize {
    OfSize { size_mm, count }
}

/// A corner of 2.7 m, five courses high.
fn corner(kind: CornerKind) -> CornerQuantity {
    let run = Run { per: Measure::CornerFlashing, place: "corner NE".into(), length_mm: 2700.0, stop_ends: 0 };
    CornerQuantity { kind, height_m: 2.7, courses: 5, run }
}

fn north() -> WallQuantities {
    WallQuantities {
        wall: "N".into(),
        boards: vec![of(2400.0, 37)],
        area_m2: 45.0,
        crossings: 180,
        fixings: 180,
        starter_m: 9.4,
        floor_m: 0.0,
        ripped_m: 11.2,
        board_ends: 0,
        corners: vec![corner(CornerKind::Preformed), corner(CornerKind::Metal)],
        corner_side_m: 10.8,
        joints: 3,
        joint_m: 8.1,
        openings: 2,
        opening_m: 9.6,
        head_m: 1.8,
        opening_sealed_m: 7.8,
        cut_edge_m: 42.0,
        packers: vec![of(3.0, 40), of(1.5, 130)],
        runs: Vec::new(),
        wrapped: None,
    }
}

fn with(item: &str, change: impl Fn(&mut Allowance)) -> Vec<Allowance> {
    let mut all = usual_allowances();
    all.iter_mut().filter(|allowance| allowance.item == item).for_each(change);
    all
}

#[test]
fn a_wall_worked_by_hand() {
    let allow = with("boards", |boards| (boards.pack, boards.sold_as) = (10.0, "bundle".into()));
    let lines = take_off(&[north()], &allow).unwrap();
    let got: Vec<(&str, u64)> = lines.iter().map(|line| (line.item.as_str(), line.order)).collect();
    let by_hand = [
        ("boards 2400 mm", 4),             // 37 in bundles of 10, no waste on top of the cut plan
        ("corner flashings", 2),           // 2.7 m each, from lengths of 3 m
        ("starter", 4),                    // 9.4 m and 1.8 m over heads: 11.2 m + 5 % = 11.76 m, lengths of 3 m
        ("strip behind ripped panels", 4), // 11.2 m + 5 %
        ("clips", 2),                      // 180 + 5 % = 189, boxes of 100
        ("clip fixings", 1),               // 180 x 2 = 360 + 5 % = 378, boxes of 500
        ("starter fixings", 1),            // 11.2 x 2.5 = 28
        ("corner pieces", 2),              // 5.4 m + 5 % = 5.67 m
        ("joint backing strips", 3),       // 8.1 m + 5 % = 8.505 m
        ("packers 1.5 mm", 2),             // 130 + 5 % = 136.5, bags of 100
        ("packers 3 mm", 1),               // 42
        ("edge sealer", 2),                // 42 m x 15 ml = 630 ml + 10 % = 693 ml, tins of 500 ml
        ("primer", 1),   // 8.1 + 10.8 + 9.6 less 1.8 of heads = 26.7 m + 10 % = 29.37 m, a tin does 50 m
        ("sealant", 10), // 26.7 x 100 = 2670 ml + 10 % = 2937 ml, cartridges of 300
        ("masking tape", 2), // 2 runs: 53.4 m + 5 % = 56.07 m, rolls of 50 m
    ];
    assert_eq!(got, by_hand);
    let sealer = lines.iter().find(|line| line.item == "edge sealer").unwrap();
    assert_eq!((sealer.waste_pct, sealer.sold_as.to_string().as_str()), (10.0, "tin of 500 ml"));
    assert_eq!(sealer.rule, "42 m of cut edge, 15 ml each");
    assert!(sealer.basis.contains("two coats on an edge"), "{}", sealer.basis);
    let clips = lines.iter().find(|line| line.item == "clips").unwrap();
    assert_eq!(clips.rule, "180 fixings");
}

#[test]
fn a_cartridge_of_sealant_goes_as_far_as_its_seller_says() {
    // Midwest Sealant Supply (midwestsealantsupply.com/23823/24023.html): a cartridge of 10.1 fl oz does 18 divided by the
    // cubic inches per lineal foot. A joint 1/4 by 1/4 in is 3/4 cubic inches a foot: 24 ft.
    let allow = with("sealant", |sealant| {
        (sealant.rate, sealant.pack, sealant.waste_pct) = (6.35 * 6.35, 18.0 * 16.387_064, 0.0);
    });
    let order = |feet: f64| {
        let wall = WallQuantities { joint_m: feet * 0.3048, ..WallQuantities::default() };
        take_off(&[wall], &allow).unwrap().iter().find(|line| line.item == "sealant").unwrap().order
    };
    assert_eq!((order(24.0), order(24.01)), (1, 2));
}

#[test]
fn walls_share_a_box_and_an_exact_pack_is_one_pack() {
    // 100 clips and 10 %: 110, whatever floating point makes of 1.1.
    let wall = |fixings| WallQuantities { fixings, ..WallQuantities::default() };
    let allow = with("clips", |clips| (clips.waste_pct, clips.pack) = (10.0, 110.0));
    assert_eq!(take_off(&[wall(100)], &allow).unwrap()[0].order, 1);
    assert_eq!(take_off(&[wall(40), wall(60)], &allow).unwrap()[0].order, 1);
}

#[test]
fn what_cannot_be_meant_names_the_wall_or_the_line_and_the_number() {
    let said = |wall: WallQuantities, allow: Vec<Allowance>| take_off(&[wall], &allow).unwrap_err().to_string();
    let wall = WallQuantities { joint_m: -1.0, ..north() };
    assert_eq!(said(wall, usual_allowances()), "wall N: joint_m: metres -1 m is outside 0 to 100000 m");
    let wall = WallQuantities { crossings: 4_000_000, ..north() };
    assert!(said(wall, usual_allowances()).starts_with("wall N: crossings: count 4000000"));
    let allow = with("sealant", |sealant| sealant.pack = 0.0);
    assert!(said(north(), allow).starts_with("allowance for sealant: pack: pack 0"));
    let allow = with("primer", |primer| primer.waste_pct = f64::NAN);
    assert!(said(north(), allow).starts_with("allowance for primer: waste_pct: waste not a number"));
    assert_eq!(take_off(&[], &usual_allowances()).unwrap_err().to_string(), "there is no wall to take off");
}

#[test]
fn a_measure_has_one_word_in_sequences_and_in_json() {
    for word in Measure::VARIANTS {
        let measure: Measure = word.parse().unwrap();
        assert_eq!(serde_json::to_value(measure).unwrap(), serde_json::Value::from(*word));
    }
}

#[test]
fn the_job_is_taken_off_by_its_geometry_and_its_sequence() {
    let bench = site(|text| text);
    set_out(&bench);
    let told = run(&bench, "calc takeoff --wall S --csv order.csv").exits(0).json();
    let line = |item: &str| {
        let lines = told["lines"].as_array().unwrap();
        lines.iter().find(|line| line["item"] == item).unwrap_or_else(|| panic!("{item}: {told}")).clone()
    };
    // South: 9600 long, no openings, courses from 13 to 5400, joints at 2400, 4800 and 7200, studs each 600, two
    // behind each joint; from 6000 to the east end, where SE stands, its base is 300 up.
    assert_eq!(line("boards 2400 mm")["order"], 36);
    assert_eq!((&line("starter")["needed"], &line("starter")["order"]), (&9.6.into(), &4.into()));
    // 9 courses over 20 studs: each piece is clipped to one of the pair behind its joint.
    assert_eq!(line("clips")["needed"], 180.0);
    assert_eq!(line("clip fixings")["needed"], 360.0);
    // Two joints and SW 5387 high, one joint and SE 5100.
    assert_eq!(line("joint backing strips")["needed"], 15.874);
    assert_eq!(line("corner pieces")["needed"], 10.487);
    // Sealed too: this wall's side of SE; SW is left dry. 20.974 m, 10 mm wide and so 6 mm deep (C9): 60 ml a metre.
    assert_eq!(line("primer")["needed"], 20.974);
    assert_eq!(line("sealant")["needed"], 1258.44);
    assert_eq!(line("sealant")["order"], 5);
    assert!(line("clips")["basis"].as_str().unwrap().contains("the panel maker's spacing comes first"));
    let csv = std::fs::read_to_string(bench.path("order.csv")).unwrap();
    assert!(
        csv.starts_with("item,order,sold_as,needed,unit,waste_pct,rule,basis\r\nboards 2400 mm,36,board,"),
        "{csv}"
    );
    // No packing is kept for it, and no cut plan: both are said.
    assert_eq!(told["notes"].as_array().unwrap().len(), 2);
}

#[test]
fn kept_plans_are_what_is_counted_and_bundles_are_the_jobs() {
    let bench = site(|text| text.replace("\ngap_mm = 10", "\ngap_mm = 10\nbundle = 8"));
    set_out(&bench);
    run(&bench, "calc packing north-frame.csv --wall N --keep").exits(0);
    let planned = run(&bench, "calc cuts --wall N --keep").exits(0).json();
    let told = run(&bench, "calc takeoff --wall N --keep").exits(0).json();
    let lines = told["lines"].as_array().unwrap();
    let boards = planned["boards"].as_u64().unwrap();
    assert_eq!(
        (lines[0]["order"].as_u64(), lines[0]["sold_as"].as_str()),
        (Some(boards.div_ceil(8)), Some("bundle of 8 boards"))
    );
    assert!(lines.iter().any(|line| line["item"].as_str().unwrap().starts_with("packers ")), "{told}");
    assert!(told["notes"][0].as_str().unwrap().contains("cut plan kept as entry"));
    run(&bench, "calc cuts --whole-job --keep").exits(0);
    let told = run(&bench, "calc takeoff --keep").exits(0).json();
    let notes = told["notes"].as_array().unwrap();
    assert!(notes.iter().any(|note| note.as_str().unwrap().contains("kept for the whole job")), "{notes:?}");
    let said = run(&bench, "calc takeoff --wall N,E --keep").exits(2).stderr;
    assert_eq!(said, "cladlog: a take-off is kept for one wall, or for the whole job\n");
    let person = bench.run(["--db", "site.db", "calc", "takeoff"]).exits(0).stdout;
    assert!(person.lines().all(|line| line.chars().count() <= 80), "{person}");
    run(&bench, "verify").exits(0);
}

#[test]
fn more_walls_never_need_less() {
    let bench = site(|text| text);
    set_out(&bench);
    let order = |walls: &str| {
        let told = run(&bench, &format!("calc takeoff --wall {walls}")).exits(0).json();
        let lines = told["lines"].as_array().unwrap().clone();
        lines.into_iter().map(|line| (line["item"].as_str().unwrap().to_owned(), line["order"].as_u64().unwrap()))
    };
    let all: std::collections::BTreeMap<String, u64> = order("N,E,S,W").collect();
    for (item, count) in order("N,E").chain(order("W")) {
        assert!(all[&item] >= count, "{item}");
    }
}

fn up(per: Measure, length_mm: f64) -> Run {
    Run { per, place: "somewhere".into(), length_mm, stop_ends: 0 }
}

fn any_wall() -> impl Strategy<Value = WallQuantities> {
    let metres = || 0.0f64..500.0;
    let count = || 0u32..500;
    ((count(), count(), count(), count(), count(), count()), (metres(), metres(), metres(), metres(), metres()))
        .prop_map(
            |(
                (boards, crossings, corners, joints, openings, packers),
                (starter_m, corner_m, joint_m, opening_m, cut_edge_m),
            )| {
                WallQuantities {
                    wall: "N".into(),
                    boards: vec![of(2400.0, boards)],
                    area_m2: starter_m,
                    crossings,
                    fixings: crossings,
                    starter_m,
                    floor_m: 0.0,
                    ripped_m: starter_m,
                    board_ends: joints,
                    corners: vec![corner(CornerKind::Metal); corners as usize],
                    corner_side_m: 2.0 * corner_m,
                    joints,
                    joint_m,
                    openings,
                    opening_m,
                    head_m: opening_m / 4.0,
                    opening_sealed_m: opening_m * 0.75,
                    cut_edge_m,
                    packers: vec![of(3.0, packers)],
                    runs: vec![up(Measure::HeadFlashing, opening_m * 1e3), up(Measure::Batten, joint_m * 1e3)],
                    wrapped: None,
                }
            },
        )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn more_wall_never_needs_less(one in any_wall(), other in any_wall()) {
        let alone = take_off(std::slice::from_ref(&one), &usual_allowances()).unwrap();
        let both = take_off(&[one, other], &usual_allowances()).unwrap();
        for line in alone {
            let with = both.iter().find(|with| with.item == line.item).unwrap();
            prop_assert!(with.order >= line.order && with.needed >= line.needed - 1e-9);
        }
    }

    #[test]
    fn what_is_ordered_covers_the_need_and_no_pack_is_spare(cut_edge_m in 0.0f64..5_000.0, waste in 0.0f64..50.0) {
        let wall = WallQuantities { cut_edge_m, ..WallQuantities::default() };
        let allow = with("edge sealer", |sealer| sealer.waste_pct = waste);
        for line in take_off(&[wall], &allow).unwrap() {
            let ml = line.needed * (1.0 + waste / 100.0);
            prop_assert!(line.order as f64 * 500.0 >= ml - 1e-3);
            prop_assert!((line.order as f64 - 1.0) * 500.0 < ml + 1e-3);
        }
    }
}
