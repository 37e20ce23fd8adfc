//! The seal plan of a job: what it is made from, that it is feasible, kept, followed, and made again when the day slips.

use chrono::{DateTime, FixedOffset};
use serde_json::Value;

use super::house::{self, JOB, at, forecast};
use crate::harness::site::Site;

fn time(value: &Value) -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339(value.as_str().unwrap()).unwrap()
}

fn ids(list: &Value) -> Vec<&str> {
    list.as_array().unwrap().iter().map(|one| one["id"].as_str().unwrap()).collect()
}

fn joint<'v>(plan: &'v Value, id: &str) -> &'v Value {
    plan["joints"].as_array().unwrap().iter().find(|joint| joint["id"] == id).unwrap_or_else(|| panic!("{id}: {plan}"))
}

fn clock(value: &Value) -> String {
    time(value).format("%H:%M").to_string()
}

#[test]
fn a_plan_is_made_from_the_job_alone() {
    let house = house::open(&at("08:00"));
    let plan = house.ok(["sealplan"]);
    assert_eq!(ids(&plan["joints"]), ["S/J1", "S/J2", "S/J3", "E/J1", "E/J2"]);
    assert_eq!(plan["people"], serde_json::json!(["Lea Moss", "Ivo Reed"]));
    // 3 m: masked 6, primed 1.5 → 2 min; 30 min later gunned 6, then untaped 2. J3 runs into a window: 2 m of it are joint.
    let whole = joint(&plan, "S/J1");
    let minutes = |from: &str, to: &str, joint: &Value| (time(&joint[to]) - time(&joint[from])).num_minutes();
    assert_eq!((minutes("mask_at", "prime_at", whole), minutes("tape_off_at", "done_at", whole)), (6, 2));
    assert!(minutes("prime_at", "gun_at", whole) >= 32);
    assert_eq!(minutes("mask_at", "prime_at", joint(&plan, "S/J3")), 4);
    // The sun leaves the east wall after noon (13:28 by the almanac's hour angle): nothing is primed there before.
    assert!(clock(&joint(&plan, "E/J1")["prime_at"]).as_str() > "13:20", "{plan}");
    assert_eq!(plan["remarks"].as_array().unwrap().len(), 1, "there is no forecast: {plan}");
    // Nothing was written.
    assert!(house.ok(["watch", "--once"]).get("plan").is_none());
}

#[test]
fn calc_without_a_file_is_bound_to_the_job_and_kept_on_the_wall() {
    let house = house::open(&at("08:00"));
    let plan = house.ok(["calc", "sealplan", "--wall", "S", "--keep"]);
    assert_eq!(ids(&plan["joints"]), ["S/J1", "S/J2", "S/J3"]);
    assert_eq!((&plan["entries"][0]["kind"], &plan["entries"][0]["subject"]), (&"plan-kept".into(), &"S".into()));
    let line = std::fs::read_to_string({
        house.run(["export", "out.jsonl"]).exits(0);
        house.path("out.jsonl")
    })
    .unwrap();
    let kept: Value = serde_json::from_str(line.lines().last().unwrap()).unwrap();
    assert_eq!(kept["body"]["sum"], "sealplan");
    assert_eq!(kept["body"]["inputs"]["joint"][2]["length_m"], 2.0);
    assert_eq!(kept["body"]["result"]["joints"], plan["joints"]);
    house.bad(["calc", "sealplan", "day.toml", "--keep"]);
}

#[test]
fn rain_and_cold_are_planned_round() {
    let house = house::open(&at("08:00"));
    // Cold until half past nine and a bit, rain from ten to eleven.
    house.ok(["forecast", "add", &house.file("f.csv", &forecast(&[10], &[7, 8, 9]))]);
    let plan = house.ok(["sealplan", "--wall", "S"]);
    // 2 °C at nine, 16 °C at ten: 5 °C at 09:13, told on the next five minutes.
    for joint in plan["joints"].as_array().unwrap() {
        let (prime, taped) = (clock(&joint["prime_at"]), clock(&joint["tape_off_at"]));
        assert!(prime.as_str() >= "09:15", "{joint}");
        assert!(taped.as_str() <= "10:00" || prime.as_str() >= "11:00", "{joint}");
    }
    let said = plan["remarks"].to_string();
    assert!(["08:00", "09:15"].iter().all(|time| said.contains(time)), "{said}");
}

