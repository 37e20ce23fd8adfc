//! The lists of a take-off and of the framer on a small invented job: worked by hand (common practice, no source).

use serde_json::{Value, json};

use crate::harness::site::Site;

/// Two walls 2400 high, panels on studs, a door and a window in one of them.
const JOB: &str = r#"
key = "hut"
name = "Garden hut"
time_zone = "Pacific/Auckland"
sequence = "panels-on-clips"
person = [{ name = "Ana", roles = ["lead"] }]
paper = [{ key = "panel-instructions", title = "Panel maker's instructions, edition 3" }]
corner = [{ key = "NE", kind = "metal", walls = ["N", "E"] }]

[panel]
length_mm = 2400
cover_mm = 600
least_column_mm = 300
least_piece_mm = 50
joint_mm = 10
clear_of_opening_mm = 50
lift_in_mm = 0
gap_mm = 10

[[wall]]
key = "N"
length_mm = 6000
height_mm = 2400
bearing_deg = 0
courses = 4
studs_mm = [22.5, 600, 1200, 1800, 2400, 3000, 3600, 4200, 4800, 5400, 5977.5]
joints_mm = [2400, 4800]
[[wall.opening]]
kind = "door"
from_mm = 900
to_mm = 1740
head_mm = 2000
[[wall.opening]]
kind = "window"
from_mm = 3020
to_mm = 4180
sill_mm = 900
head_mm = 2100
[[wall]]
key = "E"
length_mm = 3000
height_mm = 2400
bearing_deg = 90
courses = 4
studs_mm = [22.5, 600, 1200, 1800, 2400, 2977.5]
joints_mm = [1200]
"#;

/// The job with its courses kept; `more` at the end of its file.
pub fn hut(more: &str) -> Site {
    kept(&format!("{JOB}{more}"))
}

fn kept(job: &str) -> Site {
    let site = Site::set_up("2026-03-02T08:00:00+13:00", job, "");
    site.ok("calc courses --lowest 0 --highest 0 --keep");
    site
}

/// The same with a floor line at 1300 and a joint of 20 there.
fn in_two_lifts() -> Site {
    let floors = JOB.replacen("time_zone", "floor_lines_mm = [1300]\ntime_zone", 1);
    kept(&floors.replacen("gap_mm = 10", "gap_mm = 10\nfloor_gap_mm = 20", 1))
}

fn line(order: &Value, item: &str) -> Value {
    let lines = order["lines"].as_array().unwrap();
    lines.iter().find(|line| line["item"] == item).unwrap_or_else(|| panic!("{item}: {order}")).clone()
}

/// Place, pieces and stop ends of each run.
fn runs(line: &Value) -> Vec<(String, Value, u64)> {
    let run = |run: &Value| {
        let place = format!("{}: {}", run["wall"].as_str().unwrap(), run["place"].as_str().unwrap());
        (place, run["pieces_mm"].clone(), run["stop_ends"].as_u64().unwrap_or(0))
    };
    line["runs"].as_array().unwrap().iter().map(run).collect()
}

#[test]
fn flashings_are_cut_with_laps_and_stop_ends() {
    let order = hut("").ok("calc takeoff");
    // Along N the door parts it: 900, and 4260 of 3000 and the rest lapped 100; along E one length.
    let base = line(&order, "base flashings");
    let by_hand = [
        ("N: base from 0 to 900 mm".to_owned(), json!([900]), 1),
        ("N: base from 1740 to 6000 mm".to_owned(), json!([3000, 1360]), 1),
        ("E: base from 0 to 3000 mm".to_owned(), json!([3000]), 0),
    ];
    assert_eq!(runs(&base), by_hand);
    // 8.26 m: 900 and 1360 from one length.
    assert_eq!((&base["needed"], &base["order"], &base["product"]), (&json!(8.26), &json!(3), &json!("flashing")));
    // 50 mm past both sides of each.
    let head = line(&order, "head flashings");
    let by_hand = [("N: over O1".to_owned(), json!([940]), 2), ("N: over O2".to_owned(), json!([1260]), 2)];
    assert_eq!(runs(&head), by_hand);
    assert_eq!((&head["needed"], &head["order"]), (&json!(2.2), &json!(1)));
    let corner = line(&order, "corner flashings");
    assert_eq!(runs(&corner), [("N: corner NE".to_owned(), json!([2400]), 0)]);
    // Starter: 6000 less the door's 840, 3000, and 840 and 1160 over heads.
    assert_eq!(line(&order, "starter")["needed"], 10.16);
    // Only under the sill is anything ripped: the window and a gap either side.
    assert_eq!(line(&order, "strip behind ripped panels")["needed"], 1.18);
}

