//! One run of boards: which studs its ends can meet on.

use super::wall::{Checked, Opening};

/// A run of boards, from where it begins to where it ends.
pub(super) struct Run {
    pub from: i64,
    pub to: i64,
    /// The fewest joints that do, with nothing in the courses next to it; `None` where none do.
    pub fewest: Option<usize>,
    /// The studs that a joint may stand on, from the left.
    studs: Vec<usize>,
    /// For each of these, the fewest joints after one there.
    after: Vec<Option<usize>>,
}

/// Which joints are taken where several do as well.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Lean {
    Left,
    Right,
}

impl Run {
    pub(super) fn new(from: i64, to: i64, studs: Vec<usize>, wall: &Checked) -> Self {
        let mut run = Self { from, to, fewest: None, studs, after: Vec::new() };
        run.after = run.fewest_after(wall, &|_| true);
        run.fewest = run.fewest_from(wall, &run.after);
        run
    }

    /// The board from the run's start to a joint, from a joint to the next, and from a joint to the run's end.
    fn first(&self, stud: usize, wall: &Checked) -> bool {
        wall.fits(wall.studs[stud] - wall.end_gap / 2 - self.from)
    }

    fn last(&self, stud: usize, wall: &Checked) -> bool {
        wall.fits(self.to - wall.end_gap / 2 - wall.studs[stud])
    }

    /// For each stud that may take a joint, the fewest joints after one there.
    fn fewest_after(&self, wall: &Checked, may: &dyn Fn(usize) -> bool) -> Vec<Option<usize>> {
        let mut after: Vec<Option<usize>> = vec![None; self.studs.len()];
        for place in (0..self.studs.len()).rev() {
            let stud = self.studs[place];
            if !may(stud) {
                continue;
            }
            after[place] = match self.last(stud, wall) {
                true => Some(0),
                false => self.next(place, wall).filter_map(|next| Some(after[next]? + 1)).min(),
            };
        }
        after
    }

    /// The places of the joints that can follow one.
    fn next<'r>(&'r self, place: usize, wall: &'r Checked) -> impl Iterator<Item = usize> + 'r {
        let board = move |next: usize| wall.studs[self.studs[next]] - wall.studs[self.studs[place]] - wall.end_gap;
        let reach = (place + 1..self.studs.len()).take_while(move |&next| board(next) <= wall.board);
        reach.filter(move |&next| board(next) >= wall.least)
    }

    fn fewest_from(&self, wall: &Checked, after: &[Option<usize>]) -> Option<usize> {
        if self.to - self.from <= wall.board {
            return Some(0);
        }
        let firsts = (0..self.studs.len()).filter(|&place| self.first(self.studs[place], wall));
        firsts.filter_map(|place| Some(after[place]? + 1)).min()
    }

    /// Fewest joints on studs that `may` take one; of several the ones furthest left or right.
    pub(super) fn best(&self, wall: &Checked, may: &dyn Fn(usize) -> bool, lean: Lean) -> Option<Vec<usize>> {
        let after = self.fewest_after(wall, may);
        let mut left = self.fewest_from(wall, &after)?;
        let mut joints = Vec::with_capacity(left);
        let mut place = None;
        while left > 0 {
            left -= 1;
            let does = |next: &usize| after[*next] == Some(left);
            let mut next: Vec<usize> = match place {
                None => (0..self.studs.len()).filter(|&p| self.first(self.studs[p], wall)).filter(does).collect(),
                Some(place) => self.next(place, wall).filter(does).collect(),
            };
            if lean == Lean::Right {
                next.reverse();
            }
            let taken = *next.first()?;
            joints.push(self.studs[taken]);
            place = Some(taken);
        }
        Some(joints)
    }

    /// Every set of at most `most` joints, and whether sets of more were left out; `None` beyond `limit` sets.
    pub(super) fn all(&self, wall: &Checked, most: usize, limit: usize) -> Option<(Vec<Vec<usize>>, bool)> {
        if self.fewest == Some(0) {
            return Some((vec![Vec::new()], false));
        }
        let firsts: Vec<usize> = (0..self.studs.len()).filter(|&place| self.first(self.studs[place], wall)).collect();
        let mut listing = Listing { run: self, wall, most, limit, sets: Vec::new(), more: false };
        listing.extend(&firsts, &mut Vec::new())?;
        Some((listing.sets, listing.more))
    }
}

/// The sets of joints of one run, as they are listed.
struct Listing<'r> {
    run: &'r Run,
    wall: &'r Checked,
    most: usize,
    limit: usize,
    sets: Vec<Vec<usize>>,
    /// Whether sets of more than the most were left out.
    more: bool,
}

impl Listing<'_> {
    fn extend(&mut self, places: &[usize], joints: &mut Vec<usize>) -> Option<()> {
        for &place in places {
            let Some(after) = self.run.after[place] else { continue };
            if joints.len() + 1 + after > self.most {
                self.more = true;
                continue;
            }
            joints.push(self.run.studs[place]);
            if self.run.last(self.run.studs[place], self.wall) {
                if self.sets.len() == self.limit {
                    return None;
                }
                self.sets.push(joints.clone());
            }
            let next: Vec<usize> = self.run.next(place, self.wall).collect();
            self.extend(&next, joints)?;
            joints.pop();
        }
        Some(())
    }
}

impl Checked {
    /// The runs of a course, from the left: what openings that take its whole face leave of it.
    pub(super) fn runs(&self, &(bottom, top): &(i64, i64)) -> Vec<Run> {
        let takes_all = |opening: &&Opening| opening.sill <= bottom && top <= opening.head;
        let takes_some = |opening: &&Opening| opening.sill < top && bottom < opening.head && !takes_all(opening);
        let mut whole: Vec<(i64, i64)> = self.openings.iter().filter(takes_all).map(|o| (o.from, o.to)).collect();
        whole.sort_unstable();
        let notches: Vec<(i64, i64)> =
            self.openings.iter().filter(takes_some).map(|o| (o.from - self.clear, o.to + self.clear)).collect();
        let half = self.end_gap / 2;
        let within = |end: i64| notches.iter().any(|&(from, to)| from < end && end < to);
        let may = |stud: &usize| {
            let at = self.studs[*stud];
            !within(at - half) && !within(at + half)
        };
        let mut runs = Vec::new();
        let mut from = self.start;
        for (left, right) in whole.into_iter().chain([(self.end, self.end)]) {
            let to = left.min(self.end);
            if to > from {
                let inside = |stud: &usize| from < self.studs[*stud] && self.studs[*stud] < to;
                let studs = (0..self.studs.len()).filter(inside).filter(may).collect();
                runs.push(Run::new(from, to, studs, self));
            }
            from = from.max(right);
        }
        runs
    }

    fn fits(&self, board: i64) -> bool {
        (self.least..=self.board).contains(&board)
    }
}
