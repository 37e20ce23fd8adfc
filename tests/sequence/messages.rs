//! What the reader says of a wrong file: the exact words, with line and column.

use cladlog::sequence::read;

/// A small sequence without a mistake, to be spoilt line by line.
pub(super) const SMALL: &str = r#"key = "small"
title = "A small one"
edition = "1"
comes_first = "the maker"
roles = ["lead", "builder"]
authority = { close = ["lead"], concede = ["builder"] }

[[stage]]
key = "frame"
title = "Frame"
[[stage.step]]
key = "flat"
title = "Flat"
on = "wall"
[[stage.step.ask]]
key = "gap"
prompt = "Gap"
kind = "length"
most = 3
basis = { common_practice = "3 mm" }

[[stage]]
key = "cover"
title = "Cover"
after = ["frame"]
[[stage.step]]
key = "courses"
title = "Courses"
on = "wall"

[[hold]]
key = "cover-up"
title = "Looked at"
per = "wall"
after = ["frame"]
holds = ["cover"]
roles = ["builder"]

[[window]]
key = "open"
title = "Open wrap"
from = "flat"
to = "courses"
earliest = "1 h"
latest = "6 h"
basis = { common_practice = "6 h" }
"#;

/// Swaps one passage of [`SMALL`] for another.
#[track_caller]
fn spoilt(from: &str, to: &str) -> String {
    assert_eq!(SMALL.matches(from).count(), 1, "'{from}' must stand once");
    SMALL.replace(from, to)
}

/// Every message of the reader, as compilers print it.
#[track_caller]
fn said(text: &str) -> Vec<String> {
    read(text).expect_err("the text has a mistake").iter().map(|mistake| mistake.in_file("s.toml")).collect()
}

#[test]
fn the_small_one_is_good() {
    assert!(read(SMALL).is_ok());
}

#[test]
fn an_unknown_key() {
    assert_eq!(
        said(&spoilt("on = \"wall\"\n[[stage.step.ask]]", "on = \"wall\"\nlimit = [\"wind\"]\n[[stage.step.ask]]")),
        ["s.toml:15:1: unknown key 'limit' in a step: did you mean 'limits'?"]
    );
}

#[test]
fn a_step_that_nothing_defines() {
    assert_eq!(
        said(&spoilt("to = \"courses\"", "to = \"course\"")),
        ["s.toml:43:6: there is no step 'course'; did you mean 'courses'?"]
    );
    assert_eq!(
        said(&spoilt("holds = [\"cover\"]", "holds = [\"roof\"]")),
        ["s.toml:36:10: there is no step or stage 'roof'; define it, or use another"]
    );
    // A window with one unknown end makes nothing wait: no circle is made up.
    assert_eq!(
        said(&spoilt("from = \"flat\"", "from = \"level\"")),
        ["s.toml:42:8: there is no step 'level'; define it, or use another"]
    );
}

#[test]
fn squareness_is_asked_of_a_wall_as_a_length_with_its_basis() {
    let square = |with: &str| spoilt("most = 3\n", &format!("square_over = 2400\nmost = 3\n{with}"));
    assert!(read(&square("")).is_ok());
    assert_eq!(
        said(&square("usual = 2\n")),
        ["s.toml:15:1: 'square_over' is answered by two diagonals; remove 'usual' and 'planned'"]
    );
    assert_eq!(
        said(&square("").replace("kind = \"length\"", "kind = \"percent\"")),
        ["s.toml:19:15: 'square_over' is only for asks of kind \"length\""]
    );
    assert_eq!(
        said(
            &square("")
                .replacen("on = \"wall\"", "on = \"opening\"", 1)
                .replace("per = \"wall\"", "per = \"job\"")
                .replacen("title = \"Courses\"\non = \"wall\"", "title = \"Courses\"\non = \"opening\"", 1)
        ),
        ["s.toml:19:15: 'square_over' is only for steps on a wall"]
    );
    assert_eq!(
        said(&spoilt("most = 3\nbasis = { common_practice = \"3 mm\" }\n", "square_over = 2400\n")),
        [
            "s.toml:15:1: this ask has a number but no 'basis': add basis = { published = …, clause = … }, { document = … } or \
          { common_practice = … }"
        ]
    );
}

#[test]
fn a_circle_of_after() {
    let text = spoilt("title = \"Frame\"", "title = \"Frame\"\nafter = [\"cover\"]");
    assert_eq!(
        said(&text),
        ["s.toml:27:1: steps wait for each other: flat after courses after flat; remove one 'after'"]
    );
}

