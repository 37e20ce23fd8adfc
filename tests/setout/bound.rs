//! The sums bound to a job: inputs from its geometry, results in its record, measurements held against them.

use cladlog::building::{Corner, CornerKind, read_job};
use cladlog::setout::of_job::corner_at_mm;

use crate::harness::{Bench, Run, root};

/// The demonstration's job, freshly set up, with its readings beside it.
fn site() -> Bench {
    let bench = Bench::at("2026-03-03T08:00:00+13:00");
    for name in ["job.toml", "starter.csv", "north-frame.csv"] {
        let text = std::fs::read_to_string(root().join("demo-db").join(name)).unwrap();
        bench.file(name, &text);
    }
    bench.run(["--db", "site.db", "job", "add", "job.toml"]).exits(0);
    bench
}

fn run(bench: &Bench, line: &str) -> Run {
    bench.run(["--db", "site.db", "--json"].into_iter().chain(line.split(' ')))
}

const STARTER: &str = "calc starter starter.csv --clear-flashing 10 --clear-ground 100 --overhang 16 --cover 25 --keep";

#[test]
fn the_storey_rod_takes_its_range_from_the_starter_line_that_was_kept() {
    let bench = site();
    assert!(run(&bench, "calc courses").exits(2).stderr.contains("calc starter FILE.csv … --keep"));
    let starter = run(&bench, STARTER).exits(0).json();
    // Flashing 3 + clearance 10 + overhang 16; ground -150 + 100 + 16 and -188 + 175 + 16 lie lower.
    assert_eq!(starter["lowest_mm"], 29.0);
    let rod = run(&bench, "calc courses --keep").exits(0).json();
    // The panel hangs 16 mm below the start, by the starter line that was kept.
    assert_eq!(rod["start_mm"].as_f64().unwrap() - rod["walls"][0]["courses_mm"][0].as_f64().unwrap(), 16.0);
    let kept = run(&bench, "log").exits(0).json();
    let kinds: Vec<&str> =
        kept["entries"].as_array().unwrap().iter().map(|entry| entry["kind"].as_str().unwrap()).collect();
    assert_eq!(kinds, ["job-added", "plan-kept", "plan-kept"]);
    run(&bench, "verify").exits(0);
}

#[test]
fn the_starter_line_keeps_the_clearances_of_the_job_s_method() {
    let bench = site();
    // Soil 175 mm by the sequence, paving 120 by the job's own figure (panel-instructions, section 4).
    let rows = "--row N,0,,-150,,,yes --row S,0,,-180,";
    let lowest = |options: &str| {
        let line = format!("calc starter {rows} --clear-flashing 10 --overhang 16{options}");
        let run = run(&bench, &line).exits(0);
        (run.json()["lowest_mm"].as_f64().unwrap(), run.stderr)
    };
    let by_method = -180.0 + 175.0 + 16.0;
    assert_eq!(lowest(""), (by_method, String::new()));
    // What is only worked out is nobody's job; what is kept is held against the method.
    assert_eq!(lowest(" --clear-ground 100 --clear-paved 100"), (-34.0, String::new()));
    let (lower, said) = lowest(" --clear-ground 100 --clear-paved 100 --keep");
    assert_eq!((lower, said.matches("Note: 100 mm above the ground").count()), (-34.0, 2), "{said}");
    // A place with a clearance of its own may stand over a roof: 35 mm.
    for (own, notes) in [("35", 0), ("20", 1)] {
        let line = format!("calc starter --row E,0,,-100,,{own} --clear-flashing 10 --overhang 16 --keep");
        let said = run(&bench, &line).exits(0).stderr;
        assert_eq!(said.matches("Note: ").count(), notes, "{said}");
    }
}

#[test]
fn r8_a_measurement_is_held_against_what_was_planned() {
    let bench = site();
    let told = |height: &str| {
        let line = format!(
            "record starter --on N --answer level=1 --answer below=paving --answer ground=150{height} --anyway --why rehearsed"
        );
        run(&bench, &line)
    };
    // Without a plan the height is not asked.
    told("").exits(0);
    run(&bench, STARTER).exits(0);
    run(&bench, "calc courses --keep").exits(0);
    let rod = run(&bench, "calc courses").exits(0).json();
    assert_eq!(rod["start_mm"], 29.0);
    assert!(told("").exits(2).stderr.contains("planned 29 mm, within ±2 mm"));
    let out = told(" --answer height=32").exits(0).json();
    let opened = out["opened"].as_array().unwrap();
    assert!(opened.iter().any(|mark| mark["id"].as_str().unwrap().ends_with(".r8-height")), "{out}");
    let mended = told(" --answer height=31").exits(0).json();
    let closed = mended["closed"].as_array().unwrap();
    assert!(closed.iter().any(|mark| mark["id"].as_str().unwrap().ends_with(".r8-height")), "{mended}");
}

