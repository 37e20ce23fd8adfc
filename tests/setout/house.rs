//! A house with a gable, a window over a window and a stepped base, checked against millimetres worked by hand.
//!
//! Wall G is 4800 long. Its top climbs from 2700 at either end to 3900 in the middle: half a millimetre up for each
//! along, 26.565°. Its base steps from 0 to 600 in the middle, where the drawn joint stands. Panels of 2400 by 600, joints
//! of 10, gaps of 10, 5 to lift in; the panel's edge hangs 16 below the start, so that the lines are 0, 600, 1200 and on.

use serde_json::{Value, json};

use crate::harness::site::Site;

const JOB: &str = r#"
key = "gable"
name = "House with a gable"
time_zone = "Pacific/Auckland"
sequence = "panels-on-clips"
person = [{ name = "Ana", roles = ["lead"] }]

[panel]
length_mm = 2400
cover_mm = 600
least_column_mm = 300
least_piece_mm = 50
joint_mm = 10
gap_mm = 10
base_gap_mm = 10
clear_of_opening_mm = 100
lift_in_mm = 5
kerf_mm = 4

[[wall]]
key = "G"
length_mm = 4800
top = [[0, 2700], [2400, 3900], [4800, 2700]]
base = [[0, 0], [2400, 0], [2400, 600], [4800, 600]]
courses = 7
studs_mm = [0, 600, 1200, 1800, 2400, 3000, 3600, 4200, 4800]
joints_mm = [2400]
[[wall.opening]]
kind = "window"
from_mm = 600
to_mm = 1800
sill_mm = 600
head_mm = 1400
[[wall.opening]]
kind = "window"
from_mm = 600
to_mm = 1800
sill_mm = 2000
head_mm = 2600
"#;

fn site() -> Site {
    let site = Site::set_up("2026-03-02T08:00:00+13:00", JOB, "");
    site.ok("calc courses --lowest 16 --highest 16 --overhang 16 --keep");
    site.ok("calc columns --wall G --keep");
    site
}

fn piece(panels: &Value, label: &str) -> Value {
    let found = panels["pieces"].as_array().unwrap().iter().find(|piece| piece["label"] == label);
    found.unwrap_or_else(|| panic!("no piece {label}")).clone()
}

/// Length, height, and notches as length, height, from left, from bottom.
fn cut(piece: &Value) -> (f64, f64, Vec<[f64; 4]>) {
    let number = |value: &Value, key: &str| value[key].as_f64().unwrap();
    let notch =
        |notch: &Value| ["length_mm", "height_mm", "from_left_mm", "from_bottom_mm"].map(|key| number(notch, key));
    let notches = piece["notches"].as_array().map(|list| list.iter().map(notch).collect()).unwrap_or_default();
    (number(piece, "length_mm"), number(piece, "height_mm"), notches)
}

#[test]
fn every_piece_is_as_worked_by_hand() {
    let site = site();
    let panels = site.ok("calc panels --wall G");
    let of = |label: &str| cut(&piece(&panels, label));
    // Over the base and its gap course 1 begins at 10. The lower window's sill, less its gap, is at 590: a notch 10 high at
    // the top of it.
    assert_eq!(of("C1-1"), (2395.0, 590.0, vec![[1220.0, 10.0, 590.0, 580.0]]));
    // Right of the step the base and its gap reach to 610: course 1 has no piece there, course 2 is ripped to 590.
    assert!(panels["pieces"].as_array().unwrap().iter().all(|piece| piece["label"] != "C1-2"));
    assert_eq!(of("C2-2"), (2395.0, 590.0, vec![]));
    // The window takes the whole of course 2: a piece either side.
    assert_eq!((of("C2-1a"), of("C2-1b")), ((590.0, 600.0, vec![]), (585.0, 600.0, vec![])));
    // Over its head at 1410, and under the upper sill at 1990.
    assert_eq!(of("C3-1"), (2395.0, 600.0, vec![[1220.0, 210.0, 590.0, 0.0]]));
    assert_eq!(of("C4-1"), (2395.0, 600.0, vec![[1220.0, 410.0, 590.0, 190.0]]));
    // Course 5 runs from 2400 to 3000. The end climbs from 2695 at the left corner and meets 3000 610 along; the upper
    // window's head, with its gap, is at 2610.
    let slope = piece(&panels, "C5-1");
    let outline = slope["outline_mm"].as_array().unwrap();
    for corner in [json!([0.0, 2695.0]), json!([610.0, 3000.0]), json!([590.0, 2610.0]), json!([1810.0, 2610.0])] {
        assert!(outline.contains(&corner), "{corner} in {slope}");
    }
    assert!((slope["angles_deg"][0].as_f64().unwrap() - 0.5_f64.atan().to_degrees()).abs() < 1e-6);
    // Left column: 2695 x 2395 + 2395² / 4, less 10 x 2395 and the windows with their gaps, 1220 x 820 and 1220 x 620. The
    // right one the same without windows, less 610 x 2395.
    let column = 2695.0 * 2395.0 + 2395.0 * 2395.0 / 4.0;
    let by_hand = 2.0 * column - 1220.0 * (820.0 + 620.0) - (10.0 + 610.0) * 2395.0;
    assert!((panels["area_m2"].as_f64().unwrap() - by_hand / 1e6).abs() < 1e-6, "{}", panels["area_m2"]);
}

