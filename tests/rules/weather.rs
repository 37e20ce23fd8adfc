//! R7 and R6: what is read of the weather, and rain that work stops for.

use serde_json::Value;

use super::site;
use crate::harness::root;
use crate::harness::site::Site;

/// The small job, with a limit on wind and rain for hanging courses; cautions and hold point out of the way.
fn windy(clock: &str) -> Site {
    let site = Site::folder(clock, "");
    let text = std::fs::read_to_string(root().join("tests/rules/small.toml")).unwrap();
    let text = text.replace("in_turn = true\ncautions = [\"dust\"]", "in_turn = true\nlimits = [\"lifting\"]");
    let limit = "\n[[limit]]\nkey = \"lifting\"\ntitle = \"wind for lifting\"\nreading_within = \"4 h\"\nwind_most_kmh = 28\n\
                 dry = true\nbasis = { common_practice = \"28 km/h\" }\n";
    site.file("small.toml", &(text + limit));
    site.file("job.toml", site::JOB);
    site.ok("job add job.toml");
    site.open_day(&["Lea", "Ivo"]);
    for wall in ["N", "E"] {
        site.ok(["record", "frame", "--on", wall, "--answer", "flat=2"]);
        site.ok(["hold", "release", "cover", "--on", wall, "--person", "Ines", "--how", "on site"]);
    }
    site
}

fn why(refused: &Value) -> &str {
    refused["why"].as_str().unwrap()
}

#[test]
fn a_limit_asks_only_for_what_it_bounds() {
    let site = windy("2026-03-02T08:00:00+13:00");
    let refused = site.refused("R7", "record course --on N/C1");
    assert!(why(&refused).contains("wind") && !why(&refused).contains("surface"), "{refused}");
    assert!(refused["clears"].as_str().unwrap().ends_with("reading --on N --wind KMH"), "{refused}");
    site.ok("reading --on N --wind 18");
    site.ok("record course --on N/C1");
    // Wind does not seal a joint, and the other wall was not read.
    site.refused("R7", "record course --on E/C1");
    site.ok("record prime --on N/J1");
    site.clock("08:40");
    let refused = site.refused("R7", "record gun --on N/J1");
    for word in ["air", "humidity", "surface"] {
        assert!(why(&refused).contains(word), "{word}: {refused}");
    }
}

#[test]
fn what_is_read_on_the_job_counts_for_every_wall_until_a_wall_is_read_later() {
    let site = windy("2026-03-02T08:00:00+13:00");
    site.ok("reading --on job --wind 18");
    site.ok("record course --on N/C1");
    site.ok("record course --on E/C1");
    site.clock("09:00");
    site.ok("reading --on N --wind 40");
    let refused = site.refused("R7", "record course --on N/C2");
    assert!(why(&refused).contains("40 km/h") && why(&refused).contains("28 km/h"), "{refused}");
    site.ok("record course --on E/C2");
}

#[test]
fn each_value_ages_by_itself() {
    let site = windy("2026-03-02T08:00:00+13:00");
    site.ok("reading --on N --air 18 --humidity 60 --surface 18");
    site.clock("15:00");
    site.ok("record prime --on N/J1");
    site.ok("reading --on N --surface 20");
    site.clock("15:59");
    site.ok("record gun --on N/J1");
    site.ok("record prime --on N/J2");
    site.clock("16:35");
    let refused = site.refused("R7", "record gun --on N/J2");
    assert!(why(&refused).contains("air and humidity") && !why(&refused).contains("surface on"), "{refused}");
    assert!(refused["clears"].as_str().unwrap().contains("--air C --humidity PCT"), "{refused}");
    site.ok("reading --on job --air 17 --humidity 60");
    site.ok("record gun --on N/J2");
}

