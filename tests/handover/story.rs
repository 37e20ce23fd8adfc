//! A small job, driven through the binary to its end.

use std::path::PathBuf;

use chrono::{DateTime, FixedOffset, TimeDelta};
use cladlog::sequence::{AskKind, Sequence, Step, read};
use serde_json::Value;

use crate::harness::pictures::{Notes, photo};
use crate::harness::site::{Site, Words};
use crate::harness::{EARLIER_PANELS, Run, with_earlier_panels};

/// One wall of two courses and one joint, one corner, one window; names that pages find hard.
pub const JOB: &str = r#"
key = "shed"
name = "Shed for Ōrongo, <b>тест</b> & 試験 'n' \"co\""
address = "1 Invented Lane"
builder = "=HYPERLINK(1)"
time_zone = "Pacific/Auckland"
sequence = "panels-on-clips"
person = [
    { name = "Mere Tahana", roles = ["lead"] },
    { name = "Ruth Tarn", roles = ["builder"] },
    { name = "=cmd|'/C calc'!A0", roles = ["installer"] },
    { name = "LONGNAME", roles = ["installer"] },
]
paper = [{ key = "panel-instructions", title = "Instructions, January 2026 (invented)" }]
corner = [{ key = "NE", kind = "metal", walls = ["N"] }]
[[wall]]
key = "N"
name = "North"
length_mm = 4800
height_mm = 2400
courses = 2
joints_mm = [2400]
[[wall.opening]]
key = "O1"
kind = "window"
from_mm = 600
to_mm = 1800
sill_mm = 900
head_mm = 2100
"#;

/// A name of 200 characters without a gap, in several scripts.
pub fn long_name() -> String {
    "Ñandú試験שלוםمرحباWörter𝔘👷🏽".chars().cycle().take(200).collect()
}

/// A job on its way.
pub struct Story {
    pub site: Site,
    now: DateTime<FixedOffset>,
    sequence: Sequence,
    crew: Vec<String>,
}

impl Story {
    /// The job set up and its first day open.
    pub fn begun() -> Self {
        let text = std::fs::read_to_string(EARLIER_PANELS).unwrap();
        let now = DateTime::parse_from_rfc3339("2026-03-02T07:30:00+13:00").unwrap();
        let job = with_earlier_panels(JOB).replace("LONGNAME", &long_name());
        // A corner has two walls: here both ends are of walls that meet.
        let job = job.replace("walls = [\"N\"]", "walls = [\"N\", \"E\"]") + "[[wall]]\nkey = \"E\"\ncourses = 1\n";
        let story = Self {
            site: Site::set_up(&now.to_rfc3339(), &job, ""),
            now,
            sequence: read(&text).unwrap(),
            crew: vec!["Mere Tahana".into(), "=cmd|'/C calc'!A0".into(), long_name()],
        };
        let notes = Notes { place: Some((-41.3, 174.8)), ..Notes::taken("2026:03:02 07:41:00") };
        std::fs::write(story.path("wall.jpg"), photo(70, Some(&notes))).unwrap();
        story.morning();
        story
    }

    pub fn run(&self, words: impl Words) -> Run {
        self.site.shown(words)
    }

    pub fn json(&self, words: impl Words) -> Value {
        self.site.ok(words)
    }

    pub fn pass(&mut self, minutes: i64) {
        self.now += TimeDelta::minutes(minutes);
        self.site.clock(&self.now.to_rfc3339());
    }

    fn morning(&self) {
        let crew: Vec<&str> = self.crew.iter().map(String::as_str).collect();
        let mut open = vec!["day", "open", "--talk", "Dust and heights", "--crew"];
        open.extend(&crew);
        self.run(&open).exits(0);
        for caution in &self.sequence.cautions {
            let mut args = vec!["caution", "acknowledge", caution.key.as_str(), "--person"];
            args.extend(&crew);
            self.run(&args).exits(0);
        }
    }

    pub fn reading(&self) {
        let args = ["reading", "--air", "18", "--humidity", "60", "--surface", "19", "--wind", "10", "--on"];
        for wall in ["N", "E"] {
            self.run(&[&args[..], &[wall]].concat()).exits(0);
        }
    }

