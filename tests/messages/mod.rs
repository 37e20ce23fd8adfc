//! What the program says: each message stands in one of these files, as a person sees it, and in no other test.
//!
//! A file is a session on a job. `$` is a command with what it printed, `%` one that has to be done and whose output is
//! of no interest, `= TIME` sets the clock, `#` is a remark, `# wide` one that lets what follows be wider than 80 columns; `! JOB` at the top names the job. `% name: …` keeps the id of the entry
//! that a command recorded, for `{name}` further on. `@ivo` before a command is the second lead's file. After an exit other
//! than 0 the code stands first. `+` writes a file that a command reads.
//!
//! `CLADLOG_MESSAGES=write cargo test messages` writes the files again. Read what changed before you keep it: aloud.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use cladlog::record::Store;

use crate::harness::root;
use crate::harness::site::Site;

const EIGHT: &str = "2026-03-02T08:00:00+13:00";

macro_rules! sessions {
    ($($name:ident),* $(,)?) => {
        $(#[test]
        fn $name() {
            check(stringify!($name));
        })*

        #[test]
        fn every_session_is_checked() {
            let folder = std::fs::read_dir(root().join("tests/messages")).unwrap();
            let names = folder.map(|file| file.unwrap().file_name().into_string().unwrap());
            let mut names: Vec<String> = names.filter_map(|name| Some(name.strip_suffix(".txt")?.to_owned())).collect();
            names.sort();
            assert_eq!(names, [$(stringify!($name)),*]);
        }
    };
}

sessions!(
    batches, building, calc, day, holds, jobs, lists, merge, order, ordered, paid, phones, photos, recorded, sealing,
    sequence, stamps, start, stoppages, strike, typed, windows
);

/// The jobs that sessions are on.
fn job(name: &str) -> Site {
    match name {
        "none" => Site::folder(EIGHT, "tests/rules/small.toml"),
        "rules" => crate::rules::site::closed(EIGHT),
        "full" => Site::set_up(EIGHT, crate::rules::site::FULL, "tests/rules/full.toml").beside("job", "Lea"),
        "stock" => Site::set_up(EIGHT, crate::stock::site::JOB, "tests/stock/small.toml"),
        "measured" => crate::stock::site::measured(EIGHT),
        "photos" => crate::photos::record::with_files(EIGHT),
        "paid" => crate::papers::pace::paid(),
        "hut" => crate::materials::lists::hut(""),
        "house" => crate::weather::house::shut(crate::weather::house::JOB, EIGHT),
        other => panic!("no job {other}"),
    }
}

/// Replays a session and holds it to what is kept, or keeps it.
fn check(name: &str) {
    let path = root().join("tests/messages").join(format!("{name}.txt"));
    let kept = std::fs::read_to_string(&path).unwrap();
    let said = Session::replay(&kept);
    if std::env::var("CLADLOG_MESSAGES").is_ok_and(|value| value == "write") {
        return std::fs::write(path, said).unwrap();
    }
    let differs = kept.lines().zip(said.lines()).position(|(kept, said)| kept != said);
    if let Some(line) = differs.or((kept != said).then(|| kept.lines().count().min(said.lines().count()))) {
        let from = line.saturating_sub(3);
        let part = |text: &str| text.lines().skip(from).take(10).collect::<Vec<_>>().join("\n");
        panic!("{name}.txt from line {} on; kept:\n{}\nnow:\n{}", from + 1, part(&kept), part(&said));
    }
}

struct Session {
    site: Site,
    ivo: Site,
    ids: BTreeMap<String, String>,
    /// What comes is to be copied, so that it is not broken.
    wide: bool,
}

