//! Forms over small texts: every kind of field, every sort of mistake.

use chrono::TimeDelta;
use proptest::prelude::*;

use super::*;

fn part(f: &Section<'_>) -> f64 {
    f.required("length", Number(0.0, 10.0), "how long")
}

fn thing(f: &Section<'_>) -> (String, Option<TimeDelta>, Vec<f64>) {
    (
        f.required("title", Name, "its title"),
        f.optional("wait", Duration, "how long it waits"),
        f.or_default("part", tables("part", part), "its parts"),
    )
}

/// The mistakes of a text whose one field is called `x`.
fn mistakes<K: Kind + Copy>(kind: K, value: &str) -> String {
    let read = read(&format!("x = {value}"), "thing", |f| f.optional("x", kind, "a field"));
    let mistakes = read.err().expect("a mistake");
    mistakes.iter().map(|m| m.message.as_str()).collect::<Vec<_>>().join("\n")
}

fn value<K: Kind + Copy>(kind: K, value: &str) -> K::Value {
    let read = read(&format!("x = {value}"), "thing", |f| f.optional("x", kind, "a field"));
    read.expect("no mistake").expect("a value")
}

#[test]
fn every_mistake_is_reported_with_line_and_column() {
    let text = "titel = \"x\"\nwait = \"soon\"\n[[part]]\nlength = 11\n[[part]]\nlenght = 1\n";
    let mistakes: Vec<String> = read(text, "thing", thing).unwrap_err().iter().map(|m| m.in_file("f.toml")).collect();
    assert_eq!(
        mistakes,
        [
            "f.toml:1:1: this thing has no 'title': add it (its title)",
            "f.toml:1:1: unknown key 'titel' in a thing: did you mean 'title'?",
            "f.toml:2:8: 'wait' can't be 'soon'; write \"30 min\", \"6 h\" or \"2 days\"",
            "f.toml:4:10: 'length' must be 0 to 10, not 11",
            "f.toml:5:1: this part has no 'length': add it (how long)",
            "f.toml:6:1: unknown key 'lenght' in a part: did you mean 'length'?",
        ]
    );
}

#[test]
fn broken_toml_is_a_mistake_with_its_place() {
    let mistakes = read("title = \"x\"\nwait = = 2\n", "thing", thing).unwrap_err();
    assert_eq!((mistakes.len(), mistakes[0].line), (1, 2));
}