#[test]
fn battens_stand_on_every_stud_and_stop_at_openings_and_wrap_goes_over_them() {
    let order = hut("").ok("calc takeoff");
    // N has 13 studs with the two beside the door: 11 of 2400, 400 over the door, 900 under and 300 over the window; E 6.
    let battens = line(&order, "cavity battens");
    let mut lengths: Vec<u64> =
        runs(&battens).iter().map(|(_, pieces, _)| pieces.as_array().unwrap()[0].as_u64().unwrap()).collect();
    lengths.sort_unstable();
    assert_eq!(lengths, [vec![300, 400, 900], vec![2400; 17]].concat());
    // 300 and 400 fit what 2400 leaves of 3000; 900 takes one more.
    assert_eq!((&battens["needed"], &battens["order"]), (&json!(42.4), &json!(18)));
    // Two strips 1370 wide, the second from 1220 up; 150 round both ends: 2 x 6300 and 2 x 3300.
    let wrap = line(&order, "wrap");
    let strips: Vec<Value> = runs(&wrap).into_iter().map(|(_, pieces, _)| pieces[0].clone()).collect();
    assert_eq!(strips, [6300, 6300, 3300, 3300]);
    assert_eq!((&wrap["needed"], &wrap["order"]), (&json!(19.2), &json!(1)));
    // 19.2 x 1.37, and 0.84 x 2 with 1.16 x 1.2 of it.
    assert!(wrap["rule"].as_str().unwrap().ends_with("26.3 m², 3.1 m² of it cut out at openings"), "{wrap}");
}

#[test]
fn fixings_are_those_of_the_table_that_the_job_holds() {
    let clips = |more: &str| line(&hut(more).ok("calc takeoff --wall E"), "clips");
    // Four courses on seven: the stud at the joint bears two pieces.
    assert_eq!(clips("")["needed"], 28.0);
    let head = "[fixing]\npaper = \"panel-instructions\"\nclause = \"table 3, high wind\"\nedge_zone_mm = 700\n";
    // 22.5, 600, 2400 and 2977.5 lie in the zones at the ends, the top course in the one at the top: 3 x 11 and 14.
    let each = clips(&format!("{head}field = {{ each = 1 }}\nedge = {{ each = 2 }}\n"));
    assert_eq!(each["needed"], 47.0);
    assert_eq!(each["basis"], "Panel maker's instructions, edition 3, table 3, high wind");
    // A piece of 600: three at 300 and four at 200; of the third course 500 lie below the zone and 100 in it: 2 + 1 + 1.
    let spaced = clips(&format!("{head}field = {{ spacing_mm = 300 }}\nedge = {{ spacing_mm = 200 }}\n"));
    assert_eq!(spaced["needed"], f64::from(25 + 25 + 28 + 28));
}

#[test]
fn the_framer_is_told_of_every_edge_that_nothing_stands_behind() {
    let list = hut("").ok("calc framer --wall N");
    let north = &list["walls"][0];
    let studs: Vec<(f64, &str)> = north["studs"]
        .as_array()
        .unwrap()
        .iter()
        .map(|stud| (stud["at_mm"].as_f64().unwrap(), stud["serves"][0].as_str().unwrap()))
        .collect();
    // Panels end 10 beside the door, at 890 and 1750: the one stands flush there, the other against the stud at 1800.
    assert_eq!(studs, [(867.5, "left side of O1"), (1755.0, "right side of O1")]);
    let blocking: Vec<(f64, &str)> = north["blocking"]
        .as_array()
        .unwrap()
        .iter()
        .map(|it| (it["height_mm"].as_f64().unwrap(), it["serves"].as_str().unwrap()))
        .collect();
    assert_eq!(blocking, [(890.0, "sill of O2"), (2010.0, "head of O1"), (2110.0, "head of O2"), (2400.0, "top edge")]);
    assert!(north["no_room"].is_null());
}

