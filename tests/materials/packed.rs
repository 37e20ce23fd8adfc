//! The pack tells what was ordered and how it was to be cut.

use super::job::{run, set_out, site};

#[test]
fn the_pack_tells_the_kept_take_off_and_cut_plans() {
    let bench = site(|text| text);
    set_out(&bench);
    run(&bench, "pack before --interim").exits(0);
    let read = |path: &str| std::fs::read_to_string(bench.path(path)).unwrap();
    assert_eq!(read("before/tables/cuts.csv").lines().count(), 1);
    let plan = run(&bench, "calc cuts --wall N,E --keep").exits(0).json();
    let order = run(&bench, "calc takeoff --keep").exits(0).json();
    run(&bench, "pack after --interim").exits(0);
    let cuts = read("after/tables/cuts.csv");
    let rows: Vec<Vec<&str>> = cuts.lines().skip(1).map(|line| line.split(',').collect()).collect();
    assert_eq!(rows.len(), 2, "{cuts}");
    for (row, wall) in rows.iter().zip(plan["walls"].as_array().unwrap()) {
        assert_eq!(row[2], wall["wall"].as_str().unwrap());
        assert_eq!(row[3], wall["boards"].to_string());
        assert_eq!(row[5], wall["lower_bound_mm"].to_string());
    }
    assert!(rows[0][8].starts_with("N/B") && rows[1][7].starts_with("N/B"), "{cuts}");
    let takeoff = read("after/tables/takeoff.csv");
    let lines = order["lines"].as_array().unwrap();
    assert_eq!(takeoff.lines().count(), lines.len() + 1, "{takeoff}");
    // Whoever accepts the work reads nothing of it: it stands in the tables alone.
    assert!(!read("after/handover.html").contains("cut plan"));
    for line in lines {
        let item = line["item"].as_str().unwrap();
        assert!(takeoff.contains(item), "{item}");
    }
    run(&bench, "verify after").exits(0);
}