    fn answers(step: &Step) -> Vec<String> {
        let answer = |ask: &cladlog::sequence::Ask| {
            let value = match ask.kind {
                AskKind::YesNo => "yes".to_owned(),
                AskKind::Choice => ask.tolerance.accept.first().unwrap_or(&ask.choices[0]).clone(),
                AskKind::Text | AskKind::Batch => "26-0117".to_owned(),
                AskKind::Photo => "wall.jpg".to_owned(),
                _ => ask.tolerance.least.or(ask.tolerance.most).unwrap_or(1.0).to_string(),
            };
            format!("{}={value}", ask.key)
        };
        step.asks.iter().filter(|ask| !ask.optional).map(|ask| answer(ask)).collect()
    }

    /// Records a step on subjects with good answers, and with what is put behind.
    pub fn record(&self, step: &str, on: &str, more: &[&str]) -> Run {
        let found = &self.sequence.steps[self.sequence.step(step).unwrap()];
        let answers = Self::answers(found);
        let mut args = vec!["record", step, "--on", on];
        for answer in answers.iter().filter(|answer| {
            let key = answer.split('=').next().unwrap();
            !more.iter().any(|given| given.split('=').next() == Some(key))
        }) {
            args.extend(["--answer", answer]);
        }
        args.extend(more);
        self.run(&args)
    }

    /// Does whatever is ready, and waits where only time is wanted, until nothing moves any more.
    pub fn go_on(&mut self) {
        self.reading();
        for _ in 0..80 {
            let actions = self.json(["next"])["actions"].as_array().unwrap().clone();
            let ready = actions.iter().find(|action| action["state"] == "ready");
            if let Some(action) = ready {
                let step = action["step"].as_str().unwrap().to_owned();
                let on: Vec<&str> = actions
                    .iter()
                    .filter(|other| other["state"] == "ready" && other["step"] == step.as_str())
                    .map(|other| other["subject"].as_str().unwrap())
                    .collect();
                self.record(&step, &on.join(","), &[]).exits(0);
                self.pass(2);
            } else if actions.iter().any(|action| action["rule"] == "R6") {
                self.pass(31);
                self.reading();
            } else {
                return;
            }
        }
        panic!("the job does not come to an end");
    }

    /// The job up to the last hold point, with a defect, a strike, a late entry and a concession on its way.
    pub fn nearly_done() -> Self {
        let mut story = Self::begun();
        story.go_on_to_flat();
        story.go_on();
        story.run(["hold", "ask", "cover-up", "--on", "N,E"]).exits(0);
        story.pass(20);
        let release = ["hold", "release", "cover-up", "--on", "N,E", "--person", "Ruth Tarn", "--how", "on site"];
        story.run(release).exits(0);
        story.run(["note", "--on", "N", "--text", "tap wanted\nask the maker"]).exits(0);
        story.run(["defect", "open", "--on", "N/O1", "--what", "Sill <dented> & bent"]).exits(0);
        let defects = story.json(["defect", "list"]);
        let id = defects["defects"]
            .as_array()
            .unwrap()
            .iter()
            .find(|one| one["state"] == "open")
            .map(|one| one["id"].as_str().unwrap().to_owned())
            .unwrap();
        story.run(["defect", "concede", &id, "--person", "Ruth Tarn", "--why", "Hidden by the sill"]).exits(0);
        let wrong = story.json(["note", "--on", "N", "--text", "wrong wall"]);
        let wrong = wrong["entries"][0]["id"].as_str().unwrap().to_owned();
        story.run(["strike", &wrong, "--why", "typed by mistake"]).exits(0);
        story.pass(60);
        let late = ["reading", "--on", "E", "--air", "17", "--humidity", "61", "--surface", "18", "--at", "08:40"];
        story.run(late).exits(0);
        story.go_on();
        story
    }

    /// Out of flat, packed, measured again.
    fn go_on_to_flat(&mut self) {
        for step in ["site-access", "papers", "deliveries", "storey-rod"] {
            self.record(step, "job", &[]).exits(0);
        }
        self.record("frame-flat", "N", &["--answer", "flat=5.5"]).exits(0);
        self.pass(30);
    }

    /// The whole job.
    pub fn done() -> Self {
        let mut story = Self::nearly_done();
        let release = ["hold", "release", "handover", "--on", "job", "--person", "Ruth Tarn", "--how", "in writing"];
        story.run(release).exits(0);
        story.go_on();
        let hours: Vec<String> = story.crew.iter().map(|name| format!("{name}=8")).collect();
        let mut close = vec!["day", "close", "--hours"];
        close.extend(hours.iter().map(String::as_str));
        story.run(&close).exits(0);
        story
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.site.path(name)
    }
}

/// Copies a folder.
pub fn copy(from: &std::path::Path, to: &std::path::Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &target);
        } else {
            std::fs::copy(entry.path(), target).unwrap();
        }
    }
}
