//! An edited copy of a shipped sequence doesn't pass for it: job, pack and verify name it and the numbers that differ.

use crate::harness::{Bench, root};

const EIGHT: &str = "2026-03-02T08:00:00+13:00";

#[test]
fn an_edited_copy_of_a_shipped_sequence_is_named_with_the_numbers_that_differ() {
    let bench = Bench::at(EIGHT);
    let shipped = std::fs::read_to_string(root().join("checklists/panels-on-clips.toml")).unwrap();
    let (before, after) = shipped.split_once("most = 5").unwrap();
    bench.file("mine.toml", &format!("{before}most = 500{after}"));
    let job = std::fs::read_to_string(root().join("demo-db/job.toml")).unwrap();
    for (db, sequence) in [("edited.db", "mine.toml"), ("shipped.db", "panels-on-clips")] {
        let named = format!("sequence = \"{sequence}\"");
        bench.file("job.toml", &job.replacen("sequence = \"panels-on-clips\"", &named, 1));
        let run = |args: &[&str]| bench.run(["--db", db].iter().chain(args)).exits(0);
        run(&["job", "add", "job.toml"]);
        let edited = run(&["--json", "job", "show"]).json()["sequence"]["edited"].clone();
        let notes = run(&["--json", "verify"]).json()["notes"].to_string();
        run(&["pack", &format!("{db}-pack"), "--interim"]);
        let page = std::fs::read_to_string(bench.path(&format!("{db}-pack/handover.html"))).unwrap();
        let of_pack = run(&["--json", "verify", &format!("{db}-pack")]).json()["notes"].to_string();
        let is_edited = db == "edited.db";
        assert_eq!(edited.is_array(), is_edited);
        for text in [edited.to_string(), notes, page, of_pack] {
            assert_eq!(text.contains("500") && text.contains("was at most 5"), is_edited, "{db}: {text}");
        }
    }
    // A job that was set up with the shipped one can't take the copy for it.
    let refused = bench.run(["--db", "shipped.db", "--json", "sequence", "adopt", "mine.toml", "--why", "x"]).exits(1);
    assert_eq!(refused.json()["refused"]["rule"], "R13");
}
