//! What all requests share.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use tokio::sync::{Semaphore, watch};

use super::limits::{Limiter, RECORDING, STRANGERS, UPLOADS, WRONG_CODES};
use super::pairings::Pairings;
use super::phones::{Phone, Phones};
use super::plans::Plans;
use super::recorder::Recorder;
use crate::day::Book;
use crate::moment::Moment;

/// How often at most it is noted that a phone was seen.
const SEEN_EVERY: Duration = Duration::from_secs(10);

/// What the server has from the program around it.
#[derive(Clone)]
pub struct Surroundings {
    /// The time.
    pub now: Arc<dyn Fn() -> Moment + Send + Sync>,
    /// Takes the cause of what failed, once, in a line: phones are told no more than that it did.
    pub log: Arc<dyn Fn(&str) + Send + Sync>,
}

/// What all requests share.
pub struct App {
    /// The way to the journal.
    pub recorder: Recorder,
    /// The paired phones.
    pub phones: Arc<Phones>,
    /// Key of the job.
    pub job: String,
    /// Whether it is HTTP, without TLS.
    pub plain: bool,
    /// The time, and where causes go.
    pub around: Surroundings,
    /// Turns true when the server ends.
    pub ending: watch::Receiver<bool>,
    /// Wrong pairing codes.
    pub wrong_codes: Limiter<IpAddr>,
    /// Requests of strangers.
    pub strangers: Limiter<IpAddr>,
    /// Requests that record, by phone.
    pub recording: Limiter<String>,
    /// Forms with photos that may be read now.
    pub uploads: Arc<Semaphore>,
    /// Pairings of the last minute: one at a time.
    pub pairings: tokio::sync::Mutex<Pairings>,
    /// Seal plans that are being worked out.
    pub plans: Plans,
    /// When it was last noted that a phone was seen.
    pub seen: Mutex<HashMap<String, Instant>>,
}

/// The address that a request comes from.
#[derive(Debug, Clone, Copy)]
pub struct Peer(pub IpAddr);

impl App {
    /// Nobody has asked for anything yet.
    pub fn new(
        recorder: Recorder,
        phones: Arc<Phones>,
        job: String,
        plain: bool,
        around: Surroundings,
        ending: watch::Receiver<bool>,
    ) -> Self {
        Self {
            recorder,
            phones,
            job,
            plain,
            around,
            ending,
            wrong_codes: Limiter::of(WRONG_CODES),
            strangers: Limiter::of(STRANGERS),
            recording: Limiter::of(RECORDING),
            uploads: Arc::new(Semaphore::new(UPLOADS)),
            pairings: tokio::sync::Mutex::default(),
            plans: Plans::new(),
            seen: Mutex::default(),
        }
    }

    /// Now, by the clocks of the site.
    pub fn now(&self, book: &Book) -> Moment {
        (self.around.now)().at_site(book.state.job.time_zone)
    }

    /// Writes down why something failed.
    pub fn log(&self, what: impl std::fmt::Display) {
        (self.around.log)(&what.to_string());
    }

    /// The name of the cookie: over TLS one that no other host can set.
    pub fn cookie(&self) -> &'static str {
        if self.plain { "cladlog" } else { "__Host-cladlog" }
    }

    /// Notes, every now and then, that a phone was seen. The request does not wait for it.
    pub fn note_seen(self: &Arc<Self>, phone: &Phone, at: Moment) {
        let now = Instant::now();
        {
            let mut seen = self.seen.lock().unwrap_or_else(PoisonError::into_inner);
            if seen.get(&phone.id).is_some_and(|at| now.duration_since(*at) < SEEN_EVERY) {
                return;
            }
            seen.insert(phone.id.clone(), now);
        }
        let (app, id) = (Arc::clone(self), phone.id.clone());
        drop(tokio::task::spawn_blocking(move || {
            if let Err(error) = app.phones.seen(&id, at) {
                app.log(error);
            }
        }));
    }
}
