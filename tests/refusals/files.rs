//! Job files and sequence files that leave nothing behind. What is said of each mistake stands in
//! `tests/messages/jobs.txt`.

use crate::harness::Bench;
use crate::rules::site::JOB;

fn bench() -> Bench {
    let bench = Bench::at("2026-03-02T08:00:00+13:00");
    let small = std::fs::read_to_string(crate::harness::root().join("tests/rules/small.toml")).unwrap();
    bench.file("small.toml", &small);
    bench
}

#[test]
fn a_job_that_can_not_be_set_up_leaves_no_database() {
    let bench = bench();
    let wrong = [
        JOB.replace("Pacific/Auckland", "Auckland"),
        JOB.replace("[\"designer\"]", "[\"king\"]"),
        JOB.replace("small.toml", "smell.toml"),
        JOB.replace("\"Ivo\"", &format!("\"{}\"", "字".repeat(10_000))),
        String::new(),
        "key = ".to_owned(),
    ];
    for text in wrong {
        bench.file("job.toml", &text);
        bench.run(["--db", "job.db", "job", "add", "job.toml"]).exits(2);
        assert!(!bench.path("job.db").exists(), "{text}");
    }
    std::fs::write(bench.path("bytes.toml"), [0xff, 0xfe, 0x00]).unwrap();
    for file in ["bytes.toml", "nowhere.toml", "."] {
        bench.run(["--db", "job.db", "job", "add", file]).exits(2);
        bench.run(["sequence", "check", file]).exits(2);
        assert!(!bench.path("job.db").exists(), "{file}");
    }
}

#[test]
fn the_same_job_twice_is_refused_and_the_first_stands() {
    let bench = bench();
    bench.file("job.toml", JOB);
    bench.run(["--db", "job.db", "job", "add", "job.toml"]).exits(0);
    bench.run(["--db", "job.db", "job", "add", "job.toml"]).exits(2);
    bench.run(["--db", "job.db", "verify"]).exits(0);
}

#[test]
fn long_tables_and_many_unknown_keys_are_refused_in_few_words() {
    let bench = Bench::at("2026-03-02T08:00:00+13:00");
    let rows: String = (0..100_001).map(|row| format!("P{row},1000,1\n")).collect();
    bench.file("long.csv", &format!("label,length_mm,count\n{rows}"));
    let said = bench.run(["calc", "cuts", "long.csv", "--stock", "3000"]).exits(2).stderr;
    assert!(said.contains("long.csv:100002:") && said.lines().count() < 4, "{said}");
    let wrong: String = (0..5000).map(|row| format!("P{row},x,1\n")).collect();
    bench.file("wrong.csv", &format!("label,length_mm,count\n{wrong}"));
    let said = bench.run(["calc", "cuts", "wrong.csv", "--stock", "3000"]).exits(2).stderr;
    assert_eq!(said.matches("wrong.csv:").count(), 100, "{said}");
    let keys: String = (0..5000).map(|key| format!("k{key} = 1\n")).collect();
    bench.file("keys.toml", &keys);
    let said = bench.run(["calc", "columns", "keys.toml"]).exits(2).stderr;
    assert_eq!(said.matches("unknown key '").count(), 20, "{said}");
    assert!(said.contains("4980 more unknown keys"), "{said}");
}
