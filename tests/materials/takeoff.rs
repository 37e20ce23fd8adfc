//! The take-off: worked by hand (common practice, no source), a property, exact messages.

use cladlog::materials::takeoff::{Allowances, WallQuantities, take_off};
use proptest::prelude::*;

fn north() -> WallQuantities {
    WallQuantities {
        wall: "N".into(),
        boards: 37,
        courses: 9,
        columns: 4,
        joints: 3,
        joint_m: 8.1,
        studs: 20,
        starter_m: 11.2,
        corners: 2,
        corner_m: 5.4,
        openings: 2,
        opening_edge_m: 9.6,
        cut_edge_m: 42.0,
        packers: vec![(3.0, 40), (1.5, 130)],
    }
}

#[test]
fn a_wall_worked_by_hand() {
    let allow = Allowances { boards_in_bundle: 10.0, ..Allowances::default() };
    let lines = take_off(&[north()], &allow).unwrap();
    let got: Vec<(&str, u64)> = lines.iter().map(|line| (line.item.as_str(), line.order)).collect();
    let by_hand = [
        ("boards", 4),         // 37 in bundles of 10, no waste on top of the cut plan
        ("starter", 4),        // 11.2 m + 5 % = 11.76 m, lengths of 3 m
        ("clips", 2),          // 20 x 9 = 180 + 5 % = 189, boxes of 100
        ("corner pieces", 2),  // 5.4 m + 5 % = 5.67 m
        ("joint backers", 3),  // 8.1 m + 5 % = 8.505 m
        ("packers 1.5 mm", 2), // 130 + 5 % = 136.5, bags of 100
        ("packers 3 mm", 1),   // 42
        ("fixings", 1),        // 180 x 2 + 11.2 x 2.5 = 388 + 5 % = 407.4, boxes of 500
        ("edge sealer", 2),    // 42 m / 60 = 0.7 l + 10 % = 0.77 l, tins of 0.5 l
        ("primer", 1),         // 8.1 + 9.6 = 17.7 m + 10 % = 19.47 m, a tin does 50 m
        ("sealant", 7),        // 17.7 x 100 = 1770 ml + 10 % = 1947 ml, cartridges of 300
        ("tape", 1),           // 2 runs: 35.4 m + 5 % = 37.17 m, rolls of 50 m
    ];
    assert_eq!(got, by_hand);
    let sealer = &lines[8];
    assert_eq!((sealer.waste_pct, sealer.sold_as.as_str()), (10.0, "tin of 0.5 litres"));
    assert_eq!(sealer.rule, "42 m of cut edge, a litre to 60 m");
}

#[test]
fn walls_share_a_box_and_an_exact_pack_is_one_pack() {
    // 100 clips and 10 %: 110, whatever floating point makes of 1.1.
    let wall = |courses| WallQuantities { wall: "N".into(), studs: 10, courses, ..WallQuantities::default() };
    let allow = Allowances { waste_pieces_pct: 10.0, clips_in_box: 110.0, ..Allowances::default() };
    assert_eq!(take_off(&[wall(10)], &allow).unwrap()[0].order, 1);
    assert_eq!(take_off(&[wall(4), wall(6)], &allow).unwrap()[0].order, 1);
}

#[test]
fn what_cannot_be_meant_names_the_wall_and_the_number() {
    let said = |wall: WallQuantities, allow: Allowances| take_off(&[wall], &allow).unwrap_err().to_string();
    let wall = WallQuantities { joint_m: -1.0, ..north() };
    assert_eq!(said(wall, Allowances::default()), "wall N: joint_m: metres -1 m is outside 0 to 100000 m");
    let wall = WallQuantities { studs: 4_000_000, ..north() };
    assert!(said(wall, Allowances::default()).starts_with("wall N: studs: count 4000000"));
    let allow = Allowances { cartridge_ml: 0.0, ..Allowances::default() };
    assert!(said(north(), allow).starts_with("allowance cartridge_ml: pack 0"));
    let allow = Allowances { waste_wet_pct: f64::NAN, ..Allowances::default() };
    assert!(said(north(), allow).starts_with("allowance waste_wet_pct: waste not a number"));
    assert_eq!(take_off(&[], &Allowances::default()).unwrap_err().to_string(), "there is no wall to take off");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 100, ..ProptestConfig::default() })]

    #[test]
    fn what_is_ordered_covers_the_need_and_no_pack_is_spare(cut_edge_m in 0.0f64..5_000.0, waste in 0.0f64..50.0) {
        let wall = WallQuantities { wall: "N".into(), cut_edge_m, ..WallQuantities::default() };
        let allow = Allowances { waste_wet_pct: waste, ..Allowances::default() };
        for line in take_off(&[wall], &allow).unwrap() {
            let litres = line.needed * (1.0 + waste / 100.0);
            prop_assert!(line.order as f64 * allow.sealer_tin_l >= litres - 1e-6);
            prop_assert!((line.order as f64 - 1.0) * allow.sealer_tin_l < litres + 1e-6);
        }
    }
}
