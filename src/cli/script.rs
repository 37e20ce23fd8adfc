//! Site days written down as a list of commands, and replayed through the same rules as real work.
//!
//! `@ TIME` sets the clock; `NAME: COMMAND` remembers the id of the command's first entry as `${NAME}`;
//! `${inputs}` is the folder of the files that the commands read;
//! `! RULE COMMAND` must be refused by that rule; `#` begins a comment.

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::path::Path;

use super::clock::Clock;
use super::failure::Failure;
use super::out::Out;
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
    /// Who records.
    pub by: &'r str,
    /// What runs its commands.
    pub run: Run,
}

/// One line of a script, taken apart.
#[derive(Debug)]
enum Line<'t> {
    Clock(Moment),
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
                Line::Command { name, refused_by, words } => {
                    let clock = clock.ok_or_else(|| about("a command comes before the first clock (@ TIME)".into()))?;
                    let words = filled(words, &names).map_err(about)?;
                    match (self.command(&words, Clock::Set(clock)), refused_by) {
                        (Ok(id), None) => names.extend(name.zip(id)),
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

    /// Runs one command; gives the id of the first entry that it recorded.
    fn command(&self, words: &[String], clock: Clock) -> Result<Option<String>, Failure> {
        // Whatever the environment says.
        let options = ["cladlog", "--json", "--by", self.by, "--job", self.job, "--db"].map(OsString::from);
        let database = self.database.as_os_str().to_owned();
        let args = options.into_iter().chain([database]).chain(words.iter().map(OsString::from)).collect();
        let (mut out, written) = Out::captured();
        (self.run)(args, clock, &mut out)?;
        let said: serde_json::Value = serde_json::from_slice(&written.borrow()).unwrap_or_default();
        Ok(said["entries"][0]["id"].as_str().map(str::to_owned))
    }
}

fn read(line: &str) -> Result<Line<'_>, String> {
    if let Some(time) = line.strip_prefix('@') {
        let time = time.trim();
        return Moment::parse_from_rfc3339(time).map(Line::Clock).map_err(|_| format!("'{time}' is not a time"));
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