#[test]
fn it_is_cut_ordered_and_packed() {
    let site = site();
    let cuts = site.ok("calc cuts --wall G --keep");
    let pieces: u64 = cuts["patterns"].as_array().unwrap().iter().map(|p| p["times"].as_u64().unwrap()).sum();
    assert!(pieces > 0 && cuts["proven"] == true, "{cuts}");
    let order = site.ok("calc takeoff --keep");
    let boards = order["lines"].as_array().unwrap().iter().find(|line| line["product"] == "panel").unwrap();
    assert_eq!(boards["needed"].as_f64(), cuts["boards"].as_f64(), "the order and the cut plan count alike");
    let site = site.with_day(&["Ana"]);
    site.ok("note --on G --text \"set out\"");
    site.ok("pack handover --interim");
    site.ok("verify handover");
}

#[test]
fn a_joint_is_as_long_as_the_wall_is_high_where_its_kept_column_ends() {
    // Not set out by the drawings: by the columns that are kept the only joint stands at 2400, under the peak. Moved to
    // 1200 it ends at 2700 + 600, and both windows, 800 and 600 high, stand across it; without columns it is in the middle.
    let told = |job: &str, columns: &str| {
        let site = Site::set_up("2026-03-02T08:00:00+13:00", job, "");
        site.ok("calc courses --lowest 16 --highest 16 --overhang 16 --keep");
        if !columns.is_empty() {
            std::fs::write(site.bench().path("columns.toml"), columns).unwrap();
            site.ok("calc columns columns.toml --wall G --keep");
        }
        let claim = site.ok("claim");
        let lines = claim["lines"].as_array().unwrap();
        let backers = lines.iter().find(|line| line["stage"] == "backers" && line["part"] == "G").unwrap();
        backers["whole"].clone()
    };
    let loose = JOB
        .replace("joints_mm = [2400]", "joints = 1")
        .replace("base = [[0, 0], [2400, 0], [2400, 600], [4800, 600]]\n", "");
    let columns = "length_mm = 4800\npanel_mm = 3600\nleast_mm = 300\njoint_mm = 10\nclear_of_opening_mm = 0\nopenings = []\nstuds_mm = [1200]\ndrawn_mm = [1200]\n";
    assert_eq!(told(&loose, ""), 3.9);
    assert_eq!(told(&loose, columns), 1.9);
}

#[test]
fn columns_and_pieces_of_every_wall_come_at_once() {
    let site = site();
    let of_one = site.ok("calc panels --wall G");
    let of_all = site.ok("calc panels");
    assert_eq!(of_all["walls"][0]["wall"], "G");
    assert_eq!(of_all["walls"][0]["pieces"], of_one["pieces"]);
    assert_eq!(site.ok("calc columns")["walls"][0]["joints_mm"], json!([2400.0]));
}

#[test]
fn the_job_takes_the_number_of_courses_of_its_rod_when_asked() {
    let job = JOB.replace("courses = 7", "courses = 5");
    let site = Site::set_up("2026-03-02T08:00:00+13:00", &job, "");
    site.ok("calc courses --lowest 16 --highest 16 --overhang 16 --keep");
    assert_eq!(site.ok("job show")["walls"][0]["courses"], 5);
    site.ok("calc courses --lowest 16 --highest 16 --overhang 16 --keep --revise");
    assert_eq!(site.ok("job show")["walls"][0]["courses"], 7);
}
