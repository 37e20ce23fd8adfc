//! C13 as cautions: heat, dust and lifting, each with its number, its source and who comes first.

use super::house::{self, JOB, at, forecast};

#[test]
fn heat_dust_and_lifting_are_told_where_their_inputs_are_known() {
    let house = house::open(&at("08:00"));
    // NWS: 88 °F (31.1 °C) and 60 % feel like 95 °F (35 °C).
    house.ok(["reading", "--on", "S", "--air", "31.11", "--humidity", "60", "--surface", "30"]);
    let levels = house.file("dust.csv", "level,minutes\n120,90\n20,240\n");
    // The job's own limit, not that of some other country: 32.5 is over 30, and would be under 50.
    house.ok(["calc", "exposure", &levels, "--keep", "--limit", "30", "--action", "25", "--basis", "dust plan 3"]);
    let told = house.ok(["day", "report"]);
    let lines: Vec<&str> = told["exposures"].as_array().unwrap().iter().map(|line| line.as_str().unwrap()).collect();
    // 120 · 90 / 480 + 20 · 240 / 480 = 22.5 + 10. 23 kg · 25/40 · 1 · (0.82 + 4.5/75) · 1 · 0.85 · 0.9 = 9.68 kg; 21 kg
    // over it 2.2, half of it 1.1. Sources and words: tests/messages/sealing.txt.
    for (line, figures) in lines.iter().zip([
        &["35 °C"][..],
        &["32.5 µg/m³", "OVER THE LIMIT", "30", "25", "dust plan 3"],
        &["21 kg", "2.2", "1.1"],
    ]) {
        assert!(figures.iter().all(|figure| line.contains(figure)), "{line}");
    }
    assert_eq!(lines.len(), 3);
}

#[test]
fn an_exposure_kept_without_a_limit_is_not_judged() {
    let house = house::open(&at("08:00"));
    house.ok(["calc", "exposure", "--row", "180,480", "--keep"]);
    let told = house.ok(["day", "report"]);
    let line =
        told["exposures"].as_array().unwrap().iter().find_map(|line| line.as_str().filter(|l| l.contains("µg/m³")));
    let line = line.unwrap();
    assert!(line.contains("180 µg/m³") && line.contains("the job gives no limit"), "{line}");
}

#[test]
fn heat_and_lifting_are_judged_by_the_job_alone() {
    let of = |more: &str| {
        let house = house::of(&format!("{JOB}{more}"), &at("08:00"));
        house.ok(["reading", "--on", "S", "--air", "31.11", "--humidity", "60", "--surface", "30"]);
        house.ok(["day", "report"])["exposures"].to_string()
    };
    let plain = of("");
    assert!(plain.matches("the job gives no limit").count() == 2 && !plain.contains("OVER"), "{plain}");
    // Heat 35 °C against 34; lifting 1.1 in a pair against 1.2, and 2.2 alone.
    let paper = "[[paper]]\nkey = \"site-rules\"\ntitle = \"Site rules\"\n";
    let figure = |key: &str, value: f64| {
        format!("[[figure]]\nkey = \"{key}\"\nvalue = {value}\npaper = \"site-rules\"\nclause = \"3\"\n")
    };
    let judged = of(&format!("{paper}{}{}", figure("heat-index", 34.0), figure("lifting-index", 1.2)));
    assert!(judged.contains("OVER the job's limit of 34 °C (Site rules, 3)"), "{judged}");
    assert!(judged.contains("in a pair within the job's limit of 1.2 (Site rules, 3)"), "{judged}");
}

#[test]
fn the_forecast_warns_of_heat_before_it_is_read() {
    let house = house::shut(JOB, &at("07:00"));
    house.ok([
        "forecast",
        "add",
        &house.file("f.csv", &forecast(&[], &[]).replace("T14:00:00+13:00,16", "T14:00:00+13:00,40")),
    ]);
    let run = house.bench().run(["--db", "job.db", "day", "open", "--crew", "Lea Moss"]).exits(0);
    assert!(run.stderr.contains("14:00"), "by the forecast: {}", run.stderr);
}

#[test]
fn without_inputs_nothing_is_told() {
    let house = house::of(&JOB.replace("mass_kg = 21\n", ""), &at("08:00"));
    assert_eq!(house.ok(["day", "report"])["exposures"], serde_json::json!([]));
}
