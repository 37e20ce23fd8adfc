//! A job in a folder of its own, and the commands that a test gives on it.

use std::path::PathBuf;
use std::process::Command;
use std::rc::Rc;

use serde_json::Value;

use super::{Bench, Run, root};

/// The arguments of a command: a line as in a shell, or one by one.
pub trait Words {
    /// The arguments.
    fn words(self) -> Vec<String>;
}

impl Words for &str {
    fn words(self) -> Vec<String> {
        shlex::split(self).unwrap()
    }
}

impl Words for String {
    fn words(self) -> Vec<String> {
        self.as_str().words()
    }
}

impl Words for &String {
    fn words(self) -> Vec<String> {
        self.as_str().words()
    }
}

impl<const N: usize> Words for [&str; N] {
    fn words(self) -> Vec<String> {
        self.map(str::to_owned).to_vec()
    }
}

impl<const N: usize> Words for &[&str; N] {
    fn words(self) -> Vec<String> {
        (*self).words()
    }
}

impl Words for &Vec<&str> {
    fn words(self) -> Vec<String> {
        self.as_slice().words()
    }
}

impl Words for &[&str] {
    fn words(self) -> Vec<String> {
        self.iter().map(|word| (*word).to_owned()).collect()
    }
}

/// A database in a folder. Several may share the folder and its clock: one for each lead.
pub struct Site {
    bench: Rc<Bench>,
    db: String,
    by: Option<String>,
}

impl Site {
    /// An empty folder with the sequence file in it; nothing is set up.
    pub fn folder(clock: &str, sequence: &str) -> Self {
        let bench = Bench::at(clock);
        if !sequence.is_empty() {
            let from = root().join(sequence);
            std::fs::copy(&from, bench.path(from.file_name().unwrap().to_str().unwrap())).unwrap();
        }
        Self { bench: Rc::new(bench), db: "job.db".to_owned(), by: None }
    }

    /// A job set up from the text of its file; `sequence` is the file in the repository that it names, empty for a
    /// shipped one. No day is open.
    pub fn set_up(clock: &str, job: &str, sequence: &str) -> Self {
        let site = Self::folder(clock, sequence);
        site.file("job.toml", job);
        site.ok("job add job.toml");
        site
    }

    /// Opens the day with a crew.
    pub fn with_day(self, crew: &[&str]) -> Self {
        self.open_day(crew);
        self
    }

    /// Opens the day with a crew.
    #[track_caller]
    pub fn open_day(&self, crew: &[&str]) {
        self.ok(&[&["day", "open", "--talk", "the day", "--crew"][..], crew].concat()[..]);
    }

    /// Another database in the same folder under the same clock, recorded in by somebody else.
    pub fn beside(&self, name: &str, by: &str) -> Self {
        Self { bench: Rc::clone(&self.bench), db: format!("{name}.db"), by: Some(by.to_owned()) }
    }

    /// The database of a second lead, begun from an export of this one.
    #[track_caller]
    pub fn second(&self, name: &str, by: &str) -> Self {
        let second = self.beside(name, by);
        self.ok("export begin.jsonl");
        second.ok("merge begin.jsonl");
        second
    }

    /// The folder.
    pub fn bench(&self) -> &Bench {
        &self.bench
    }

    /// Sets the clock: in full, or a time on 2 March 2026 such as `10:40`.
    pub fn clock(&self, clock: &str) -> &Self {
        let full = if clock.len() == 5 { format!("2026-03-02T{clock}:00+13:00") } else { clock.to_owned() };
        self.bench.set_clock(&full);
        self
    }

    /// A path in the folder.
    pub fn path(&self, name: &str) -> PathBuf {
        self.bench.path(name)
    }

    /// Writes a file into the folder; gives its path.
    pub fn file(&self, name: &str, text: &str) -> String {
        self.bench.file(name, text).to_str().unwrap().to_owned()
    }

