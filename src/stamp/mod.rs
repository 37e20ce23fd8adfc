//! Time stamps (RFC 3161): the query for one over a SHA-256, and the authority's answer, checked.
//!
//! A time-stamping authority signs the hash that it is sent together with its own time. It never sees what was hashed.
//! What is checked here: that the answer is signed by a certificate that was valid then and is made for nothing but
//! time stamps. Whether that certificate comes from an authority that one trusts is left to whoever relies on it.

mod answer;
mod asn1;
mod query;

pub use answer::{Stamp, StampError};
pub use query::Query;
