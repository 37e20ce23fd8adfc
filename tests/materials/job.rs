//! The cut plan on a job's own walls, through the binary: carried offcuts, what is kept, the sheet, what is wrong.

use std::collections::BTreeMap;

use serde_json::Value;

use super::walls::{Saw, cut_in_turn};
use crate::harness::{Bench, Run, root};

const STARTER: &str = "calc starter starter.csv --clear-flashing 10 --clear-ground 100 --overhang 16 --cover 25 --keep";

/// The demonstration's job, set out, its job file changed by `change`.
pub fn site(change: impl Fn(String) -> String) -> Bench {
    let bench = Bench::at("2026-03-03T08:00:00+13:00");
    let read = |name: &str| std::fs::read_to_string(root().join("demo-db").join(name)).unwrap();
    bench.file("job.toml", &change(read("job.toml")));
    bench.file("starter.csv", &read("starter.csv"));
    bench.file("north-frame.csv", &read("north-frame.csv"));
    run(&bench, "job add job.toml").exits(0);
    bench
}

pub fn run(bench: &Bench, line: &str) -> Run {
    bench.run(["--db", "site.db", "--json"].into_iter().chain(line.split(' ')))
}

pub fn set_out(bench: &Bench) {
    run(bench, STARTER).exits(0);
    run(bench, "calc courses --keep").exits(0);
}

/// The labels of a wall's pieces, from C6.
fn pieces(bench: &Bench, wall: &str) -> BTreeMap<String, u64> {
    let json = run(bench, &format!("calc panels --wall {wall}")).exits(0).json();
    let label = |piece: &Value| (format!("{wall}/{}", piece["label"].as_str().unwrap()), 1);
    json["pieces"].as_array().unwrap().iter().map(label).collect()
}

fn saw() -> Saw {
    Saw { stock_mm: vec![2400], kerf_mm: 4.0, square_mm: 0.0, offcut_mm: 300.0 }
}

#[test]
fn each_wall_starts_from_the_offcuts_that_the_kept_plans_left() {
    let bench = site(|text| text);
    set_out(&bench);
    let north = run(&bench, "calc cuts --wall N --keep").exits(0).json();
    let east = run(&bench, "calc cuts --wall E --keep").exits(0).json();
    let walls = [north["walls"][0].clone(), east["walls"][0].clone()];
    let wanted = [pieces(&bench, "N"), pieces(&bench, "E")];
    cut_in_turn(&walls, &wanted, &[], &saw());
    assert!(!walls[1]["from_offcuts"].as_array().unwrap().is_empty(), "east uses what north left: {east}");
    // Both in one go come to the same, whatever order they are typed in.
    let both = run(&bench, "calc cuts --wall E,N").exits(0).json();
    assert_eq!(both["walls"], Value::Array(walls.to_vec()));
    assert_eq!(both["planned"], "by_wall");
    assert!(both["whole_job"]["bought_mm"].as_u64() <= both["by_wall"]["bought_mm"].as_u64());
    // North planned anew would take the ground from under east.
    let said = run(&bench, "calc cuts --wall N").exits(0).stderr;
    assert!(said.contains("The plan kept for E uses offcut N/B") && said.contains("plan E again"), "{said}");
    run(&bench, "verify").exits(0);
}

#[test]
fn the_whole_job_is_kept_once_and_several_walls_each() {
    let bench = site(|text| text);
    set_out(&bench);
    let whole = run(&bench, "calc cuts --whole-job --keep").exits(0).json();
    let all: BTreeMap<String, u64> = ["N", "E", "S", "W"].iter().flat_map(|wall| pieces(&bench, wall)).collect();
    cut_in_turn(&[whole["walls"][0].clone()], &[all], &[], &saw());
    assert_eq!((&whole["walls"][0]["wall"], &whole["planned"]), (&Value::from("job"), &Value::from("whole_job")));
    assert_eq!(whole["boards"], whole["whole_job"]["boards"]);
    run(&bench, "calc cuts --wall N,E,S,W --keep").exits(0);
    let log = run(&bench, "log").exits(0).json();
    let subjects: Vec<&str> =
        log["entries"].as_array().unwrap()[3..].iter().map(|entry| entry["subject"].as_str().unwrap()).collect();
    assert_eq!(subjects, ["job", "N", "E", "S", "W"]);
}

