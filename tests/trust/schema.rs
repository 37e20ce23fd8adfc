//! A file of every earlier schema is read as it is, and brought up to date when something is recorded.

use cladlog::record::Store;

use crate::harness::{Bench, root};

const NOON: &str = "2026-03-02T12:00:00+13:00";

fn version(path: &std::path::Path) -> i64 {
    let connection = rusqlite::Connection::open(path).unwrap();
    connection.query_row("PRAGMA user_version", [], |row| row.get(0)).unwrap()
}

#[test]
fn files_of_every_earlier_schema_are_read_verified_and_brought_up_to_date() {
    let bench = Bench::at(NOON);
    bench.run(["--db", "new.db", "job", "add", root().join("demo-db/job.toml").to_str().unwrap()]).exits(0);
    let newest = version(&bench.path("new.db"));
    for old in 1..newest {
        let name = format!("schema-{old}.db");
        let path = bench.path(&name);
        std::fs::copy(root().join("tests/trust/fixtures").join(&name), &path).unwrap();
        assert_eq!(version(&path), old);
        let run =
            |args: &[&str]| bench.run(["--db", &name, "--json", "--by", "Lea"].iter().chain(args)).exits(0).json();
        // Reading leaves it as it is.
        let (log, defects) = (run(&["log"]), run(&["defect", "list"]));
        assert_eq!(run(&["verify"])["ok"], true);
        assert_eq!(version(&path), old);
        let struck = log["entries"].as_array().unwrap().iter().filter(|entry| entry["struck_by"].is_string()).count();
        assert_eq!(struck, 1);
        // Recording brings it up to date, and no entry changes by that.
        let before = Store::read(&path).unwrap().entries("test").unwrap();
        run(&["note", "--on", "N", "--text", "by a newer program"]);
        assert_eq!(version(&path), newest);
        let after = Store::read(&path).unwrap().entries("test").unwrap();
        assert_eq!(after.len(), before.len() + 1);
        assert!(before.iter().zip(&after).all(|(a, b)| a.line == b.line && a.hash == b.hash));
        assert_eq!(
            run(&["log", "--limit", "100"])["entries"].as_array().unwrap()[..before.len()],
            *log["entries"].as_array().unwrap()
        );
        assert_eq!(run(&["defect", "list"]), defects);
        assert_eq!(run(&["verify"])["ok"], true);
    }
}
