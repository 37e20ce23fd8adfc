//! The walk and the watch on a real pseudo-terminal, with a clock that stands still.

mod again;
mod aside;
mod at_the_tape;
mod batches;
mod by_wall;
mod help;
mod keys;
mod killed;
mod leaving;
mod left;
mod set_up;
mod slips;
pub mod terminal;
mod tolerance;
mod usual_day;
mod watch;
mod whole_jobs;

use crate::harness::site::Site;
use terminal::{Terminal, unbroken};

/// One wall, 12 courses, 6 joints; invented people.
const JOB: &str = r#"
key = "shed"
name = "Shed at 3 Tide Lane"
time_zone = "Pacific/Auckland"
sequence = "panels-on-clips"
person = [
    { name = "Ana Reid", roles = ["lead"] },
    { name = "Tom Bell", roles = ["installer"] },
    { name = "Ruth Tarn", roles = ["builder"] },
]
[[wall]]
key = "N"
name = "North"
courses = 12
joints = 6
"#;

/// What the lead answers: the first line whose text is in the question, or in what stands above it.
///
/// Whatever is not named is answered by Enter, or by y where Enter is no answer.
const ANSWERS: &[(&str, &str)] = &[
    ("Nothing more can be done right now", "quit\r"),
    ("Who has read", "all\r"),
    ("Up to which course", "12\r"),
    ("Panel batch on the label", "B12\r"),
    ("Top sideways of bottom", "2\r"),
    ("Most lean in", "3\r"),
    ("Out of square per", "2\r"),
    ("Greatest lean per", "3\r"),
    ("1 no old work", "1\r"),
    ("Widest gap under", "2\r"),
    ("Wettest reading", "14\r"),
    ("2 in and dry 3 wet or gaps", "2\r"),
    // A folder: the newest photo in it.
    ("Photo of the wall before cover-up", ".\r"),
    ("Photo of the whole wall before cladding", ".\r"),
    ("Cavity depth where it is least", "20\r"),
    ("Out of level, end to end", "1\r"),
    ("Panel edge over the finished ground", "160\r"),
    ("Air in the shade", "18\r"),
    ("Humidity, %", "60\r"),
    ("Surface of N", "19\r"),
    ("Surface of E", "19\r"),
    ("Wind: its force", "9 km/h\r"),
    ("Primer batch", "P7\r"),
    ("Sealant batch on the cartridge", "S9\r"),
    ("(usually 10) >", "10\r"),
    ("(usually 8) >", "8\r"),
    ("N/C1, mm", "1\r"),
    ("N/C2, mm", "1\r"),
    ("E/C1, mm", "1\r"),
    ("E/C2, mm", "1\r"),
    ("N/C3, mm", "2\r"),
    ("N/C6, mm", "0\r"),
    ("N/C9, mm", "2\r"),
    ("N/C12, mm", "3\r"),
];

/// The job set up.
fn with_job(clock: &str) -> Site {
    with_photo(Site::set_up(clock, &crate::harness::with_earlier_panels(JOB), ""))
}

/// The same with a photo in its folder.
fn with_photo(site: Site) -> Site {
    std::fs::write(site.path("wall.jpg"), crate::harness::pictures::photo(90, None)).unwrap();
    site
}

/// Opens the day; these people have read these cautions.
fn open_day(site: &Site, people: &[&str], cautions: &[&str]) {
    site.open_day(people);
    for caution in cautions {
        site.ok(&[&["caution", "acknowledge", caution, "--person"][..], people].concat());
    }
}

/// Walks until the program ends, answering from the list after `first`; gives the terminal.
fn walk(site: &Site, first: &[(&str, &str)]) -> Terminal {
    let mut terminal = Terminal::on(site, "walk");
    assert!(answers(&mut terminal, first, usize::MAX), "{}", terminal.everything());
    assert_eq!(terminal.ends(), 0, "{}", terminal.everything());
    terminal
}

/// Answers this many questions from the list after `first`; whether the program ended before.
fn answers(terminal: &mut Terminal, first: &[(&str, &str)], questions: usize) -> bool {
    answers_until(terminal, first, questions, None) < questions
}

/// The same until something is asked; how many were answered.
fn answers_until(terminal: &mut Terminal, first: &[(&str, &str)], questions: usize, stop: Option<&str>) -> usize {
    let mut before = String::new();
    for answered in 0..questions {
        let Some(heard) = terminal.question() else { return answered };
        // The question before is shown once more with its answer: that is not asked again.
        let new = heard.find(&before).and_then(|at| heard[at..].split_once('\n')).filter(|_| !before.is_empty());
        let asked = unbroken(new.map_or(heard.as_str(), |(_, rest)| rest));
        let last = heard.lines().last().unwrap_or_default().trim_end_matches(" > ");
        before = last.split(" [").next().unwrap_or_default().to_owned();
        if stop.is_some_and(|stop| asked.contains(stop)) {
            return answered;
        }
        let found = first.iter().chain(ANSWERS).find(|(text, _)| asked.contains(text));
        assert!(terminal.keys < 1000, "the walk goes round and round:\n{}", terminal.everything());
        // What is held against a plan was built to it; what vouches for something has to be typed.
        let planned = asked.rsplit_once("Required: planned ").filter(|_| asked.ends_with(", mm >"));
        let planned = planned.and_then(|(_, rest)| rest.split(' ').next()).map(|planned| format!("{planned}\r"));
        let usual = planned.as_deref().unwrap_or(if asked.ends_with("(y/n) >") { "y\r" } else { "\r" });
        // A screen of 24 lines holds it, with the question before and its answer.
        assert!(stop.is_none() || heard.lines().count() <= 24, "{} lines:\n{heard}", heard.lines().count());
        terminal.reply(found.map_or(usual, |(_, keys)| keys));
    }
    questions
}

/// Reads the cautions that are read out in one go, up to who has read them.
#[track_caller]
fn to_who_has_read(terminal: &mut Terminal) {
    loop {
        let heard = unbroken(&terminal.question().expect("a question"));
        if heard.contains("Who has read") {
            return;
        }
        assert!(heard.ends_with("Enter for the next >"), "{heard}");
        terminal.reply("\r");
    }
}

/// The state that other programs see: the same for two databases whatever their entries are called.
fn state(site: &Site) -> Vec<serde_json::Value> {
    let mut lists = ["next", "hold list", "defect list", "window list"].map(|list| site.ok(list)).to_vec();
    lists.iter_mut().for_each(without_ids);
    lists
}

/// Entry ids hold the device's random name.
fn without_ids(value: &mut serde_json::Value) {
    match value {
        serde_json::Value::Object(map) => {
            for key in ["id", "entry", "from_entry", "opened_by_entry"] {
                map.remove(key);
            }
            map.values_mut().for_each(without_ids);
        }
        serde_json::Value::Array(list) => list.iter_mut().for_each(without_ids),
        _ => {}
    }
}

/// Every step done, with its answers and when: step, subject, answers, time.
fn steps_done(site: &Site) -> Vec<String> {
    let _ = std::fs::remove_file(site.path("all.jsonl"));
    site.ok("export all.jsonl");
    let text = site.read("all.jsonl");
    let lines = text.lines().map(|line| serde_json::from_str::<serde_json::Value>(line).expect("JSON"));
    let mut done: Vec<String> = lines
        .filter(|entry| entry["kind"] == "step-done")
        .map(|entry| {
            let body = &entry["body"];
            format!("{} {} {} {}", body["step"], body["subject"], body["answers"], entry["happened_at"])
        })
        .collect();
    done.sort();
    done
}
