//! The best joint before each joint: lower envelopes of straight lines.
//!
//! With one joint at `y` and the next at `x`, the column between is `x − y − w`. Its square is `x²` (the same for all
//! `y`) plus the straight line `−2(y + w)·x + (y + w)²`. So the best `y` for each `x` lies on the lower envelope of
//! such lines, over the `y` in reach. The reach slides along as `x` grows: a pivot splits it into a part that only
//! shrinks and a part that only grows, and each is an envelope that lines are added to at one end.

use crate::setout::exact::TICKS_IN_MM;

/// A joint that has its best way there.
#[derive(Clone, Copy)]
pub(super) struct Line {
    /// Its place, whole millimetres.
    pub at: i64,
    /// The sum of squares up to it, in square ticks.
    pub squares: i64,
}

/// For each of `asked` (growing) the best joint before it among `lines` (growing), and the sum of squares with it.
pub(super) fn best_before(lines: &[Line], asked: &[i64], joint: i64, apart: (i64, i64)) -> Vec<Option<(i64, i64)>> {
    let mut best: Vec<Option<(i64, i64)>> = vec![None; asked.len()];
    let reach = |at: i64| {
        let low = lines.partition_point(|line| line.at < at - apart.1);
        let high = lines.partition_point(|line| line.at <= at - apart.0);
        (low, high)
    };
    let mut next = 0;
    while let Some(&at) = asked.get(next) {
        // The pivot is the end of the first one's reach: all that follow whose reach begins before it share it.
        let (_, pivot) = reach(at);
        let sharing = asked[next..].partition_point(|&at| reach(at).0 < pivot).max(1);
        let group = next..next + sharing;
        let mut left = Envelope::new(joint, -1);
        let mut added = pivot;
        for i in group.clone().rev() {
            let (low, _) = reach(asked[i]);
            while added > low {
                added -= 1;
                left.add(lines[added]);
            }
            best[i] = left.best(asked[i]);
        }
        let mut right = Envelope::new(joint, 1);
        let mut added = pivot;
        for i in group.clone() {
            let (_, high) = reach(asked[i]);
            while added < high {
                right.add(lines[added]);
                added += 1;
            }
            let other = right.best(asked[i]);
            best[i] = match (best[i], other) {
                (Some(a), Some(b)) => Some(if b.1 < a.1 { b } else { a }),
                (a, b) => a.or(b),
            };
        }
        next += sharing;
    }
    best
}

/// A lower envelope of lines, added and asked in one direction along the tape.
struct Envelope {
    joint: i64,
    /// +1: lines and questions move to the right; −1: to the left.
    towards: i64,
    lines: Vec<Line>,
    /// The line that answered last: no earlier one can answer again.
    front: usize,
}

impl Envelope {
    fn new(joint: i64, towards: i64) -> Self {
        Self { joint, towards, lines: Vec::new(), front: 0 }
    }

    /// Slope in `x`, and height at `x = 0`, in ticks.
    fn line(&self, line: Line) -> (i128, i128) {
        let from = i128::from(line.at * TICKS_IN_MM + self.joint);
        (-2 * from, from * from + i128::from(line.squares))
    }

    /// Adds a line further on in the direction of travel, and drops those that it makes useless.
    fn add(&mut self, new: Line) {
        while self.lines.len() >= self.front + 2 {
            let [.., a, b] = self.lines.as_slice() else { break };
            let ((sa, ha), (sb, hb), (sn, hn)) = (self.line(*a), self.line(*b), self.line(new));
            // b is under both nowhere: where a and the new line cross, b is not below them.
            let (along_b, along_new) = ((sa - sb).abs(), (sa - sn).abs());
            if (hn - ha) * along_b <= (hb - ha) * along_new {
                self.lines.pop();
            } else {
                break;
            }
        }
        self.lines.push(new);
    }

    /// The best line for a question further on in the direction of travel, and the sum of squares with it.
    fn best(&mut self, at: i64) -> Option<(i64, i64)> {
        let sum = |line: Line| line.squares + ((at - line.at) * TICKS_IN_MM - self.joint).pow(2);
        while let (Some(&here), Some(&after)) = (self.lines.get(self.front), self.lines.get(self.front + 1)) {
            // Of equals the one further left: going right the earlier, going left the later.
            let (now, then) = (sum(here), sum(after));
            if then < now || (then == now && self.towards < 0) {
                self.front += 1;
            } else {
                break;
            }
        }
        self.lines.get(self.front).map(|&line| (line.at, sum(line)))
    }
}
