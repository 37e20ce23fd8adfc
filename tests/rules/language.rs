//! The parts of the sequence language that tie steps to places, days, choices and the job's own figures.

use crate::harness::site::Site;

const SEQUENCE: &str = r#"
key = "parts"
title = "Parts of the language"
edition = "1"
comes_first = "The maker's instructions, the local code and licensed practice come first."
roles = ["lead", "installer", "builder"]
authority = { close = ["lead"], concede = ["builder"] }

[[stage]]
key = "site"
title = "Site"
[[stage.step]]
key = "tag"
title = "Scaffold tag read"
on = "job"
daily = true

[[stage]]
key = "boards"
title = "Boards"
after = ["site"]
[[stage.step]]
key = "start"
title = "Starter fixed"
on = "wall"
[[stage.step.ask]]
key = "below"
prompt = "What is below"
kind = "choice"
choices = ["paving", "soil"]
[[stage.step.ask]]
key = "clear"
prompt = "Least clearance to the ground"
kind = "length"
by = "below"
[[stage.step.ask.bound]]
choice = "paving"
least = 100
figure = "clear-paving"
basis = { common_practice = "100 mm over paving" }
[[stage.step.ask.bound]]
choice = "soil"
least = 175
figure = "clear-soil"
basis = { common_practice = "175 mm over soil" }
[[stage.step]]
key = "course"
title = "Course hung"
on = "course"
which = "all-but-last"
after = ["start"]
in_turn = true
gates = ["top"]
[[stage.step.ask]]
key = "lap"
prompt = "Least lap"
kind = "length"
least = 30
which = "all-but-first"
basis = { common_practice = "30 mm" }
[[stage.step]]
key = "level"
title = "Course level"
on = "course"
every = 2
after = ["course"]
gates = ["course", "top"]
[[stage.step]]
key = "top"
title = "Top course hung"
on = "course"
which = "last"
[[stage.step]]
key = "surround"
title = "Trim over the cladding"
on = "opening"
after = ["course", "top"]
up_to_head = true

[[stage]]
key = "sealing"
title = "Sealing"
[[stage.step]]
key = "gun"
title = "Gunned"
on = ["joint", "opening", "corner"]
[[stage.step]]
key = "tape"
title = "Tape off"
on = ["joint", "opening", "corner"]

[[window]]
key = "skin"
title = "skin of the sealant"
from = "gun"
to = "tape"
counts_from = "beginning"
latest = "20 min"
figures = { latest = "skin" }
basis = { common_practice = "before the sealant skins" }
"#;

const JOB: &str = r#"
key = "test"
name = "Test house"
time_zone = "Pacific/Auckland"
sequence = "parts.toml"
person = [{ name = "Lea", roles = ["lead"] }, { name = "Bea", roles = ["builder"] }]
corner = [{ key = "NE", kind = "metal", walls = ["N", "E"] }]
paper = [{ key = "maker", title = "Board maker's instructions, edition 7" }]
[[wall]]
key = "N"
length_mm = 6000
height_mm = 3000
courses = 5
joints = 1
[[wall.opening]]
key = "O1"
kind = "window"
from_mm = 1000
to_mm = 2000
sill_mm = 600
head_mm = 1300
[[wall]]
key = "E"
length_mm = 4000
height_mm = 1200
courses = 2
"#;

const FIGURES: &str = r#"
[[figure]]
key = "clear-soil"
value = 150
paper = "maker"
clause = "4.2"
[[figure]]
key = "skin"
value = 15
paper = "maker"
clause = "7"
"#;

fn site(more: &str) -> Site {
    let site = Site::folder("2026-03-02T07:00:00+13:00", "");
    site.file("parts.toml", SEQUENCE);
    site.file("job.toml", &format!("{JOB}{more}"));
    site.ok("job add job.toml");
    site.open_day(&["Lea"]);
    site
}

fn started(more: &str) -> Site {
    let site = site(more);
    site.ok("record tag --on job");
    site.ok("record start --on N --answer below=paving --answer clear=120");
    site
}

#[test]
fn r4_a_daily_step_is_asked_again_on_each_site_day() {
    let site = site("");
    site.refused("R4", "record start --on N --answer below=paving --answer clear=120");
    site.ok("record tag --on job");
    assert!(site.next_of("tag", "job").is_none());
    site.ok("record start --on N --answer below=paving --answer clear=120");
    site.clock("15:00").ok("day close --hours Lea=8");
    // What was read on the last site day stands until the next is opened.
    site.clock("2026-03-03T07:00:00+13:00");
    assert!(site.next_of("tag", "job").is_none());
    site.open_day(&["Lea"]);
    let refused = site.refused("R4", "record course --on N/C1");
    assert!(refused["why"].as_str().unwrap().contains("was not done today"), "{refused}");
    site.ok("record tag --on job");
    site.ok("record course --on N/C1");
}

