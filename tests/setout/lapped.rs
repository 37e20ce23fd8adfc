//! A job of lapped boards, from its file to its pack: board ends staggered on studs, and no joint where there is none.

use std::collections::BTreeSet;

use cladlog::day::Book;
use cladlog::record::Store;
use serde_json::Value;

use crate::harness::drawing::not_overlapping;
use crate::harness::site::Site;

/// 150 of cover and 30 of lap: common practice, no source. The house is invented.
const JOB: &str = r#"
key = "shed"
name = "Boat shed"
time_zone = "Pacific/Auckland"
sequence = "planks-lapped"
person = [{ name = "Ana", roles = ["lead"] }, { name = "Bea", roles = ["builder"] }]
corner = [{ key = "NE", kind = "timber", walls = ["N", "E"] }]

[panel]
length_mm = 4200
cover_mm = 150
lap_mm = 30
stagger_mm = 600
least_column_mm = 600
least_piece_mm = 40
joint_mm = 2
gap_mm = 5
clear_of_opening_mm = 0
lift_in_mm = 5
kerf_mm = 3

[[wall]]
key = "N"
length_mm = 9000
height_mm = 2400
courses = 16
studs_mm = [0, 600, 1200, 1800, 2400, 3000, 3600, 4200, 4800, 5400, 6000, 6600, 7200, 7800, 8400, 9000]
[[wall.opening]]
kind = "window"
from_mm = 3300
to_mm = 4500
sill_mm = 900
head_mm = 2100
[[wall]]
key = "E"
length_mm = 6000
top = [[0, 2400], [3000, 3600], [6000, 2400]]
courses = 24
studs_mm = [0, 600, 1200, 1800, 2400, 3000, 3600, 4200, 4800, 5400, 6000]
"#;

fn kept() -> Site {
    let site = Site::set_up("2026-03-02T08:00:00+13:00", JOB, "");
    site.ok("calc courses --lowest 20 --highest 80 --overhang 10 --keep");
    for wall in ["N", "E"] {
        site.ok(format!("calc boards --wall {wall} --keep"));
    }
    site
}

fn numbers(list: &Value) -> Vec<f64> {
    list.as_array().unwrap().iter().map(|number| number.as_f64().unwrap()).collect()
}

#[test]
fn board_ends_of_a_job_are_staggered_on_studs_and_reach_its_pieces() {
    let site = kept();
    let boards = site.ok("calc boards --wall N");
    let courses = boards["courses"].as_array().unwrap();
    let joints: Vec<Vec<f64>> = courses.iter().map(|course| numbers(&course["joints_mm"])).collect();
    assert!(joints.iter().flatten().all(|at| at % 600.0 == 0.0), "on studs");
    // 9 m of boards of 4.2 m: two joints a course, but where the window parts it.
    assert_eq!((joints[0].len(), joints.len()), (2, 16));
    for pair in joints.windows(2) {
        assert!(pair[0].iter().all(|one| pair[1].iter().all(|other| (one - other).abs() >= 600.0)), "{pair:?}");
    }
    let panels = site.ok("calc panels --wall N");
    let pieces = panels["pieces"].as_array().unwrap();
    let ends = |course: usize| -> BTreeSet<String> {
        let of_course = pieces.iter().filter(|piece| piece["course"] == course);
        of_course.map(|piece| piece["outline_mm"][0][0].to_string()).collect()
    };
    // A piece begins half a gap right of each joint: its own course's, not the first one's.
    for (course, joints) in (1..).zip(&joints) {
        assert!(
            joints.iter().all(|at| ends(course).contains(&format!("{:?}", at + 1.0))),
            "{course}: {:?}",
            ends(course)
        );
    }
    // A whole course is as high as its face and its lap.
    assert_eq!(pieces[0]["height_mm"], 180.0);
    // A course hidden behind the next counts once in the sum of faces: the wall less its window with gaps.
    assert!(panels["area_m2"].as_f64().unwrap() > 9.0 * 2.3 - 1.21 * 1.21);
}

#[test]
fn board_ends_and_notches_are_held_against_the_plan() {
    let site = kept();
    let entries = Store::read(&site.path("job.db")).unwrap().entries("shed").unwrap();
    let state = Book::open(entries).unwrap().state;
    let planned = |step: &str, on: &str| {
        let (step, on) = (state.sequence().step(step).unwrap(), state.subjects.index(on).unwrap());
        state.planned(step, on)
    };
    let boards = site.ok("calc boards --wall N");
    let first = |course: usize| numbers(&boards["courses"][course - 1]["joints_mm"]).first().copied();
    for course in [1, 3, 9, 16] {
        assert_eq!(planned("course-level", &format!("N/C{course}")).get("end").copied(), first(course));
    }
    // The piece under the window is cut out from 895, 5 below the sill, to its own top.
    let panels = site.ok("calc panels --wall N");
    let tops = |piece: &Value| -> Vec<f64> {
        piece["outline_mm"].as_array().unwrap().iter().map(|point| point[1].as_f64().unwrap()).collect()
    };
    let notched = panels["pieces"].as_array().unwrap().iter().map(tops).filter(|tops| tops.contains(&895.0));
    let depth = notched.map(|tops| tops.into_iter().fold(0.0, f64::max) - 895.0).fold(0.0, f64::max);
    assert_eq!(planned("opening-surround", "N/O1").get("notch").copied(), (depth > 0.0).then_some(depth));
    // Whoever puts up a course is shown its pieces.
    let (step, on) = (state.sequence().step("courses").unwrap(), state.subjects.index("N/C1").unwrap());
    let shown = state.shown_before(step, on);
    assert!(shown.iter().any(|(_, line)| line.starts_with("N/C1-1: ")), "{shown:?}");
}

