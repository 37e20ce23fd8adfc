//! The passphrase of the crew's key: asked for at the terminal, or read from a file or a descriptor. Never from the command
//! line, which every user of the machine can see.

use std::io::{IsTerminal, Read};
use std::path::{Path, PathBuf};

use console::Term;

use super::failure::Failure;

/// No passphrase is longer.
const MOST_BYTES: u64 = 1024;

/// Shorter ones are soon guessed: NIST SP 800-63B, 5.1.1.1, from memory.
const LEAST: usize = 8;

/// Where a passphrase comes from.
#[derive(Debug, Clone, Copy)]
pub enum Passphrase<'p> {
    /// It is asked for.
    Asked,
    /// It is the first line of a file.
    In(&'p Path),
}

impl<'p> Passphrase<'p> {
    /// From an option whose file may be left out.
    pub fn of(option: &'p Option<PathBuf>) -> Self {
        option.as_deref().map_or(Self::Asked, Self::In)
    }

    /// The passphrase of a key that has one.
    pub fn known(self, key: &Path) -> Result<String, Failure> {
        match self {
            Self::In(file) => first_line(file),
            Self::Asked => ask(&format!("Passphrase of {}: ", key.display())),
        }
    }

    /// A passphrase for a key that has none yet; typed twice where it is asked for.
    pub fn chosen(self, key: &Path) -> Result<String, Failure> {
        let chosen = match self {
            Self::In(file) => first_line(file)?,
            Self::Asked => {
                let chosen = ask(&format!("New passphrase of {}: ", key.display()))?;
                if ask("The same again: ")? != chosen {
                    return Err(Failure::input("the two passphrases differ: nothing was changed"));
                }
                chosen
            }
        };
        match chosen.chars().count() {
            least if least < LEAST => {
                Err(Failure::input(format!("a passphrase has at least {LEAST} characters; this one has {least}")))
            }
            _ => Ok(chosen),
        }
    }
}

fn ask(prompt: &str) -> Result<String, Failure> {
    if !std::io::stdin().is_terminal() || !std::io::stderr().is_terminal() {
        let hint = "give --passphrase=FILE, whose first line it is; the file may be a descriptor, as in /dev/fd/3";
        return Err(Failure::input_hint("the key has a passphrase, and there is no terminal to ask at", hint));
    }
    let term = Term::stderr();
    term.write_str(prompt)?;
    term.read_secure_line().map_err(|_| Failure::Cancelled)
}

fn first_line(file: &Path) -> Result<String, Failure> {
    let unread = |why: &dyn std::fmt::Display| Failure::input(format!("{}: {why}", file.display()));
    let mut text = String::new();
    let read = std::fs::File::open(file).and_then(|file| file.take(MOST_BYTES).read_to_string(&mut text));
    read.map_err(|error| unread(&format_args!("can't be read: {error}")))?;
    match text.lines().next() {
        Some(line) if !line.is_empty() => Ok(line.to_owned()),
        _ => Err(unread(&"its first line is empty, and so no passphrase")),
    }
}
