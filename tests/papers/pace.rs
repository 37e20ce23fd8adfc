//! C14: hours, pace and days left, and the claim table, on a small job with a known geometry.

use serde_json::Value;

use crate::harness::Run;
use crate::harness::site::Site;

/// Two walls of 10 × 3 m, three courses each, one opening of 2 × 1 m in the first; a joint in each.
const JOB: &str = r#"
key = "test"
name = "Test house"
time_zone = "Pacific/Auckland"
sequence = "small.toml"
person = [
    { name = "Lea", roles = ["lead"] },
    { name = "Ivo", roles = ["installer"] },
    { name = "Ines", roles = ["inspector"] },
]
[[wall]]
key = "N"
length_mm = 10000
height_mm = 3000
courses = 3
joints_mm = [3000]
[[wall.opening]]
kind = "window"
from_mm = 2000
to_mm = 4000
sill_mm = 500
head_mm = 1500
[[wall]]
key = "E"
length_mm = 10000
height_mm = 3000
courses = 3
joints_mm = [5000]
"#;

const RATES: &str = r#"
[[rate]]
stage = "cladding"
unit = "m2"
price = 33.335
currency = "NZD"
[[rate]]
stage = "sealing"
unit = "m"
price = 12
currency = "NZD"
"#;

/// A job of two days that is paid by rates, for the session of `tests/messages/paid.txt`.
pub fn paid() -> Site {
    let job = Job::new(RATES);
    job.two_days();
    job.0
}

struct Job(Site);

impl Job {
    fn new(rates: &str) -> Self {
        Self::of(&format!("{JOB}{rates}"))
    }

    /// A job of other walls.
    fn of(walls: &str) -> Self {
        Self(Site::set_up("2026-03-02T07:00:00+13:00", walls, "tests/rules/small.toml"))
    }

    fn run(&self, line: &str) -> Run {
        self.0.shown(line)
    }

    fn at(&self, clock: &str, line: &str) {
        self.0.clock(&format!("2026-03-{clock}:00+13:00"));
        self.run(line).exits(0);
    }

    fn json(&self, line: &str) -> Value {
        self.0.ok(line)
    }

    /// Two days: frames and N hung on the first, E's first course and the rain on the second.
    fn two_days(&self) {
        self.at("02T07:00", "day open --crew Lea Ivo --talk x");
        self.at("02T07:00", "caution acknowledge dust --person Lea Ivo");
        self.at("02T08:00", "record frame --on N,E --answer flat=1");
        self.at("02T08:00", "hold release cover --on N,E --person Ines --how 'on site'");
        self.at("02T10:00", "record course --on N/C1");
        self.at("02T11:00", "record course --on N/C2");
        self.at("02T13:00", "record course --on N/C3");
        self.at("02T14:00", "record level --on N/C1,N/C3 --answer out=0");
        self.at("02T15:00", "day close --hours Lea=8 Ivo=8");
        self.at("03T07:00", "day open --crew Lea Ivo --talk x");
        self.at("03T07:00", "caution acknowledge dust --person Lea Ivo");
        self.at("03T09:00", "record course --on E/C1");
        self.at("03T09:00", "stoppage start --cause rain --told Ines");
        self.at("03T11:00", "stoppage end");
        self.at("03T12:00", "record level --on E/C1 --answer out=0");
        self.at("03T12:00", "day close --hours Lea=5 Ivo=5");
    }
}

fn close(value: &Value, wanted: f64) -> bool {
    value.as_f64().is_some_and(|value| (value - wanted).abs() < 1e-9)
}

#[test]
fn hours_come_from_the_closings() {
    let job = Job::new("");
    job.two_days();
    assert_eq!(job.json("hours")["total_hours"], 26.0);
    assert_eq!(job.json("hours")["hours"][0], serde_json::json!({"date": "2026-03-02", "person": "Ivo", "hours": 8.0}));
    assert_eq!(job.json("hours --day")["hours"][1], serde_json::json!({"date": "2026-03-03", "hours": 10.0}));
    assert_eq!(job.json("hours --week")["hours"], serde_json::json!([{"week": "2026-W10", "hours": 26.0}]));
    assert_eq!(job.json("hours --person")["hours"][1], serde_json::json!({"person": "Lea", "hours": 13.0}));
    assert_eq!(job.json("hours --from 2026-03-03")["total_hours"], 10.0);
    job.run("hours --until 2026-03-01 --from 2026-03-02").exits(2);
    job.run("hours --day --week").exits(2);
    let csv = job.run("hours --csv -").exits(0).stdout;
    assert_eq!(
        csv,
        "date,person,hours\r\n2026-03-02,Ivo,8\r\n2026-03-02,Lea,8\r\n2026-03-03,Ivo,5\r\n2026-03-03,Lea,5\r\n"
    );
    job.at("03T13:00", "day open --crew Lea --talk x");
    assert_eq!(job.json("hours")["not_closed"], serde_json::json!(["2026-03-03"]));
}

