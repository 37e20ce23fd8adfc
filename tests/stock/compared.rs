//! Ordered against used: the take-off that is kept beside what came and what was taken.

use serde_json::Value;

use super::MORNING;
use super::site;
use crate::harness::site::Site;

fn compared(site: &Site, product: &str) -> Value {
    let all = site.ok("stock");
    let found = all["compared"].as_array().unwrap().iter().find(|one| one["product"] == product).cloned();
    found.unwrap_or_else(|| panic!("{product} is not compared: {all}"))
}

#[test]
fn what_is_not_recorded_stays_open() {
    let site = site::measured(MORNING);
    let stock = site.ok("stock");
    assert_eq!(stock["compared"], serde_json::json!([]), "nothing ordered, nothing come, nothing used");
    // What a step took of what nobody ordered, booked in or counted is held against nothing.
    site.ok("record gun --on N/J1 --answer sealant-batch=SL-1");
    assert_eq!(site.ok("stock")["compared"], serde_json::json!([]));
    site.ok("batch add --product panel --batch P-1 --count 20");
    let panel = compared(&site, "panel");
    assert_eq!((&panel["delivered"], &panel["used"], &panel["left"]), (&20.0.into(), &0.0.into(), &20.0.into()));
    for key in ["ordered", "ordered_by", "delivered_pct", "unaccounted"] {
        assert_eq!(panel.get(key), None, "{key} is in no entry");
    }
    let order = site.ok("calc takeoff --keep");
    let clips = compared(&site, "clip");
    let line = order["lines"].as_array().unwrap().iter().find(|line| line["item"] == "clips").unwrap();
    assert_eq!(clips["ordered"], line["order"].as_f64().unwrap() * 100.0, "boxes of 100, counted in clips");
    for key in ["delivered", "used", "left", "used_pct", "left_pct"] {
        assert_eq!(clips.get(key), None, "{key} of clips is in no entry");
    }
}

#[test]
fn ordered_come_used_gone_and_left_stand_side_by_side() {
    let site = site::measured(MORNING);
    let order = site.ok("calc takeoff --keep");
    let boards = order["lines"].as_array().unwrap().iter().find(|line| line["product"] == "panel").unwrap();
    let boards = boards["order"].as_f64().unwrap();
    site.ok("batch add --product panel --batch P-1 --count 20");
    site.ok("record hang --on N/C1..5 --answer label=P-1");
    site.ok("batch use P-1 --as thrown-away --count 1");
    site.ok("batch use P-1 --as sent-back --count 2");
    let panel = compared(&site, "panel");
    // Five courses of two columns: ten panels.
    let tenth = |share: f64| Value::from((share * 10.0).round() / 10.0);
    for (key, wanted) in [
        ("ordered", boards.into()),
        ("delivered", 20.0.into()),
        ("delivered_pct", tenth(20.0 / boards * 100.0)),
        ("used", 10.0.into()),
        ("used_pct", 50.0.into()),
        ("thrown_away", 1.0.into()),
        ("thrown_away_pct", 5.0.into()),
        ("sent_back", 2.0.into()),
        ("left", 7.0.into()),
        ("left_pct", 35.0.into()),
    ] {
        assert_eq!(panel[key], wanted, "{key}");
    }
    assert_eq!((&panel["used_counted"], panel.get("notes")), (&0.0.into(), None), "all of it worked out");
    // The same in the pack, and made again by verify.
    site.ok("pack pack --interim");
    let csv = std::fs::read_to_string(site.path("pack/tables/ordered_used.csv")).unwrap();
    let row = csv.lines().find(|line| line.starts_with("panel,")).unwrap();
    assert!(row.contains(",10,0,50,1,5,2,7,35,,"), "{csv}");
    site.ok("verify pack");
}

#[test]
fn more_used_than_came_is_not_accounted_for() {
    let site = site::measured(MORNING);
    site.ok("batch add --product sealant --batch SL-1 --count 1");
    site.ok("batch use SL-1 --on N --count 2.5");
    let sealant = compared(&site, "sealant");
    assert_eq!((&sealant["left"], &sealant["unaccounted"]), (&(-1.5).into(), &1.5.into()));
    assert_eq!(sealant.get("left_pct"), None, "less than nothing is no share");
    assert_eq!((&sealant["used_counted"], sealant.get("ordered")), (&2.5.into(), None));
    assert_eq!(sealant["notes"].as_array().unwrap().len(), 1, "{sealant}");
}

#[test]
fn a_unit_that_says_nothing_of_the_other_is_told_and_not_compared() {
    let site = site::measured(MORNING);
    site.ok("calc takeoff --keep");
    site.ok("batch add --product sealant --batch SL-1 --count 2 --unit boxes");
    let sealant = compared(&site, "sealant");
    assert_eq!((sealant.get("ordered"), sealant.get("delivered_pct")), (None, None));
    assert_eq!(sealant["waste_allowed_pct"], 10.0);
    assert_eq!(sealant["notes"].as_array().unwrap().len(), 1, "{sealant}");
}

#[test]
fn the_take_offs_of_walls_count_where_the_job_has_none() {
    let site = site::measured(MORNING);
    let ordered = |order: &Value| {
        let lines = order["lines"].as_array().unwrap();
        lines.iter().find(|line| line["product"] == "panel").unwrap()["order"].as_f64().unwrap()
    };
    let north = ordered(&site.ok("calc takeoff --wall N --keep"));
    let east = ordered(&site.ok("calc takeoff --wall E --keep"));
    assert_eq!(compared(&site, "panel")["ordered"], north + east);
    assert_eq!(compared(&site, "panel")["ordered_by"].as_array().unwrap().len(), 2);
    let all = ordered(&site.ok("calc takeoff --keep"));
    assert_eq!(compared(&site, "panel")["ordered"], all);
}
