//! Filters that lists share: where, when, who.

use std::path::PathBuf;

use chrono::NaiveDate;
use clap::Args;

use super::files::Overwrite;
use super::{Failure, Out};
use crate::building::Subject;
use crate::day::{Book, State};
use crate::moment::Moment;
use crate::record::Entry;
use crate::units::number::shortened;

/// Strikes of strikes that are followed to what the first one struck.
const MOST_STRIKES: usize = 32;

/// Where, when and who a list is about
#[derive(Debug, Default, Args)]
pub struct Filters {
    /// Only what is about these subjects; a wall's parts go with it
    #[arg(long, value_name = "SUBJECT")]
    pub on: Option<String>,
    /// Only what happened on this day
    #[arg(long, value_name = "DATE")]
    pub day: Option<NaiveDate>,
    /// Only what this person did or is named in
    #[arg(long, value_name = "NAME")]
    pub person: Option<String>,
}

/// Where a list goes as comma-separated values
#[derive(Debug, Default, Args)]
pub struct CsvTo {
    /// Write the list as CSV to a file, or to the screen with -
    #[arg(long, value_name = "FILE|-")]
    pub csv: Option<PathBuf>,
    #[command(flatten)]
    over: Overwrite,
}

/// The filters, read against a job.
pub struct Wanted<'f> {
    filters: &'f Filters,
    subjects: Option<Vec<usize>>,
}

impl Filters {
    /// Whether anything is filtered at all.
    pub fn any(&self) -> bool {
        self.on.is_some() || self.day.is_some() || self.person.is_some()
    }

    /// Reads the filters against a job.
    ///
    /// # Errors
    /// [`Failure::Input`] for a subject that the job does not have.
    pub fn read(&self, state: &State) -> Result<Wanted<'_>, Failure> {
        let subjects = self.on.as_ref().map(|on| state.subjects.parse(on)).transpose().map_err(Failure::input)?;
        let subjects = subjects.map(|given| with_parts(state, &given));
        if let Some(name) = self.person.as_ref().filter(|name| name.trim().is_empty()) {
            return Err(Failure::input(format!("--person '{}' is no name", shortened(name))));
        }
        Ok(Wanted { filters: self, subjects })
    }
}

/// The subjects given, and with a wall its openings, joints and courses.
fn with_parts(state: &State, given: &[usize]) -> Vec<usize> {
    let all = state.subjects.all();
    let belongs = |index: &usize| {
        given.contains(index)
            || given.iter().any(|wall| match state.subjects.get(*wall) {
                Subject::Wall(key) => all[*index].wall() == Some(key),
                _ => false,
            })
    };
    (0..all.len()).filter(belongs).collect()
}

impl Wanted<'_> {
    /// Whether a subject is wanted.
    pub fn on(&self, state: &State, subject: &str) -> bool {
        self.subjects
            .as_ref()
            .is_none_or(|wanted| state.subjects.index(subject).is_some_and(|index| wanted.contains(&index)))
    }

    /// Whether a moment is wanted.
    pub fn at(&self, moment: &Moment) -> bool {
        self.filters.day.is_none_or(|day| moment.date() == day)
    }

    /// Whether any of these moments is wanted.
    pub fn at_any<'m>(&self, moments: impl IntoIterator<Item = &'m Moment>) -> bool {
        self.filters.day.is_none() || moments.into_iter().any(|moment| self.at(moment))
    }

    /// Whether any of these people is wanted.
    pub fn by<'n>(&self, names: impl IntoIterator<Item = &'n str>) -> bool {
        let Some(person) = &self.filters.person else { return true };
        names.into_iter().any(|name| name == person)
    }

    /// Whether an entry is wanted. One that acts on another entry or a defect is about its subject too.
    pub fn entry(&self, book: &Book, entry: &Entry) -> bool {
        let on = self.on(&book.state, entry.body.subject())
            || acted_on(book, entry).is_some_and(|subject| self.on(&book.state, &subject));
        on && self.at(&entry.happened_at) && self.by(std::iter::once(entry.by.as_str()).chain(entry.body.names()))
    }
}

/// The subject of what an entry acts on.
fn acted_on(book: &Book, entry: &Entry) -> Option<String> {
    let mut target = entry.body.acts_on()?;
    // A strike of a strike is about what the first one struck. A made-up record might go round in a ring.
    for _ in 0..MOST_STRIKES {
        if let Some(defect) = book.state.defect(target) {
            return Some(defect.subject.clone());
        }
        // The id of a defect begins with that of the entry which opened it, also when that is struck.
        let found = book.entry(target.split('.').next().unwrap_or(target))?;
        match found.body.acts_on() {
            Some(further) => target = further,
            None => return Some(found.body.subject().to_owned()),
        }
    }
    None
}

impl CsvTo {
    /// Writes rows as CSV where that was asked for; `false` when it was not.
    ///
    /// # Errors
    /// [`Failure`] when the file is there already or can't be written.
    pub fn write(&self, rows: &[Vec<String>], out: &mut Out) -> Result<bool, Failure> {
        let Some(path) = &self.csv else { return Ok(false) };
        if out.is_json() {
            return Err(Failure::input("--csv and --json are two forms of the same list: give one of them"));
        }
        let bytes = crate::handover::csv_text(rows).map_err(Failure::machine)?;
        if path.as_os_str() == "-" {
            out.raw(&bytes)?;
        } else {
            self.over.write(path, &bytes)?;
            let many = rows.len().saturating_sub(1);
            out.say(format!("{}: {many} row{}", path.display(), if many == 1 { "" } else { "s" }));
        }
        Ok(true)
    }
}
