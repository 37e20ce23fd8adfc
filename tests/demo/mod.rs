//! The demonstration: its inputs replay, and the database kept beside them is what they come to.

mod house;
mod pictures;

use cladlog::record::Store;

use crate::handover::story::copy;
use crate::harness::{Bench, root};

/// The demonstration in a folder of its own; the clock, job and name that the surroundings set do not reach it.
fn demo() -> Bench {
    let bench = Bench::at("2031-01-01T00:00:00Z");
    let mut demo = bench.command();
    demo.args(["demo", "out"]).env("CLADLOG_JOB", "another").env("CLADLOG_BY", "Nobody");
    let output = demo.output().unwrap();
    assert!(output.status.success(), "{output:?}");
    let stdout = String::from_utf8(output.stdout).unwrap();
    // Every file that it says to open is there, and is named once.
    let opened: Vec<&str> = stdout.lines().filter_map(|line| line.trim().split_once(" — ").map(|two| two.0)).collect();
    let once: std::collections::BTreeSet<&&str> = opened.iter().collect();
    assert!(opened.len() > 3 && once.len() == opened.len(), "{opened:?}");
    assert!(opened.iter().all(|file| bench.path(file).exists()), "{opened:?}");
    bench
}

/// The database that is kept, in a folder of its own; the pack of it where that is looked at.
fn kept() -> Bench {
    let bench = Bench::at("2026-03-06T14:30:00+13:00");
    std::fs::create_dir(bench.path("out")).unwrap();
    copy(&root().join("demo-db/demo.db.photos"), &bench.path("out/demo.db.photos"));
    std::fs::copy(root().join("demo-db/demo.db"), bench.path("out/demo.db")).unwrap();
    bench
}

#[test]
fn the_database_kept_in_demo_db_is_what_its_inputs_come_to() {
    let bench = demo();
    // With an evening report for each of its days.
    for day in ["2026-02-23", "2026-03-03", "2026-03-06"] {
        assert!(bench.path(&format!("out/evenings/{day}.html")).is_file());
    }
    let (fresh, kept) = (bench.path("out/demo.db"), root().join("demo-db/demo.db"));
    // To write it anew: CLADLOG_REFRESH=1 cargo test the_database_kept
    if std::env::var_os("CLADLOG_REFRESH").is_some() {
        let _ = std::fs::remove_file(&kept);
        bench.run(["--db", "out/demo.db", "backup", kept.to_str().unwrap()]).exits(0);
    }
    // Read from a copy, so that nothing is left beside the one that is kept.
    let copy = bench.path("kept.db");
    std::fs::copy(&kept, &copy).unwrap();
    let lines = |path: &std::path::Path| -> Vec<String> {
        Store::read(path).unwrap().entries("fernside").unwrap().iter().map(|entry| entry.jsonl()).collect()
    };
    let (fresh, kept) = (lines(&fresh), lines(&copy));
    let differs = fresh.iter().zip(&kept).position(|(a, b)| a != b);
    assert_eq!((differs, fresh.len()), (None, kept.len()), "CLADLOG_REFRESH=1 cargo test the_database_kept");
}

#[test]
fn the_demonstration_shows_what_a_site_day_brings() {
    let bench = kept();
    let json = |args: &[&str]| {
        let mut all = vec!["--db", "out/demo.db", "--json"];
        all.extend(args);
        bench.run(all).exits(0).json()
    };
    assert_eq!(json(&["next"])["actions"].as_array().unwrap().len(), 0, "everything is done");
    assert_eq!(json(&["verify"])["ok"], true);
    let defects = json(&["defect", "list"]);
    let states: Vec<&str> =
        defects["defects"].as_array().unwrap().iter().map(|defect| defect["state"].as_str().unwrap()).collect();
    assert!(states.contains(&"closed") && states.contains(&"conceded") && !states.contains(&"open"), "{states:?}");
    let log = json(&["log"]);
    let entries = log["entries"].as_array().unwrap();
    let kinds = |kind: &str| entries.iter().filter(|entry| entry["kind"] == kind).count();
    assert_eq!(kinds("day-opened"), 10);
    assert!(kinds("hold-refused") == 1 && kinds("struck") == 1 && kinds("plan-kept") >= 7);
    assert!(entries.iter().any(|entry| entry["late"] == true));
    assert!(entries.iter().any(|entry| entry["struck_by"].is_string()));
    // The rain stopped the crew, into the next morning; the builder asked for something extra.
    let stoppages = json(&["stoppage", "list"]);
    assert_eq!(stoppages["stoppages"][0]["state"], "ended");
    assert!(stoppages["crew_hours_lost"].as_f64().is_some_and(|lost| (lost - 2.2).abs() < 1e-9), "{stoppages}");
    assert_eq!(json(&["extra", "list"])["extras"][0]["asked_by"], "Ruth Tarn");
    let claim = json(&["claim"]);
    assert!(claim["value_so_far"].as_f64().is_some_and(|value| value > 10_000.0), "{claim}");
    // The joint that the rain took was primed twice.
    let primed = json(&["log", "--on", "N/J3"]);
    let primed = primed["entries"].as_array().unwrap().iter().filter(|entry| entry["kind"] == "step-done").count();
    assert_eq!(primed, 8, "backing, mask, prime, both again, gun, tool, tape off");
    // One sum: what was ordered, and what the record says was used, are the boards of the cut plan, and one for the bin store.
    let stock = json(&["stock"]);
    let panels = stock["compared"].as_array().unwrap().iter().find(|one| one["product"] == "panel").unwrap();
    assert_eq!((&panels["ordered"], &panels["used"], &panels["left"]), (&126.0.into(), &127.0.into(), &2.0.into()));
    // Clips were ordered, counted out of their boxes wall by wall, and nine were bent.
    let clips = stock["compared"].as_array().unwrap().iter().find(|one| one["product"] == "clip").unwrap();
    for (key, wanted) in [
        ("ordered", 800.0),
        ("delivered", 800.0),
        ("used", 670.0),
        ("used_counted", 670.0),
        ("thrown_away", 9.0),
        ("left", 121.0),
        ("left_pct", 15.1),
    ] {
        assert_eq!(clips[key], wanted, "{key} of {clips}");
    }
    // Whoever released, refused or let stand said so on their own phone; one release is still only typed.
    let said = json(&["confirm", "list"]);
    let grades = said["confirmations"].as_array().unwrap();
    let of = |grade: &str| grades.iter().filter(|one| one["grade"] == grade).count();
    assert_eq!((of("own-key"), of("typed")), (grades.len() - 1, 1), "{said}");
    assert_eq!(json(&["job", "show"])["rehearsal"], true);
}