#[test]
fn a_circle_through_a_hold_point() {
    let text = format!(
        "{}\n[[hold]]\nkey = \"two\"\ntitle = \"Two\"\nper = \"wall\"\nafter = [\"cover\"]\nholds = [\"frame\"]\nroles = [\"builder\"]\n",
        SMALL
    );
    assert_eq!(
        said(&text),
        [
            "s.toml:52:9: steps and hold points wait for each other: flat after hold point two after courses after flat; \
             remove one 'after'"
        ]
    );
    assert_eq!(
        said(&spoilt("after = [\"frame\"]\nholds", "after = [\"frame\", \"cover\"]\nholds")),
        ["s.toml:35:9: steps and hold points wait for each other: courses after hold point cover-up after courses; \
             remove one 'after'"]
    );
}

#[test]
fn a_window_whose_latest_is_before_its_earliest() {
    assert_eq!(
        said(&spoilt("latest = \"6 h\"", "latest = \"30 min\"")),
        ["s.toml:45:10: 'latest' is before 'earliest': this window could never be met"]
    );
}

#[test]
fn a_number_with_no_basis() {
    let no_basis = "this ask has a number but no 'basis': add basis = { published = …, clause = … }, { document = … } \
                    or { common_practice = … }";
    assert_eq!(
        said(&spoilt("most = 3\nbasis = { common_practice = \"3 mm\" }", "most = 3")),
        [format!("s.toml:15:1: {no_basis}")]
    );
    // A usual answer is a number as well.
    assert_eq!(
        said(&spoilt("most = 3\nbasis = { common_practice = \"3 mm\" }", "usual = 3")),
        [format!("s.toml:15:1: {no_basis}")]
    );
    assert_eq!(
        said(&spoilt("basis = { common_practice = \"6 h\" }\n", "")),
        ["s.toml:39:1: this window has no 'basis': add it (what its times rest on)"]
    );
    assert_eq!(
        said(&spoilt("{ common_practice = \"3 mm\" }", "{ published = \"NZS 3604\" }")),
        ["s.toml:20:9: 'published' needs 'clause', and 'clause' needs 'published'"]
    );
    assert_eq!(
        said(&spoilt("{ common_practice = \"3 mm\" }", "{ document = \"maker\" }")),
        ["s.toml:20:22: there is no [[document]] with the key 'maker'; add it"]
    );
}

#[test]
fn a_step_to_begin_again_with_that_is_in_the_window_or_elsewhere() {
    let at = |step: &str| spoilt("latest = \"6 h\"\n", &format!("latest = \"6 h\"\nredo_from = \"{step}\"\n"));
    assert_eq!(said(&at("flat")), ["s.toml:46:13: 'redo_from' is a step before 'from'"]);
    assert_eq!(said(&at("fiat")), ["s.toml:46:13: there is no step 'fiat'; did you mean 'flat'?"]);
    let (text, papers) =
        (at("papers"), "[[stage.step]]\nkey = \"papers\"\ntitle = \"Papers\"\non = \"job\"\n\n[[hold]]");
    assert_eq!(
        said(&text.replacen("[[hold]]", papers, 1)),
        [
            "s.toml:51:13: 'flat' is done on a wall, 'papers' on the whole job: the steps of a window must be on the same kinds of \
          subject"
        ]
    );
}

#[test]
fn a_question_that_another_makes_needless() {
    let after = |unless: &str| {
        let choice = "[[stage.step.ask]]\nkey = \"roof\"\nprompt = \"Roof\"\nkind = \"choice\"\nchoices = [\"none\", \"flat\"]\n";
        let again = "[[stage.step.ask]]\nkey = \"apron\"\nprompt = \"Apron\"\nkind = \"text\"\n";
        spoilt(
            "\n[[stage]]\nkey = \"cover\"",
            &format!("{choice}{again}unless = {unless}\n\n[[stage]]\nkey = \"cover\""),
        )
    };
    assert!(read(&after("{ ask = \"roof\", is = \"none\" }")).is_ok());
    assert_eq!(
        said(&after("{ ask = \"gap\", is = [\"none\"] }")),
        ["s.toml:30:10: there is no ask 'gap' of kind \"choice\" before this one"]
    );
    assert_eq!(
        said(&after("{ ask = \"roof\", is = [\"none\", \"steep\"] }")),
        ["s.toml:30:10: 'steep' is not one of the choices of 'roof'"]
    );
    assert_eq!(
        said(&after("{ ask = \"roof\" }")),
        ["s.toml:30:10: this unless has no 'is': add it (what was chosen there, or a list of that)"]
    );
}