#[test]
fn r4_what_gates_holds_up_every_higher_course() {
    let site = started("");
    site.ok("record course --on N/C1");
    // The first is levelled before the second goes up; several at once stop at the next that is checked.
    site.refused("R4", "record course --on N/C2 --answer lap=32");
    site.ok("record level --on N/C1");
    site.refused("R4", "record course --on N/C2..4 --answer lap=32");
    site.ok("record course --on N/C2 --answer lap=32");
    site.ok("record level --on N/C2");
    site.ok("record course --on N/C3..4 --answer lap=32");
    site.refused("R4", "record top --on N/C5");
    site.ok("record level --on N/C4");
    site.ok("record top --on N/C5");
    assert_eq!(site.open_defects(), Vec::<String>::new());
}

#[test]
fn a_step_may_be_for_some_of_a_row_and_a_question_too() {
    let site = started("");
    // The top course is hung once, and the first has nothing to lap over.
    site.bad("record course --on N/C5");
    site.bad("record top --on N/C4");
    site.ok("record course --on N/C1");
    site.ok("record level --on N/C1");
    assert!(site.bad("record course --on N/C2").contains("lap"));
}

#[test]
fn r4_what_goes_over_the_cladding_waits_for_the_course_over_the_head_alone() {
    let site = started("");
    let rod = "cover_mm = 600\nlowest_mm = 0\nhighest_mm = 0\nleast_piece_mm = 50\nlift_in_mm = 0\n\
               [[wall]]\nkey = \"N\"\ntop_mm = 3000\n[[wall]]\nkey = \"E\"\ntop_mm = 1200\n";
    site.file("rod.toml", rod);
    site.ok("calc courses rod.toml --keep");
    // Courses at 0, 600, 1200, …: the head at 1300 lies in the third.
    for course in ["N/C1", "N/C2", "N/C3"] {
        assert!(site.next_of("surround", "N/O1").is_some_and(|action| action["state"] == "waiting"));
        site.ok(format!("record course --on {course} --answer lap=32"));
        if course != "N/C3" {
            site.ok(format!("record level --on {course}"));
        }
    }
    site.ok("record surround --on N/O1");
}

#[test]
fn r8_a_tolerance_may_hang_on_a_choice() {
    let site = site("");
    site.ok("record tag --on job");
    site.ok("record start --on N --answer below=soil --answer clear=120");
    assert_eq!(site.open_defects().len(), 1, "120 mm over soil");
    site.ok("record start --on N --answer below=paving --answer clear=120");
    assert_eq!(site.open_defects(), Vec::<String>::new());
    site.ok("record start --on E --answer below=soil --answer clear=175");
    assert_eq!(site.open_defects(), Vec::<String>::new());
}

#[test]
fn r15_a_figure_of_the_job_goes_before_the_sequence() {
    let site = site(FIGURES);
    site.ok("record tag --on job");
    site.ok("record start --on N,E --answer below=soil --answer clear@N=150 --answer clear@E=149");
    assert_eq!(site.open_defects().len(), 1);
    site.ok("pack pack --interim");
    let html = site.read("pack/handover.html");
    assert!(html.contains("Board maker's instructions, edition 7, 4.2") || html.contains("Board maker’s"), "{html}");
    // Without it the sequence's own stands in, and is said to.
    let plain = started("");
    plain.ok("record start --on E --answer below=soil --answer clear=150");
    assert_eq!(plain.open_defects().len(), 1);
    let wrong = Site::folder("2026-03-02T07:00:00+13:00", "");
    wrong.file("parts.toml", SEQUENCE);
    wrong.file("job.toml", &format!("{JOB}{}", FIGURES.replace("paper = \"maker\"", "paper = \"nobody\"")));
    assert!(wrong.bad("job add job.toml").contains("nobody"));
}

#[test]
fn r6_a_skin_forms_from_the_first_metre_of_the_bead() {
    let site = site(FIGURES);
    site.ok("record tag --on job");
    site.clock("08:00").ok("record gun --on N/J1,NE --began 07:50");
    let window = site.window("skin", "N/J1").unwrap();
    let clock = |key: &str| window[key].as_str().unwrap()[11..16].to_owned();
    assert_eq!((clock("began_at"), clock("closes_at")), ("07:50".to_owned(), "08:05".to_owned()));
    site.bad("record gun --on N/O1 --began 08:01");
    site.clock("08:05").ok("record tape --on NE");
    site.clock("08:06");
    let refused = site.refused("R6", "record tape --on N/J1");
    assert_eq!(refused["closed_at"], "2026-03-02T08:05:00+13:00", "{refused}");
}

