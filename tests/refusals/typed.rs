//! What is typed on the command line.

use crate::rules::site;

const MONDAY: &str = "2026-03-02T08:00:00+13:00";

#[test]
fn unknown_steps_walls_and_people_are_named_with_a_near_one() {
    let site = site::open(MONDAY);
    assert_eq!(
        site.bad(["record", "fram", "--on", "N"]),
        "cladlog: sequence small has no step 'fram'; did you mean 'frame'?\n"
    );
    assert_eq!(
        site.bad(["record", "frame", "--on", "Q", "--answer", "flat=1"]),
        "cladlog: there is no 'Q' on job test; did you mean E?\n"
    );
    assert_eq!(
        site.bad(["record", "frame", "--on", "N", "--answer", "flat=1", "--by", "Lia"]),
        "cladlog: Lia is not a person of job test: did you mean Lea?\n"
    );
    assert_eq!(
        site.bad(["record", "frame", "--on", "N/C1", "--answer", "flat=1"]),
        "cladlog: step frame is done on a wall; N/C1 is a course\n"
    );
    assert!(site.bad(["record", "course", "--on", "N/C1..9"]).contains("there is no 'N/C8'"));
    assert!(site.bad(["record", "course", "--on", "N/C5..2"]).contains("the lower number first"));
    assert!(site.bad(["record", "course", "--on", "N/C1..x"]).contains("is not a range"));
    // Both ends are of one sort: courses up to a joint are a slip.
    assert!(site.bad(["record", "course", "--on", "N/C1..J3"]).contains("'N/C1..J3' is not a range of one sort"));
    assert!(site.bad(["record", "course", "--on", "N/C1..+3"]).contains("is not a range"));
    assert!(site.bad(["record", "course", "--on", "N/C1..E/C2"]).contains("is not a range"));
    assert!(site.bad(["record", "course", "--on", ""]).contains("a subject is needed"));
}

#[test]
fn numbers_that_are_slips_are_refused_with_what_to_type() {
    let site = site::open(MONDAY);
    let said = |value: &str| site.bad(["record", "frame", "--on", "N", "--answer", &format!("flat={value}")]);
    assert_eq!(
        said("2,5"),
        "cladlog: flat: '2,5' has a comma: write the decimal point as a point, as in 2.5, and no thousands mark\n"
    );
    assert!(said("2mm").contains("has a unit or letters in it"));
    assert_eq!(said("-2"), "cladlog: flat: -2 can't be negative\n");
    assert!(said("NaN").contains("not a number that can be measured"));
    assert_eq!(said("1000000"), "cladlog: flat: length 1000000 mm is outside -200000 to 200000 mm\n");
    assert!(said("").contains("a number is needed"));
    assert!(said("1e3").contains("has a unit or letters in it"));
}

#[test]
fn a_job_is_set_up_by_somebody_of_the_job_and_not_in_the_future() {
    let site = site::closed(MONDAY);
    let add = |more: [&str; 2]| site.bare(["--db", "other.db", "--json", "job", "add", "job.toml", more[0], more[1]]);
    assert_eq!(
        add(["--by", "Lia"]).exits(2).stderr,
        "cladlog: --by: Lia is not on job test; on it are Lea, Ivo, Bea, Ines, Dag\n"
    );
    assert!(!site.path("other.db").exists(), "nothing is left behind");
    assert_eq!(add(["--at", "08:01"]).exits(1).json()["refused"]["rule"], "R3");
    assert!(!site.path("other.db").exists(), "nothing is left behind");
    let told = add(["--at", "07:30"]).exits(0).json();
    assert_eq!(told["entries"][0]["happened_at"], "2026-03-02T07:30:00+13:00");
    assert_eq!(told["entries"][0]["recorded_at"], MONDAY);
}

#[test]
fn missing_and_stray_answers_are_named() {
    let site = site::open(MONDAY);
    assert_eq!(
        site.bad(["record", "frame", "--on", "N"]),
        "cladlog: step frame is not fully answered: --answer flat=… (Gap under the straightedge)\n"
    );
    assert_eq!(
        site.bad(["record", "frame", "--on", "N", "--answer", "lean=2"]),
        "cladlog: step frame does not ask 'lean'; it asks flat\n"
    );
    assert!(site.bad(["record", "frame", "--on", "N", "--answer", "flat"]).contains("write KEY=VALUE"));
    let twice = ["record", "frame", "--on", "N", "--answer", "flat=1", "--answer", "flat=2"];
    assert!(site.bad(twice).contains("flat is answered twice"));
    assert!(site.bad(["record", "frame", "--on", "N", "--answer", "flat@E=2"]).contains("which is not among N"));
}