#[test]
fn c14_hours_fall_on_the_stage_whose_record_ends_them() {
    let job = Job::new("");
    job.two_days();
    let pace = job.json("pace");
    // First day: one hour of frames, six of courses, of sixteen given: 16/7 and 96/7. Second: two hours and one of
    // courses by the clock, four crew-hours lost of ten, so that six are left for courses.
    let stages = pace["stages"].as_array().unwrap();
    assert_eq!(stages[0]["stage"], "prep");
    assert!(close(&stages[0]["crew_hours"], 16.0 / 7.0), "{pace}");
    assert!(close(&stages[1]["crew_hours"], 96.0 / 7.0 + 6.0), "{pace}");
    // N is 30 m² less 2 m², E a third of 30 m²; two of E's courses are left. Nothing asks a level of N/C2.
    assert!(close(&stages[1]["done"], 38.0), "{pace}");
    assert!(close(&stages[1]["left"], 20.0), "{pace}");
    assert!(close(&stages[1]["per_crew_hour"], 38.0 / (96.0 / 7.0 + 6.0)), "{pace}");
    assert_eq!(stages[1]["unit"], "m2");
    // Sealing has not begun: 3 m less the metre of window at N, and 3 m at E.
    assert_eq!(stages[2]["unit"], "m");
    assert!(close(&stages[2]["left"], 5.0), "{pace}");
    assert!(close(&pace["crew_hours_lost"], 4.0), "{pace}");
    assert!(pace["why_not"].is_string() && pace.get("days_left").is_none(), "too little is recorded: {pace}");
    // What is put down to stages and what stoppages took come to the hours given.
    let hours = job.json("hours --stage");
    let sum: f64 = hours["hours"].as_array().unwrap().iter().filter_map(|row| row["hours"].as_f64()).sum();
    assert!((sum - 26.0).abs() < 0.011, "{hours}");
    assert_eq!(hours["hours"][2]["stage"], "none");
}

#[test]
fn c14_days_left_are_a_range_once_there_is_enough_record() {
    let job = Job::new("");
    for (day, wall) in [("02", "N"), ("03", "E")] {
        job.at(&format!("{day}T07:00"), "day open --crew Lea Ivo --talk x");
        job.at(&format!("{day}T07:00"), "caution acknowledge dust --person Lea Ivo");
        job.at(&format!("{day}T09:00"), &format!("record frame --on {wall} --answer flat=1"));
        job.at(&format!("{day}T15:00"), "day close --hours Lea=8 Ivo=8");
    }
    let pace = job.json("pace");
    assert_eq!(pace["stages"][0]["stretches"], 2);
    assert!(pace.get("days_left").is_none(), "two walls say nothing of a third: {pace}");
}

/// The two walls of the tests and a third, none with an opening.
fn three_plain_walls() -> Job {
    let window = JOB.find("[[wall.opening]]").unwrap()..JOB.find("[[wall]]\nkey = \"E\"").unwrap();
    let mut walls = JOB.to_owned();
    walls.replace_range(window, "");
    let east = walls.find("[[wall]]\nkey = \"E\"").unwrap();
    let south = walls[east..].replace("\"E\"", "\"S\"");
    Job::of(&format!("{walls}{south}"))
}

#[test]
fn c14_days_alike_are_each_a_stretch_and_walls_recorded_together_are_one() {
    let job = three_plain_walls();
    for (day, wall) in [("02", "N"), ("03", "E"), ("04", "S")] {
        job.at(&format!("{day}T07:00"), "day open --crew Lea Ivo --talk x");
        job.at(&format!("{day}T09:00"), &format!("record frame --on {wall} --answer flat=1"));
        job.at(&format!("{day}T15:00"), "day close --hours Lea=8 Ivo=8");
    }
    let pace = job.json("pace");
    // 30 m² in 16 crew-hours, three days running.
    assert_eq!(pace["stages"][0]["stretches"], 3, "{pace}");
    assert_eq!(pace["stages"][0]["range"], serde_json::json!({"low": 1.875, "high": 1.875}));
    let together = three_plain_walls();
    together.at("02T07:00", "day open --crew Lea Ivo --talk x");
    together.at("02T09:00", "record frame --on N,E,S --answer flat=1");
    together.at("02T15:00", "day close --hours Lea=8 Ivo=8");
    assert_eq!(together.json("pace")["stages"][0]["stretches"], 1);
}

