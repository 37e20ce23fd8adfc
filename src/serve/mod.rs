//! The day on the crew's phones: an HTTP server over the journal, for the site's own network.
//!
//! A phone reads pages and sends forms; what it sends is decided by the same rules, and recorded in the same transaction, as
//! what is typed at the laptop. No rule stands here, and no path leads from a request to the file system.
//!
//! The floors, each knowing only those below it: `server` (listen, TLS, shutdown), `router`, `handlers` (one file a path),
//! `place` (the page that a form leads back to), `pages` (book and context → HTML, nothing else), `app` (what all requests
//! share) with `form` and `session` (what a request has to bring), `recorder` (the one thread with the journal), `http_error`,
//! `context`, `limits`, `tls`, `phones`.

mod app;
mod context;
mod error;
mod form;
mod handlers;
mod http_error;
mod limits;
pub mod pages;
mod pairings;
mod phones;
mod place;
mod plans;
mod recorder;
mod router;
mod server;
mod session;
mod steady;
mod tls;
mod wanted;

pub use app::Surroundings;
pub use context::{Notice, PageContext, Typed};
pub use error::ServeError;
pub use phones::{Phone, Phones, PhonesError};
pub use server::{Listen, Pairing, Server, Started, new_pairing};
pub use tls::{Identity, TlsError};
pub use wanted::paths_of_form;
