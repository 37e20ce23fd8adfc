//! Seal plans that are being worked out, and what came of them, until the phone that asked looks.

use std::collections::HashMap;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use tokio::sync::{Semaphore, SemaphorePermit};

use super::http_error::HttpError;
use super::limits::PLANNING;
use crate::journal::Answer;

/// How long it is kept for the phone what came of its plan.
const KEPT: Duration = Duration::from_secs(60);

/// What came of a plan, and when.
type Made = (Instant, Result<Answer, HttpError>);

/// Seal plans by the phones that asked for them; nothing while one is being worked out.
pub struct Plans {
    turns: Semaphore,
    of_phones: Mutex<HashMap<String, Option<Made>>>,
}

impl Plans {
    /// None.
    pub fn new() -> Self {
        Self { turns: Semaphore::new(PLANNING), of_phones: Mutex::default() }
    }

    fn lock(&self) -> MutexGuard<'_, HashMap<String, Option<Made>>> {
        self.of_phones.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// A phone asks for one.
    pub fn begin(&self, phone: &str) {
        self.lock().insert(phone.to_owned(), None);
    }

    /// It is there, or can't be.
    pub fn end(&self, phone: &str, done: Result<Answer, HttpError>) {
        self.lock().insert(phone.to_owned(), Some((Instant::now(), done)));
    }

    /// What came of the one that a phone asked for last. A page may look more than once before it is seen.
    pub fn made(&self, phone: &str) -> Option<Result<Answer, HttpError>> {
        let plans = self.lock();
        let (at, done) = plans.get(phone)?.as_ref()?;
        (at.elapsed() < KEPT).then(|| done.clone())
    }

    /// The phone has been told of it.
    pub fn told(&self, phone: &str) {
        self.lock().remove(phone);
    }

    /// Whether one is being worked out.
    pub fn are_made(&self) -> bool {
        self.lock().values().any(Option::is_none)
    }

    /// Waits until another may be worked out.
    pub async fn turn(&self) -> Option<SemaphorePermit<'_>> {
        self.turns.acquire().await.ok()
    }
}
