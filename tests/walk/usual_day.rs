//! A whole small job, from an empty database to everything done.

use super::{open_day, set_up::set_up, state, steps_done, unbroken, walk, with_job};
use crate::harness::site::Site;

/// Most keys that a usual day may cost.
const MOST_KEYS: usize = 200;

const MORNING: &str = "2026-03-02T07:30:00+13:00";
const FORENOON: &str = "2026-03-02T10:00:00+13:00";
const AFTERNOON: &str = "2026-03-02T12:30:00+13:00";

/// Walks the day: frame to cover-up, courses to primer, sealant to the end.
fn walked_day() -> (Site, usize, String) {
    let site = with_job(MORNING);
    let mut keys = 0;
    let mut shown = String::new();
    for (clock, holds) in [
        (MORNING, [("Hold point on N", "\r"), ("", "")]),
        (FORENOON, [("Hold point on N", "1\r"), ("", "")]),
        (AFTERNOON, [("Hold point on the job", "1\r"), ("", "")]),
    ] {
        site.clock(clock);
        let terminal = walk(&site, &holds[..1]);
        keys += terminal.keys;
        shown.push_str(&unbroken(&terminal.everything()));
    }
    (site, keys, shown)
}

/// The same day as a script would record it.
const SCRIPT: [(&str, &str); 3] = [
    (
        MORNING,
        "record site-access --on job --answer safe=yes
         record papers --on job --answer held=yes
         record deliveries --on job --answer right=yes --answer panel-batch=B12
         record storey-rod --on job --answer marked=yes
         record frame-square --on N --answer out=2
         record frame-plumb --on N --answer lean=3
         record frame-flat --on N --answer flat=2
         record frame-packing --on N --answer firm=yes
         record frame-fixing-faces --on N --answer solid=yes
         record frame-moisture --on N --answer moisture=14
         record insulation --on N --answer 'state=in and dry'
         record wrap --on N --answer sound=yes
         record flashings --on N --answer shed=yes
         record cavity --on N --answer clear=yes --answer photo=wall.jpg
         hold ask cover-up --on N",
    ),
    (
        FORENOON,
        "hold release cover-up --on N --person 'Ruth Tarn' --how 'on site'
         reading --on N --air 18 --humidity 60 --surface 19 --wind 9
         record starter --on N --answer level=1 --answer ground=160
         record joint-backers --on N/J1..6 --answer centred=yes
         record courses --on N/C1..12 --answer hung=yes
         record course-level --on N/C1,N/C3,N/C6,N/C9,N/C12 --answer level@N/C1=1 --answer level@N/C3=2 \
             --answer level@N/C6=0 --answer level@N/C9=2 --answer level@N/C12=3
         record top-course --on N --answer done=yes
         record mask --on N/J1..6 --answer width=10
         record prime --on N/J1..6 --answer primer-batch=P7",
    ),
    (
        AFTERNOON,
        "reading --on N --air 18 --humidity 60 --surface 19 --wind 9
         record gun --on N/J1..6 --answer sealant-batch=S9
         record tool --on N/J1..6
         record tape-off --on N/J1..6
         record clean-and-touch-up --on N --answer clean=yes
         record final-check --on N --answer right=yes
         hold release handover --on job --person 'Ruth Tarn' --how 'on site'
         record hand-over --on job --answer given=yes
         day close --hours 'Ana Reid=8' 'Tom Bell=8'",
    ),
];

fn recorded_day(site: &Site) -> Site {
    let script = site.clock(MORNING).beside("script", "Ana Reid");
    script.ok("job add job.toml");
    let cautions =
        ["silica-dust", "blades", "nail-guns", "heights", "lifting", "solvents", "heat-and-sun", "electricity"];
    open_day(&script, &["Ana Reid", "Tom Bell"], &cautions);
    for (clock, commands) in SCRIPT {
        script.clock(clock);
        for command in commands.lines() {
            script.ok(command);
        }
    }
    script
}

#[test]
fn a_small_job_is_walked_to_its_end_and_a_script_leaves_the_same_state() {
    let (site, keys, shown) = walked_day();
    assert!(keys <= MOST_KEYS, "{keys} keys");
    assert!(shown.contains("Every step is done"), "{shown}");
    assert!(shown.contains("To make the handover pack: cladlog pack FOLDER"), "{shown}");
    let script = recorded_day(&site);
    let walked = state(&site);
    assert_eq!(walked, state(&script));
    assert_eq!(walked[0]["actions"].as_array().map(Vec::len), Some(0), "{walked:?}");
    assert_eq!(steps_done(&site), steps_done(&script));
    site.ok("verify");
    for (job, pack) in [(&site, "walked"), (&script, "scripted")] {
        assert_eq!(job.ok(["pack", pack])["complete"], true);
        site.bare(["verify", pack]).exits(0);
    }
}

#[test]
fn courses_and_joints_are_done_in_one_go_each_measured_alone() {
    let (_bench, _, shown) = walked_day();
    for text in [
        "Course hung on N/C1..12",
        // Enter would take them up to the first that is checked for level.
        "Up to which course [1] >",
        "Course level on N/C1, N/C3, N/C6, N/C9, N/C12",
        "Required: at most 3 mm. Basis: common practice: 3 mm off the rod anywhere along the wall",
        "Joint primed on N/J1..6",
        "Window started on N/J1..6: Primer to sealant: opens 10:30, closes 16:00",
        "Joint gunned on N/J1..6: not before 10:30, in 30 min",
        "Why now: 'Primer to sealant' closes at 16:00, in 3 h 30 min",
        "Window met on N/J1..6: Primer to sealant",
        "Released: hold point cover-up on N",
        "Text to send: Shed at 3 Tide Lane: ready for inspection: Frame, wrap, flashings and cavity before cover-up on N.",
    ] {
        assert!(shown.contains(text), "{text} is missing in {shown}");
    }
}

#[test]
fn a_job_of_one_wall_set_up_by_questions_has_its_day_before_it() {
    let site = Site::folder(MORNING, "");
    let answers = [
        ("Name of the job", "Shed at 3 Tide Lane\r"),
        ("Short key", "shed\r"),
        ("Address", "\r"),
        ("Builder", "\r"),
        ("Time zone", "\r"),
        ("Latitude", "\r"),
        ("Which sequence", "\r"),
        ("Crew lead", "Ana Reid\r"),
        ("Person 2", "Tom Bell\r"),
        ("Person 3", "Ruth Tarn b\r"),
        ("Person 4", "\r"),
        ("Length of a panel", "\r"),
        ("Cover", "600\r"),
        ("Does the maker say so", "\r"),
        ("Sold in lengths of", "\r"),
        ("Studs", "\r"),
        ("What each edge", "\r"),
        ("Wall 1", "N\r"),
        ("N: length", "7200\r"),
        ("N: height", "2400\r"),
        ("N: faces", "\r"),
        ("N: opening 1", "\r"),
        ("N: movement joints", "\r"),
        ("Wall 2", "\r"),
        ("Papers", "\r"),
        ("Set it up like this", "y\r"),
    ];
    let mut terminal = set_up(&site, &answers);
    assert_eq!(terminal.ends(), 0, "{}", terminal.everything());
    site.ok("day open --crew 'Ana Reid' --talk t");
    let next = site.ok("next");
    let of_n = next["actions"].as_array().unwrap().iter().any(|action| action["subject"] == "N");
    assert!(!next["actions"].as_array().unwrap().is_empty() && of_n, "{next}");
}
