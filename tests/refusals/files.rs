//! Job files and sequence files.

use crate::harness::Bench;
use crate::rules::site::JOB;

fn bench() -> Bench {
    let bench = Bench::at("2026-03-02T08:00:00+13:00");
    let small = std::fs::read_to_string(crate::harness::root().join("tests/rules/small.toml")).unwrap();
    bench.file("small.toml", &small);
    bench
}

/// Adds a job from this text; gives the message. No database may be left behind.
fn said(text: &str) -> String {
    let bench = bench();
    bench.file("job.toml", text);
    let run = bench.run(["--db", "job.db", "job", "add", "job.toml"]).exits(2);
    assert!(!bench.path("job.db").exists(), "nothing is made on bad input");
    run.stderr
}

#[test]
fn every_mistake_of_a_job_file_is_told_at_once_with_its_place() {
    let text = JOB
        .replace("time_zone = \"Pacific/Auckland\"", "time_zone = \"Auckland\"")
        .replace("courses = 2", "courses = -2\ncourse = 3")
        .replace("name = \"Dag\"", "name = \"Lea\"");
    assert_eq!(
        said(&text),
        "job.toml:4:13: 'time_zone' can't be 'Auckland'; write a name such as \"Pacific/Auckland\" or \"Europe/London\"\n\
         job.toml:19:8: person 'Lea' is given twice\n\
         job.toml:27:11: 'courses' must be 0 to 1000, not -2\n\
         job.toml:28:1: unknown key 'course' in a wall: did you mean 'courses'?\n"
    );
}

#[test]
fn a_building_that_can_not_stand_is_refused() {
    let with = |more: &str| said(&format!("{JOB}{more}"));
    assert!(with("[[wall]]\nkey = \"N\"\ncourses = 1\n").contains("'N' is given twice among walls and corners"));
    assert!(
        with("[[corner]]\nkey = \"NX\"\nkind = \"metal\"\nwalls = [\"N\", \"X\"]\n").contains("there is no wall 'X'")
    );
    let corner = |key: &str| format!("[[corner]]\nkey = \"{key}\"\nkind = \"metal\"\nwalls = [\"N\", \"E\"]\n");
    for job in ["[[wall]]\nkey = \"job\"\ncourses = 1\n", &corner("job")] {
        assert!(with(job).contains("'job' means the whole job; use another key"));
    }
    assert!(with(&corner("N")).contains("'N' is given twice among walls and corners"));
    let taken = "[[wall]]\nkey = \"S\"\ncourses = 1\n[[wall.opening]]\nkey = \"C1\"\nkind = \"door\"\n";
    assert!(with(taken).contains("'key' can't be 'C1': that is a joint or a course"));
    assert!(
        with("[[wall]]\nkey = \"S\"\ncourses = 1\nlength_mm = 1000\njoints_mm = [400, 300]\n")
            .contains("left to right")
    );
    assert!(
        with("[[wall]]\nkey = \"S\"\ncourses = 1\nlength_mm = 1000\njoints_mm = [1400]\n").contains("off the wall")
    );
    let opening = "[[wall]]\nkey = \"S\"\ncourses = 1\n[[wall.opening]]\nkind = \"window\"\nfrom_mm = 0\nto_mm = 100\n\
                   [[wall.opening]]\nkind = \"door\"\nfrom_mm = 50\nto_mm = 150\n";
    assert!(with(opening).contains("opening 'O2' overlaps 'O1'"));
}

#[test]
fn roles_and_sequences_that_are_not_there_are_named() {
    assert!(said(&JOB.replace("[\"designer\"]", "[\"king\"]")).contains("sequence small has no role 'king'"));
    assert!(said(&JOB.replace("small.toml", "smell.toml")).contains("there is no sequence 'smell.toml'"));
    assert!(said(&JOB.replace("[\"lead\"]", "[\"installer\"]")).contains("nobody has the role \"lead\""));
    assert!(said("").contains("job.toml:1:1: this job has no 'key'"));
    assert!(said("key = ").contains("job.toml:1:"));
}

#[test]
fn control_characters_and_endless_names_in_a_job_file_are_refused() {
    assert!(said(&JOB.replace("\"Ivo\"", "\"Ivo\\u0007\"")).contains("has a control character in it"));
    let endless = format!("\"{}\"", "字".repeat(10_000));
    assert!(said(&JOB.replace("\"Ivo\"", &endless)).contains("is 10000 characters long; at most 200"));
}

#[test]
fn a_file_that_is_missing_or_no_text_is_bad_input() {
    let bench = bench();
    assert!(bench.run(["--db", "job.db", "job", "add", "nowhere.toml"]).exits(2).stderr.contains("nowhere.toml"));
    std::fs::write(bench.path("bytes.toml"), [0xff, 0xfe, 0x00]).unwrap();
    assert!(bench.run(["--db", "job.db", "job", "add", "bytes.toml"]).exits(2).stderr.contains("is not text"));
    assert!(bench.run(["--db", "job.db", "job", "add", "."]).exits(2).stderr.contains("is a folder"));
    assert!(bench.run(["sequence", "check", "nowhere.toml"]).exits(2).stderr.contains("nowhere.toml"));
}

#[test]
fn a_sequence_file_is_checked_mistake_by_mistake() {
    let bench = bench();
    assert!(bench.run(["sequence", "check", "small.toml"]).exits(0).stdout.contains("is in order"));
    let small = std::fs::read_to_string(bench.path("small.toml")).unwrap();
    bench.file(
        "broken.toml",
        &small.replace("latest = \"6 h\"", "latest = \"20 min\"").replace("to = \"gun\"", "to = \"gum\""),
    );
    let run = bench.run(["sequence", "check", "broken.toml"]).exits(2);
    let lines: Vec<&str> = run.stderr.lines().collect();
    assert!(lines[0].starts_with("broken.toml:") && lines[0].ends_with("did you mean 'gun'?"), "{lines:?}");
    assert!(lines.iter().any(|line| line.contains("'latest' is before 'earliest'")), "{lines:?}");
}

#[test]
fn the_same_job_twice_is_refused_and_the_first_stands() {
    let bench = bench();
    bench.file("job.toml", JOB);
    bench.run(["--db", "job.db", "job", "add", "job.toml"]).exits(0);
    let run = bench.run(["--db", "job.db", "job", "add", "job.toml"]).exits(2);
    assert!(run.stderr.contains("job test already exists in this database"));
    bench.run(["--db", "job.db", "verify"]).exits(0);
}

#[test]
fn questions_without_a_terminal_are_refused_and_the_flags_named() {
    let bench = bench();
    assert!(bench.run(["--db", "job.db", "job", "add"]).exits(2).stderr.contains("cladlog job add FILE.toml"));
}