/// A plan that was given a past time changes nothing that was measured before it was recorded.
#[test]
fn r8_a_plan_given_a_past_time_changes_no_verdict() {
    let bench = site();
    run(&bench, STARTER).exits(0);
    run(&bench, "calc courses --keep").exits(0);
    let line = "record starter --on N --answer level=1 --answer below=paving --answer ground=150 --answer height=40 --anyway --why rehearsed";
    bench.set_clock("2026-03-03T09:00:00+13:00");
    run(&bench, line).exits(0);
    let open = |bench: &Bench| run(bench, "defect list").exits(0).json()["defects"].to_string();
    let before = open(&bench);
    assert!(before.contains(".r8-height"), "{before}");
    // A higher start, by which 40 mm would have been right.
    bench.set_clock("2026-03-03T10:00:00+13:00");
    let higher = STARTER.replace("--clear-flashing 10", "--clear-flashing 21");
    run(&bench, &format!("{higher} --at 2026-03-03T08:10:00+13:00")).exits(0);
    run(&bench, "calc courses --keep --at 2026-03-03T08:20:00+13:00").exits(0);
    assert_eq!(run(&bench, "calc courses").exits(0).json()["start_mm"], 40.0);
    assert_eq!(open(&bench), before);
}

#[test]
fn columns_pieces_and_packing_know_their_wall() {
    let bench = site();
    run(&bench, STARTER).exits(0);
    let columns = run(&bench, "calc columns --wall W --keep").exits(0).json();
    assert_eq!(columns["add_studs_mm"].as_array().unwrap().len(), 1);
    assert!(run(&bench, "calc columns --wall Q").exits(2).stderr.contains("there is no wall 'Q'"));
    let panels = run(&bench, "calc panels --wall W").exits(0).json();
    let area: f64 = panels["pieces"].as_array().unwrap().iter().map(|piece| piece["area_m2"].as_f64().unwrap()).sum();
    assert!((area - panels["area_m2"].as_f64().unwrap()).abs() < 1e-6);
    run(&bench, "calc packing north-frame.csv --wall N --keep").exits(0);
    // The east wall is shorter than the frame that was read.
    let wrong = run(&bench, "calc packing north-frame.csv --wall E").exits(2).stderr;
    assert!(wrong.contains("north-frame.csv:53: stud 7222.5 mm is off the wall, which is 7200 mm long"), "{wrong}");
}

/// The demonstration's job with one thing of its walls changed.
fn changed(from: &str, to: &str) -> Bench {
    let bench = Bench::at("2026-03-03T08:00:00+13:00");
    let text = std::fs::read_to_string(root().join("demo-db/job.toml")).unwrap();
    assert!(text.contains(from), "{from}");
    bench.file("job.toml", &text.replacen(from, to, 1));
    bench
}

/// The west wall as the job file begins it.
const WEST: &str = "name = \"West, to the sea\"\nlength_mm = 7200\nheight_mm = 5400\n";

#[test]
fn a_job_has_gables_bases_ends_and_gaps_of_its_own() {
    let gable = "name = \"West\"\nlength_mm = 7200\ntop = [[0, 5400], [3600, 7200], [7200, 5400]]\n\
                 base = [[0, 0], [3000, 0], [3000, 400], [7200, 400]]\nends = {left_mm = 35, right_mm = 35}\n";
    let bench = changed(WEST, gable);
    bench.run(["--db", "site.db", "job", "add", "job.toml"]).exits(0);
    let rod = run(&bench, "calc courses --lowest 29 --highest 29 --overhang 16 --wall W").exits(0).json();
    assert_eq!(rod["walls"].as_array().unwrap().len(), 1);
    // The peak ends at 7200 − 5: 13 + 11 · 600 = 6613 and 582 over it. The step leaves 613 − 400.
    assert_eq!(rod["walls"][0]["courses_mm"].as_array().unwrap().len(), 12);
    assert_eq!(rod["smallest_by"]["what"], "base");
    run(&bench, "calc courses --lowest 29 --highest 29 --overhang 16 --keep").exits(0);
    let cut = run(&bench, "calc panels --wall W").exits(0).json();
    assert_eq!(cut["pieces"][0]["outline_mm"][0], serde_json::json!([35.0, 13.0]), "the corner takes 35 mm");
    let top = cut["pieces"].as_array().unwrap().last().unwrap();
    assert_eq!((&top["course"], &top["angles_deg"][0]), (&serde_json::json!(12), &serde_json::json!(26.565051)));
    assert!(run(&bench, "calc courses --lowest 29 --highest 29 --wall Q").exits(2).stderr.contains("no wall 'Q'"));
}

