//! Filters that lists share: where, when, who.

use std::collections::BTreeSet;
use std::path::PathBuf;

use chrono::NaiveDate;
use clap::Args;
use serde_json::json;

use super::files::Overwrite;
use crate::building::SubjectIx;
use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::day::{Book, State};
use crate::form::is_same_name;
use crate::moment::Moment;
use crate::plain::count;
use crate::record::Entry;
use crate::table::{CsvColumn, Row, csv, csv_of};
use crate::units::number::shortened;

/// Where, when and who a list is about
#[derive(Debug, Default, Args)]
pub struct Filters {
    /// Only what is about these subjects; what stands on a wall goes with it
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

/// What every list takes
#[derive(Debug, Args)]
pub struct ListArgs {
    #[command(flatten)]
    pub filters: Filters,
    #[command(flatten)]
    pub csv: CsvTo,
}

/// The filters, read against a job.
pub struct Filter<'f> {
    filters: &'f Filters,
    subjects: Option<BTreeSet<SubjectIx>>,
}

impl Filters {
    /// Whether anything is filtered at all.
    pub fn any(&self) -> bool {
        self.on.is_some() || self.day.is_some() || self.person.is_some()
    }

    /// Reads the filters against a job.
    pub fn read(&self, state: &State) -> Result<Filter<'_>, Failure> {
        let subjects = self.on.as_ref().map(|on| state.subjects.parse(on)).transpose().map_err(Failure::input)?;
        let subjects = subjects.map(|given| state.subjects.with_parts(&given));
        if let Some(name) = self.person.as_ref().filter(|name| name.trim().is_empty()) {
            return Err(Failure::input(format!("--person '{}' is not a name", shortened(name))));
        }
        Ok(Filter { filters: self, subjects })
    }
}

impl Filter<'_> {
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
        names.into_iter().any(|name| is_same_name(name, person))
    }

    /// Whether an entry is wanted. One that acts on another entry or a defect is about its subject too.
    pub fn entry(&self, book: &Book, entry: &Entry) -> bool {
        let on = |entry: &Entry| self.on(&book.state, entry.body.subject());
        (on(entry) || on(book.root(entry)))
            && self.at(&entry.happened_at)
            && self.by(std::iter::once(entry.by.as_str()).chain(entry.body.names()))
    }
}

impl CsvTo {
    /// Whether an existing file may be replaced, for what the command writes besides.
    #[cfg(feature = "office")]
    pub fn overwrite(&self) -> Overwrite {
        self.over
    }

    /// Writes rows as CSV by columns of their own where that was asked for; `false` when it was not.
    pub fn columns<'r, R>(
        &self,
        rows: &'r [R],
        columns: &[CsvColumn<'_, &'r R>],
        out: &mut Out,
    ) -> Result<bool, Failure> {
        self.put(rows.len(), || csv_of(rows, columns), out)
    }

    /// Writes rows as CSV where that was asked for; `false` when it was not.
    pub fn rows<R: Row>(&self, rows: &[R], out: &mut Out) -> Result<bool, Failure> {
        self.put(rows.len(), || csv(rows), out)
    }

    /// Writes rows as CSV, or as JSON under a name, where that was asked for; `false` when neither was.
    pub fn list<R: Row>(&self, name: &str, rows: &[R], out: &mut Out) -> Result<bool, Failure> {
        if self.rows(rows, out)? {
            return Ok(true);
        }
        if out.is_json() {
            out.json(&json!({ name: rows.iter().map(Row::json).collect::<Vec<_>>() }))?;
        }
        Ok(out.is_json())
    }

    fn put(&self, many: usize, bytes: impl FnOnce() -> Vec<u8>, out: &mut Out) -> Result<bool, Failure> {
        let Some(path) = &self.csv else { return Ok(false) };
        if out.is_json() {
            return Err(Failure::input("--csv and --json are two forms of the same list: give one of them"));
        }
        if path.as_os_str() == "-" {
            out.raw(&bytes())?;
        } else {
            self.over.write(path, &bytes())?;
            out.say(format!("{}: {}", path.display(), count(many, "row")));
        }
        Ok(true)
    }
}
