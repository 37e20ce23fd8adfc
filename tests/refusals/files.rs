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