#[test]
fn a_floor_line_begins_a_lift_with_courses_of_its_own() {
    let site = in_two_lifts();
    let rod = site.ok("calc courses --lowest 0 --highest 0");
    // Below 0, 600 and 1200, the last 100 high; above from 1320 and 1920, the last 480 under the top.
    assert_eq!(rod["walls"][1]["courses_mm"], json!([0.0, 600.0, 1200.0, 1320.0, 1920.0]));
    assert_eq!(rod["lifts"], json!([{ "floor_mm": 1300.0, "line_mm": 1320.0 }]));
    assert_eq!((&rod["smallest_piece_mm"], &rod["walls"][1]["top_rip_mm"]), (&json!(100.0), &json!(480.0)));
    // What C4 promises, C6 cuts: E is 3000 long with one joint of 10, and nothing stands between 1300 and 1320.
    let panels = site.ok("calc panels --wall E");
    let pieces = panels["pieces"].as_array().unwrap();
    let heights: Vec<f64> = pieces.iter().map(|piece| piece["height_mm"].as_f64().unwrap()).collect();
    assert_eq!(heights, [600.0, 600.0, 600.0, 600.0, 100.0, 100.0, 600.0, 600.0, 480.0, 480.0]);
    assert!((panels["area_m2"].as_f64().unwrap() - 2.99 * 2.38).abs() < 1e-9, "{}", panels["area_m2"]);
    // The joint is flashed and the lift above it started along it, but not across the door and the window.
    let order = site.ok("calc takeoff");
    let floor = line(&order, "floor-line flashings");
    let by_hand = [
        ("N: floor line at 1300 mm from 0 to 900 mm".to_owned(), json!([900]), 0),
        ("N: floor line at 1300 mm from 1740 to 3020 mm".to_owned(), json!([1280]), 0),
        ("N: floor line at 1300 mm from 4180 to 6000 mm".to_owned(), json!([1820]), 0),
        ("E: floor line at 1300 mm from 0 to 3000 mm".to_owned(), json!([3000]), 0),
    ];
    assert_eq!(runs(&floor), by_hand);
    // 10.16 m as without it, and 4 m and 3 m over the floor line.
    assert_eq!(line(&order, "starter")["needed"], 17.16);
    // Battens part there: on E 1300 and 1080 on each of six studs.
    let of_east = runs(&line(&order, "cavity battens")).into_iter().filter(|(place, ..)| place.starts_with("E:"));
    let lengths: Vec<u64> = of_east.map(|(_, pieces, _)| pieces[0].as_u64().unwrap()).collect();
    assert_eq!(lengths, [1300, 1080].repeat(6));
    let blocking = &site.ok("calc framer --wall E")["walls"][0]["blocking"];
    let behind: Vec<&str> = blocking.as_array().unwrap().iter().map(|it| it["serves"].as_str().unwrap()).collect();
    assert_eq!(behind, ["below the floor line", "above the floor line", "top edge"]);
}

#[test]
fn floor_lines_that_cannot_be_are_refused_with_their_place() {
    let site = in_two_lifts();
    let bad = |lines: &str, gap: &str| {
        let floors = JOB.replacen("time_zone", &format!("floor_lines_mm = {lines}\ntime_zone"), 1);
        site.file("bad.toml", &floors.replacen("gap_mm = 10", gap, 1));
        site.bad("job revise bad.toml --why change")
    };
    assert!(bad("[2600, 1500]", "gap_mm = 10\nfloor_gap_mm = 20").contains("floor lines must go up"));
    assert!(bad("[1500]", "gap_mm = 10").contains("floor lines need 'floor_gap_mm' in [panel]"));
    assert!(bad("[1500]", "gap_mm = 10\nfloor_gap_mm = -1").contains("floor_gap_mm"));
}