    /// The text of a file in the folder.
    pub fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap()
    }

    /// Runs a command without naming the database.
    pub fn bare(&self, words: impl Words) -> Run {
        self.bench.run(words.words())
    }

    /// A command for a person, ready to run.
    pub fn command(&self, words: impl Words) -> Command {
        let mut command = self.bench.command();
        command.args(self.arguments(&[], words));
        command
    }

    /// Runs a command with `--json`.
    pub fn run(&self, words: impl Words) -> Run {
        self.run_with(&["--json"], words)
    }

    /// Runs a command for a person.
    pub fn shown(&self, words: impl Words) -> Run {
        self.run_with(&[], words)
    }

    fn run_with(&self, options: &[&str], words: impl Words) -> Run {
        self.bench.run(self.arguments(options, words))
    }

    fn arguments(&self, options: &[&str], words: impl Words) -> Vec<String> {
        let mut all = vec!["--db".to_owned(), self.db.clone()];
        all.extend(options.iter().map(|option| (*option).to_owned()));
        if let Some(by) = &self.by {
            all.extend(["--by".to_owned(), by.clone()]);
        }
        all.extend(words.words());
        all
    }

    /// Runs a command for a person that must be done; gives what it prints, which fits a screen.
    #[track_caller]
    pub fn text(&self, words: impl Words) -> String {
        let text = self.shown(words).exits(0).stdout;
        let wide = text.lines().find(|line| line.chars().count() > 80);
        assert_eq!(wide, None, "wider than a screen");
        text
    }

    /// Runs a command that must be done; gives its JSON.
    #[track_caller]
    pub fn ok(&self, words: impl Words) -> Value {
        self.run(words).exits(0).json()
    }

    /// Runs a command that a rule must refuse, with nothing written; gives the refusal.
    #[track_caller]
    pub fn refused(&self, rule: &str, words: impl Words) -> Value {
        let before = self.heads();
        let refused = self.run(words).exits(1).json()["refused"].clone();
        assert_eq!(refused["rule"], rule, "{refused}");
        assert_eq!(self.heads(), before, "a refusal writes nothing");
        refused
    }

    /// Runs a command that must be bad input, with nothing written; gives the message.
    #[track_caller]
    pub fn bad(&self, words: impl Words) -> String {
        let before = self.heads();
        let run = self.run(words).exits(2);
        assert_eq!(run.stdout, "", "bad input has no result");
        assert_eq!(self.heads(), before, "bad input writes nothing");
        run.stderr
    }

    /// The newest entry of each book in the file; cheap, and told apart by any entry more.
    pub fn heads(&self) -> Vec<(String, u64)> {
        let Ok(store) = cladlog::record::Store::read(&self.path(&self.db)) else { return Vec::new() };
        let jobs = store.jobs().unwrap_or_default();
        let entries = jobs.iter().flat_map(|job| store.entries(&job.key).unwrap_or_default());
        entries.map(|entry| (entry.device.to_string(), entry.seq)).collect()
    }

    /// The id of the first entry that a command records.
    #[track_caller]
    pub fn entry(&self, words: impl Words) -> String {
        self.ok(words)["entries"][0]["id"].as_str().unwrap().to_owned()
    }

    /// Every entry as `log` lists it.
    pub fn log(&self) -> Vec<Value> {
        self.ok("log")["entries"].as_array().unwrap().clone()
    }

    /// The hash of every entry.
    pub fn hashes(&self) -> Vec<String> {
        self.log().iter().map(|entry| entry["hash"].as_str().unwrap().to_owned()).collect()
    }

    /// Every defect as `defect list` lists it.
    pub fn defects(&self) -> Vec<Value> {
        self.ok("defect list")["defects"].as_array().unwrap().clone()
    }

    /// The ids of the open defects.
    pub fn open_defect_ids(&self) -> Vec<String> {
        let id = |defect: Value| defect["id"].as_str().unwrap().to_owned();
        self.defects().into_iter().filter(|defect| defect["state"] == "open").map(id).collect()
    }

    /// The open defects as `SUBJECT CAUSE`: what stands behind the dot of the id, such as `r4-order`; `seen` where a
    /// person opened it.
    pub fn open_defects(&self) -> Vec<String> {
        let mut open: Vec<String> = self
            .defects()
            .iter()
            .filter(|defect| defect["state"] == "open")
            .map(|defect| {
                let cause = defect["id"].as_str().unwrap().split_once('.').map_or("seen", |(_, cause)| cause);
                format!("{} {cause}", defect["subject"].as_str().unwrap())
            })
            .collect();
        open.sort();
        open
    }

    /// The action of a step on a subject in `next`: ready or waiting, or none.
    pub fn next_of(&self, step: &str, subject: &str) -> Option<Value> {
        let next = self.ok("next");
        let list = next["actions"].as_array().unwrap();
        list.iter().find(|action| action["step"] == step && action["subject"] == subject).cloned()
    }

    /// A window on a subject, by `window list`.
    pub fn window(&self, key: &str, subject: &str) -> Option<Value> {
        let list = self.ok("window list");
        let windows = list["windows"].as_array().unwrap();
        windows.iter().find(|window| window["key"] == key && window["subject"] == subject).cloned()
    }

    /// The state of a window on a subject.
    pub fn window_state(&self, key: &str, subject: &str) -> Option<String> {
        self.window(key, subject).map(|window| window["state"].as_str().unwrap().to_owned())
    }
}
