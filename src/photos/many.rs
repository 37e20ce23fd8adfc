//! The same work on many photos at once.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;

/// No more at once than this: a disk has to keep up with them. Memory is shared out by [`super::Room`].
const MOST_AT_ONCE: usize = 16;

/// Does `work` on each item, as many at once as the machine has processors (at most sixteen); `told` hears how many
/// are done. The answers are in the order of the items.
pub fn each<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync, told: &mut dyn FnMut(usize)) -> Vec<R> {
    let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get).min(MOST_AT_ONCE);
    let next = AtomicUsize::new(0);
    let mut answers: Vec<Option<R>> = items.iter().map(|_| None).collect();
    std::thread::scope(|scope| {
        let (sender, receiver) = mpsc::channel();
        for _ in 0..threads.min(items.len()) {
            let (sender, next, work) = (sender.clone(), &next, &work);
            scope.spawn(move || {
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    let Some(item) = items.get(at) else { return };
                    // Nobody listens any more only when the whole is given up.
                    if sender.send((at, work(item))).is_err() {
                        return;
                    }
                }
            });
        }
        drop(sender);
        for (done, (at, answer)) in receiver.into_iter().enumerate() {
            answers[at] = Some(answer);
            told(done + 1);
        }
    });
    answers.into_iter().flatten().collect()
}