#[test]
fn c14_two_crews_on_one_date_are_one_day_of_the_job() {
    let job = three_plain_walls();
    job.at("02T07:00", "day open --crew Lea --talk x");
    let other = job.0.second("two", "Ivo");
    other.ok("day open --crew Ivo --talk x");
    job.at("02T09:00", "stoppage start --cause rain --told Ines --people 2");
    job.at("02T10:00", "stoppage end");
    job.at("02T15:00", "day close --hours Lea=8");
    other.ok("day close --hours Ivo=8");
    other.ok("export two.jsonl");
    job.json("merge two.jsonl");
    let pace = job.json("pace");
    assert_eq!((&pace["days"], &pace["crew_hours_a_day"]), (&1.into(), &16.0.into()), "{pace}");
    // Two stood idle for an hour, of both crews together.
    assert_eq!(pace["crew_hours_lost"], 2.0, "{pace}");
}

#[test]
fn c14_the_claim_is_net_of_openings_and_only_of_what_is_complete() {
    let job = Job::new(RATES);
    job.two_days();
    let claim = job.json("claim");
    let line = |claim: &Value, part: &str, stage: &str| {
        let lines = claim["lines"].as_array().unwrap().clone();
        lines.into_iter().find(|line| line["part"] == part && line["stage"] == stage).unwrap()
    };
    let hung = line(&claim, "N", "cladding");
    assert_eq!((&hung["whole"], &hung["so_far"], &hung["unit"]), (&28.0.into(), &28.0.into(), &"m2".into()));
    // 28 × 33.335 = 933.38; 10 × 33.335 = 333.35.
    assert_eq!(hung["value_so_far"], 933.38);
    assert_eq!(line(&claim, "E", "cladding")["so_far"], 10.0);
    assert_eq!(line(&claim, "N", "sealing")["whole"], 2.0);
    assert_eq!(claim["value_so_far"], 933.38 + 333.35);
    assert_eq!(claim["currency"], "NZD");
    // By period: the second day's alone, and the first's; together the whole.
    let second = job.json("claim --from 2026-03-03");
    assert_eq!(line(&second, "N", "cladding")["period"], 0.0);
    assert_eq!(line(&second, "E", "cladding")["period"], 10.0);
    assert_eq!(second["value_period"], 333.35);
    assert_eq!(second["stoppages"][0]["cause"], "rain");
    let first = job.json("claim --until 2026-03-02");
    assert_eq!(first["value_period"], 933.38);
    assert_eq!(first["stoppages"], serde_json::json!([]));
    job.run("claim --from 2026-03-03 --until 2026-03-02").exits(2);
    // A course that is hung and not levelled is not claimed.
    job.at("04T07:00", "day open --crew Lea Ivo --talk x");
    job.at("04T07:00", "caution acknowledge dust --person Lea Ivo");
    job.at("04T08:00", "record course --on E/C2");
    job.at("04T09:00", "record course --on E/C3");
    assert_eq!(line(&job.json("claim"), "E", "cladding")["so_far"], 20.0);
    // 933.38, and 20 m² of E at 33.335.
    assert_eq!(job.json("claim")["value_so_far"], 1600.08);
}

