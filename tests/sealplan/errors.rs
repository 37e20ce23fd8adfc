//! Bad input: the line and the reason, word for word.

use cladlog::sealing::plan::{Day, read_toml};
use proptest::prelude::*;

use super::days::{at, joint, plain};

/// A good day; tests spoil a line of it.
pub const GOOD: &str = r#"from = "2026-03-02T07:00:00+13:00"
until = 2026-03-02T17:00:00+13:00
crew = 2
tape_off_within_min = 10
rain = [{ from = "2026-03-02T15:00:00+13:00", to = "2026-03-02T15:30:00+13:00" }]
[window]
earliest_min = 30
latest_min = 240
margin_min = 20
[rates]
mask_min_per_m = 2
prime_min_per_m = 0.5
gun_min_per_m = 2.5
tape_off_min_per_m = 0.5
[[wall]]
key = "N"
sun = [{ from = "2026-03-02T11:00:00+13:00", to = "2026-03-02T14:00:00+13:00" }]
[[wall]]
key = "S"
[[joint]]
id = "N/J1"
wall = "N"
length_m = 2.4
[[joint]]
id = "S/J1"
wall = "S"
length_m = 5.1
"#;

fn said(text: &str) -> String {
    let errors = read_toml(text).unwrap_err();
    errors.iter().map(|error| format!("{}: {}", error.line, error.message)).collect::<Vec<_>>().join("\n")
}

/// The day with one line put in place of another.
fn spoilt(line: &str, instead: &str) -> String {
    assert!(GOOD.contains(line), "{line}");
    said(&GOOD.replacen(line, instead, 1))
}

#[test]
fn each_slip_is_named_with_its_line() {
    let cases = [
        (
            "until = 2026-03-02T17:00:00+13:00",
            "until = 2026-03-02T06:00:00+13:00",
            "2: until 2026-03-02T06:00:00+13:00 is before from 2026-03-02T07:00:00+13:00",
        ),
        (
            "until = 2026-03-02T17:00:00+13:00",
            "until = 2026-03-04T07:01:00+13:00",
            "2: the day from 2026-03-02T07:00:00+13:00 until 2026-03-04T07:01:00+13:00 is 48.017 h long; at most 48 h",
        ),
        (
            "until = 2026-03-02T17:00:00+13:00",
            "until = 2026-03-02T17:00:00",
            "2: 'until' can't be '2026-03-02T17:00:00'; write date, time and offset, such as 2026-03-02T07:00:00+13:00",
        ),
        (
            "from = \"2026-03-02T07:00:00+13:00\"",
            "from = \"7 am\"",
            "1: 'from' can't be '7 am'; write date, time and offset, such as 2026-03-02T07:00:00+13:00",
        ),
        ("crew = 2", "crew = 0", "3: crew must be 1 to 50 people, not 0"),
        ("crew = 2", "crew = 51", "3: crew must be 1 to 50 people, not 51"),
        ("crew = 2", "crew = 2.5", "3: 'crew' must be a whole number of people, such as 2"),
        ("crew = 2", "crews = 2", "3: unknown key 'crews' in a sealing day: did you mean 'crew'?"),
        ("tape_off_within_min = 10", "tape_off_within_min = -1", "4: tape_off_within_min must be 0 or more, not -1"),
        (
            "tape_off_within_min = 10\n",
            "",
            "1: this sealing day has no 'tape_off_within_min': add it (most minutes from gunning to taking the tape off)",
        ),
        (
            "rain = [{ from = \"2026-03-02T15:00:00+13:00\"",
            "rain = [{ from = \"2026-03-02T15:31:00+13:00\"",
            "5: rain ends 2026-03-02T15:30:00+13:00, before it starts 2026-03-02T15:31:00+13:00",
        ),
        (
            "earliest_min = 30\n",
            "",
            "6: this window has no 'earliest_min': add it (least minutes from the end of priming to gunning)",
        ),
        ("earliest_min = 30", "earliest_min = nan", "7: 'earliest_min' must be a number, not nan"),
        ("latest_min = 240", "latest_min = 1e6", "8: latest_min must be at most 100000 min, not 1000000"),
        ("latest_min = 240", "latest_min = 1e300", "8: 'latest_min' is too large or has too many digits"),
        ("margin_min = 20", "margin_min = -0.5", "9: margin_min must be 0 or more, not -0.5"),
        ("mask_min_per_m = 2", "mask_min_per_m = inf", "11: 'mask_min_per_m' must be a number, not inf"),
        ("prime_min_per_m = 0.5", "prime_min_per_m = \"0.5\"", "12: 'prime_min_per_m' must be a number, not text"),
        ("gun_min_per_m = 2.5", "gun_min_per_m = 1001", "13: gun_min_per_m must be at most 1000 min/m, not 1001"),
        (
            "sun = [{ from = \"2026-03-02T11:00:00+13:00\", to = \"2026-03-02T14:00:00+13:00\" }]",
            "sun = [{ from = 2026-03-02T11:00:00Z, to = 2026-03-02T10:00:00Z }]",
            "17: sun on wall 'N' ends 2026-03-02T10:00:00+00:00, before it starts 2026-03-02T11:00:00+00:00",
        ),
        (
            "key = \"S\"",
            "key = \"N\"",
            "19: wall 'N' is given twice\n26: joint 'S/J1' is on wall 'S', which is not given; the walls are 'N'",
        ),
        ("id = \"S/J1\"", "id = \"N/J1\"", "25: joint 'N/J1' is given twice"),
        ("id = \"S/J1\"", "id = \" \"", "25: 'id' is empty"),
        ("id = \"S/J1\"", "id = \"S\\u0007J1\"", "25: 'id' has a control character in it; remove it"),
        ("wall = \"S\"", "wall = \"W\"", "26: joint 'S/J1' is on wall 'W', which is not given; the walls are 'N', 'S'"),
        ("length_m = 5.1", "length_m = 1000.1", "27: length_m must be at most 1000 m, not 1000.1"),
        ("length_m = 5.1", "length_m = -5.1", "27: length_m must be 0 or more, not -5.1"),
        ("length_m = 5.1\n", "", "24: this joint has no 'length_m': add it (its length in metres)"),
        ("[window]", "[window", "6: not TOML: unclosed table, expected `]`; fix this first"),
    ];
    for (line, instead, wanted) in cases {
        assert_eq!(spoilt(line, instead), wanted);
    }
}

