//! The office of many crews: one PostgreSQL that holds their records as they were filed, checked on the way in.
//!
//! The server never computes what a record means. It holds entries and answers which it has; a [`Worker`] replays what
//! changed with the same [`Book`](crate::day::Book) as everybody, and writes read tables that can be dropped and made
//! again. What they don't cover is replayed where it is asked for. `docs/office.md` tells how to set one up.
//!
//! The rooms, each knowing only those above it: `error`, `tls`, `server` (the connection), `schema` (migrations), `books`
//! (entries on the server), `tails` (of books that forked), `push`, `lines` (what a book comes to: board, places, hours),
//! `read_tables`, `work`; and `objects` (photos in a store of objects), which knows none of them.

mod books;
mod error;
mod lines;
mod objects;
mod push;
mod read_tables;
mod schema;
mod server;
mod tails;
mod tls;
mod work;

pub use books::{Checked, OfficeJob, jobs, record, verify};
pub use error::OfficeError;
pub use lines::{BoardLine, HoldWaiting, Place, Short, Stopped, Stretch};
pub use objects::{ObjectError, ObjectStore};
pub use push::{Pushed, push};
pub use read_tables::{Answer, NotReplayed, board, hours_between, trace};
pub use schema::{Migrated, migrate};
pub use server::Server;
pub use work::Worker;