#[test]
fn c14_claims_add_up_across_an_adopted_sequence() {
    let job = Job::new(RATES);
    job.two_days();
    // A new stage in front: every step has another place in the sequence from then on.
    let small = std::fs::read_to_string(job.0.path("small.toml")).unwrap();
    let first = "[[stage]]\nkey = \"site\"\ntitle = \"Site\"\n[[stage.step]]\nkey = \"look\"\ntitle = \"Looked\"\non = \"job\"\n\n";
    job.0.file(
        "newer.toml",
        &small.replacen("[[stage]]", &format!("{first}[[stage]]"), 1).replace("edition = \"1\"", "edition = \"2\""),
    );
    job.at("04T07:00", "day open --crew Lea Ivo --talk x");
    job.at("04T07:00", "sequence adopt newer.toml --why 'the site is looked at first'");
    job.at("04T07:00", "caution acknowledge dust --person Lea Ivo");
    job.at("04T09:00", "record course --on E/C2..3 --anyway --why 'looked at before'");
    job.at("04T09:00", "record level --on E/C3 --answer out=0 --anyway --why 'looked at before'");
    let (first, second) = (job.json("claim --until 2026-03-03"), job.json("claim --from 2026-03-04"));
    assert_eq!(first["value_so_far"], 933.38 + 333.35);
    let of_e = |claim: &Value| {
        let lines = claim["lines"].as_array().unwrap().iter();
        lines
            .filter(|line| line["part"] == "E" && line["stage"] == "cladding")
            .map(|line| line["period"].clone())
            .next_back()
    };
    assert_eq!(of_e(&second), Some(20.0.into()), "{second}");
    // 30 m² of E at 33.335 are 1000.05, of which 333.35 were claimed before.
    assert_eq!(second["value_period"], 666.7);
    assert_eq!(second["value_so_far"], 1933.43);
}

#[test]
fn c14_claims_add_up_where_an_adopted_sequence_drops_a_stage() {
    let job = Job::new(RATES);
    job.two_days();
    job.at("03T13:00", "day open --crew Lea Ivo --talk x");
    job.at("03T13:10", "reading --on N,E --air 18 --humidity 60 --surface 18 --wind 5");
    job.at("03T13:10", "record prime --on N/J1");
    job.at("03T13:50", "record gun --on N/J1");
    job.at("03T14:00", "record coat --on N");
    job.at("03T18:30", "record recoat --on N --anyway --why 'the test'");
    job.at("03T19:00", "day close --hours Lea=5 Ivo=5");
    let may = job.json("claim --until 2026-03-03");
    let small = std::fs::read_to_string(job.0.path("small.toml")).unwrap();
    let cut = |text: &str, from: &str, to: &str| {
        let (from, to) = (text.find(from).unwrap(), text.find(to).unwrap());
        format!("{}{}", &text[..from], &text[to..])
    };
    let without = cut(&small, "[[stage]]\nkey = \"sealing\"", "[[hold]]");
    let without = cut(&without, "[[window]]", "[[limit]]");
    let without = without.replace("edition = \"1\"", "edition = \"2\"");
    job.0.file("newer.toml", &without);
    job.at("04T07:00", "sequence adopt newer.toml --why 'somebody else seals'");
    let june = job.json("claim --from 2026-03-04");
    let sum = |claim: &Value, key: &str| claim[key].as_f64().unwrap();
    let both = sum(&may, "value_period") + sum(&june, "value_period");
    assert!(sum(&may, "value_period") > 933.38 + 333.35, "the sealing is claimed: {may}");
    assert!((both - sum(&june, "value_so_far")).abs() < 1e-9, "{may} {june}");
}

/// A stage that sets the starter line, and one that seals whatever has a gap.
const STARTER_AND_SEAL: &str = r#"
key = "small"
title = "Starter and sealing"
edition = "1"
comes_first = "the maker"
roles = ["lead"]
authority = { close = ["lead"], concede = ["lead"] }
[[stage]]
key = "base"
title = "Starter"
[[stage.step]]
key = "starter"
title = "Starter fixed"
on = "wall"
[[stage.step.ask]]
key = "height"
prompt = "Height"
kind = "length"
planned = "start-height"
within = 2
basis = { common_practice = "2 mm" }
[[stage]]
key = "seal"
title = "Sealing"
[[stage.step]]
key = "gun"
title = "Gunned"
on = ["joint", "opening", "corner"]
unless_dry = true
"#;

