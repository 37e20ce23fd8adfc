//! C9.

use cladlog::sealing::movement::{Movement, joint_width};
use cladlog::units::Length;

use super::answer;

const INCH_MM: f64 = 25.4;

#[test]
fn thermal_movement_as_printed() {
    // Calculator sheet, id.scribd.com/document/351821316: 360 in over 100 °F. Per °F on both sides, so the unit cancels.
    for (alpha_f, inches) in [(12.3e-6, 0.44280), (8.0e-6, 0.28800), (7.3e-6, 0.26280), (2.8e-6, 0.10080)] {
        let joint = Movement {
            length: Length::mm(360.0 * INCH_MM),
            range_c: 100.0 / 1.8,
            alpha_per_c: alpha_f * 1.8,
            moisture_pct: 0.0,
        };
        let found = joint_width(&joint, 25.0).unwrap().movement.as_mm() / INCH_MM;
        assert!((found - inches).abs() < 1e-9, "{found}");
    }
}

#[test]
fn widths_by_exact_arithmetic() {
    // Movement over the class's share; the short form a = dL / m (syma.es/eng/guide5.html).
    for (length, range, alpha, class, movement, width) in [
        ("3", "80", "0.000024", "25", 5.76, 23.04),
        ("2.4", "60", "0.00001", "20", 1.44, 7.20),
        ("3", "50", "1e-5", "12.5", 1.50, 12.00),
    ] {
        let sum = answer(&format!(
            "movement --length-m {length} --temp-range-c {range} --alpha-per-c {alpha} --moisture-pct 0 --class {class}"
        ));
        assert!((sum["movement_mm"].as_f64().unwrap() - movement).abs() < 1e-9, "{sum}");
        assert!((sum["least_width_mm"].as_f64().unwrap() - width).abs() < 1e-9, "{sum}");
    }
}

#[test]
fn the_closing_joint_of_a_solved_assignment() {
    // Cornell ARCH 262, Fall 2007, assignment 3, solved: brick of 360 in, 3.6e-6 per °F, −15 to 105 °F, laid at 60 to 75 °F,
    // moisture 0.0002; closing 0.3803 in with 0.25 in of structural movement: 0.1303 in are ours.
    let joint = Movement {
        length: Length::mm(360.0 * INCH_MM),
        range_c: (105.0 - 60.0) / 1.8,
        alpha_per_c: 3.6e-6 * 1.8,
        moisture_pct: 0.02,
    };
    let found = joint_width(&joint, 50.0).unwrap();
    assert!((found.movement.as_mm() / INCH_MM + 0.25 - 0.3803).abs() < 0.0001);
    // Twice the movement for a sealant of 50 %: 0.7607 in with the structural part.
    assert!((found.least_width.as_mm() / INCH_MM + 0.5 - 0.7607).abs() < 0.0002);
}

#[test]
fn metres_that_one_cartridge_fills() {
    // Yield identity (1 mm² of section is 1 ml a metre), by exact arithmetic: 300, 310 and 600 ml.
    for (width, depth, metres) in [
        ("5", "5", ["12.00", "12.40", "24.00"]),
        ("10", "5", ["6.00", "6.20", "12.00"]),
        ("10", "6", ["5.00", "5.1666", "10.00"]),
        ("20", "10", ["1.50", "1.55", "3.00"]),
    ] {
        for (length, cartridge) in metres.into_iter().zip(["300", "310", "600"]) {
            let run = |length: &str| {
                answer(&format!(
                    "sealant --width {width} --depth {depth} --length-m {length} --cartridge-ml {cartridge} --waste-pct 0"
                ))
            };
            assert_eq!(run(length)["cartridges"], 1, "{width} {depth} {length} {cartridge}");
            // A millimetre more than the exact lengths takes a second cartridge.
            if length != "5.1666" {
                assert_eq!(run(&format!("{length}1"))["cartridges"], 2);
            }
        }
    }
}

#[test]
fn an_exact_fill_orders_no_spare_cartridge() {
    let sum = |rest: &str| answer(&format!("sealant --width 10 --depth 6 {rest}"));
    assert_eq!(sum("--length-m 5 --waste-pct 0"), serde_json::json!({ "volume_ml": 300.0, "cartridges": 1 }));
    // 10 % waste and 300 ml unless said otherwise.
    assert_eq!(sum("--length-m 5"), serde_json::json!({ "volume_ml": 330.0, "cartridges": 2 }));
    // 10 · 6 · 50 · 1.1 is 3300.0000000000005 as floats, and would order a twelfth.
    assert_eq!(sum("--length-m 50")["cartridges"], 11);
}