impl Session {
    /// The session with what the program says now.
    fn replay(kept: &str) -> String {
        let (job, rest) = kept.strip_prefix("! ").and_then(|rest| rest.split_once('\n')).expect("! JOB at the top");
        let site = self::job(job);
        let ivo = site.beside("ivo", "Ivo");
        let mut session = Self { site, ivo, ids: BTreeMap::new(), wide: false };
        let mut said = format!("! {job}\n");
        // What was printed before is left out, with the empty line that ends it.
        let mut printed = false;
        for line in rest.lines() {
            match line.chars().next() {
                Some('$' | '%' | '=' | '#' | '+') => {
                    printed = line.starts_with('$');
                    writeln!(said, "{line}").unwrap();
                    said += &session.line(line);
                }
                None if printed => printed = false,
                None => said.push('\n'),
                Some(_) => assert!(printed, "neither a command nor what one printed: {line}"),
            }
        }
        said
    }

    fn line(&mut self, line: &str) -> String {
        let (sign, rest) = line.split_at(1);
        let rest = rest.trim();
        match sign {
            "=" => {
                self.site.clock(rest);
                String::new()
            }
            "+" => {
                self.write_file(rest);
                String::new()
            }
            "%" => {
                let named = rest.split_once(": ").filter(|(name, _)| name.chars().all(|c| c.is_ascii_alphanumeric()));
                let (name, command) = named.map_or((None, rest), |(name, command)| (Some(name), command));
                let (site, words) = self.command(command);
                let done = site.ok(&words);
                if let Some(name) = name {
                    self.ids.insert(name.to_owned(), done["entries"][0]["id"].as_str().unwrap().to_owned());
                }
                String::new()
            }
            "$" => {
                let (site, words) = self.command(rest);
                let before = site.heads();
                let run = site.shown(&words);
                assert!(run.code == 0 || site.heads() == before, "what fails writes nothing: {rest}");
                let code = if run.code == 0 { String::new() } else { format!("exit {}\n", run.code) };
                let said = self.without_chance(&format!("{code}{}{}", run.stdout, run.stderr));
                let wide = run.stdout.lines().find(|line| line.chars().count() > 80);
                assert!(wide.is_none() || self.wide, "wider than a screen: {wide:?}");
                // A line that could be taken for a command, or for the end, is set off.
                let set_off = |line: &str| match line.chars().next() {
                    Some('$' | '%' | '=' | '#' | '+' | '|') | None => format!("|{line}\n"),
                    _ => format!("{line}\n"),
                };
                said.lines().map(set_off).collect::<String>() + "\n"
            }
            _ => {
                self.wide = rest.starts_with("wide");
                String::new()
            }
        }
    }

    /// `+ FILE - TEXT` writes a file; `+ FILE FROM OLD NEW…` one that is like another but for what is replaced.
    fn write_file(&self, line: &str) {
        let words: Vec<String> = shlex::split(line).unwrap().iter().map(|word| word.replace("\\n", "\n")).collect();
        let [name, from, rest @ ..] = words.as_slice() else { panic!("+ FILE FROM …: {line}") };
        let text = if from == "-" {
            rest.concat()
        } else {
            rest.chunks(2).fold(self.site.read(from), |text, pair| {
                assert!(text.contains(&pair[0]), "{from} has no {}", pair[0]);
                text.replacen(&pair[0], &pair[1], 1)
            })
        };
        self.site.file(name, &text);
    }

    /// The file that a command is for, and its words.
    fn command(&self, text: &str) -> (&Site, String) {
        let (site, text) = text.strip_prefix("@ivo ").map_or((&self.site, text), |text| (&self.ivo, text));
        let put_in = |text: String, (name, id): (&String, &String)| text.replace(&format!("{{{name}}}"), id);
        (site, self.ids.iter().fold(text.to_owned(), put_in))
    }

    /// What is drawn by chance, as words of the same length: devices' names, hashes, the folder.
    fn without_chance(&self, text: &str) -> String {
        let mut text = text.replace(&*self.site.path("").to_string_lossy(), "FOLDER/");
        for (file, word) in [("job.db", "leasbook"), ("ivo.db", "ivosbook")] {
            let Ok(store) = Store::read(&self.site.path(file)) else { continue };
            for job in store.jobs().unwrap_or_default() {
                text = text.replace(&job.device, word);
                for entry in store.entries(&job.key).unwrap_or_default() {
                    text = text.replace(&entry.head_code(), &format!("{}-0123456789abcdef0123", entry.seq));
                }
            }
        }
        text
    }
}
