//! Site days written down as a list of commands, and replayed through the same rules as real work.
//!
//! `@ TIME` sets the clock; `NAME: COMMAND` keeps the id of the command's first entry as `${NAME}`;
//! `${inputs}` is the folder of the files that the commands read;
//! `! RULE COMMAND` must be refused by that rule; `#` begins a remark.

use std::collections::BTreeMap;
use std::path::Path;

use clap::Parser;

use super::{Cli, Clock, Failure, Out, dispatch};
use crate::moment::Moment;

/// One line of a script, taken apart.
#[derive(Debug)]
enum Line<'t> {
    Clock(Clock),
    Command { name: Option<&'t str>, refused_by: Option<&'t str>, words: &'t str },
}

/// Replays a script on a database, telling `progress` after every line how many of how many are done.
///
/// # Errors
/// [`Failure`] naming the line: it can't be read, a command failed, or one that had to be refused was not.
pub fn replay(
    text: &str,
    database: &Path,
    inputs: &Path,
    by: &str,
    mut progress: impl FnMut(usize, usize),
) -> Result<(), Failure> {
    let lines: Vec<(usize, &str)> = text
        .lines()
        .enumerate()
        .map(|(place, line)| (place + 1, line.trim()))
        .filter(|(_, line)| !line.is_empty() && !line.starts_with('#'))
        .collect();
    let mut clock = None;
    // Quoted, since a path may have blanks in it.
    let folder = inputs.to_string_lossy();
    let folder = shlex::try_quote(&folder).map_err(|_| Failure::input("the folder's name can't be quoted"))?;
    let mut names = BTreeMap::from([("inputs", folder.into_owned())]);
    for (done, (number, line)) in lines.iter().enumerate() {
        let about = |why: String| Failure::input(format!("days, line {number}: {why}"));
        match read(line).map_err(about)? {
            Line::Clock(set) => clock = Some(set),
            Line::Command { name, refused_by, words } => {
                let clock = clock.ok_or_else(|| about("a command stands before the first clock (@ TIME)".into()))?;
                let words = filled(words, &names).map_err(about)?;
                let told = run(&words, database, by, clock);
                match (told, refused_by) {
                    (Ok(id), None) => {
                        if let (Some(name), Some(id)) = (name, id) {
                            names.insert(name, id);
                        }
                    }
                    (Err(Failure::Refused(refusal)), Some(rule)) if refusal.rule.to_string() == rule => {}
                    (Ok(_), Some(rule)) => return Err(about(format!("{rule} was to refuse it, and did not"))),
                    (Err(failure), _) => return Err(about(failure.to_string())),
                }
            }
        }
        progress(done + 1, lines.len());
    }
    Ok(())
}

fn read(line: &str) -> Result<Line<'_>, String> {
    if let Some(time) = line.strip_prefix('@') {
        let time = Moment::parse_from_rfc3339(time.trim()).map_err(|_| format!("'{}' is not a time", time.trim()))?;
        return Ok(Line::Clock(Clock::Set(time)));
    }
    if let Some(rest) = line.strip_prefix('!') {
        let (rule, words) = rest.trim().split_once(' ').ok_or("a rule and a command are wanted behind !")?;
        return Ok(Line::Command { name: None, refused_by: Some(rule), words });
    }
    match line.split_once(": ") {
        Some((name, words)) if !name.contains(' ') => Ok(Line::Command { name: Some(name), refused_by: None, words }),
        _ => Ok(Line::Command { name: None, refused_by: None, words: line }),
    }
}

/// Puts the ids kept so far in the place of their names, and takes the words apart as a shell does.
fn filled(words: &str, names: &BTreeMap<&str, String>) -> Result<Vec<String>, String> {
    let mut text = words.to_owned();
    for (name, id) in names {
        text = text.replace(&format!("${{{name}}}"), id);
    }
    if text.contains("${") {
        return Err("it uses a name that no line before it keeps".into());
    }
    shlex::split(&text).ok_or_else(|| "a quote is not closed".into())
}

/// Runs one command; gives the id of the first entry that it recorded.
fn run(words: &[String], database: &Path, by: &str, clock: Clock) -> Result<Option<String>, Failure> {
    let mut args = vec![
        "cladlog".into(),
        "--json".into(),
        "--by".into(),
        by.into(),
        "--db".into(),
        database.as_os_str().to_owned(),
    ];
    args.extend(words.iter().map(Into::into));
    let cli = Cli::try_parse_from(args).map_err(|error| Failure::input(error.render().to_string()))?;
    let (mut out, written) = Out::kept();
    dispatch(&cli, clock, &mut out)?;
    let told: serde_json::Value = serde_json::from_slice(&written.borrow()).unwrap_or_default();
    Ok(told["entries"][0]["id"].as_str().map(str::to_owned))
}