#[test]
fn each_kind_reads_what_it_is_and_says_what_it_must_be() {
    assert_eq!(value(Text, "\" a\\r\\nb \""), "a\nb");
    assert_eq!(mistakes(Text, "\"\\u0007\""), "'x' has a control character in it; remove it");
    assert_eq!(mistakes(Name, "\" a\""), "'x' has leading or trailing spaces");
    assert_eq!(mistakes(Name, "5"), "'x' must be text in quotes, not 5");
    assert_eq!(
        mistakes(Key, "\"a b\""),
        "'x' can't be 'a b'; use letters, digits and hyphens, starting with a letter or digit, at most 40"
    );
    assert_eq!(mistakes(Flag, "\"yes\""), "'x' must be true or false, not text");
    assert_eq!(mistakes(Number(0.0, 9.0), "99999999999999999999"), "'x' must be 0 to 9, not 99999999999999999999");
    assert_eq!(mistakes(Number(0.0, 9.0), "nan"), "'x' must be 0 to 9, not nan");
    assert_eq!(mistakes(Number(0.0, 9.0), "true"), "'x' must be a number, not true");
    assert_eq!((value(Count(0, 9), "3.0"), value(Count(0, 9), "0x7")), (3, 7));
    assert_eq!(mistakes(Count(0, 9), "3.5"), "'x' must be a whole number, not 3.5");
    assert_eq!(value(Exact, "+1.50e+1").to_string(), "15.0");
    assert_eq!(mistakes(Exact, "1e300"), "'x' is too large or has too many digits");
    assert_eq!(mistakes(Exact, "-inf"), "'x' must be a number, not -inf");
    assert_eq!(value(Duration, "\"1.5 h\""), TimeDelta::minutes(90));
    assert_eq!(
        mistakes(Duration, "\"0.3 min\""),
        "'x' can't be '0.3 min'; it must be whole minutes, from 0 to ten years"
    );
    assert_eq!(value(Time, "2026-03-02T07:00:00+13:00"), value(Time, "\"2026-03-01T18:00Z\""));
    assert_eq!(
        mistakes(Time, "2026-03-02"),
        "'x' can't be '2026-03-02'; write date, time and offset, such as 2026-03-02T07:00:00+13:00"
    );
    assert_eq!(value(List(Pair(Number(0.0, 9.0))), "[[0, 1], [2, 3]]"), [[0.0, 1.0], [2.0, 3.0]]);
    assert_eq!(
        mistakes(List(Pair(Number(0.0, 9.0))), "[[0], 2]"),
        "'x' must be a pair, as in [1200, 2400], not a list\n'x' must be a pair, as in [1200, 2400], not 2"
    );
    assert_eq!(value(List(List(Count(0, 9))), "[[1], [], [2, 3]]"), [vec![1], vec![], vec![2, 3]]);
    assert_eq!(mistakes(List(Name), "1979-05-27"), "'x' must be a list, written in [ ], not a date");
    assert_eq!(value(At(Name), "\"a\"").span(), 4..7);
    assert_eq!(mistakes(table("part", part), "[]"), "'x' must be a table, written in { } or under [ ], not a list");
    assert_eq!(mistakes(tables("part", part), "{}"), "'x' must be a list of tables, each under [[ ]], not a table");
}

#[test]
fn one_word_of_an_enum_is_read_or_the_closest_is_named() {
    #[derive(Debug, PartialEq, strum::EnumString, strum::VariantNames)]
    #[strum(serialize_all = "kebab-case")]
    enum Light {
        FirstLight,
        Sunset,
    }
    let light = |text: &str| read(text, "thing", |f| f.optional("x", word::<Light>(), "a light"));
    assert_eq!(light("x = \"first-light\""), Ok(Some(Light::FirstLight)));
    assert_eq!(
        light("x = \"sunsett\"").unwrap_err()[0].message,
        "'x' can't be 'sunsett'; it is one of first-light, sunset; did you mean 'sunset'?"
    );
}

#[test]
fn a_json_pointer_leads_to_a_value_or_to_the_last_one_on_its_way() {
    let text = "a = 1\n[[b]]\nc = [1, 22]\n";
    let column = |pointer: &str| {
        let mistakes = read(text, "thing", |f| {
            f.or_default("a", Exact, "");
            f.or_default("b", tables("b", |f| f.or_default("c", List(Exact), "")), "");
            f.mistake_under(pointer, "here");
        });
        mistakes.map_err(|mistakes| (mistakes[0].line, mistakes[0].column)).unwrap_err()
    };
    assert_eq!(
        ["/a", "/b/0/c/1", "/b/0/d", "/b/7", "/e", ""].map(column),
        [(1, 5), (3, 9), (2, 1), (2, 1), (1, 1), (1, 1)]
    );
}

#[test]
fn the_schema_is_what_the_form_declares() {
    let schema = json_schema("a thing", thing);
    assert_eq!(schema["required"], serde_json::json!(["title"]));
    assert_eq!(schema["properties"]["title"]["description"], "its title");
    assert_eq!(schema["properties"]["part"]["items"]["properties"]["length"]["maximum"], 10.0);
    assert_eq!(schema["properties"]["part"]["items"]["additionalProperties"], false);
}

proptest! {
    #[test]
    fn no_text_makes_the_reader_panic(text in "\\PC{0,80}|(title|part|\\[\\[|\\]\\]|=|\"|\n| |1){0,30}") {
        let _ = read(&text, "thing", thing);
    }
}