#[test]
fn c14_starter_and_sealing_are_claimed_by_the_metre_as_the_take_off_counts_them() {
    // N: 10 m with a door 1 m wide and 2 m high, a window 2 x 1 m, and a window as large that is left dry.
    let walls = r#"
key = "test"
name = "Test house"
time_zone = "Pacific/Auckland"
sequence = "small.toml"
person = [{ name = "Lea", roles = ["lead"] }]
corner = [{ key = "NE", kind = "metal", walls = ["N", "E"] }]
[panel]
length_mm = 6000
cover_mm = 1000
least_column_mm = 300
least_piece_mm = 50
joint_mm = 10
clear_of_opening_mm = 0
lift_in_mm = 0
gap_mm = 10
[[wall]]
key = "N"
length_mm = 10000
height_mm = 3000
bearing_deg = 0
courses = 3
joints_mm = [5000]
opening = [
    { kind = "door", from_mm = 500, to_mm = 1500, head_mm = 2000 },
    { kind = "window", from_mm = 2000, to_mm = 4000, sill_mm = 1000, head_mm = 2000 },
    { kind = "window", from_mm = 6000, to_mm = 8000, sill_mm = 1000, head_mm = 2000, dry = true },
]
[[wall]]
key = "E"
length_mm = 4000
height_mm = 3000
bearing_deg = 90
courses = 3
"#;
    let claim_of = |rates: &str| {
        let site = Site::folder("2026-03-02T07:00:00+13:00", "");
        site.file("small.toml", STARTER_AND_SEAL);
        site.file("job.toml", &format!("{walls}{rates}"));
        site.ok("job add job.toml");
        (site.ok("claim"), site)
    };
    let whole = |claim: &Value, part: &str, stage: &str, unit: &str| {
        let mut lines = claim["lines"].as_array().unwrap().iter();
        let line = lines.find(|line| line["part"] == part && line["stage"] == stage && line["unit"] == unit);
        line.map(|line| line["whole"].as_f64().unwrap())
    };
    let (claim, site) = claim_of("");
    assert_eq!(whole(&claim, "N", "base", "m"), Some(9.0), "{claim}");
    assert_eq!(whole(&claim, "E", "base", "m"), Some(4.0));
    // The joint 3 m, the door's sides 4 m, the window's sides and sill 4 m; the corner 3 m on either wall.
    assert_eq!(whole(&claim, "N", "seal", "m"), Some(11.0), "{claim}");
    assert_eq!(whole(&claim, "NE", "seal", "m"), Some(6.0), "{claim}");
    // The take-off orders sealant for the same 17 m: 10 mm wide and 5 deep, 50 ml a metre.
    site.ok("calc courses --lowest 0 --highest 0 --keep");
    site.ok("calc columns --wall N --keep");
    let order = site.ok("calc takeoff");
    let mut lines = order["lines"].as_array().unwrap().iter();
    let tape = lines.find(|line| line["item"] == "masking tape").unwrap();
    assert_eq!(tape["needed"], 2.0 * 17.0, "{order}");
    // Where openings and corners are paid apart, metres are of joints alone.
    let rate = |unit: &str| format!("[[rate]]\nstage = \"seal\"\nunit = \"{unit}\"\nprice = 1\ncurrency = \"NZD\"\n");
    let (claim, _) = claim_of(&(rate("m") + &rate("each")));
    assert_eq!(
        (whole(&claim, "N", "seal", "m"), whole(&claim, "N", "seal", "each")),
        (Some(3.0), Some(2.0)),
        "{claim}"
    );
}

#[test]
fn rates_stand_in_no_entry_and_can_be_taken_anew() {
    let job = Job::new(RATES);
    job.run("export record.jsonl").exits(0);
    let record = std::fs::read_to_string(job.0.path("record.jsonl")).unwrap();
    assert!(!record.contains("33.335") && !record.contains("NZD"), "{record}");
    assert_eq!(job.json("job rates")["rates"][0]["price"], 33.335);
    job.0.file("job.toml", &format!("{JOB}{}", RATES.replace("33.335", "40")));
    job.run("job rates job.toml").exits(0);
    assert_eq!(job.json("job rates")["rates"][0]["price"], 40.0);
    job.run("rebuild").exits(0);
    assert_eq!(job.json("job rates")["rates"][0]["price"], 40.0);
    job.run("verify").exits(0);
    job.0.file("job.toml", &format!("{JOB}{RATES}{RATES}"));
    job.run("job rates job.toml").exits(2);
    assert_eq!(job.json("job rates")["rates"][0]["price"], 40.0);
}

#[test]
fn without_rates_and_sizes_there_is_no_made_up_number() {
    let site = crate::rules::site::open("2026-03-02T08:00:00+13:00");
    let claim = site.ok(["claim"]);
    assert_eq!(claim["lines"], serde_json::json!([]));
    assert_eq!(claim["remarks"].as_array().unwrap().len(), 2, "one for each wall without measures: {claim}");
    assert!(claim.get("value_so_far").is_none());
    assert!(site.ok(["pace"])["why_not"].is_string());
}