#[test]
fn a_force_stands_for_the_middle_of_its_range_and_the_record_says_so() {
    let site = windy("2026-03-02T08:00:00+13:00");
    site.ok("reading --on job --beaufort 4");
    site.ok("record course --on N/C1");
    site.clock("08:10");
    site.ok("reading --on job --beaufort 5");
    let refused = site.refused("R7", "record course --on N/C2");
    // 29 to 38 km/h: WMO, the Beaufort scale.
    assert!(why(&refused).contains("33.5 km/h"), "{refused}");
    site.ok("export all.jsonl");
    let last: Value = serde_json::from_str(site.read("all.jsonl").lines().last().unwrap()).unwrap();
    assert_eq!((&last["body"]["beaufort"], &last["body"]["wind_kmh"]), (&5.into(), &33.5.into()), "{last}");
    assert!(last["body"].get("air_c").is_none() && last["body"]["rain"] == false, "{last}");
    site.bad("reading --on job --beaufort 13");
    site.bad("reading --on job --beaufort 3 --wind 18");
    site.bad("reading --on job");
    site.bad("reading --on N/C1 --wind 18");
    // Absent values are blank in the tables of the pack; what counts for every wall stands there once.
    site.ok("pack pack --interim");
    let table = site.read("pack/tables/readings.csv");
    let rows: Vec<&str> = table.lines().collect();
    assert_eq!(rows.len(), 3, "{table}");
    assert!(rows[1].contains(",job,,,,,24,"), "{table}");
}

#[test]
fn rain_on_a_limit_that_wants_it_dry_is_out_whatever_the_wind() {
    let site = windy("2026-03-02T08:00:00+13:00");
    site.ok("reading --on N --wind 10 --rain");
    assert!(why(&site.refused("R7", "record course --on N/C1")).contains("raining"));
    site.clock("08:30");
    site.ok("reading --on N --dry");
    site.ok("record course --on N/C1");
}

#[test]
fn rain_that_work_stops_for_lapses_what_rain_lapses_from_its_beginning_to_its_end() {
    let site = site::with_frame("2026-03-02T08:00:00+13:00");
    site.ok("record frame --on E --answer flat=2");
    site.ok("record prime --on N/J1");
    site.ok("record prime --on E/J1");
    site.clock("08:20");
    let told = site.ok("stoppage start --rain --on N");
    assert!(told["closed"].as_array().unwrap().iter().any(|mark| mark["what"] == "window"), "{told}");
    assert_eq!(site.window_state("primer-to-sealant", "N/J1").as_deref(), Some("lapsed"));
    assert_eq!(site.window_state("primer-to-sealant", "E/J1").as_deref(), Some("waiting"));
    // What is begun in the rain is as good as not begun.
    site.clock("08:40");
    site.ok("record prime --on N/J2");
    assert_eq!(site.window_state("primer-to-sealant", "N/J2").as_deref(), Some("lapsed"));
    site.clock("09:40");
    site.ok("stoppage end");
    site.ok("reading --on N,E --air 18 --humidity 60 --surface 18");
    assert_eq!(site.refused("R6", "record gun --on N/J1")["rule"], "R6");
    site.ok("record gun --on E/J1");
    site.ok("record prime --on N/J1");
    site.clock("10:20");
    site.ok("record gun --on N/J1");
    assert_eq!(site.ok("verify")["ok"], true);
    // Nobody need be told for a stoppage to be kept.
    let list = site.ok("stoppage list")["stoppages"].clone();
    assert_eq!((&list[0]["cause"], &list[0]["told"]), (&"rain".into(), &serde_json::json!([])), "{list}");
}

#[test]
fn while_it_is_stopped_for_rain_and_until_it_is_read_again_it_is_wet() {
    let site = windy("2026-03-02T08:00:00+13:00");
    site.ok("reading --on job --wind 10");
    site.clock("08:20");
    site.ok("stoppage start --rain");
    site.clock("08:30");
    // A thermometer held up meanwhile does not make it dry.
    site.ok("reading --on job --wind 10");
    assert!(why(&site.refused("R7", "record course --on N/C1")).contains("raining"));
    site.clock("09:00");
    site.ok("stoppage end");
    site.clock("09:10");
    site.refused("R7", "record course --on N/C1");
    site.ok("reading --on job --dry");
    site.ok("record course --on N/C1");
}

#[test]
fn stopped_work_is_not_offered() {
    let site = windy("2026-03-02T08:00:00+13:00");
    site.ok("reading --on job --wind 10");
    assert_eq!(site.next_of("course", "N/C1").unwrap()["state"], "ready");
    let stoppage = site.entry("stoppage start --cause 'no crane' --on N");
    let stopped = site.next_of("course", "N/C1").unwrap();
    assert_eq!(stopped["state"], "waiting");
    assert!(stopped["why"].as_str().unwrap().contains("no crane"), "{stopped}");
    assert_eq!(site.next_of("course", "E/C1").unwrap()["state"], "ready");
    assert!(site.text("next").starts_with("STOPPED on N since 08:00"), "said first");
    site.ok(["stoppage", "end", &stoppage]);
    assert_eq!(site.next_of("course", "N/C1").unwrap()["state"], "ready");
}