#[test]
fn c12_openings_and_corners_are_planned_with_the_joints() {
    let prime = "[[stage.step]]\nkey = \"prime\"\ntitle = \"Primed\"\non = [\"joint\", \"opening\", \"corner\"]\n\
                 unless_dry = true\n[[stage.step]]\nkey = \"gun\"";
    let plan = "\n[[window]]\nkey = \"open\"\ntitle = \"primer\"\nfrom = \"prime\"\nto = \"gun\"\nearliest = \"30 min\"\n\
                latest = \"6 h\"\nbasis = { common_practice = \"for the test\" }\n[sealing]\nprime = \"prime\"\n\
                gun = \"gun\"\ntape_off = \"tape\"\nmask_min_per_m = 0\nprime_min_per_m = 0.5\ngun_min_per_m = 2\n\
                tape_off_min_per_m = 0.5\nknock_off = \"12:00\"\nbasis = { common_practice = \"for the test\" }\n";
    let site = Site::folder("2026-03-02T07:00:00+13:00", "");
    let sealed = "on = [\"joint\", \"opening\", \"corner\"]";
    let sequence = SEQUENCE.replace(sealed, &format!("{sealed}\nunless_dry = true"));
    let sequence = sequence.replacen("[[stage.step]]\nkey = \"gun\"", prime, 1);
    site.file("parts.toml", &format!("{sequence}{plan}"));
    site.file("job.toml", JOB);
    site.ok("job add job.toml");
    site.open_day(&["Lea"]);
    let plan = site.ok("sealplan --keep");
    let joints = plan["joints"].as_array().unwrap();
    let mut ids: Vec<&str> = joints.iter().map(|joint| joint["id"].as_str().unwrap()).collect();
    ids.sort_unstable();
    assert_eq!(ids, ["N/J1", "N/O1", "NE"], "{plan}");
    // Both sides of the corner: 3 m and 1.2 m, gunned in 9 minutes and untaped in 3, one side after the other.
    let minute = |joint: &serde_json::Value, key: &str| {
        let clock = &joint[key].as_str().unwrap()[11..16];
        clock[..2].parse::<i64>().unwrap() * 60 + clock[3..].parse::<i64>().unwrap()
    };
    let corner = joints.iter().find(|joint| joint["id"] == "NE").unwrap();
    assert_eq!(minute(corner, "done_at") - minute(corner, "gun_at"), 12, "{corner}");
    assert!(minute(&plan, "finish_at") <= 12 * 60, "work ends at knock-off: {plan}");
    // What the drawings leave dry is not sealed.
    let dry = Site::folder("2026-03-02T07:00:00+13:00", "");
    dry.file("parts.toml", &site.read("parts.toml"));
    dry.file("job.toml", &JOB.replacen("kind = \"metal\"", "kind = \"metal\", dry = true", 1));
    dry.ok("job add job.toml");
    dry.open_day(&["Lea"]);
    assert_eq!(dry.ok("sealplan")["joints"].as_array().unwrap().len(), 2);
    dry.clock("13:00");
    assert!(dry.bad("sealplan").contains("knock-off"));
}

#[test]
fn what_makes_no_sense_is_found_by_the_check() {
    let site = Site::folder("2026-03-02T07:00:00+13:00", "");
    let wrong = |from: &str, to: &str, mistake: &str| {
        assert!(SEQUENCE.contains(from), "{from}");
        site.file("wrong.toml", &SEQUENCE.replacen(from, to, 1));
        let run = site.bare("sequence check wrong.toml").exits(2);
        assert!(run.stderr.contains(mistake), "{from} to {to}: {}", run.stderr);
    };
    wrong("by = \"below\"", "by = \"beneath\"", "there is no ask 'beneath'");
    wrong("choice = \"soil\"", "choice = \"mud\"", "no [[stage.step.ask.bound]] for the choice 'soil'");
    wrong("figures = { latest = \"skin\" }", "figures = { earliest = \"skin\" }", "'earliest' has no number here");
    wrong(
        "on = [\"joint\", \"opening\", \"corner\"]\n\n[[window]]",
        "on = \"joint\"\n\n[[window]]",
        "same kinds of subject",
    );
    wrong("up_to_head = true", "gates = [\"top\"]", "'gates' is only for steps on a course or a joint");
    wrong("daily = true", "up_to_head = true", "'up_to_head' is only for steps on an opening");
    wrong("on = [\"joint\", \"opening\", \"corner\"]", "on = []", "at least one");
}