#[test]
fn courses_that_do_not_come_to_the_height_are_pointed_out() {
    let site = Site::folder("2026-03-02T07:00:00+13:00", "tests/rules/small.toml");
    let panel = "[panel]\nlength_mm = 2400\ncover_mm = 1000\nleast_column_mm = 300\nleast_piece_mm = 100\n\
                 joint_mm = 10\nclear_of_opening_mm = 100\nlift_in_mm = 5\n";
    site.file("fits.toml", &format!("{JOB}{panel}"));
    let fits = site.bare(["--db", "fits.db", "job", "add", "fits.toml"]).exits(0);
    assert_eq!(fits.stderr, "");
    site.file("tall.toml", &format!("{JOB}{panel}").replacen("height_mm = 3000", "height_mm = 5400", 1));
    let tall = site.bare(["--db", "tall.db", "job", "add", "tall.toml"]).exits(0);
    assert!(tall.stderr.contains("wall N") && !tall.stderr.contains("wall E"), "{tall:?}");
}

#[test]
fn the_pack_has_what_the_job_took_and_no_prices() {
    let job = Job::new(RATES);
    job.two_days();
    job.at("03T12:10", "extra add --what 'porch soffit' --asked-by Bea --hours 2");
    job.run("pack pack --interim").exits(0);
    job.run("verify pack").exits(0);
    let html = std::fs::read_to_string(job.0.path("pack/handover.html")).unwrap();
    for wanted in ["Stoppages and extra work", "porch soffit", "4 crew-hours", "m² of wall"] {
        assert!(html.contains(wanted), "{wanted}");
    }
    let table = |name: &str| std::fs::read_to_string(job.0.path(&format!("pack/tables/{name}.csv"))).unwrap();
    assert!(table("quantities").contains("N,cladding,Cladding,m2,28.00,28.00\r\n"), "{}", table("quantities"));
    assert!(table("stoppages").lines().nth(1).unwrap().contains(",rain,Ines,,4,"), "{}", table("stoppages"));
    assert_eq!(table("extras").lines().count(), 2);
    assert!(!job.0.path("pack/tables/pace.csv").exists(), "what a crew-hour does is the crew's own");
    for file in std::fs::read_dir(job.0.path("pack/tables")).unwrap() {
        let text = std::fs::read_to_string(file.unwrap().path()).unwrap();
        assert!(!text.contains("NZD") && !text.contains("33.335"), "a price in the pack: {text}");
    }
    assert!(!html.contains("NZD") && !html.contains("933.38"));
}

#[test]
fn names_are_withheld_from_a_copy_for_reading() {
    let job = Job::new("");
    job.two_days();
    job.at("03T12:10", "note --on N --text 'Lea told Kit of the roofers that Ines comes at noon'");
    job.run("pack copy --interim --without-people").exits(0);
    let read = |name: &str| std::fs::read_to_string(job.0.path(&format!("copy/{name}"))).unwrap();
    let html = read("handover.html");
    for wanted in ["COPY FOR READING: 3 names are withheld", "Person 1 (lead)", "Person 3 (inspector)", "Kit of the"] {
        assert!(html.contains(wanted), "{wanted}");
    }
    for file in ["handover.html", "tables/hours.csv", "tables/entries.csv", "tables/stoppages.csv", "tables/holds.csv"]
    {
        let text = read(file);
        for name in ["Lea", "Ivo", "Ines"] {
            assert!(!text.contains(name), "{name} is in {file}");
        }
    }
    assert!(read("tables/hours.csv").contains("Person 2 (installer)"), "{}", read("tables/hours.csv"));
    assert!(!job.0.path("copy/record.jsonl").exists() && !job.0.path("copy.zip").exists());
    job.run("verify copy").exits(2);
    // One name alone, also of somebody who is not of the job; a name that nobody bears; a folder that is there.
    job.run("pack one --interim --withhold Ivo").exits(0);
    let one = std::fs::read_to_string(job.0.path("one/handover.html")).unwrap();
    assert!(one.contains("COPY FOR READING: 1 name is withheld") && one.contains("Lea") && !one.contains("Ivo"));
    job.run("pack two --interim --withhold Nobody").exits(2);
    job.run("pack one --interim --withhold Ivo").exits(2);
    assert!(!job.0.path("two").exists());
}
