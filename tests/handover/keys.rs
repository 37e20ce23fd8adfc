//! Files of a pack are named by the keys of the job.

use serde_json::Value;

use super::story::JOB;
use crate::harness::Bench;
use crate::harness::site::Site;
use crate::trust::mutate::inputs::seal_again;

#[test]
fn a_wall_with_a_long_key_is_packed() {
    let job = JOB
        .replace("key = \"N\"", "key = \"north-elevation-upper-storey\"")
        .replace("walls = [\"N\"]", "walls = [\"north-elevation-upper-storey\", \"E\"]");
    let site = Site::set_up("2026-03-02T07:30:00+13:00", &(job + "[[wall]]\nkey = \"E\"\ncourses = 1\n"), "");
    let made = site.ok("pack pack --interim");
    let files = made["files"].as_array().unwrap();
    assert!(files.contains(&"drawings/wall-1-north-elevation-upper-storey.svg".into()), "{made}");
    site.ok("verify pack");
}

/// A record from elsewhere may have keys that no job file has; they must not lead out of the pack.
#[test]
fn a_record_whose_keys_are_no_keys_is_not_taken() {
    let site = Site::set_up(
        "2026-03-02T07:30:00+13:00",
        &format!("{JOB}[[wall]]\nkey = \"E\"\ncourses = 1\n").replace("walls = [\"N\"]", "walls = [\"N\", \"E\"]"),
        "",
    );
    site.ok("export good.jsonl");
    let good = std::fs::read_to_string(site.path("good.jsonl")).unwrap();
    for at in [
        "/body/building/walls/0/key",
        "/body/building/walls/0/openings/0/key",
        "/body/building/corners/0/key",
        "/body/building/papers/0/key",
    ] {
        let mut entry: Value = serde_json::from_str(good.lines().next().unwrap()).unwrap();
        *entry.pointer_mut(at).unwrap() = "a/../../../../b".into();
        let bench = Bench::at("2026-03-02T08:00:00+13:00");
        bench.file("sent.jsonl", &seal_again(&format!("{entry}\n")));
        bench.run(["--db", "in.db", "merge", "sent.jsonl"]).exits(2);
        let pack = bench.run(["--db", "in.db", "pack", "in/pack", "--interim"]);
        assert_ne!(pack.code, 0, "{at}");
        assert!(!bench.path("b.svg").exists() && !bench.path("in").exists(), "{at}");
    }
}
