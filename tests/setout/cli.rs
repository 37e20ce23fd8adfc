//! The set-out sums through the binary.

use crate::harness::{Bench, Run};
use serde_json::json;

fn bench() -> Bench {
    Bench::at("2026-03-02T07:00:00+13:00")
}

fn calc(bench: &Bench, name: &str, file: &str, text: &str, rest: &[&str]) -> Run {
    bench.file(file, text);
    bench.run([&["calc", name, file], rest].concat())
}

const WALL: &str = "reading_mm,stud_mm,height_mm\n0,0,0\n3,600,0\n-2,1200,0\n4,1800,0\n1,2400,0\n";

#[test]
fn packing_gives_the_json_of_the_contract() {
    let bench = bench();
    let given = calc(&bench, "packing", "wall.csv", WALL, &["--flat", "0", "--json"]).exits(0).json();
    assert_eq!(given["total_mm"], json!(11.5));
    assert_eq!(given["plane"]["at_origin_mm"], json!(2.5));
    assert_eq!(given["plane"]["lean_mm_per_m"], json!(0.0));
    assert_eq!(given["fixings"][2], json!({"stud_mm": 1200.0, "height_mm": 0.0, "reading_mm": -2.0, "pack_mm": 5.5}));
    assert_eq!(given["fixings"][1]["packers_mm"], json!([]));
    assert_eq!(given["over"], json!([]));
    let over = calc(&bench, "packing", "wall.csv", WALL, &["--flat", "0", "--most", "5", "--json"]).exits(0).json();
    assert_eq!(over["over"][0]["stud_mm"], json!(1200.0));
    let halves = ["--flat", "0", "--packers", "0.5,5", "--json"];
    let halves = calc(&bench, "packing", "wall.csv", WALL, &halves).exits(0).json();
    assert_eq!(halves["fixings"][2]["packers_mm"], json!([5.0, 0.5]));
}

#[test]
fn packing_prints_a_table_that_fits() {
    let told = calc(&bench(), "packing", "wall.csv", WALL, &["--most", "3"]).exits(0);
    assert!(told.stdout.lines().all(|line| line.chars().count() <= 80), "{}", told.stdout);
}

#[test]
fn packing_names_the_row_that_is_wrong() {
    let bench = bench();
    let said = |text: &str, rest: &[&str]| calc(&bench, "packing", "w.csv", text, rest).exits(2).stderr;
    let head = "stud_mm,height_mm,reading_mm\n";
    assert!(
        said(&format!("{head}0,0,1\n600,0,300\n"), &[]).contains("w.csv:3: reading 300 mm is outside -200 to 200 mm")
    );
    assert!(
        said(&format!("{head}0,0,1\n600,0,1\n0,0,2\n"), &[]).contains("w.csv:4: stud 0 at height 0 is given twice")
    );
    assert!(said(&format!("{head}0,0\n"), &[]).contains("w.csv:2:"));
    assert!(said("stud_mm,reading_mm\n0,0\n", &[]).contains("column 'height_mm' is missing"));
    assert!(said(head, &[]).contains("no rows"));
    assert!(said(WALL, &["--flat", "-1"]).contains("flatness -1 mm"));
    assert!(said(WALL, &["--packers", "0"]).contains("packer 0 mm"));
    bench.run(["calc", "packing", "missing.csv"]).exits(2);
    bench.run(["calc", "packing"]).exits(2);
}

#[test]
fn square_answers_and_checks_with_the_height() {
    let bench = bench();
    let calc = |a: &str, b: &str| {
        bench.run(["calc", "square", "--width", "3000", "--height", "4000", "--diagonals", a, b, "--json"])
    };
    assert_eq!(calc("5003", "4997").exits(0).json(), json!({"out_mm": 5.0}));
    assert_eq!(calc("4997", "5003").exits(0).json(), json!({"out_mm": 5.0}));
    assert!(calc("5000", "900").exits(2).stderr.contains("can't be right for a frame 3000 wide and 4000 high"));
    bench.run(["calc", "square", "--width", "3000", "--height", "4000", "--diagonals", "5000"]).exits(2);
    bench.run(["calc", "square", "--width", "-3", "--height", "4000", "--diagonals", "5000", "5000"]).exits(2);
}

const PLACES: &str = "wall,at_mm,flashing_mm,ground_mm,cover_to_mm\nN,0,0,-200,\nN,2400,3,,80\nE,0,,-140,75\n";