#[test]
fn a_joint_that_is_not_ready_or_has_no_length_is_left_out_and_named() {
    let house = house::shut(&JOB.replacen("height_mm = 3000\n", "", 1), &at("08:00"));
    house.ok(["day", "open", "--crew", "Lea Moss"]);
    house.ok(["record", "frame", "--on", "S"]);
    let none = house.run(["sealplan", "--on", "S/J1..2"]).exits(1).json();
    assert_eq!((&none["joints"], ids(&none["left_out"])), (&serde_json::json!([]), vec!["S/J1", "S/J2"]));
    assert!(none["left_out"][0]["why"].as_str().unwrap().contains("height_mm"), "{none}");
    house.run(["sealplan"]).exits(1);
    house.ok(["record", "frame", "--on", "E"]);
    let plan = house.ok(["sealplan"]);
    assert_eq!((ids(&plan["joints"]), ids(&plan["left_out"])), (vec!["E/J1", "E/J2"], vec!["S/J1", "S/J2", "S/J3"]));
}

#[test]
fn what_no_plan_can_be_made_from_is_told() {
    let polar = house::of(&JOB.replace("-41.29", "-80").replace("2026-03", "2026-06"), "2026-06-21T10:00:00+12:00");
    assert!(polar.bad(["sealplan"]).contains("2026-06-21"), "the sun does not rise on it");
    let wrong = house::shut(&JOB.replace("latitude_deg = -41.29\n", ""), &at("08:00"));
    wrong.ok(["day", "open", "--crew", "Lea Moss"]);
    assert!(wrong.bad(["sealplan"]).contains("--until TIME"), "last light is not known");
}

#[test]
fn a_latitude_of_95_is_refused_with_its_place_in_the_job_file() {
    let bench = crate::harness::Bench::at(&at("08:00"));
    let job = bench.file("job.toml", &JOB.replace("-41.29", "95"));
    let run = bench.run(["--db", "job.db", "job", "add", job.to_str().unwrap()]).exits(2);
    assert!(run.stderr.contains("job.toml:5:"), "its place: {}", run.stderr);
}

#[test]
fn a_sealing_table_that_is_wrong_is_told_with_its_place() {
    let house = house::shut(JOB, &at("08:00"));
    let text = std::fs::read_to_string(house.path("seal.toml")).unwrap();
    let said = |from: &str, to: &str| {
        let changed = text.replace(from, to);
        assert_ne!(changed, text);
        house.run(["sequence", "check", &house.file("changed.toml", &changed)]).exits(2).json()["mistakes"].clone()
    };
    let sealing = text.lines().position(|line| line == "[sealing]").unwrap() + 1;
    let on = |line: usize, said: Value| {
        assert!(said.as_array().unwrap().iter().any(|mistake| mistake["line"] == sealing + line), "{said}");
    };
    on(2, said("prime = \"primed\"", "prime = \"frame\""));
    on(3, said("gun = \"gunned\"", "gun = \"untaped\""));
    on(1, said("mask = \"clean\"", "mask = \"dried\""));
    on(6, said("prime_min_per_m = 0.5", "prime_min_per_m = -1"));
    said("shows = [\"dust\"]", "shows = [\"mud\"]");
}

#[test]
fn a_window_that_cannot_be_met_leaves_every_joint_out() {
    let house = house::shut(JOB, &at("08:00"));
    let tight =
        std::fs::read_to_string(house.path("seal.toml")).unwrap().replace("margin = \"20 min\"", "margin = \"4 h\"");
    let job = house
        .file("tight.toml", &JOB.replace("seal.toml", "tight-seal.toml").replace("key = \"house\"", "key = \"tight\""));
    house.file("tight-seal.toml", &tight);
    house.ok(["job", "add", &job]);
    let on = |args: &[&str]| house.ok(&[&["--job", "tight"], args].concat()[..]);
    on(&["day", "open", "--crew", "Lea Moss"]);
    on(&["record", "frame", "--on", "S,E"]);
    let plan = on(&["sealplan"]);
    assert_eq!(plan["joints"], serde_json::json!([]));
    assert_eq!(plan["left_out"].as_array().unwrap().len(), 5, "{plan}");
}

/// A plan kept at eight, and S/J1 to J3 masked and primed as it says.
fn planned_and_primed() -> (Site, Value) {
    let house = house::open(&at("08:00"));
    house.dry();
    let plan = house.ok(["sealplan", "--keep"]);
    let mut in_turn = ["S/J1", "S/J2", "S/J3"].map(|id| (clock(&joint(&plan, id)["prime_at"]), id));
    in_turn.sort();
    for (time, id) in in_turn {
        house.clock(&time);
        house.ok(["record", "clean", "--on", id]);
        house.ok(["record", "primed", "--on", id]);
    }
    (house, plan)
}

