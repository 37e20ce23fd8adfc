//! `cladlog calc sealplan`, end to end.

use super::errors::GOOD;
use crate::harness::Bench;

fn bench() -> Bench {
    Bench::at("2026-03-02T07:00:00+13:00")
}

#[test]
fn json_has_the_keys_of_the_contract() {
    let bench = bench();
    let file = bench.file("day.toml", GOOD);
    let answer = bench.run(["calc", "sealplan", file.to_str().unwrap(), "--json"]).exits(0).json();
    let joint = &answer["joints"][1];
    assert_eq!(joint["id"], "S/J1");
    for key in ["mask_at", "prime_at", "gun_at", "tape_off_at", "done_at"] {
        let text = joint[key].as_str().unwrap();
        assert!(chrono::DateTime::parse_from_rfc3339(text).is_ok() && text.ends_with("+13:00"), "{key} {text}");
    }
    assert!(joint["primed_by"].as_u64().is_some_and(|person| (1..=2).contains(&person)));
    assert!(joint["gunned_by"].as_u64().is_some_and(|person| (1..=2).contains(&person)));
    assert_eq!(answer["left_out"], serde_json::json!([]));
    // 5.1 m: masking 11, priming 3, waiting 30, gunning 13, tape off 3 min.
    assert_eq!(answer["finish_at"], "2026-03-02T08:00:00+13:00");
}

#[test]
fn a_window_that_cannot_be_met_leaves_every_joint_out_and_says_so() {
    let bench = bench();
    let file = bench.file("day.toml", &GOOD.replace("latest_min = 240", "latest_min = 40"));
    let run = bench.run(["calc", "sealplan", file.to_str().unwrap(), "--json"]).exits(0);
    let answer = run.json();
    assert_eq!(answer["joints"], serde_json::json!([]));
    assert!(answer.get("finish_at").is_none());
    for left in answer["left_out"].as_array().unwrap() {
        assert!(left["why"].as_str().unwrap().starts_with("the window can't be met"), "{left}");
    }
    let run = bench.run(["calc", "sealplan", file.to_str().unwrap()]).exits(0);
    assert!(run.stdout.starts_with("0 of 2 joints sealed: nothing can be planned."), "{}", run.stdout);
}

#[test]
fn a_person_reads_a_timetable_of_eighty_columns() {
    let bench = bench();
    let file = bench.file("day.toml", &GOOD.replace("length_m = 2.4", "length_m = 200"));
    let drawn = bench.path("day.svg");
    let args = ["calc", "sealplan", file.to_str().unwrap(), "--drawing", drawn.to_str().unwrap()];
    let run = bench.run(args).exits(0);
    assert_eq!(
        run.stdout,
        "\
Person 1
from   to     task      joint
------------------------------
07:00  07:11  mask      S/J1
07:11  07:14  prime     S/J1
07:44  07:57  gun       S/J1
07:57  08:00  tape off  S/J1

1 of 2 joints sealed, finished at 08:00.

Left out: do not prime these
joint  why
--------------------------------------------------------------------------------
N/J1   the window can't be met: priming 100 min, waiting 30 min and gunning 500
       min make 630 min, and the latest less the margin leaves 220 min
"
    );
    assert!(run.stdout.lines().all(|line| line.chars().count() <= 80));
    assert!(std::fs::read_to_string(drawn).unwrap().contains("<title>S/J1: gun 07:44 to 07:57</title>"));
}

#[test]
fn bad_input_names_file_and_line_and_exits_2() {
    let bench = bench();
    let file = bench.file("day.toml", &GOOD.replace("crew = 2", "crew = 0"));
    let file = file.to_str().unwrap();
    let run = bench.run(["calc", "sealplan", file, "--json"]).exits(2);
    assert_eq!(run.stdout, "");
    assert_eq!(run.stderr, format!("{file}:3:8: crew must be 1 to 50 people, not 0\n"));
    let run = bench.run(["calc", "sealplan", "nowhere.toml"]).exits(2);
    assert!(run.stderr.starts_with("cladlog: nowhere.toml: "), "{}", run.stderr);
}