#[test]
fn what_leaves_nothing_to_cut_is_refused_for_what_it_is() {
    let bench = bench();
    let wall = "length_mm = 3000\ntop_mm = 2400\ncover_mm = 600\n";
    let ends = format!("{wall}start_mm = 0\nends = {{left_mm = 1500, right_mm = 1500}}\n");
    let said = calc(&bench, "panels", "ends.toml", &ends, &[]).exits(2).stderr;
    assert!(said.contains("ends.toml:5:8: the two ends take 3000 mm of a wall of 3000 mm"), "{said}");
    let high = calc(&bench, "panels", "high.toml", &format!("{wall}start_mm = 2400\n"), &[]).exits(2).stderr;
    let none = "length_mm = 3000\ntop_mm = 2400\ncourses_mm = []\nboard_height_mm = 600\n";
    let none = calc(&bench, "panels", "none.toml", none, &[]).exits(2).stderr;
    assert!(high.contains("nothing to cut") && none.contains("nothing to cut"), "{high}{none}");
    // Joints by course are given for every course.
    let by_course = |lists: &str| {
        let wall = format!("{wall}start_mm = 0\ncourse_joints_mm = {lists}\n");
        calc(&bench, "panels", "lists.toml", &wall, &[]).exits(2).stderr
    };
    assert!(by_course("[]").contains("joints of 0 courses are given for 4 courses"));
    assert!(by_course("[[1500]]").contains("joints of 1 courses are given for 4 courses"));
    // A column of no length is none, also where nothing is said of the least.
    let zero = "length_mm = 12\npanel_mm = 10\nleast_mm = 0\njoint_mm = 2\nclear_of_opening_mm = 0\nstuds_mm = [1]\n";
    let columns = calc(&bench, "columns", "zero.toml", zero, &["--json"]).exits(0).json();
    let columns = columns["columns"].as_array().unwrap().clone();
    assert!(columns.iter().all(|it| it["from_mm"].as_f64() < it["to_mm"].as_f64()), "{columns:?}");
}

#[test]
fn starter_names_what_governs_and_says_no_with_its_json() {
    let bench = bench();
    let options = ["--clear-flashing", "10", "--clear-ground", "100", "--overhang", "16", "--json"];
    let range = calc(&bench, "starter", "s.csv", PLACES, &options).exits(0).json();
    assert_eq!(
        range,
        json!({
            "feasible": true, "lowest_mm": 29.0, "highest_mm": 91.0,
            "lowest_by": {"wall": "N", "at_mm": 2400.0, "what": "flashing"},
            "highest_by": {"wall": "E", "at_mm": 0.0, "what": "cover_to"},
        })
    );
    let none = calc(&bench, "starter", "s.csv", PLACES, &[&options[..], &["--cover", "70.5"]].concat()).exits(1).json();
    assert_eq!((&none["feasible"], &none["short_by_mm"]), (&json!(false), &json!(8.5)));
    assert_eq!((&none["lowest_mm"], &none["highest_mm"]), (&json!(29.0), &json!(20.5)));
    let open = calc(&bench, "starter", "s.csv", "wall,at_mm,flashing_mm,ground_mm,cover_to_mm\nN,0,0,,\n", &options);
    let open = open.exits(0).json();
    assert!(open.get("highest_mm").is_none() && open.get("highest_by").is_none() && open.get("short_by_mm").is_none());
    let said = calc(&bench, "starter", "s.csv", "wall,at_mm,flashing_mm,ground_mm,cover_to_mm\nN,,0,,\n", &options);
    assert!(said.exits(2).stderr.contains("s.csv:2: at_mm is blank"));
}

const BUILDING: &str = r#"
cover_mm = 300
lowest_mm = 10
highest_mm = 200
least_piece_mm = 50
lift_in_mm = 10
[[wall]]
key = "N"
top_mm = 2400
openings = [{sill_mm = 900, head_mm = 2100}, {head_mm = 2100}]
"#;

#[test]
fn courses_gives_the_json_of_the_contract() {
    let bench = bench();
    let rod = calc(&bench, "courses", "b.toml", BUILDING, &["--json"]).exits(0).json();
    // Start 150 leaves 150 below the sill, 150 above the head and 140 at the top; 145 leaves 145 above the head
    // and 145 at the top.
    assert_eq!((&rod["start_mm"], &rod["smallest_piece_mm"], &rod["ok"]), (&json!(145.0), &json!(145.0), &json!(true)));
    assert_eq!(rod["walls"][0]["key"], "N");
    assert_eq!(rod["walls"][0]["courses_mm"][7], json!(2245.0));
    assert_eq!(rod["walls"][0]["top_rip_mm"], json!(145.0));
    let short = BUILDING.replace("least_piece_mm = 50", "least_piece_mm = 200");
    let no = calc(&bench, "courses", "b.toml", &short, &["--json"]).exits(1).json();
    assert_eq!((&no["ok"], &no["smallest_piece_mm"]), (&json!(false), &json!(145.0)));
}