#[test]
fn all_that_is_wrong_is_told_at_once() {
    let text = GOOD.replace("crew = 2", "crew = -1").replace("length_m = 2.4", "length_m = -2.4");
    assert_eq!(said(&text), "3: crew must be 1 to 50 people, not -1\n23: length_m must be 0 or more, not -2.4");
}

#[test]
fn what_may_be_left_out_and_what_lies_on_the_edge() {
    let good = |line: &str, instead: &str| read_toml(&GOOD.replacen(line, instead, 1)).unwrap();
    assert_eq!(good("crew = 2\n", "").crew, 2);
    assert!(
        good("rain = [{ from = \"2026-03-02T15:00:00+13:00\", to = \"2026-03-02T15:30:00+13:00\" }]\n", "")
            .rain
            .is_empty()
    );
    assert_eq!(good("until = 2026-03-02T17:00:00+13:00", "until = \"2026-03-04T07:00:00+13:00\"").until, 48 * 60);
    assert_eq!(good("until = 2026-03-02T17:00:00+13:00", "until = \"2026-03-02T07:00:00+13:00\"").until, 0);
    assert_eq!(good("length_m = 2.4", "length_m = 1000").joints[0].gun, 2_500);
    assert_eq!(good("crew = 2", "crew = 50").crew, 50);
    // Another offset names the same moment; seconds may be left off.
    assert_eq!(good("until = 2026-03-02T17:00:00+13:00", "until = \"2026-03-02T04:00Z\"").until, 600);
}

#[test]
fn durations_are_the_exact_product_rounded_up_and_times_whole_minutes() {
    let day = read_toml(GOOD).unwrap();
    let joint = &day.joints[1];
    // 5.1 m: 10.2, 2.55, 12.75 and 2.55 min.
    assert_eq!((joint.mask, joint.prime, joint.gun, joint.tape_off), (11, 3, 13, 3));
    // 2.4 · 2.5 is 6 and not a hair more.
    assert_eq!(day.joints[0].gun, 6);
    let odd = GOOD.replace("07:00:00", "07:00:20").replace("T14:00:00", "T14:00:01").replace("= 30", "= 29.5");
    let day = read_toml(&odd.replace("margin_min = 20", "margin_min = 20.5")).unwrap();
    assert_eq!(day.moment(0).to_string(), "2026-03-02T07:01:00+13:00");
    assert_eq!(day.until, 599);
    assert_eq!((day.walls[0].sun[0].from, day.walls[0].sun[0].to), (239, 420));
    assert_eq!((day.window.earliest, day.window.latest), (30, 219));
}

#[test]
fn what_a_caller_gives_is_checked_too() {
    let said = |given| Day::new(&given).unwrap_err().to_string();
    let mut given = plain(vec![joint("N/J1", "N", 3)]);
    (given.joints[0].primed_from, given.joints[0].primed_at) = (Some(at(-5)), Some(at(10)));
    assert_eq!(
        said(given),
        "joint 'N/J1' was primed until 2026-03-02T07:10:00+13:00, which is after the plan begins at \
         2026-03-02T07:00:00+13:00"
    );
    let mut given = plain(vec![joint("N/J1", "N", 3)]);
    (given.joints[0].primed_from, given.joints[0].primed_at) = (Some(at(-5)), Some(at(-10)));
    assert_eq!(
        said(given),
        "the priming of joint 'N/J1' ends 2026-03-02T06:50:00+13:00, before it starts 2026-03-02T06:55:00+13:00"
    );
    let given = plain((0..1001).map(|nth| joint(&format!("J{nth}"), "N", 1)).collect());
    assert_eq!(said(given), "1001 joints are too many for one plan; at most 1000: split the day");
    let mut given = plain(vec![joint("N/J1", "N", 3)]);
    given.joints[0].length_m = "1.0000000000000000000000001".parse().unwrap();
    given.rates.gun_min_per_m = "1.0000000000000000000000001".parse().unwrap();
    assert_eq!(said(given), "joint 'N/J1': its length or a rate has too many digits to work with exactly");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    #[test]
    fn any_text_is_a_day_or_a_message(text in "\\PC{0,80}", at in 0..700usize, junk in "[-0-9a-z\"\\[\\]{}=.,\\n]{0,6}") {
        prop_assert!(read_toml(&text).is_ok_and(|day| day.joints.is_empty()) || read_toml(&text).is_err());
        let mut spoilt = GOOD.to_owned();
        spoilt.insert_str(at.min(GOOD.len()), &junk);
        if let Err(errors) = read_toml(&spoilt) {
            prop_assert!(errors.iter().all(|error| error.line >= 1 && !error.message.is_empty()));
        }
    }
}
