//! Why the server does not start, or ended.

use std::net::SocketAddr;
use std::path::PathBuf;

use super::phones::PhonesError;
use super::tls::TlsError;
use crate::journal::JournalError;

/// Why the server does not start, or ended.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The address can't be had.
    #[error("can't listen at {address}: {why}")]
    Listen {
        /// The address.
        address: SocketAddr,
        /// What the system said.
        why: std::io::Error,
    },
    /// Another server has the database.
    #[error("{}: is being served already", .0.display())]
    Served(PathBuf),
    /// No server has the database.
    #[error("{}: is not being served", .0.display())]
    NotServed(PathBuf),
    /// The file that says that a database is being served can't be made.
    #[error("{}: {why}", path.display())]
    Lock {
        /// The file.
        path: PathBuf,
        /// What the system said.
        why: std::io::Error,
    },
    /// No certificate.
    #[error(transparent)]
    Tls(#[from] TlsError),
    /// The file of phones.
    #[error(transparent)]
    Phones(#[from] PhonesError),
    /// The system gives no threads or no signals.
    #[error("the server can't run: {0}")]
    Runtime(std::io::Error),
    /// The thread that records is gone: an error of ours.
    #[error("the thread that records stopped")]
    Stopped,
    /// The record can't be used any more.
    #[error(transparent)]
    Journal(#[from] JournalError),
}