const HOUSE: &str = r#"
cover_mm = 455
overhang_mm = 16
lowest_mm = 61
highest_mm = 61
least_piece_mm = 50
lift_in_mm = 5
gap_mm = 10
sill_gap_mm = 8
[[wall]]
key = "E"
top = [[0, 2700], [3000, 2700], [3000, 3200], [6000, 4400]]
base = [[0, 0], [2000, 0], [2000, 300], [6000, 300]]
openings = [{from_mm = 500, to_mm = 1700, sill_mm = 900, head_mm = 2100}]
"#;

#[test]
fn courses_takes_outlines_overhang_and_gaps() {
    let bench = bench();
    let rod = calc(&bench, "courses", "h.toml", HOUSE, &["--json"]).exits(0).json();
    // Lines 45, 500, 955 … 4140: 892 − 500 under the sill, 2320 − 2110 over the head, 500 − 300 over the step,
    // 2695 − 2320 under the level top, 4395 − 4140 under the high end.
    assert_eq!((&rod["start_mm"], &rod["smallest_piece_mm"]), (&json!(61.0), &json!(200.0)));
    assert_eq!(rod["smallest_by"], json!({"wall": "E", "what": "base", "at_mm": 300.0}));
    assert_eq!(rod["walls"][0]["top_rip_mm"], json!(375.0));
    assert_eq!(rod["walls"][0]["courses_mm"].as_array().unwrap().len(), 10);
    assert!(rod.get("met").is_none());
    let gable = HOUSE.replace("[[0, 2700], [3000, 2700], [3000, 3200], [6000, 4400]]", "[[0, 2700], [6000, 4400]]");
    let rod = calc(&bench, "courses", "g.toml", &gable, &["--json"]).exits(0).json();
    assert!(rod["walls"][0].get("top_rip_mm").is_none(), "a wall without a level top has no top rip");
    let boards = HOUSE.replace("cover_mm = 455", "cover_mm = 150\ncover_least_mm = 140\ncover_most_mm = 160");
    // The step at 300 leaves 30 mm whatever the gains.
    let rod = calc(&bench, "courses", "l.toml", &boards, &["--json"]).exits(1).json();
    // Sill, head and level top; 892 − 45 and 2110 − 892 are no whole number of covers.
    assert_eq!(rod["met"], 3);
    let lines = rod["walls"][0]["courses_mm"].as_array().unwrap();
    assert!([892.0, 2110.0, 2695.0].iter().all(|edge| lines.contains(&json!(edge))), "{lines:?}");
}

#[test]
fn outlines_that_are_wrong_are_named() {
    let bench = bench();
    let error = |from: &str, to: &str| calc(&bench, "courses", "h.toml", &HOUSE.replace(from, to), &[]).exits(2).stderr;
    assert!(error("base = ", "top_mm = 2700\nbase = ").contains("h.toml:12:7: give 'top_mm' or 'top', not both"));
    assert!(
        error("top = [[0, 2700], [3000, 2700], [3000, 3200], [6000, 4400]]", "").contains("this wall has no 'top_mm'")
    );
    assert!(
        error("[[0, 0], [2000, 0], [2000, 300], [6000, 300]]", "[[0, 0]]")
            .contains("'base' must have at least two points")
    );
    assert!(error("[3000, 3200], [6000", "[2900, 3200], [6000").contains("wall 'E': the top runs backwards: point 3"));
    assert!(error("cover_mm = 455", "cover_mm = 455\ncover_least_mm = 400").contains("go together"));
}

#[test]
fn courses_names_what_is_wrong() {
    let bench = bench();
    let said = |text: &str| calc(&bench, "courses", "b.toml", text, &["--json"]).exits(2).stderr;
    assert!(said("cover_mm = 300\n").contains("this building has no 'lowest_mm': add it"));
    assert!(said(&BUILDING.replace("cover_mm = 300", "cover_mm = \"x\"")).contains("b.toml:2:12: "));
    assert!(
        said(&BUILDING.replace("cover_mm", "covr_mm"))
            .contains("unknown key 'covr_mm' in a building: did you mean 'cover_mm'?")
    );
    assert!(
        said(&BUILDING.replace("cover_mm = 300", "cover_mm = nan"))
            .contains("b.toml:2:12: 'cover_mm' must be -200000 to 200000, not nan")
    );
    assert!(said(&BUILDING.replace("highest_mm = 200", "highest_mm = 5")).contains("is above the highest"));
}

#[test]
fn the_rod_is_drawn_full_size() {
    let bench = bench();
    calc(&bench, "courses", "b.toml", BUILDING, &["--rod", "rod"]).exits(0);
    let page = std::fs::read_to_string(bench.path("rod/rod-01.svg")).unwrap();
    assert!(page.contains("width=\"210mm\"") && page.contains("100 mm"));
    // What lies there is not drawn over unless that is asked for.
    bench.file("rod/rod-01.svg", "precious");
    calc(&bench, "courses", "b.toml", BUILDING, &["--rod", "rod"]).exits(2);
    assert_eq!(std::fs::read_to_string(bench.path("rod/rod-01.svg")).unwrap(), "precious");
    calc(&bench, "courses", "b.toml", BUILDING, &["--rod", "rod", "--replace"]).exits(0);
    assert_eq!(std::fs::read_to_string(bench.path("rod/rod-01.svg")).unwrap(), page);
}