#[test]
fn watch_and_next_follow_the_kept_plan() {
    let (house, plan) = planned_and_primed();
    house.clock("08:20");
    let told = house.ok(["watch", "--once"]);
    assert_eq!(told["windows"].as_array().unwrap().len(), 3);
    let things = told["plan"]["things"].as_array().unwrap();
    assert_eq!(things.len(), 3);
    assert!(told["plan"].get("slipped").is_none(), "{told}");
    let first_gun = plan["joints"].as_array().unwrap().iter().map(|joint| clock(&joint["gun_at"])).min().unwrap();
    assert_eq!((&things[0]["task"], clock(&things[0]["at"])), (&"gun".into(), first_gun.clone()));
    let next = house.ok(["next"]);
    let why = |step: &str, subject: &str| {
        let found = next["actions"].as_array().unwrap().iter().find(|a| a["step"] == step && a["subject"] == subject);
        found.unwrap()["why"].as_str().unwrap().to_owned()
    };
    let mask_at = clock(&joint(&plan, "E/J1")["mask_at"]);
    assert!(why("clean", "E/J1").contains(&mask_at), "{}", why("clean", "E/J1"));
}

#[test]
fn a_day_that_slips_says_so_and_primed_joints_come_first_in_the_new_plan() {
    let (house, _) = planned_and_primed();
    // Nothing is gunned for long: the day has slipped.
    house.clock("09:40");
    let told = house.ok(["watch", "--once"]);
    assert!(told["plan"]["slipped"].as_str().unwrap().contains("S/J"), "{told}");
    let plan = house.ok(["sealplan", "--keep"]);
    for id in ["S/J1", "S/J2", "S/J3"] {
        let row = joint(&plan, id);
        assert!(row.get("primed_by").is_none(), "{row}");
        assert!(clock(&row["gun_at"]).as_str() >= "09:40");
    }
    assert!(house.ok(["watch", "--once"])["plan"].get("slipped").is_none());
}

#[test]
fn rain_that_was_not_foreseen_is_a_slip_and_wet_joints_are_primed_again() {
    let (house, _) = planned_and_primed();
    house.clock("08:30");
    house.ok(["reading", "--on", "S", "--air", "15", "--humidity", "90", "--surface", "15", "--rain"]);
    assert!(house.ok(["watch", "--once"])["plan"]["slipped"].is_string());
    house.clock("09:00");
    house.dry();
    let plan = house.ok(["sealplan", "--keep"]);
    for id in ["S/J1", "S/J2", "S/J3"] {
        assert!(clock(&joint(&plan, id)["prime_at"]).as_str() >= "09:00", "{plan}");
        assert!(joint(&plan, id)["primed_by"].is_u64());
        // The tape is on already.
        assert_eq!(joint(&plan, id)["mask_at"], joint(&plan, id)["prime_at"]);
    }
}

#[test]
fn a_newer_forecast_that_wets_the_plan_is_a_slip() {
    let (house, _) = planned_and_primed();
    house.clock("08:20");
    house.ok(["forecast", "add", &house.file("f.csv", &forecast(&[14], &[]))]);
    assert!(house.ok(["watch", "--once"])["plan"]["slipped"].as_str().unwrap().contains("14:00"));
}

#[test]
fn every_plan_kept_keeps_to_the_rules_when_it_is_followed_to_the_minute() {
    let house = house::open(&at("08:00"));
    house.ok(["forecast", "add", &house.file("f.csv", &forecast(&[15], &[7]))]);
    let plan = house.ok(["sealplan", "--keep"]);
    let mut acts: Vec<(String, &str, String)> = Vec::new();
    for row in plan["joints"].as_array().unwrap() {
        let id = row["id"].as_str().unwrap();
        let end =
            |at: &Value, minutes: i64| (time(at) + chrono::TimeDelta::minutes(minutes)).format("%H:%M").to_string();
        acts.push((clock(&row["prime_at"]), "clean", id.to_owned()));
        acts.push((end(&row["prime_at"], 2), "primed", id.to_owned()));
        acts.push((clock(&row["tape_off_at"]), "gunned", id.to_owned()));
        acts.push((clock(&row["done_at"]), "untaped", id.to_owned()));
    }
    acts.sort_by(|a, b| a.0.cmp(&b.0));
    let mut read = String::new();
    for (time, step, id) in acts {
        house.clock(&time);
        if read.is_empty() || time[..2] > read[..2] {
            house.dry();
            read.clone_from(&time);
        }
        assert!(house.ok(["watch", "--once"])["plan"].get("slipped").is_none());
        house.ok(["record", step, "--on", &id]);
    }
    assert!(house.ok(["watch", "--once"]).get("plan").is_none(), "all is done");
    assert_eq!(house.ok(["next"])["actions"], serde_json::json!([]));
    assert_eq!(house.ok(["defect", "list"])["defects"], serde_json::json!([]));
}

#[test]
fn the_drawing_names_people() {
    let house = house::open(&at("08:00"));
    house.text(["sealplan", "--drawing", "plan.svg"]);
    let svg = std::fs::read_to_string(house.path("plan.svg")).unwrap();
    assert!(svg.contains(">Ivo Reed<") && svg.contains(">Sun on E<"));
}
