//! Many photos at once: on all cores, in memory that is bounded.

use std::sync::{Condvar, Mutex, PoisonError};

use rayon::prelude::*;

use super::format::MOST_BYTES;

/// Does `work` on each item, on all cores; `progress` hears how many are done. The answers are in the order of the
/// items.
pub fn each<T: Sync, R: Send>(
    items: &[T],
    work: impl Fn(&T) -> R + Sync,
    progress: &mut (dyn FnMut(usize) + Send),
) -> Vec<R> {
    let counted = Mutex::new((0, progress));
    let one = |item| {
        let answer = work(item);
        let (done, progress) = &mut *counted.lock().unwrap_or_else(PoisonError::into_inner);
        *done += 1;
        progress(*done);
        answer
    };
    items.par_iter().map(one).collect()
}

/// The most memory that one picture may take while it is read, and all that are read at the same time, bytes.
pub const MOST_PICTURE_MEMORY: u64 = 260_000_000;

/// For the files themselves; the largest that is taken just fits.
pub(super) static FILES: Room = Room::of(MOST_BYTES);

/// For the pictures in them. Whoever holds a share of this waits for nothing, so that nobody waits for ever.
pub(super) static PICTURES: Room = Room::of(MOST_PICTURE_MEMORY);

/// Memory that is shared out: who asks for more than is left waits until others are done.
#[derive(Debug)]
pub struct Room {
    all: u64,
    taken: Mutex<u64>,
    given_back: Condvar,
}

/// A share of a [`Room`], given back when it is dropped.
#[derive(Debug)]
#[must_use = "the share is given back as soon as this is dropped"]
pub struct Share<'a> {
    room: &'a Room,
    bytes: u64,
}

impl Room {
    /// Room for so many bytes.
    pub const fn of(all: u64) -> Self {
        Self { all, taken: Mutex::new(0), given_back: Condvar::new() }
    }

    /// Waits until there is room for `bytes`. More than there is in all is had alone.
    pub fn take(&self, bytes: u64) -> Share<'_> {
        let bytes = bytes.min(self.all);
        let taken = self.taken.lock().unwrap_or_else(PoisonError::into_inner);
        let mut taken = self
            .given_back
            .wait_while(taken, |taken| *taken + bytes > self.all)
            .unwrap_or_else(PoisonError::into_inner);
        *taken += bytes;
        Share { room: self, bytes }
    }
}

impl Drop for Share<'_> {
    fn drop(&mut self) {
        *self.room.taken.lock().unwrap_or_else(PoisonError::into_inner) -= self.bytes;
        self.room.given_back.notify_all();
    }
}

/// Room for a photo's file of so many bytes, from before it is read until it is done with.
pub fn room_for_file(bytes: u64) -> Share<'static> {
    FILES.take(bytes)
}
