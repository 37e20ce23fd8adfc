//! Pairings of the last minute, so that a form that is sent twice pairs one phone: the second answer is that of the first.

use std::time::{Duration, Instant};

use super::phones::PlainToken;

/// How long it is kept what a form came to.
const KEPT: Duration = Duration::from_secs(60);

/// What forms of the pairing page came to, each by what it said.
#[derive(Default)]
pub struct Pairings(Vec<(String, PlainToken, Instant)>);

impl Pairings {
    /// What the form that says this came to before.
    pub fn made(&self, form: &str) -> Option<PlainToken> {
        let own = self.0.iter().find(|(known, _, at)| known == form && at.elapsed() < KEPT);
        own.map(|(_, token, _)| token.clone())
    }

    /// Keeps what it came to.
    pub fn keep(&mut self, form: String, token: PlainToken) {
        self.0.retain(|(.., at)| at.elapsed() < KEPT);
        self.0.push((form, token, Instant::now()));
    }
}