const RUN: &str = r#"
length_mm = 6000
panel_mm = 2400
least_mm = 300
joint_mm = 10
studs_mm = [0, 600, 1200, 1800, 2400, 3000, 3600, 4200, 4800, 5400, 6000]
openings = [{from_mm = 1700, to_mm = 2300}]
clear_of_opening_mm = 150
"#;

#[test]
fn columns_gives_the_json_of_the_contract() {
    let bench = bench();
    let wall = calc(&bench, "columns", "c.toml", RUN, &["--json"]).exits(0).json();
    assert_eq!(wall["joints_mm"], json!([1200.0, 3600.0]));
    assert_eq!(wall["columns"][1], json!({"from_mm": 1205.0, "to_mm": 3595.0}));
    assert_eq!(wall["columns"].as_array().unwrap().len(), 3);
    assert_eq!(wall["add_studs_mm"], json!([]));
    let bare =
        RUN.replace("studs_mm = [0, 600, 1200, 1800, 2400, 3000, 3600, 4200, 4800, 5400, 6000]", "studs_mm = []");
    let bare = calc(&bench, "columns", "c.toml", &bare, &["--json"]).exits(0).json();
    assert_eq!(bare["add_studs_mm"].as_array().map(Vec::len), Some(2));
    let none = calc(&bench, "columns", "c.toml", &RUN.replace("least_mm = 300", "least_mm = 2350"), &["--json"]);
    let said = none.exits(2).stderr;
    assert!(
        said.contains("c.toml: no columns fit 6000 mm: 2 columns reach 4810 mm, 3 columns need at least 7070 mm"),
        "{said}"
    );
    let far = calc(&bench, "columns", "c.toml", &RUN.replace("5400, 6000]", "5400, 6001]"), &[]);
    assert!(far.exits(2).stderr.contains("stud 11 at 6001 mm is beyond the end of the wall, 6000 mm"));
}

/// What a sum makes of rows typed on the spot.
fn typed(bench: &Bench, name: &str, rows: &[&str], rest: &[&str]) -> Run {
    let rows = rows.iter().flat_map(|row| ["--row", row]);
    bench.run(["calc", name].into_iter().chain(rows).chain(rest.iter().copied()))
}

#[test]
fn rows_typed_on_the_spot_count_as_those_of_a_file() {
    let bench = bench();
    let starter = ["--clear-flashing", "10", "--clear-ground", "100", "--overhang", "16", "--json"];
    let cases: [(&str, &str, &[&str]); 4] = [
        ("packing", "stud_mm,height_mm,reading_mm\n0,0,0\n600,0,3\n1200,0,-2\n", &["--flat", "0", "--json"]),
        ("starter", PLACES, &starter),
        ("cuts", "label,length_mm,count\nA,1500,5\nB,900,3\n", &["--stock", "3000", "--json"]),
        ("exposure", "level,minutes,task\n150,120,cutting\n75,120,\n", &["--json"]),
    ];
    for (name, table, rest) in cases {
        let rows: Vec<&str> = table.lines().skip(1).collect();
        let of_file = calc(&bench, name, "rows.csv", table, rest).exits(0).json();
        assert_eq!(typed(&bench, name, &rows, rest).exits(0).json(), of_file, "{name}");
    }
}

#[test]
fn every_row_that_is_wrong_is_named() {
    let bench = bench();
    let error = |rows: &[&str]| typed(&bench, "packing", rows, &[]).exits(2).stderr;
    assert_eq!(
        error(&["0,0,1", "600,0", "1200,0,2,5", "1800,0,x"]),
        "cladlog: --row 2: has 2 cells, not 3: stud_mm,height_mm,reading_mm\n\
         --row 3: has 4 cells, not 3: stud_mm,height_mm,reading_mm\n\
         --row 4: reading_mm: 'x' is not a number: type digits, such as 12 or 2.5\n"
    );
    assert!(error(&["0,0,1", "0,0,2"]).contains("--row 2: stud 0 at height 0 is given twice"));
    let none = bench.run(["calc", "starter", "--clear-flashing", "1", "--clear-ground", "1", "--overhang", "1"]);
    let none = none.exits(2).stderr;
    assert!(none.contains("--row wall,at_mm,flashing_mm,ground_mm,cover_to_mm,clear_ground_mm"), "{none}");
    bench.file("w.csv", WALL);
    bench.run(["calc", "packing", "w.csv", "--row", "0,0,0"]).exits(2);
}
