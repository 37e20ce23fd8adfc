//! From course to course: the sets of joints that keep the stagger and are fewest in all.
//!
//! No course does with fewer joints than its runs need alone. Sets of that many, then of one more, and so on, are listed
//! for every course; the best chain through them is best of all once it has no more to spare than was listed. Where
//! there is too much to list (a long wall with studs close together), the best few chains are followed course by course:
//! what they come to is proved where no course needs more than alone.

use std::collections::BTreeSet;

use super::runs::{Lean, Run};
use super::wall::Checked;

/// Sets listed for one course at most.
const MOST_SETS: usize = 3_000;
/// Chains that are followed at once.
const MOST_CHAINS: usize = 60;

/// The joints of every course, or the course that can't be met.
pub(super) struct Found {
    pub joints: Result<Vec<Vec<usize>>, usize>,
    pub proven: bool,
}

/// Joints of one course, as studs.
#[derive(Clone)]
struct Set {
    joints: Vec<usize>,
    /// One bit a stud: those taken, and those too near to a joint for the courses next to it.
    taken: Vec<u64>,
    near: Vec<u64>,
}

impl Set {
    fn new(joints: Vec<usize>, wall: &Checked) -> Self {
        let words = wall.studs.len().div_ceil(64);
        let (mut taken, mut near) = (vec![0; words], vec![0; words]);
        for &joint in &joints {
            taken[joint / 64] |= 1 << (joint % 64);
            let at = wall.studs[joint];
            let low = wall.studs.partition_point(|stud| *stud <= at - wall.stagger);
            let high = wall.studs.partition_point(|stud| *stud < at + wall.stagger);
            (low..high).for_each(|stud| near[stud / 64] |= 1 << (stud % 64));
        }
        Self { joints, taken, near }
    }

    fn keeps_stagger(&self, below: &Self) -> bool {
        self.taken.iter().zip(&below.near).all(|(taken, near)| taken & near == 0)
    }
}

/// Finds the joints; every run can be met alone.
pub(super) fn fewest_joints(courses: &[Vec<Run>], wall: &Checked) -> Found {
    let alone = |course: &[Run]| course.iter().filter_map(|run| run.fewest).sum::<usize>();
    let least: usize = courses.iter().map(|course| alone(course)).sum();
    for spare in 0.. {
        let lists: Option<Vec<(Vec<Set>, bool)>> =
            courses.iter().map(|course| sets(course, alone(course) + spare, wall)).collect();
        let Some(lists) = lists else { break };
        let all = lists.iter().all(|(_, more)| !more);
        let best = best_chain(&lists.into_iter().map(|(sets, _)| sets).collect::<Vec<_>>());
        let proven =
            all || best.as_ref().is_ok_and(|joints| joints.iter().map(Vec::len).sum::<usize>() <= least + spare);
        if proven {
            return Found { joints: best, proven };
        }
    }
    let joints = follow(courses, wall);
    let proven = joints.as_ref().is_ok_and(|joints| joints.iter().map(Vec::len).sum::<usize>() == least);
    Found { joints, proven }
}

/// The sets of at most `most` joints of one course, and whether there are sets of more; `None` when there are too many.
fn sets(course: &[Run], most: usize, wall: &Checked) -> Option<(Vec<Set>, bool)> {
    let alone: usize = course.iter().filter_map(|run| run.fewest).sum();
    let mut sets = vec![Vec::new()];
    let mut more = false;
    for run in course {
        let fewest = run.fewest.unwrap_or(0);
        let (of_run, left_out) = run.all(wall, most - (alone - fewest), MOST_SETS)?;
        more |= left_out;
        let mut joined = Vec::new();
        for set in &sets {
            for joints in &of_run {
                joined.push([set.as_slice(), joints].concat());
                if joined.len() > 4 * MOST_SETS {
                    return None;
                }
            }
        }
        sets = joined;
    }
    let count = sets.len();
    sets.retain(|set| set.len() <= most);
    more |= sets.len() < count;
    (sets.len() <= MOST_SETS).then(|| (sets.into_iter().map(|set| Set::new(set, wall)).collect(), more))
}

/// The best chain through the sets of every course, or the first course that no chain reaches.
fn best_chain(lists: &[Vec<Set>]) -> Result<Vec<Vec<usize>>, usize> {
    // For each set of a course the joints up to it and the set before; cheapest first.
    let mut reached: Vec<Vec<(usize, usize, usize)>> = Vec::with_capacity(lists.len());
    for (course, sets) in lists.iter().enumerate() {
        let reach = |(set, found): (usize, &Set)| {
            let count = found.joints.len();
            let Some((below, sets)) = reached.last().zip(course.checked_sub(1).and_then(|below| lists.get(below)))
            else {
                return Some((count, set, 0));
            };
            let place = below.iter().position(|&(_, before, _)| found.keeps_stagger(&sets[before]))?;
            Some((below[place].0 + count, set, place))
        };
        let mut row: Vec<(usize, usize, usize)> = sets.iter().enumerate().filter_map(reach).collect();
        row.sort_unstable();
        if row.is_empty() {
            return Err(course);
        }
        reached.push(row);
    }
    let mut joints = Vec::with_capacity(lists.len());
    let mut place = 0;
    for (row, sets) in reached.iter().zip(lists).rev() {
        let (_, set, before) = row[place];
        joints.push(sets[set].joints.clone());
        place = before;
    }
    joints.reverse();
    Ok(joints)
}

/// A chain up to a course.
struct Followed {
    count: usize,
    set: Set,
    /// The chain that it goes on from.
    before: usize,
}

/// Follows the best few chains, each course leaning to the left or to the right of what it can take.
fn follow(courses: &[Vec<Run>], wall: &Checked) -> Result<Vec<Vec<usize>>, usize> {
    let mut rows: Vec<Vec<Followed>> = Vec::with_capacity(courses.len());
    for (course, runs) in courses.iter().enumerate() {
        let mut row: Vec<Followed> = Vec::new();
        let mut seen = BTreeSet::new();
        let mut add = |count: usize, before: usize, near: Option<&Set>| {
            let may = |stud: usize| near.is_none_or(|set| set.near[stud / 64] & (1 << (stud % 64)) == 0);
            for lean in [Lean::Left, Lean::Right] {
                let joints: Option<Vec<Vec<usize>>> = runs.iter().map(|run| run.best(wall, &may, lean)).collect();
                let Some(joints) = joints.map(|joints| joints.concat()) else { continue };
                if seen.insert(joints.clone()) {
                    row.push(Followed { count: count + joints.len(), set: Set::new(joints, wall), before });
                }
            }
        };
        match rows.last() {
            None => add(0, 0, None),
            Some(below) => below.iter().enumerate().for_each(|(n, chain)| add(chain.count, n, Some(&chain.set))),
        }
        row.sort_by_key(|chain| chain.count);
        row.truncate(MOST_CHAINS);
        if row.is_empty() {
            return Err(course);
        }
        rows.push(row);
    }
    let mut joints = Vec::with_capacity(rows.len());
    let mut place = 0;
    for row in rows.iter().rev() {
        joints.push(row[place].set.joints.clone());
        place = row[place].before;
    }
    joints.reverse();
    Ok(joints)
}
