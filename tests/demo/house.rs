//! The demonstration's house by hand: a gable, a window over a window, and a base that steps round a corner.
//!
//! Written down from the drawings with pencil and paper, no line of it by the program. Panels hang 16 mm below the start at 29:
//! the course lines are 13 + 600 k. Lift-in 5; gaps 10 round openings, over the base and beside its steps; joints 10 wide at
//! 2400, 4800 and, on the longer walls, 7200.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use crate::harness::site::Site;

const STARTER: &str = "calc starter starter.csv --clear-flashing 10 --clear-ground 100 --overhang 16 --cover 25 --keep";

fn set_out() -> Site {
    let site = Site::folder("2026-03-03T08:25:00+13:00", "demo-db/job.toml");
    site.file("starter.csv", &std::fs::read_to_string(crate::harness::root().join("demo-db/starter.csv")).unwrap());
    site.ok("job add job.toml");
    site.ok(STARTER);
    assert_eq!(site.ok("calc courses --keep")["start_mm"], 29.0);
    for wall in ["N", "E", "S", "W"] {
        site.ok(format!("calc columns --wall {wall} --keep"));
    }
    site
}

/// The pieces of a wall, by label.
fn pieces(site: &Site, wall: &str) -> BTreeMap<String, Value> {
    let cut = site.ok(format!("calc panels --wall {wall}"));
    let piece = |piece: &Value| (piece["label"].as_str().unwrap().to_owned(), piece.clone());
    cut["pieces"].as_array().unwrap().iter().map(piece).collect()
}

/// The corners of a piece, from its lowest left one on.
fn outline(piece: &Value) -> Vec<[f64; 2]> {
    let mut points: Vec<[f64; 2]> = serde_json::from_value(piece["outline_mm"].clone()).unwrap();
    let first = (0..points.len())
        .min_by(|a, b| (points[*a][1], points[*a][0]).partial_cmp(&(points[*b][1], points[*b][0])).unwrap());
    points.rotate_left(first.unwrap());
    points
}

#[test]
fn the_gable_is_cut_to_its_rake() {
    let east = pieces(&set_out(), "E");
    // It rises 600 over 3600: 1 in 6, 9.462 degrees. Less the lift-in it ends at 5395 at the eaves and at 5995 at the ridge.
    // The tenth course begins at 5413, 18 over the eaves: 108 in from either end.
    assert_eq!(
        outline(&east["C9-1"]),
        [[0.0, 4813.0], [2395.0, 4813.0], [2395.0, 5413.0], [108.0, 5413.0], [0.0, 5395.0]]
    );
    // At 2395 the rake stands at 5395 + 2395 / 6.
    assert_eq!(outline(&east["C10-1"]), [[108.0, 5413.0], [2395.0, 5413.0], [2395.0, 5794.167]]);
    let ridge = [[2405.0, 5413.0], [4795.0, 5413.0], [4795.0, 5795.833], [3600.0, 5995.0], [2405.0, 5795.833]];
    assert_eq!(outline(&east["C10-2"]), ridge);
    assert_eq!(outline(&east["C10-3"]), [[4805.0, 5413.0], [7092.0, 5413.0], [4805.0, 5794.167]]);
    assert_eq!(east["C10-2"]["angles_deg"], json!([9.462322, 9.462322]));
    // 2287 by 381.167, halved.
    assert!((east["C10-1"]["area_m2"].as_f64().unwrap() - 0.435_864).abs() < 1e-6);
}

#[test]
fn the_base_steps_round_the_corner() {
    let site = set_out();
    let (south, east) = (pieces(&site, "S"), pieces(&site, "E"));
    // South: 300 up from 6000 on, so that the panel stands at 310 there and 10 clear of the step's upright.
    let stepped = [[4805.0, 13.0], [5990.0, 13.0], [5990.0, 310.0], [7195.0, 310.0], [7195.0, 613.0], [4805.0, 613.0]];
    assert_eq!(outline(&south["C1-3"]), stepped);
    assert_eq!(outline(&south["C1-4"]), [[7205.0, 310.0], [9600.0, 310.0], [9600.0, 613.0], [7205.0, 613.0]]);
    // East, seen from outside with the same corner at its left: up to 1800.
    let stepped = [[1810.0, 13.0], [2395.0, 13.0], [2395.0, 613.0], [0.0, 613.0], [0.0, 310.0], [1810.0, 310.0]];
    assert_eq!(outline(&east["C1-1"]), stepped);
}

#[test]
fn a_window_stands_over_a_window() {
    let north = pieces(&set_out(), "N");
    // Both from 5400 to 6900, in the column from 4805 to 7195: 5390 to 6910 with the gaps. The lower one's gaps end at 890 and
    // 2110, the upper one's at 3290 and 4510.
    let below =
        [[4805.0, 613.0], [7195.0, 613.0], [7195.0, 1213.0], [6910.0, 1213.0], [6910.0, 890.0], [5390.0, 890.0]];
    assert_eq!(outline(&north["C2-3"]), [&below[..], &[[5390.0, 1213.0], [4805.0, 1213.0]]].concat());
    // The fourth course is cut over the lower head: 303 is left over the window, to the line at 2413.
    let over =
        [[4805.0, 1813.0], [5390.0, 1813.0], [5390.0, 2110.0], [6910.0, 2110.0], [6910.0, 1813.0], [7195.0, 1813.0]];
    assert_eq!(outline(&north["C4-3"]), [&over[..], &[[7195.0, 2413.0], [4805.0, 2413.0]]].concat());
    // A whole course between the two, and the sixth notched under the upper sill: 277 is left, the least of the house.
    assert_eq!(outline(&north["C5-3"]), [[4805.0, 2413.0], [7195.0, 2413.0], [7195.0, 3013.0], [4805.0, 3013.0]]);
    assert!(outline(&north["C6-3"]).contains(&[5390.0, 3290.0]));
}

#[test]
fn what_is_ordered_is_what_stands_on_the_drawings() {
    let site = set_out();
    site.ok("calc cuts --wall N,E,S,W --keep");
    let order = site.ok("calc takeoff");
    let needed = |item: &str| {
        let lines = order["lines"].as_array().unwrap();
        lines.iter().find(|line| line["item"] == item).unwrap_or_else(|| panic!("{item}: {order}"))["needed"].clone()
    };
    // Backers: N 3 and W 2 of 5387; E at 2400 and 4800, where the roof is 5800, two of 5787; S two of 5387 and one of 5100.
    assert_eq!(needed("joint backing strips"), 54.383);
    // Corner pieces: NE, SW and NW of 5387, SE of 5100 over the footing.
    assert_eq!(needed("corner pieces"), 21.261);
    // Starter line: 33.6 less the door's 0.96; over heads 0.96 and twice 1.5 on N, 1.2 on E and 1.8 on W.
    assert_eq!(needed("starter"), 39.6);
}