#[test]
fn over_a_raised_base_the_starter_line_is_bound_by_nothing_and_the_edge_is_held_to_the_same() {
    let stepped =
        "name = \"West\"\nlength_mm = 7200\nheight_mm = 5400\nbase = [[0, 0], [3000, 0], [3000, 400], [7200, 400]]\n";
    let bench = changed(WEST, stepped);
    bench.run(["--db", "site.db", "job", "add", "job.toml"]).exits(0);
    let sum = "calc starter --clear-flashing 10 --clear-ground 100 --overhang 16 --cover 25 \
               --row W,0,0,-205,60 --row W,6000,402,210,430";
    let range = run(&bench, sum).exits(0).json();
    // By the low end alone: 0 + 10 + 16, and 60 - 25 + 16. The edge over the base is at 400 and its gap of 10: 2 mm too
    // low over the flashing at 402, and 405 is as high as what is covered lets it be.
    assert_eq!((&range["lowest_mm"], &range["highest_mm"]), (&serde_json::json!(26.0), &serde_json::json!(51.0)));
    let over = &range["over_base"][0];
    assert_eq!((&over["edge_mm"], &over["start_mm"]), (&serde_json::json!(410.0), &serde_json::json!(426.0)));
    let short = serde_json::json!([{"what": "flashing", "by_mm": 2.0}, {"what": "cover_to", "by_mm": 5.0}]);
    assert_eq!(over["short"], short);
}

#[test]
fn outlines_and_laps_of_a_job_that_are_wrong_are_named() {
    let error = |from: &str, to: &str| {
        let bench = changed(from, to);
        bench.run(["--db", "site.db", "job", "add", "job.toml"]).exits(2).stderr
    };
    let top = |points: &str| error(WEST, &WEST.replace("height_mm = 5400", &format!("top = {points}")));
    assert!(top("[[0, 5400], [3600, 7200], [3500, 5400]]").contains("'top' must run from left to right"));
    assert!(top("[[0, 5400], [0, 7200], [0, 6000], [7200, 5400]]").contains("three points at one place"));
    assert!(error(WEST, &format!("{WEST}top = [[0, 1], [1, 1]]\n")).contains("not both"));
    assert!(
        error("cover_mm = 600\n", "cover_mm = 600\nlap_mm = 600\n").contains("must be less than the cover, 600 mm")
    );
    assert!(error("cover_mm = 600\n", "cover_mm = 600\ncover_least_mm = 590\n").contains("go together"));
    // A base that a slope of it carries over the top, and one whose point stands over it.
    let base = |points: &str| error(WEST, &format!("{WEST}base = {points}\n"));
    assert!(base("[[0, 0], [7200, 5500]]").contains("'base' stands above the top of the wall at 7200 mm"));
    let both = WEST.replace("height_mm = 5400", "top = [[0, 5400], [3600, 3000], [7200, 5400]]");
    let said = error(WEST, &format!("{both}base = [[0, 3100], [7200, 3100]]\n"));
    assert!(said.contains("'base' stands above the top of the wall at 3600 mm"), "{said}");
    // What every sum would refuse is refused where it is typed: studs off the wall or twice, an opening past the top, a least
    // column longer than a panel.
    let said = error("studs_mm = [", "studs_mm = [100, 100, ");
    assert!(said.contains("the stud at 100 mm is given twice"), "{said}");
    let said = error(WEST, &WEST.replace("length_mm = 7200", "length_mm = 7000"));
    assert!(said.contains(" is off the wall"), "{said}");
    let said = error(WEST, &WEST.replace("height_mm = 5400", "height_mm = 4400"));
    assert!(said.contains("opening 'O1' reaches past the top of the wall"), "{said}");
    let raked = both.replace("[3600, 3000]", "[3600, 4400]");
    let said = error(WEST, &raked);
    assert!(said.contains("opening 'O1' reaches past the top of the wall"), "{said}");
    let said = error("least_column_mm = 300", "least_column_mm = 2401");
    assert!(said.contains("the shortest column is longer than a panel, 2400 mm"), "{said}");
    // Two openings share 100 mm of height; studs wider than they stand apart.
    let said = error("sill_mm = 900\nhead_mm = 2100", "sill_mm = 900\nhead_mm = 3400");
    assert!(said.contains("opening 'O3' overlaps 'O2'"), "{said}");
    let said = error("stud_width_mm = 45", "stud_width_mm = 610");
    assert!(said.contains("wall N: studs 610 mm wide can't stand at 22.5 and 577.5 mm"), "{said}");
}

/// Seen from outside, a wall that faces north has its east end at the left.
#[test]
fn a_corner_stands_at_the_end_that_the_walls_faces_give() {
    let text = std::fs::read_to_string(root().join("demo-db/job.toml")).unwrap();
    let job = read_job(&text).unwrap();
    let at = |kind, walls: [&str; 2]| {
        let walls = walls.map(str::to_owned).to_vec();
        let corner = Corner { key: "K".into(), kind, walls: walls.clone(), dry: false };
        walls.iter().map(|wall| corner_at_mm(&job, &corner, job.wall(wall).unwrap()).unwrap()).collect::<Vec<_>>()
    };
    // N meets E at its left end, E meets N at its right one.
    for kind in [CornerKind::Preformed, CornerKind::Metal, CornerKind::Timber, CornerKind::Mitred] {
        assert_eq!(at(kind, ["N", "E"]), [0.0, 7200.0]);
    }
    // Where they face each other across an inner corner, N's right end meets E's left one.
    assert_eq!(at(CornerKind::Internal, ["N", "E"]), [9600.0, 0.0]);
}