#[test]
fn times_that_are_not_times_or_not_on_the_clock_are_refused() {
    let site = site::open("2026-09-26T08:00:00+12:00");
    assert!(site.bad(["note", "--text", "x", "--at", "yesterday"]).contains("write 10:40 for today"));
    assert!(site.bad(["note", "--text", "x", "--at", "25:00"]).contains("is not a time"));
    let year = site.bad(["note", "--text", "x", "--at", "0000-01-01T00:00:00Z"]);
    assert!(year.contains("is outside the years 1970 to 8999"), "{year}");
    site.clock("9999-12-31T23:59:59Z");
    assert!(site.run(["next"]).exits(2).stderr.contains("CLADLOG_CLOCK"));
    // tz database, Pacific/Auckland: forward on 2026-09-27 at 02:00.
    site.clock("2026-09-27T08:00:00+13:00");
    assert_eq!(
        site.bad(["note", "--text", "x", "--at", "02:30"]),
        "cladlog: --at: 02:30 does not exist on 2026-09-27: the clocks go forward over it; \
         give the full time with its offset\n"
    );
    // Back on 2027-04-04 at 03:00.
    site.clock("2027-04-04T08:00:00+12:00");
    assert!(site.bad(["note", "--text", "x", "--at", "02:30"]).contains("happens twice on 2027-04-04"));
    site.ok(["note", "--text", "x", "--at", "2027-04-04T02:30:00+13:00"]);
}

#[test]
fn readings_outside_the_weather_are_refused() {
    let site = site::open(MONDAY);
    let said = |air: &str, humidity: &str, surface: &str| {
        site.bad(["reading", "--on", "N", "--air", air, "--humidity", humidity, "--surface", surface])
    };
    assert_eq!(said("18", "130", "19"), "cladlog: humidity 130 % must be above 0 and at most 100 %\n");
    assert_eq!(said("18", "0", "19"), "cladlog: humidity 0 % must be above 0 and at most 100 %\n");
    assert!(said("-273.15", "50", "19").contains("air temperature -273.15 °C is outside -60 to 60 °C"));
    assert!(said("18", "50", "19C").contains("'19C' has a unit"));
    assert!(
        site.bad(["reading", "--on", "N/J1", "--air", "1", "--humidity", "1", "--surface", "1"])
            .contains("taken on a wall")
    );
}

#[test]
fn control_characters_are_refused_everywhere_but_tab_and_newline_in_prose() {
    let site = site::open(MONDAY);
    assert!(site.bad(["note", "--text", "bell \u{7}"]).contains("control character"));
    assert!(site.bad(["note", "--text", "escape \u{1b}[31m"]).contains("control character"));
    assert!(site.bad(["defect", "open", "--on", "N", "--what", "two\nlines"]).contains("control character"));
    assert!(site.bad(["day", "open", "--crew", "Lea\u{9b}"]).contains("control character"));
    site.ok(["note", "--text", "first line\n\tsecond line"]);
}

#[test]
fn names_in_any_script_are_taken_and_endless_ones_are_not() {
    let site = site::open(MONDAY);
    for name in ["Łukasz Żółć", "王小明", "עידו כהן", "อนงค์", "Zoë 🧱", "Nguyễn Thị Ánh"]
    {
        site.ok(["job", "person", name, "--role", "installer"]);
        site.ok(["day", "join", "--crew", name]);
    }
    let endless = "x".repeat(10_000);
    assert!(
        site.bad(["job", "person", &endless, "--role", "installer"]).contains("10000 characters long; at most 200")
    );
    assert!(site.bad(["day", "join", "--crew", &endless]).contains("is not a person"));
    assert!(site.bad(["job", "person", "Kim", "--role", "king"]).contains("has no role 'king'"));
    assert!(site.bad(["job", "person", "Lea", "--role", "installer"]).contains("is already on the job"));
}

#[test]
fn unknown_entries_defects_holds_and_cautions_are_bad_input() {
    let site = site::open(MONDAY);
    assert!(site.bad(["strike", "nothing-7", "--why", "x"]).contains("there is no entry 'nothing-7'"));
    let close = |id: &str| site.bad(["defect", "close", id, "--person", "Lea", "--how", "x"]);
    assert!(close("nothing").contains("'nothing'"));
    assert!(close("nothing-7.defect").contains("there is no defect"));
    assert!(site.bad(["hold", "ask", "cuver", "--on", "N"]).contains("they are cover"));
    assert!(site.bad(["hold", "ask", "cover", "--on", "N/J1"]).contains("is released on a wall"));
    assert!(site.bad(["caution", "acknowledge", "dusk", "--person", "Lea"]).contains("they are dust"));
    site.refused("R12", ["caution", "acknowledge", "dust", "--person", "Bea"]);
}

#[test]
fn an_unknown_command_or_option_is_bad_input() {
    let site = site::open(MONDAY);
    assert!(site.bad(["recrod"]).contains("record"));
    assert!(site.bad(["next", "--colour"]).contains("--colour"));
}