/// The kept demonstration's answer to a command, as of a moment.
fn at(bench: &Bench, moment: &str, args: &[&str]) -> serde_json::Value {
    let all = ["--db", "out/demo.db", "--json", "--at", moment];
    bench.run(all.iter().chain(args)).exits(0).json()
}

#[test]
fn at_a_planned_moment_watch_shows_the_next_three_things() {
    let told = at(&kept(), "2026-03-05T09:12:00+13:00", &["watch", "--once"]);
    let things = told["plan"]["things"].as_array().unwrap();
    let said: Vec<String> =
        things.iter().map(|thing| format!("{} {}", thing["task"], thing["subject"]).replace('"', "")).collect();
    assert_eq!(said.len(), 3);
    assert!(said.iter().all(|thing| thing.starts_with("gun S/J")), "{said:?}");
    assert!(told["plan"].get("slipped").is_none());
}

#[test]
fn the_last_day_slips_and_its_new_plan_seals_every_joint_with_the_primed_ones_first() {
    let bench = kept();
    bench.run(["--db", "out/demo.db", "pack", "out/pack"]).exits(0);
    let told = at(&bench, "2026-03-05T09:20:00+13:00", &["watch", "--once"]);
    assert_eq!(told["plan"]["slipped"], "rain on W at 09:16");
    let record = std::fs::read_to_string(bench.path("out/pack/record.jsonl")).unwrap();
    let mut entries = record.lines().map(|line| serde_json::from_str::<serde_json::Value>(line).unwrap());
    // The plan that was kept last.
    let kept = entries.rfind(|entry| entry["body"]["sum"] == "sealplan").unwrap();
    let joints = kept["body"]["result"]["joints"].as_array().unwrap();
    assert_eq!((joints.len(), &kept["body"]["result"]["left_out"]), (7, &serde_json::json!([])));
    for joint in joints {
        let owed = joint["id"].as_str().unwrap().starts_with('S');
        assert_eq!(joint.get("primed_by").is_none(), owed, "{joint}");
    }
    // What became of it stands in the pack: every priming was met but those that the rain took.
    let table = std::fs::read_to_string(bench.path("out/pack/tables/joints.csv")).unwrap();
    let states: Vec<&str> = table.lines().skip(1).filter_map(|line| line.split(',').nth(6)).collect();
    assert_eq!(states.iter().filter(|state| **state == "met").count(), 17, "{table}");
    assert_eq!(states.iter().filter(|state| **state == "lapsed").count(), 3, "{table}");
    // Each row says the weather of the priming, and of the gunning where it came to one.
    for row in csv::Reader::from_reader(table.as_bytes()).deserialize() {
        let row: std::collections::BTreeMap<String, String> = row.unwrap();
        assert!(
            row["primed_reading"].starts_with("demo-") && row["primed_surface_c"].parse::<f64>().is_ok(),
            "{row:?}"
        );
        assert_eq!(row["reading"].is_empty(), row["state"] == "lapsed", "{row:?}");
    }
    assert!(bench.path("out/pack/drawings/seal-plan-3.svg").exists());
    let page = std::fs::read_to_string(bench.path("out/pack/handover.html")).unwrap();
    assert!(page.contains("Conditions when gunned"));
}

#[test]
fn a_folder_that_is_in_use_is_left_alone() {
    let bench = Bench::at("2026-03-02T08:00:00+13:00");
    std::fs::create_dir(bench.path("out")).unwrap();
    bench.file("out/mine.txt", "mine");
    assert!(bench.run(["demo", "out"]).exits(2).stderr.contains("is not empty"));
    assert_eq!(std::fs::read_dir(bench.path("out")).unwrap().count(), 1);
}
