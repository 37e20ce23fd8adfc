//! `calc cuts` end to end: the JSON, the text for a person, the sheet, exit codes and messages.

use crate::harness::Bench;

const WALL: &str = "label,length_mm,count\nN/C1,1500,5\nN/C2,1500,3\n";

fn bench() -> Bench {
    Bench::at("2026-03-02T07:00:00+13:00")
}

#[test]
fn json_has_the_keys_that_other_programs_rely_on() {
    let bench = bench();
    bench.file("wall.csv", WALL);
    let args = ["calc", "cuts", "wall.csv", "--stock", "6000", "--kerf", "4", "--bundle", "2", "--json"];
    let json = bench.run(args).exits(0).json();
    assert_eq!(
        json,
        serde_json::json!({
            "boards": 3,
            "bought_mm": 18000,
            "lower_bound_mm": 18000,
            "proven": true,
            "patterns": [
                { "times": 1, "stock_mm": 6000, "offcut_mm": 2992.0, "pieces": [
                    { "label": "N/C1", "length_mm": 1500 }, { "label": "N/C1", "length_mm": 1500 }] },
                { "times": 1, "stock_mm": 6000, "offcut_mm": 1488.0, "pieces": [
                    { "label": "N/C1", "length_mm": 1500 }, { "label": "N/C1", "length_mm": 1500 },
                    { "label": "N/C1", "length_mm": 1500 }] },
                { "times": 1, "stock_mm": 6000, "offcut_mm": 1488.0, "pieces": [
                    { "label": "N/C2", "length_mm": 1500 }, { "label": "N/C2", "length_mm": 1500 },
                    { "label": "N/C2", "length_mm": 1500 }] }
            ],
            "kept_mm": 5968.0,
            "waste_mm": 6000,
            "bundles": [{ "stock_mm": 6000, "bundles": 2 }]
        })
    );
    assert_eq!(bench.run(args).stdout, bench.run(args).stdout, "same input, same plan");
}

#[test]
fn where_no_offcut_is_kept_it_is_0_and_not_less() {
    let plan = bench().run(["calc", "cuts", "--row", "a,3000,1", "--stock", "3000", "--json"]).exits(0);
    assert!(plan.stdout.contains("\"kept_mm\": 0.0"), "{}", plan.stdout);
}

#[test]
fn a_person_reads_the_plan_in_eighty_columns() {
    let bench = bench();
    bench.file("wall.csv", "label,length_mm,count\nN/C1,900,30\nN/C2,1310,17\nN/C3,415,22\nN/C4,2050,6\n");
    let run = bench.run(["calc", "cuts", "wall.csv", "--stock", "3000,3600"]).exits(0);
    assert!(run.stdout.lines().all(|line| line.chars().count() <= 80), "{}", run.stdout);
}

#[test]
fn the_sheet_is_written_beside_the_plan() {
    let bench = bench();
    bench.file("wall.csv", WALL);
    let sheet = |name: &str| {
        bench.run(["calc", "cuts", "wall.csv", "--stock", "6000", "--sheet", name, "--json"]).exits(0);
        std::fs::read_to_string(bench.path(name)).unwrap()
    };
    assert_eq!(sheet("saw.html").matches("checkbox").count(), 8);
    assert!(sheet("saw.txt").contains("[ ]"));
}

#[test]
fn bad_input_is_one_message_and_exit_2() {
    let bench = bench();
    let said = |csv: &str, args: &[&str]| {
        bench.file("wall.csv", csv);
        let run = bench.run(["calc", "cuts", "wall.csv", "--json"].iter().chain(args)).exits(2);
        assert_eq!(run.stdout, "");
        run.stderr.trim_end().to_owned()
    };
    let stock = ["--stock", "3000"];
    let rows = |row: &str| format!("label,length_mm,count\nA,900,2\n{row}\n");
    assert_eq!(
        said(&rows("B,3100,1"), &stock),
        "cladlog: wall.csv:3: 'B' is 3100 mm, the longest stock is 3000 mm: 100 mm too long"
    );
    assert!(
        said(&rows("B,900.5,1"), &stock).ends_with("wall.csv:3: length_mm: '900.5' is not a whole number of 0 or more")
    );
    assert!(said(&rows("B,900,0"), &stock).contains("wall.csv:3: count 0 pieces is outside 1 to 1000000"));
    assert!(said(&rows("B,900,-3"), &stock).contains("count: '-3' is not a whole number of 0 or more"));
    assert!(said(&rows("B,900,1000000000"), &stock).contains("count 1000000000 pieces is outside"));
    assert!(said(&rows("B,900,999999"), &stock).contains("there are 1000001 pieces in all"));
    assert!(said(&rows("\"B,1\",900,1"), &stock).contains("has a comma in it"));
    assert!(said(&rows("\"B\n1\",900,1"), &stock).contains("has a line break in it"));
    assert!(said(&rows(",900,1"), &stock).contains("label is blank"));
    assert!(said("label,length_mm\nA,900\n", &stock).contains("column 'count' is missing"));
    assert!(said(WALL, &["--stock", "3000,x"]).contains("invalid value 'x' for '--stock <MM>': 'x' is not a number"));
    assert!(said(WALL, &["--stock", "3000.5"]).contains("'3000.5' is not a whole number of 0 or more"));
    assert!(said(WALL, &["--stock", "1e9"]).contains("--stock"));
    assert!(said(WALL, &["--stock", "3000", "--kerf", "-4"]).contains("kerf -4 mm is outside"));
    assert!(said(WALL, &["--stock", "3000", "--kerf", "1600"]).contains("kerf 1600 mm is outside 0 to 100 mm"));
    assert!(said(WALL, &["--stock", "3000", "--bundle", "0"]).contains("bundle 0 boards is outside"));
    assert!(said(WALL, &["--stock", "3000", "--seconds", "NaN"]).contains("--seconds"));
    bench.run(["calc", "cuts", "nowhere.csv", "--stock", "3000"]).exits(2);
    bench.run(["calc", "cuts", "wall.csv"]).exits(2);
}
