//! Why the office could not be asked, or said no.

use crate::day::ReplayError;
use crate::moment::MomentError;
use crate::record::{MergeError, StoreError};

/// SQLSTATE with which `cladlog.add` refuses an entry.
const REFUSED: &str = "CL001";

/// Why the office could not be asked, or said no.
#[derive(Debug, thiserror::Error)]
pub enum OfficeError {
    /// The address can't be used.
    #[error("the address of the office's server can't be used: {0}")]
    Address(String),
    /// The server can't be reached, or went away.
    #[error("{place}: {why}")]
    Unreachable {
        /// The server, without the password.
        place: String,
        /// What happened.
        why: String,
    },
    /// The server is too old, or not set up for text as we write it.
    #[error("{place}: {what}")]
    Unfit {
        /// The server.
        place: String,
        /// What it lacks.
        what: String,
    },
    /// The schema is not there, or an older one.
    #[error("{0}: the tables of the office are not there, or are of an older cladlog")]
    NotMade(String),
    /// A newer program made the schema.
    #[error("{place}: a newer cladlog made its tables (version {version}, this program knows {known})")]
    Newer {
        /// The server.
        place: String,
        /// Version of the schema.
        version: i32,
        /// The newest that we know.
        known: i32,
    },
    /// The login may not.
    #[error("{place}: this login may not do that: {what}")]
    NotAllowed {
        /// The server.
        place: String,
        /// What the server said.
        what: String,
    },
    /// An entry does not fit what is there; nothing of its batch was taken.
    #[error("entry {entry}: {what}")]
    Refused {
        /// Its id.
        entry: String,
        /// What does not fit.
        what: String,
        /// What clears it.
        clears: String,
    },
    /// There is no such job, or none that the login may see.
    #[error("there is no job '{0}' in the office, or none that this login may see")]
    NoJob(String),
    /// Anything else that the server reports.
    #[error("{place}: {what}")]
    Failed {
        /// The server.
        place: String,
        /// What it said.
        what: String,
    },
    /// The crew's own file could not be read.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// What the server holds of a job is no whole record.
    #[error("job {job}: {error}")]
    Record {
        /// Key of the job.
        job: String,
        /// What is wrong.
        error: MergeError,
    },
    /// A record can't be replayed.
    #[error(transparent)]
    Replay(#[from] ReplayError),
    /// The time that was asked for is none on the clocks of one of the sites.
    #[error("--at: {0}")]
    At(#[from] MomentError),
}

impl OfficeError {
    /// What the client reports of a server.
    pub(super) fn of(place: &str, error: &postgres::Error) -> Self {
        let place = place.to_owned();
        let Some(said) = error.as_db_error() else {
            let causes = std::iter::successors(std::error::Error::source(error), |cause| cause.source());
            let why = causes.map(ToString::to_string).last().unwrap_or_else(|| error.to_string());
            return Self::Unreachable { place, why };
        };
        let what = said.message().to_owned();
        match said.code().code() {
            REFUSED => {
                let (entry, clears) = (said.detail().unwrap_or_default(), said.hint().unwrap_or_default());
                Self::Refused { entry: entry.to_owned(), what, clears: clears.to_owned() }
            }
            // Insufficient privilege; no such login, or a wrong password.
            "42501" | "28000" | "28P01" => Self::NotAllowed { place, what },
            // No such table, schema or function; no such database.
            "42P01" | "3F000" | "42883" => Self::NotMade(place),
            // The server is shutting down, or was started again.
            code if code.starts_with("57P") => Self::Unreachable { place, why: what },
            _ => Self::Failed { place, what },
        }
    }
}