#[test]
fn the_job_says_how_its_boards_are_bought_and_the_command_line_has_the_last_word() {
    let more =
        "\ngap_mm = 10\nstock_mm = [3000, 3600]\nkerf_mm = 3\nbundle = 10\nleast_offcut_mm = 500\nsquare_end_mm = 8";
    let bench = site(|text| text.replace("\ngap_mm = 10", more));
    set_out(&bench);
    let told = run(&bench, "calc cuts --wall N").exits(0).json();
    let saw = Saw { stock_mm: vec![3000, 3600], kerf_mm: 3.0, square_mm: 8.0, offcut_mm: 500.0 };
    cut_in_turn(told["walls"].as_array().unwrap(), &[pieces(&bench, "N")], &[], &saw);
    let stock = run(&bench, "calc cuts --wall N --stock 2400 --square 0 --bundle 1").exits(0).json();
    assert_eq!(stock["bundles"], serde_json::json!([{ "stock_mm": 2400, "bundles": stock["boards"] }]));
}

#[test]
fn the_sheet_names_walls_offcuts_and_what_else_is_cut() {
    let bench = site(|text| text);
    set_out(&bench);
    run(&bench, "calc cuts --wall N,E --sheet saw.html").exits(0);
    let page = std::fs::read_to_string(bench.path("saw.html")).unwrap();
    let count = pieces(&bench, "N").len() + pieces(&bench, "E").len();
    assert_eq!(page.matches("type=\"checkbox\"").count(), count);
    for part in ["Wall N: North, to the street", "from offcut N/B", "mark it N/B", "rip to 582", "notch "] {
        assert!(page.contains(part), "{part}");
    }
    run(&bench, "calc cuts --wall N --sheet saw.txt").exits(0);
    let text = std::fs::read_to_string(bench.path("saw.txt")).unwrap();
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    let person = bench.run(["--db", "site.db", "calc", "cuts", "--wall", "N,E"]).exits(0).stdout;
    assert!(person.lines().all(|line| line.chars().count() <= 80), "{person}");
    assert!(person.contains("Wall by wall  ") && person.contains("All at once   "), "{person}");
}

#[test]
fn what_the_job_does_not_say_is_named() {
    let bench = site(|text| text);
    let said = |line: &str| run(&bench, line).exits(2).stderr;
    assert!(said("calc cuts --wall N").contains("no lowest start is given"));
    set_out(&bench);
    assert_eq!(said("calc cuts --wall N,Q"), "cladlog: there is no wall 'Q' on this job\n  the walls are N, E, S, W\n");
    assert!(said("calc cuts --wall N --stock 2000").contains("wall N: 'N/C1-2' is 2390 mm, the longest stock is 2000"));
    assert!(said("calc cuts --wall N --whole-job").contains("cannot be used with"));
    assert!(said("calc cuts job.toml --stock 2400 --keep").contains("--whole-job"));
    let bare = site(|text| {
        let (before, rest) = text.split_once("[panel]").unwrap();
        before.to_owned() + &rest[rest.find("[[person]]").unwrap()..]
    });
    let said = run(&bare, "calc cuts --wall N").exits(2).stderr;
    assert!(said.contains("the job file has no [panel] table"), "{said}");
    let bench = Bench::at("2026-03-03T08:00:00+13:00");
    let read = std::fs::read_to_string(root().join("demo-db/job.toml")).unwrap();
    bench.file("job.toml", &read.replace("\ngap_mm = 10", "\ngap_mm = 10\nstock_mm = [2400.5]"));
    let said = run(&bench, "job add job.toml").exits(2).stderr;
    assert!(said.contains("'stock_mm' must be a whole number, not 2400.5"), "{said}");
}

#[test]
fn studs_of_a_known_width_give_each_panel_edge_its_bearing() {
    // A 10 mm joint centred on a stud of 45 leaves 17.5 mm for each edge: 20 takes two studs, as the job has them.
    let add_studs = |bench: &Bench| {
        let set_out = run(bench, "calc columns --wall N").exits(0).json();
        set_out["add_studs_mm"].as_array().unwrap().len()
    };
    let bench = site(|text| text);
    assert_eq!(add_studs(&bench), 0);
    let pairs = [("2377.5, 2422.5", "2400"), ("4777.5, 4822.5", "4800"), ("7177.5, 7222.5", "7200")];
    let single = site(|text| pairs.iter().fold(text, |text, (pair, one)| text.replace(pair, one)));
    assert!(add_studs(&single) >= 3);
    let job = std::fs::read_to_string(bench.path("job.toml")).unwrap();
    bench.file("wrong.toml", &job.replace("stud_width_mm = 45\n", ""));
    let said = run(&bench, "job add wrong.toml").exits(2).stderr;
    assert!(said.contains("'bearing_mm' needs 'stud_width_mm'"), "{said}");
    bench.file("wrong.toml", &job.replace("bearing_mm = 20", "bearing_mm = 50"));
    run(&bench, "job add wrong.toml").exits(2);
}
