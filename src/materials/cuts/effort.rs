//! How much work may still be done: counted in steps, so that the same input always gives the same plan.

/// A budget of counted work, and the caller's way to stop early.
///
/// Only the count decides in the ordinary run; `stop` is asked now and then so that a slow machine keeps
/// its time box. A plan cut short by `stop` is valid, but need not be the same from run to run.
pub(super) struct Effort<'a> {
    left: u64,
    since_asked: u64,
    stopped: bool,
    stop: &'a dyn Fn() -> bool,
}

/// Work between two questions to `stop`: well under a millisecond.
const ASK_EVERY: u64 = 400_000;

impl<'a> Effort<'a> {
    /// A budget of `steps` inner-loop steps.
    pub(super) fn new(steps: u64, stop: &'a dyn Fn() -> bool) -> Self {
        Self { left: steps, since_asked: 0, stopped: stop(), stop }
    }

    /// Books `steps` of work done.
    pub(super) fn spend(&mut self, steps: u64) {
        self.left = self.left.saturating_sub(steps);
        self.since_asked += steps;
        if self.since_asked >= ASK_EVERY {
            self.since_asked = 0;
            self.stopped |= (self.stop)();
        }
    }

    /// Whether the budget is used up or the caller said stop.
    pub(super) fn over(&self) -> bool {
        self.stopped || self.left == 0
    }

    /// Work left, in steps.
    pub(super) fn left(&self) -> u64 {
        self.left
    }

    /// Sets part of the budget aside: runs `work` with at most `steps`, then gives back what it did not use.
    pub(super) fn within<T>(&mut self, steps: u64, work: impl FnOnce(&mut Self) -> T) -> T {
        let aside = self.left.saturating_sub(steps);
        self.left -= aside;
        let result = work(self);
        self.left += aside;
        result
    }
}