#[test]
fn a_usual_answer_out_of_tolerance() {
    assert_eq!(
        said(&spoilt("most = 3", "most = 3\nusual = 4")),
        ["s.toml:20:9: 'usual' is out of tolerance; change one or the other"]
    );
}

#[test]
fn a_kind_that_no_corner_is_of() {
    assert_eq!(
        said(&spoilt("on = \"wall\"\n[[stage.step.ask]]", "on = \"corner\"\nkinds = [\"steel\"]\n[[stage.step.ask]]")),
        [
            "s.toml:15:10: 'steel' is not a kind of corner; the kinds are preformed, metal, timber, internal, mitred",
            "s.toml:44:6: 'flat' is done on a corner, 'courses' on a wall: the steps of a window must be on the same \
             kinds of subject",
        ]
    );
}

#[test]
fn a_limit_that_bounds_nothing() {
    let limit =
        "[[limit]]\nkey = \"wind\"\ntitle = \"Wind\"\nreading_within = \"2 h\"\nbasis = { common_practice = \"x\" }\n";
    assert_eq!(
        said(&format!("{SMALL}\n{limit}")),
        ["s.toml:48:1: this limit has no bounds: add one of air_least_c, air_most_c, surface_least_c, \
             surface_most_c, dew_margin_least_c, humidity_most_pct, wind_most_kmh or dry = true"]
    );
}

#[test]
fn a_key_used_twice() {
    assert_eq!(
        said(&spoilt("key = \"courses\"", "key = \"flat\"")),
        [
            "s.toml:27:7: 'flat' is given twice; steps and stages share one set of keys",
            "s.toml:43:6: there is no step 'courses'; define it, or use another",
        ]
    );
    let again = "[[hold]]\nkey = \"cover-up\"\ntitle = \"x\"\nper = \"wall\"\nafter = [\"frame\"]\nholds = [\"cover\"]\nroles = [\"builder\"]\n";
    assert_eq!(said(&format!("{SMALL}\n{again}")), ["s.toml:49:7: hold 'cover-up' is given twice"]);
    // TOML itself refuses a key that stands twice in one table.
    let mistakes = said(&spoilt("most = 3", "most = 3\nmost = 4"));
    assert_eq!(mistakes, ["s.toml:20:1: not TOML: duplicate key; fix this first"]);
}

#[test]
fn a_key_left_out_is_one_mistake_however_often() {
    let text = SMALL.replace("key = \"flat\"\n", "").replace("key = \"courses\"\n", "").replace("[[window]]", "");
    let text = &text[..text.find("key = \"open\"").unwrap_or(text.len())];
    assert_eq!(
        said(text),
        [
            "s.toml:11:1: this step has no 'key': add it (short key)",
            "s.toml:25:1: this step has no 'key': add it (short key)",
        ]
    );
}

#[test]
fn bad_toml() {
    assert_eq!(
        said(&spoilt("most = 3", "most = = 3")),
        ["s.toml:19:8: not TOML: extra `=`, expected nothing; fix this first"]
    );
    // The rest of the file is read all the same.
    assert_eq!(
        said(&spoilt("most = 3", "most = = 3").replace("per = \"wall\"", "per = \"course\"")),
        [
            "s.toml:19:8: not TOML: extra `=`, expected nothing; fix this first",
            "s.toml:34:7: 'per' can't be 'course'; it is one of wall, job",
        ]
    );
    assert!(said("key = \"x")[0].starts_with("s.toml:1:"));
    assert!(said("\u{0}")[0].starts_with("s.toml:1:1: "));
}

#[test]
fn a_file_of_absurd_length() {
    assert_eq!(said(&"#\n".repeat(600_000)), ["s.toml:1:1: the file is 1200000 bytes long; at most 1000000"]);
    let steps = "[[stage.step]]\nkey = \"s\"\ntitle = \"S\"\non = \"job\"\n".repeat(2000);
    let crowd = SMALL.replacen("[[stage.step]]", &format!("{steps}[[stage.step]]"), 1);
    assert_eq!(said(&crowd), ["s.toml:1:1: 2002 steps; at most 2000"]);
    // Within the length, 20 unknown keys are named, the others counted; the 7 are what a sequence has to have.
    let unknown = said(&(0..50_000).map(|n| format!("k{n} = 1\n")).collect::<String>());
    assert_eq!(unknown.len(), 20 + 1 + 7);
}