#[test]
fn a_lap_below_the_least_of_the_method_is_named_where_it_is_given_and_where_it_is_laid() {
    let site = Site::folder("2026-03-02T08:00:00+13:00", "");
    let thin = JOB.replace("lap_mm = 30", "lap_mm = 28");
    site.file("thin.toml", &thin);
    let said = |run: crate::harness::Run| run.exits(0).stderr;
    let wanted = "a lap of 28 mm is less than this job's method requires, 30 mm";
    let heard = said(site.bare(["--db", "thin.db", "job", "add", "thin.toml"]));
    assert!(heard.replace("\n  ", " ").contains(wanted), "{heard}");
    let rod = ["--db", "thin.db", "calc", "courses", "--lowest", "20", "--highest", "80"];
    let heard = said(site.bare(rod));
    assert!(heard.replace("\n  ", " ").contains(wanted), "{heard}");
    // The job's own figure goes before the sequence's.
    let paper = "\n[[paper]]\nkey = \"p\"\ntitle = \"Maker\"\n[[figure]]\nkey = \"least-lap\"\nvalue = 25\npaper = \"p\"\nclause = \"4\"\n";
    site.file("held.toml", &format!("{thin}{paper}"));
    let heard = said(site.bare(["--db", "held.db", "job", "add", "held.toml"]));
    assert!(!heard.contains("a lap of"), "{heard}");
    site.file("right.toml", JOB);
    assert!(!said(site.bare(["--db", "right.db", "job", "add", "right.toml"])).contains("a lap of"));
}

#[test]
fn a_lapped_job_is_ordered_without_sealed_joints_and_packed() {
    let site = kept();
    site.ok("calc cuts --wall N,E --keep");
    let order = site.ok("calc takeoff --keep");
    let line = |item: &str| {
        let lines = order["lines"].as_array().unwrap().iter();
        lines.filter(|line| line["item"].as_str().unwrap().starts_with(item)).cloned().collect::<Vec<_>>()
    };
    assert!(!line("planks").is_empty() || !line("boards").is_empty(), "{order}");
    // No movement joint is drawn: what is sealed is round the window and at the corner. 2 x 1.2 m, its sill 1.2 m, and
    // the two sides of the corner over the lowest line.
    let start = site.ok("calc courses --lowest 20 --highest 80 --overhang 10")["start_mm"].as_f64().unwrap();
    let sealed = 3.6 + 2.0 * (2400.0 - (start - 10.0)) / 1000.0;
    let sealant = &line("sealant")[0];
    assert!(sealant["rule"].as_str().unwrap().starts_with(&format!("{sealed}")), "{sealed}: {}", sealant["rule"]);
    // A soaker behind each board end that meets another, a packer strip behind what the window's sill and the tops cut.
    let joints = ["N", "E"].map(|wall| site.ok(format!("calc boards --wall {wall}"))["joints"].as_f64().unwrap());
    assert_eq!(line("soakers")[0]["needed"], joints.iter().sum::<f64>());
    assert!(line("preformed").is_empty(), "its corner is of timber");
    assert_eq!(line("corner profiles")[0]["needed"], (2400.0 - (start - 10.0)) / 1000.0);
    let rakes = 2.0 * 3000f64.hypot(1200.0) / 1000.0;
    let ripped = line("packer strip")[0]["needed"].as_f64().unwrap();
    // Under the window's sill, under the level top of N (unless a course line meets it) and under both rakes of E.
    assert!((rakes - 0.1..=rakes + 9.0 + 1.22).contains(&ripped), "{ripped}");
    let site = site.with_day(&["Ana"]);
    site.ok("note --on N --text \"first planks up\"");
    site.ok("pack handover --interim");
    site.ok("verify handover");
    let drawings = std::fs::read_dir(site.path("handover/drawings")).unwrap().map(|file| file.unwrap().path());
    let of_north = drawings.into_iter().find(|path| path.file_name().unwrap().to_str().unwrap().starts_with("wall-1"));
    let drawing = std::fs::read_to_string(of_north.unwrap()).unwrap();
    // Every board is drawn, and only them: a course of lapped boards has no column to measure.
    assert!(drawing.contains("Board ends as planned.") && !drawing.contains(">columns<"), "{drawing}");
    assert!(drawing.matches("<polygon").count() > 10, "{drawing}");
    not_overlapping(&drawing);
}
