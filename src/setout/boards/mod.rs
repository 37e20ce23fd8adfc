//! C5 for lapped boards: where board ends meet, course by course, on studs and never in line.
//!
//! Openings that take a whole face cut a course into runs; each run takes its joints from the studs (`wall`). Joints of
//! courses next to one another keep the stagger, so that courses hang together like links: `chain` lists what each
//! course can do with few joints and finds the best chain, and follows the best few where there is too much to list.

mod chain;
mod error;
mod runs;
mod wall;

use serde::{Deserialize, Serialize};

pub use error::BoardsError;
pub use wall::BoardWall;

use super::exact::mm;

/// Where the board ends of a wall meet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Boards {
    /// The joints of each course, from the lowest.
    pub courses: Vec<CourseJoints>,
    /// How many joints in all.
    pub joints: usize,
    /// Whether fewer are proved impossible; of a wall that can't be met, that.
    pub proven: bool,
    /// Runs that can't be met; then no course has joints.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub unmet: Vec<UnmetRun>,
}

/// The joints of one course.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CourseJoints {
    /// The course, counted from 1 at the bottom.
    pub course: usize,
    /// The centres of its joints, in millimetres.
    pub joints_mm: Vec<f64>,
}

/// A run of boards that can't be met.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct UnmetRun {
    /// Its course, counted from 1 at the bottom.
    pub course: usize,
    /// Its left end, in millimetres.
    pub from_mm: f64,
    /// Its right end.
    pub to_mm: f64,
    /// Whether joints would fit, were it not for the courses next to it.
    pub by_stagger: bool,
}

/// Fewest joints in all: each on a stud, each board between the least and the longest, joints of courses next to one
/// another apart by the stagger, no board end within the clearance of an opening that notches the course.
///
/// Where a run can't be met the answer has no joints and names the run.
///
/// # Errors
/// [`BoardsError`] for an input that is out of range or contradicts itself.
///
/// # Example: two courses of two boards each
/// ```
/// use cladlog::setout::boards::{BoardWall, boards};
/// let wall = BoardWall {
///     length_mm: 6000.0, board_mm: 4200.0, least_mm: 600.0, end_gap_mm: 2.0, stagger_mm: 600.0,
///     studs_mm: (0..=10).map(|n| f64::from(n) * 600.0).collect(),
///     courses: vec![[0.0, 150.0], [150.0, 300.0]],
///     ..BoardWall::default()
/// };
/// let set_out = boards(&wall).unwrap();
/// assert_eq!((set_out.joints, set_out.proven), (2, true));
/// assert_ne!(set_out.courses[0].joints_mm, set_out.courses[1].joints_mm);
/// ```
pub fn boards(wall: &BoardWall) -> Result<Boards, BoardsError> {
    let wall = wall::Checked::new(wall)?;
    let courses: Vec<Vec<runs::Run>> = wall.courses.iter().map(|course| wall.runs(course)).collect();
    let unmet = |course: usize, run: &runs::Run, by_stagger: bool| UnmetRun {
        course: course + 1,
        from_mm: mm(run.from),
        to_mm: mm(run.to),
        by_stagger,
    };
    let alone = courses.iter().enumerate().flat_map(|(n, runs)| runs.iter().map(move |run| (n, run)));
    let hopeless: Vec<UnmetRun> =
        alone.filter(|(_, run)| run.fewest.is_none()).map(|(n, run)| unmet(n, run, false)).collect();
    let none = |unmet, proven| Boards { courses: Vec::new(), joints: 0, proven, unmet };
    if !hopeless.is_empty() {
        return Ok(none(hopeless, true));
    }
    let found = chain::fewest_joints(&courses, &wall);
    match found.joints {
        Ok(courses) => Ok(Boards {
            joints: courses.iter().map(Vec::len).sum(),
            courses: (1..)
                .zip(courses)
                .map(|(course, joints)| CourseJoints {
                    course,
                    joints_mm: joints.into_iter().map(|stud| mm(wall.studs[stud])).collect(),
                })
                .collect(),
            proven: found.proven,
            unmet: Vec::new(),
        }),
        Err(course) => {
            let runs = courses[course].iter().filter(|run| run.fewest.is_some_and(|fewest| fewest > 0));
            Ok(none(runs.map(|run| unmet(course, run, true)).collect(), found.proven))
        }
    }
}