#[test]
fn several_mistakes_at_once_in_the_order_of_the_lines() {
    let text = spoilt("roles = [\"lead\", \"builder\"]", "roles = [\"builder\"]")
        .replace("close = [\"lead\"]", "close = []")
        .replace("on = \"wall\"\n[[stage.step.ask]]", "on = \"wal\"\n[[stage.step.ask]]")
        .replace("kind = \"length\"", "kind = \"lenght\"")
        .replace("warn", "")
        .replace("latest = \"6 h\"", "latest = \"6 hours\"\nwarn = 5");
    assert_eq!(
        said(&text),
        [
            "s.toml:5:9: 'roles' must include \"lead\": every job has a crew lead",
            "s.toml:6:23: 'close' must name at least one role",
            "s.toml:14:6: 'on' can't be 'wal'; it is one of job, wall, opening, corner, joint, course; did you mean \
             'wall'?",
            "s.toml:18:8: 'kind' can't be 'lenght'; it is one of length, angle, temperature, percent, count, choice, \
             yes-no, text, photo, batch; did you mean 'length'?",
            "s.toml:45:10: 'latest' can't be '6 hours'; write \"30 min\", \"6 h\" or \"2 days\"",
            "s.toml:46:8: 'warn' must be text in quotes, not 5",
        ]
    );
}

#[test]
fn an_allowance_names_what_it_is_counted_by_and_what_it_rests_on() {
    let with = |line: &str| format!("{SMALL}\n[[allowance]]\n{line}\n");
    let said = |text: &str| read(text).unwrap_err().iter().map(|m| m.in_file("f")).collect::<Vec<_>>().join("\n");
    let good = "item = \"clips\"\nper = \"crossing\"\nunit = \"pieces\"\npack = 100\nsold_as = \"box\"\n\
                waste_pct = 5\nbasis = { common_practice = \"one a stud\" }";
    let own = read(&with(good)).unwrap().allowances;
    assert_eq!((own[0].rate, own[0].pack, own[0].basis.as_str()), (1.0, 100.0, "common practice: one a stud"));
    assert!(
        said(&with(&good.replace("crossing", "crosing"))).contains("'per'"),
        "{}",
        said(&with(&good.replace("crossing", "crosing")))
    );
    assert!(said(&with(&good.replace("pack = 100", "pack = 0"))).contains("pack"));
    assert!(said(&with(&good.replace("waste_pct = 5", "waste_pct = 500"))).contains("waste_pct"));
    assert!(said(&with(good.split("\nbasis").next().unwrap())).contains("basis"));
    let twice = with(&format!("{good}\n[[allowance]]\n{good}"));
    assert!(said(&twice).contains("allowance 'clips' is given twice"));
}

#[test]
fn runs_and_wrap_say_what_they_are_cut_from() {
    let with = |per: &str, lines: &str| {
        let basis = "basis = { common_practice = \"as drawn\" }";
        format!(
            "{SMALL}\n[[allowance]]\nitem = \"it\"\nper = \"{per}\"\npack = 3\nsold_as = \"length\"\n{basis}\n{lines}\n"
        )
    };
    let own = read(&with("head-flashing", "unit = \"m\"\nlap_mm = 100\npast_mm = 50")).unwrap().allowances;
    assert_eq!((own[0].lap_mm, own[0].past_mm), (100.0, 50.0));
    assert!(read(&with("wrap-m", "unit = \"m\"\nwidth_mm = 1370\nlap_mm = 150")).is_ok());
    let wrong = [
        ("batten", "unit = \"pieces\"", "flashings, battens and wrap are counted in \"m\""),
        ("wrap-m", "unit = \"m\"", "wrap needs 'width_mm', the width of a roll"),
        ("joint-m", "unit = \"m\"\nwidth_mm = 1370", "'width_mm' goes with wrap"),
        ("joint-m", "unit = \"m\"\nlap_mm = 10", "'lap_mm' goes with flashings, battens and wrap"),
        ("joint-m", "unit = \"m\"\nkinds = [\"metal\"]", "'kinds' goes with what is counted by corners"),
        ("wrap-m", "unit = \"m\"\nwidth_mm = 140\nlap_mm = 150", "width 140 mm is outside 151 to 10000 mm"),
    ];
    for (per, lines, error) in wrong {
        let said = said(&with(per, lines)).join("\n");
        assert!(said.ends_with(error), "{said}");
    }
}