#[test]
fn a_stud_is_asked_for_nowhere_that_one_stands() {
    // The joint of E is moved 30 off its stud: 1170 in the drawings, 1200 on the wall, 45 wide.
    let list = kept(&JOB.replace("joints_mm = [1200]", "joints_mm = [1170]")).ok("calc framer --wall E");
    let studs: Vec<(f64, &str)> = list["walls"][0]["studs"]
        .as_array()
        .unwrap()
        .iter()
        .map(|stud| (stud["at_mm"].as_f64().unwrap(), stud["serves"][0].as_str().unwrap()))
        .collect();
    // The left edge at 1165 is borne by a stud against the one that stands; the right one, at 1175, would need a third.
    assert_eq!(studs, [(1155.0, "joint at 1170 mm, left edge")], "{list}");
    assert_eq!(list["walls"][0]["no_room"], json!(["joint at 1170 mm, right edge"]));
}

#[test]
fn a_batten_on_the_side_of_an_opening_ends_at_it() {
    // A stud centred on the side of the door, and none added there: its batten stands over the head alone.
    let on_its_side = JOB.replace("600, 1200, 1800", "600, 900, 1200, 1800");
    let order = kept(&on_its_side.replace("gap_mm = 10", "gap_mm = 60")).ok("calc takeoff");
    let battens = runs(&line(&order, "cavity battens"));
    let lengths = |stud: &str| {
        let of_stud = battens.iter().filter(|(place, ..)| place.starts_with(&format!("N: stud {stud},")));
        of_stud.map(|(_, pieces, _)| pieces[0].as_u64().unwrap()).collect::<Vec<_>>()
    };
    // From the head at 2000 to the top at 2400; the stud beside it stands from foot to top.
    assert_eq!((lengths("900"), lengths("817.5")), (vec![400], vec![2400]), "{battens:?}");
}

#[test]
fn a_stud_in_an_opening_bears_nothing_beside_it_and_is_not_in_the_way() {
    let on_its_side = JOB.replace("2400, 3000, 3600, 4200", "2400, 3020, 3600, 4200");
    let over_it = "[[wall.opening]]\nkind = \"window\"\nfrom_mm = 3300\nto_mm = 3900\nsill_mm = 2200\nhead_mm = 2320\n";
    let job = on_its_side.replacen("[[wall]]\nkey = \"E\"", &format!("{over_it}[[wall]]\nkey = \"E\""), 1);
    let list = kept(&job).ok("calc framer --wall N");
    assert!(list["walls"][0]["no_room"].is_null(), "{list}");
    let studs = list["walls"][0]["studs"].as_array().unwrap();
    let behind = |edge: &str| {
        let stud = studs.iter().find(|stud| stud["serves"][0] == edge).unwrap_or_else(|| panic!("{edge}: {list}"));
        ["at_mm", "bottom_mm", "top_mm"].map(|key| stud[key].as_f64().unwrap())
    };
    assert_eq!(behind("left side of O2"), [2987.5, 0.0, 2400.0]);
    // The one at 3020 would stand in its room over and under the window: it is moved there, and has no batten of its own.
    let moved = studs.iter().find(|stud| stud["serves"][0] == "left side of O2").unwrap();
    assert_eq!(moved["instead_of_mm"], json!([3020.0]));
    let order = kept(&job).ok("calc takeoff");
    let battens = runs(&line(&order, "cavity battens"));
    let up = |stud: &str| battens.iter().filter(|(place, ..)| place.starts_with(&format!("N: stud {stud},"))).count();
    assert_eq!((up("2987.5"), up("3020"), up("3600")), (1, 0, 3), "{battens:?}");
    // Over the lower window a stud begins at its head.
    assert_eq!(behind("left side of O3"), [3267.5, 2100.0, 2400.0]);
}
