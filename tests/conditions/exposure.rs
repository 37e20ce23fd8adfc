//! C13: exposure through the binary. Heat index and lifting have their published rows beside their code.

use cladlog::conditions::exposure::{Stint, twa8};

use super::CLOCK;
use crate::harness::Bench;

fn hours(stints: &[(f64, f64)]) -> f64 {
    twa8(&stints.iter().map(|&(hours, level)| Stint { level, minutes: hours * 60.0 }).collect::<Vec<_>>()).unwrap()
}

#[test]
fn oshas_worked_examples() {
    // 29 CFR 1910.1000(d)(1)(ii): two hours at 150, two at 75 and four at 50 ppm average to 81.25 ppm.
    assert_eq!(hours(&[(2.0, 150.0), (2.0, 75.0), (4.0, 50.0)]), 81.25);
    // By exact arithmetic.
    assert_eq!(hours(&[(1.5, 180.0), (6.5, 10.0)]), 41.875);
    assert_eq!(hours(&[(2.0, 100.0)]), 25.0);
    assert_eq!(hours(&[(10.0, 40.0)]), 50.0);
}

#[test]
fn the_command_reads_columns_by_name() {
    let bench = Bench::at(CLOCK);
    let file = bench.file("day.csv", "minutes,task,level\n120,cutting,150\n120,fixing,75\n240,fixing,50\n");
    let file = file.to_str().unwrap();
    assert_eq!(bench.run(["calc", "exposure", file, "--json"]).exits(0).json(), serde_json::json!({ "twa8": 81.25 }));
}

#[test]
fn an_average_is_judged_only_against_a_limit_that_was_given() {
    let bench = Bench::at(CLOCK);
    let run = |rest: &[&str]| {
        let given =
            ["calc", "exposure", "--at-level", "180", "--minutes", "90", "--at-level", "10", "--minutes", "390"];
        bench.run(given.iter().chain(rest)).exits(0)
    };
    assert_eq!(run(&["--json"]).json(), serde_json::json!({ "twa8": 41.875 }));
    let limits = ["--limit", "50", "--action", "25", "--basis", "29 CFR 1926.1153"];
    let judged = run(&[&limits[..], &["--json"]].concat()).json();
    assert_eq!((&judged["verdict"], &judged["basis"]), (&"at-action-level".into(), &limits[5].into()));
    let over = run(&["--limit", "40", "--basis", "ours", "--json"]).json();
    assert_eq!(over["verdict"], "over-limit");
    // Over by less than is shown: it does not read as on the limit.
    let hair = bench.run(["calc", "exposure", "--row", "50.0004,480", "--limit", "50", "--basis", "ours"]).exits(0);
    assert!(hair.stdout.contains("50.0004"), "{}", hair.stdout);
    bench.run(["calc", "exposure", "--at-level", "1", "--minutes", "9", "--limit", "50"]).exits(2);
    bench.run(["calc", "exposure", "--at-level", "1", "--minutes", "9", "--minutes", "8"]).exits(2);
}
