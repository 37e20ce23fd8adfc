//! A forecast on the real binary: taken up, told, and never taken for a reading.

use crate::harness::site::Site;
use crate::rules::site;

const HEAD: &str = "at,air_c,humidity_pct,surface_c,wind_kmh,rain";

/// Hours of one morning from 07:00, each with its surface and what falls.
fn hours(rows: &[(&str, &str)]) -> String {
    let mut text = format!("{HEAD}\n");
    for (place, (surface, rain)) in rows.iter().enumerate() {
        text += &format!("2026-03-02T{:02}:00:00+13:00,4,60,{surface},9,{rain}\n", place + 7);
    }
    text
}

fn given(site: &Site, name: &str, text: &str) -> String {
    let path = site.path(name);
    std::fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_owned()
}

/// A joint primed at 07:30 on a wall that was read at 3 °C, the clock at 08:10: the window is open.
fn cold_morning() -> Site {
    let site = site::with_frame("2026-03-02T07:20:00+13:00");
    site.ok(["reading", "--on", "N", "--air", "4", "--humidity", "60", "--surface", "3"]);
    site.clock("2026-03-02T07:30:00+13:00");
    site.ok(["record", "prime", "--on", "N/J1"]);
    site.clock("2026-03-02T08:10:00+13:00");
    site
}

fn why_of_gun(site: &Site) -> String {
    let next = site.ok(["next"]);
    let actions = next["actions"].as_array().unwrap();
    let gun = actions.iter().find(|action| action["step"] == "gun" && action["subject"] == "N/J1").unwrap();
    assert_eq!((gun["rule"].as_str(), gun["state"].as_str()), (Some("R7"), Some("waiting")));
    gun["why"].as_str().unwrap().to_owned()
}

#[test]
fn next_says_until_when_by_the_forecast() {
    let site = cold_morning();
    // 3 °C at nine and 6 °C at ten: 5 °C at 09:40.
    let file = given(&site, "f.csv", &hours(&[("1", "no"), ("2", "no"), ("3", "no"), ("6", "no")]));
    let told = site.ok(["forecast", "add", &file, "--source", "the radio"]);
    assert_eq!(told["entries"][0]["kind"], "forecast-added");
    assert!(why_of_gun(&site).contains("09:40"), "{}", why_of_gun(&site));
    // The last one counts; rain comes first in the words.
    let file = given(&site, "g.csv", &hours(&[("1", "no"), ("2", "yes"), ("3", "yes"), ("6", "no"), ("9", "no")]));
    site.ok(["forecast", "add", &file]);
    assert!(why_of_gun(&site).contains("09:40"), "this limit does not ask for dry");
    let file = given(&site, "h.csv", &hours(&[("1", "no"), ("2", "no"), ("3", "no")]));
    site.ok(["forecast", "add", &file]);
    assert!(why_of_gun(&site).contains("09:00"), "{}", why_of_gun(&site));
}

#[test]
fn r7_a_forecast_is_no_reading() {
    let site = cold_morning();
    let file = given(&site, "f.csv", &hours(&[("12", "no"), ("12", "no"), ("12", "no")]));
    site.ok(["forecast", "add", &file]);
    site.clock("2026-03-02T08:30:00+13:00");
    site.refused("R7", ["record", "gun", "--on", "N/J1"]);
}

#[test]
fn a_forecast_in_json_says_the_same() {
    let site = cold_morning();
    let json = r#"[
        {"at": "2026-03-01T19:00:00Z", "air_c": 4, "humidity_pct": 60, "surface_c": 3, "wind_kmh": 9, "rain_mm": 0},
        {"at": "2026-03-01T20:00:00Z", "air_c": 4, "humidity_pct": 60, "surface_c": 6, "wind_kmh": 9, "rain": false}]"#;
    site.ok(["forecast", "add", &given(&site, "f.json", json)]);
    assert!(why_of_gun(&site).contains("08:40"), "{}", why_of_gun(&site));
    let shown = site.ok(["forecast", "show"]);
    assert_eq!(shown["hours"][0]["at"], "2026-03-02T08:00:00+13:00");
}
