//! Site days written down as a list of commands, and replayed through the same rules as real work.
//!
//! `@ TIME` sets the clock; `& PERSON` says who records from here on; `NAME: COMMAND` remembers the id of the command's first entry as `${NAME}`;
//! `${inputs}` is the folder of the files that the commands read;
//! `! RULE COMMAND` must be refused by that rule; `% ENTRY` confirms an entry with a key of whoever records; `#` begins a
//! comment.

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::path::Path;

use super::clock::Clock;
use super::failure::Failure;
use super::out::Out;
use crate::handover::Signer;
use crate::moment::Moment;

/// Runs a command line by a clock.
pub type Run = fn(Vec<OsString>, Clock, &mut Out) -> Result<(), Failure>;

/// What a script is replayed on.
pub struct Replay<'r> {
    /// The database that it writes to.
    pub database: &'r Path,
    /// Key of the job.
    pub job: &'r str,
    /// The folder of the files that its commands read.
    pub inputs: &'r Path,
    /// Who records until a line names somebody else.
    pub by: &'r str,
    /// What runs its commands.
    pub run: Run,
    /// The key with which a person confirms what was typed in their name.
    pub key: fn(&str) -> Signer,
}

/// One line of a script, taken apart.
#[derive(Debug)]
enum Line<'t> {
    Clock(Moment),
    Person(&'t str),
    Confirm(&'t str),
    Command { name: Option<&'t str>, refused_by: Option<&'t str>, words: &'t str },
}

impl Replay<'_> {
    /// Replays a script; `progress` hears after every line how many of how many are done, `evening` the last clock of each
    /// day when its commands are done. The failure names the line.
    pub fn replay(
        &self,
        text: &str,
        mut progress: impl FnMut(usize, usize),
        mut evening: impl FnMut(Moment) -> Result<(), Failure>,
    ) -> Result<(), Failure> {
        let lines = text.lines().enumerate().map(|(place, line)| (place + 1, line.trim()));
        let lines: Vec<(usize, &str)> = lines.filter(|(_, line)| !line.is_empty() && !line.starts_with('#')).collect();
        let mut clock: Option<Moment> = None;
        let mut by = self.by;
        // Quoted, since a path may have spaces in it.
        let folder = self.inputs.to_string_lossy();
        let folder = shlex::try_quote(&folder).map_err(|_| Failure::input("the folder's name can't be quoted"))?;
        let mut names = BTreeMap::from([("inputs", folder.into_owned())]);
        for (done, (number, line)) in lines.iter().enumerate() {
            let about = |why: String| Failure::input(format!("days, line {number}: {why}"));
            match read(line).map_err(about)? {
                Line::Clock(at) => {
                    if let Some(last) = clock.replace(at).filter(|last| last.date() != at.date()) {
                        evening(last)?;
                    }
                }
                Line::Person(person) => by = person,
                Line::Confirm(entry) => {
                    let entry = filled(entry, &names).map_err(about)?.concat();
                    let clock = clock.ok_or_else(|| about(NO_CLOCK.into()))?;
                    self.confirm(&entry, by, clock).map_err(|failure| about(failure.to_string()))?;
                }
                Line::Command { name, refused_by, words } => {
                    let clock = clock.ok_or_else(|| about(NO_CLOCK.into()))?;
                    let words = filled(words, &names).map_err(about)?;
                    match (self.command(&words, by, clock), refused_by) {
                        (Ok(said), None) => {
                            let id = said["entries"][0]["id"].as_str().map(str::to_owned);
                            names.extend(name.zip(id));
                        }
                        (Err(Failure::Refused(refusal)), Some(rule)) if refusal.rule.to_string() == rule => {}
                        (Ok(_), Some(rule)) => return Err(about(format!("{rule} should have refused it"))),
                        (Err(failure), _) => return Err(about(failure.to_string())),
                    }
                }
            }
            progress(done + 1, lines.len());
        }
        clock.map_or(Ok(()), evening)
    }

    /// Runs one command; gives what it answers as JSON.
    fn command(&self, words: &[String], by: &str, clock: Moment) -> Result<serde_json::Value, Failure> {
        // Whatever the environment says.
        let options = ["cladlog", "--json", "--by", by, "--job", self.job, "--db"].map(OsString::from);
        let database = self.database.as_os_str().to_owned();
        let args = options.into_iter().chain([database]).chain(words.iter().map(OsString::from)).collect();
        let (mut out, written) = Out::captured();
        (self.run)(args, Clock::Set(clock), &mut out)?;
        Ok(serde_json::from_slice(&written.borrow()).unwrap_or_default())
    }

    /// Confirms an entry with the key of a person, as they would with their phone's or on their own machine.
    fn confirm(&self, entry: &str, person: &str, clock: Moment) -> Result<(), Failure> {
        let all = self.command(&["confirm", "list"].map(str::to_owned), person, clock)?;
        let found = all["confirmations"].as_array().into_iter().flatten().find(|one| one["entry"] == entry);
        let hash = found.and_then(|one| one["hash"].as_str());
        let hash = hash.ok_or_else(|| Failure::input(format!("entry {entry} says nothing in the name of others")))?;
        let key = (self.key)(person);
        let failed = |error: std::io::Error| Failure::input(format!("the signature can't be written: {error}"));
        let folder = tempfile::tempdir().map_err(failed)?;
        let (signature, public) = (folder.path().join("entry.sig"), folder.path().join("own.pub"));
        std::fs::write(&signature, key.sign(hash.as_bytes())).map_err(failed)?;
        std::fs::write(&public, key.public_pem()).map_err(failed)?;
        let files = [&signature, &public].map(|file| file.to_string_lossy().into_owned());
        let [signature, public] = files;
        let words = ["confirm", "add", entry, "--signature", &signature, "--public", &public].map(str::to_owned);
        self.command(&words, person, clock).map(drop)
    }
}

const NO_CLOCK: &str = "a command comes before the first clock (@ TIME)";

fn read(line: &str) -> Result<Line<'_>, String> {
    if let Some(time) = line.strip_prefix('@') {
        let time = time.trim();
        return Moment::parse_from_rfc3339(time).map(Line::Clock).map_err(|_| format!("'{time}' is not a time"));
    }
    if let Some(person) = line.strip_prefix('&') {
        return Ok(Line::Person(person.trim()));
    }
    if let Some(entry) = line.strip_prefix('%') {
        return Ok(Line::Confirm(entry.trim()));
    }
    if let Some(rest) = line.strip_prefix('!') {
        let (rule, words) = rest.trim().split_once(' ').ok_or("! must be followed by a rule and a command")?;
        return Ok(Line::Command { name: None, refused_by: Some(rule), words });
    }
    match line.split_once(": ") {
        Some((name, words)) if !name.contains(' ') => Ok(Line::Command { name: Some(name), refused_by: None, words }),
        _ => Ok(Line::Command { name: None, refused_by: None, words: line }),
    }
}

/// Puts the ids remembered so far in the place of their names, and takes the words apart as a shell does.
fn filled(words: &str, names: &BTreeMap<&str, String>) -> Result<Vec<String>, String> {
    let mut text = words.to_owned();
    for (name, id) in names {
        text = text.replace(&format!("${{{name}}}"), id);
    }
    if text.contains("${") {
        return Err("it uses a name that no line before it gives".into());
    }
    shlex::split(&text).ok_or_else(|| "a quote is not closed".into())
}
