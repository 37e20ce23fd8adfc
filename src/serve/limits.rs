//! How much is taken: sizes, rates, connections, and how long anybody is waited for.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use crate::photos;

/// The most bytes of a form without photos, or of a JSON document.
pub const MOST_FORM: usize = 64 * 1024;

/// The most fields of a form.
pub const MOST_FIELDS: usize = 400;

/// The most photos that one form brings.
pub const MOST_PHOTOS: usize = 8;

/// The most bytes of one photo.
pub const MOST_PHOTO: u64 = photos::MOST_BYTES;

/// The most bytes of a form with photos.
pub const MOST_UPLOAD: usize = 4 * MOST_PHOTO as usize;

/// Forms with photos that are read at the same time; others wait.
pub const UPLOADS: usize = 4;

/// Seal plans that are worked out at the same time; others wait.
pub const PLANNING: usize = 1;

/// Connections at the same time, in all and from one address. Twenty phones have some six each.
pub const CONNECTIONS: usize = 512;
/// The same from one address: several phones may share one.
pub const CONNECTIONS_OF_ONE: usize = 256;

/// How long the head of a request, or the next one on a connection, is waited for.
pub const HEAD: Duration = Duration::from_secs(15);

/// How long the body of a form is waited for.
pub const FORM: Duration = Duration::from_secs(20);

/// How long the next piece of a photo is waited for.
pub const PIECE: Duration = Duration::from_secs(15);

/// How long a form with photos is waited for in all: some hundred megabytes over a poor network.
pub const UPLOAD: Duration = Duration::from_secs(15 * 60);

/// How long somebody may take to take in some of an answer.
pub const ANSWER: Duration = Duration::from_secs(20);

/// How long a TLS handshake may take.
pub const HANDSHAKE: Duration = Duration::from_secs(10);

/// How long requests in hand are waited for when the server ends.
pub const DRAIN: Duration = Duration::from_secs(10);

/// How often something may be done: so often at once, and then so often a second.
#[derive(Debug, Clone, Copy)]
pub struct Rate {
    /// At once.
    pub burst: f64,
    /// A second.
    pub a_second: f64,
}

/// Wrong pairing codes, from one address.
pub const WRONG_CODES: Rate = Rate { burst: 10.0, a_second: 0.2 };

/// Requests of somebody who has no paired phone, from one address.
pub const STRANGERS: Rate = Rate { burst: 300.0, a_second: 20.0 };

/// Requests of one phone that are to record something. What waited on a phone for a day comes at once.
pub const RECORDING: Rate = Rate { burst: 3000.0, a_second: 200.0 };

/// Who is remembered at most; of more, those that were heard of longest ago are forgotten.
const REMEMBERED: usize = 4096;

/// Counts what each of many does against one rate.
pub struct Limiter<K> {
    rate: Rate,
    left: Mutex<HashMap<K, (f64, Instant)>>,
}

impl<K: std::hash::Hash + Eq + Clone> Limiter<K> {
    /// Nobody has done anything yet.
    pub fn of(rate: Rate) -> Self {
        Self { rate, left: Mutex::new(HashMap::new()) }
    }

    /// Counts one more.
    ///
    /// # Errors
    /// How long to wait, where it was too often: then it is not counted.
    pub fn take(&self, who: &K, now: Instant) -> Result<(), Duration> {
        self.ask(who, now, true)
    }

    /// Whether one more would be let through.
    ///
    /// # Errors
    /// How long to wait.
    pub fn peek(&self, who: &K, now: Instant) -> Result<(), Duration> {
        self.ask(who, now, false)
    }

    fn ask(&self, who: &K, now: Instant, take: bool) -> Result<(), Duration> {
        let mut all = self.left.lock().unwrap_or_else(PoisonError::into_inner);
        let refilled = |(left, at): &(f64, Instant)| {
            (left + now.saturating_duration_since(*at).as_secs_f64() * self.rate.a_second).min(self.rate.burst)
        };
        let left = all.get(who).map_or(self.rate.burst, refilled);
        if left < 1.0 {
            return Err(Duration::from_secs_f64((1.0 - left) / self.rate.a_second));
        }
        if take {
            if all.len() >= REMEMBERED {
                // Whoever has all of it again is as good as unknown.
                all.retain(|_, one| refilled(one) < self.rate.burst);
            }
            if all.len() >= REMEMBERED
                && let Some(oldest) = all.iter().min_by_key(|(_, (_, at))| *at).map(|(who, _)| who.clone())
            {
                all.remove(&oldest);
            }
            all.insert(who.clone(), (left - 1.0, now));
        }
        Ok(())
    }
}

/// Counts the connections from each address.
#[derive(Default)]
pub struct Connections(Mutex<HashMap<IpAddr, usize>>);

/// A connection that is counted until this is dropped.
pub struct Counted<'c> {
    all: &'c Connections,
    from: IpAddr,
}

impl Connections {
    /// Counts one more; nothing where there are too many already.
    pub fn one_more(&self, from: IpAddr) -> Option<Counted<'_>> {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let sum: usize = all.values().sum();
        let own = all.entry(from).or_default();
        if sum >= CONNECTIONS || *own >= CONNECTIONS_OF_ONE {
            return None;
        }
        *own += 1;
        Some(Counted { all: self, from })
    }
}

impl Drop for Counted<'_> {
    fn drop(&mut self) {
        let mut all = self.all.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(own) = all.get_mut(&self.from) {
            *own -= 1;
            if *own == 0 {
                all.remove(&self.from);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_done_too_often_waits_and_others_do_not() {
        let codes = Limiter::of(Rate { burst: 2.0, a_second: 0.5 });
        let begun = Instant::now();
        assert!(codes.take(&"a", begun).is_ok() && codes.take(&"a", begun).is_ok());
        assert_eq!(codes.take(&"a", begun), Err(Duration::from_secs(2)));
        assert!(codes.peek(&"b", begun).is_ok());
        let later = begun + Duration::from_secs(2);
        assert!(codes.take(&"a", later).is_ok() && codes.take(&"a", later).is_err());
        // Never more than the burst, however long nothing was done.
        let much_later = begun + Duration::from_secs(3600);
        let done = (0..10).filter(|_| codes.take(&"a", much_later).is_ok()).count();
        assert_eq!(done, 2);
    }

    #[test]
    fn only_so_many_are_remembered() {
        let rate = Limiter::of(Rate { burst: 2.0, a_second: 0.001 });
        let begun = Instant::now();
        for who in 0..REMEMBERED + 10 {
            rate.take(&who, begun + Duration::from_millis(who as u64)).unwrap();
        }
        assert!(rate.left.lock().unwrap().len() <= REMEMBERED);
    }

    #[test]
    fn connections_are_counted_and_given_back() {
        let all = Connections::default();
        let from: IpAddr = "192.0.2.1".parse().unwrap();
        let held: Vec<_> = (0..CONNECTIONS_OF_ONE).map(|_| all.one_more(from).unwrap()).collect();
        assert!(all.one_more(from).is_none());
        assert!(all.one_more("192.0.2.2".parse().unwrap()).is_some());
        drop(held);
        assert!(all.one_more(from).is_some());
    }
}
