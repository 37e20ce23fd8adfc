//! The inputs of the set-out sums, taken from a job's own geometry.

use super::boards::{BoardWall, Boards, CourseJoints};
use super::columns::{Gap, JointStud, MOST_COURSES, Run};
use super::courses::{Building, Floors, Opening, Wall};
use super::framer::{Frame, USUAL_STUD_MM};
use super::outline::Outline;
use super::panels::{FloorJoint, Gaps, SetOut, WallOpening, columns_between};
use crate::building::{Corner, CornerKind, Job, Opening as JobOpening, Panel, Wall as JobWall};

/// Board ends of lapped boards stand on studs: apart by this much they stand on different ones, and never in line.
const NEVER_IN_LINE_MM: f64 = 1.0;

/// What a job does not say that a sum needs.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum JobError {
    /// No wall of that key.
    #[error("there is no wall '{0}' on this job")]
    NoWall(String),
    /// No `[panel]` table.
    #[error("the job file has no [panel] table")]
    NoPanel,
    /// A length of the wall is not known.
    #[error("wall {wall}: the {what} is not in the job file")]
    NotKnown {
        /// The wall.
        wall: String,
        /// What is not known.
        what: String,
    },
}

/// The wall of a key, and the job's panel.
fn wall_and_panel<'j>(job: &'j Job, key: &str) -> Result<(&'j JobWall, &'j Panel), JobError> {
    let wall = job.wall(key).ok_or_else(|| JobError::NoWall(key.to_owned()))?;
    Ok((wall, job.panel.as_ref().ok_or(JobError::NoPanel)?))
}

fn known(value: Option<f64>, wall: &JobWall, what: &str) -> Result<f64, JobError> {
    value.ok_or_else(|| JobError::NotKnown { wall: wall.key.clone(), what: what.to_owned() })
}

/// Both sides of an opening.
fn sides(opening: &JobOpening, wall: &JobWall) -> Result<(f64, f64), JobError> {
    let side = |side, name| known(side, wall, &format!("{} side of opening {}", name, opening.key));
    Ok((side(opening.from_mm, "left")?, side(opening.to_mm, "right")?))
}

/// The openings of a wall, where it says both sides of each.
fn openings_of(wall: &JobWall) -> Result<Vec<WallOpening>, JobError> {
    let opening = |opening: &JobOpening| {
        let (from_mm, to_mm) = sides(opening, wall)?;
        Ok(WallOpening { from_mm, to_mm, sill_mm: opening.sill_mm, head_mm: opening.head_mm })
    };
    wall.openings.iter().map(opening).collect()
}

/// Where the bottom edge of the cladding stands at a place of a wall whose base is raised there over the lowest of the
/// building's; `None` where it is not.
pub fn edge_over_base_mm(job: &Job, key: &str, at_mm: f64) -> Option<f64> {
    let lowest = job.walls.iter().filter_map(base_of).map(|base| base.lowest_mm()).reduce(f64::min)?;
    let base = base_of(job.wall(key)?)?.height_mm(at_mm);
    let gap_mm = job.panel.as_ref().and_then(|panel| panel.base_gap_mm).unwrap_or_default();
    (base > lowest).then_some(base + gap_mm)
}

/// What the job does not give of a wall, though something is there: its sums take it as nothing, and say so.
pub fn taken_as_nothing(job: &Job, wall: &JobWall) -> Option<String> {
    let panel = job.panel.as_ref()?;
    let corners = job.corners.iter().filter(|it| it.walls.contains(&wall.key) && it.kind != CornerKind::Mitred);
    let corners: Vec<&str> = corners.map(|corner| corner.key.as_str()).collect();
    let steps = |line: &[[f64; 2]]| line.windows(2).any(|pair| pair[0][0] == pair[1][0]);
    let mut lacking = Vec::new();
    if wall.ends.is_none() && !corners.is_empty() {
        lacking.push(format!("what is taken off the panels at {} ('ends' of the wall)", corners.join(" and ")));
    }
    if panel.base_gap_mm.is_none() && !wall.base.is_empty() {
        lacking.push("the gap over the base ('base_gap_mm')".to_owned());
    }
    if panel.step_gap_mm.is_none() && (steps(&wall.top) || steps(&wall.base)) {
        lacking.push("the gap beside a step ('step_gap_mm')".to_owned());
    }
    (!lacking.is_empty()).then(|| format!("Note: not in the job file, so taken as 0: {}.", lacking.join("; ")))
}

/// The upper outline of a wall.
fn top_of(wall: &JobWall) -> Result<Outline, JobError> {
    match wall.top.is_empty() {
        true => Ok(Outline::level(known(wall.height_mm, wall, "height")?)),
        false => Ok(Outline { points: wall.top.clone() }),
    }
}

/// The lower outline of a wall, where it has one.
fn base_of(wall: &JobWall) -> Option<Outline> {
    (!wall.base.is_empty()).then(|| Outline { points: wall.base.clone() })
}

/// How high a wall is where it is lowest and where it is highest, mm; `None` where the job does not say.
pub fn heights_mm(wall: &JobWall) -> Option<(f64, f64)> {
    let top = top_of(wall).ok()?;
    let base = base_of(wall).unwrap_or_else(|| Outline::level(0.0));
    Some((top.lowest_mm() - base.highest_mm(), top.highest_mm() - base.lowest_mm()))
}

/// Where the cladding of a wall begins and ends at a place, mm over the datum: not below its lowest course line. The whole
/// height, where the place is not known; nothing, where the height is not.
pub fn foot_and_top_mm(wall: &JobWall, along_mm: Option<f64>, lowest_mm: f64) -> Option<(f64, f64)> {
    let top = top_of(wall).ok()?;
    let Some(at) = along_mm else { return Some((lowest_mm, top.highest_mm())) };
    let foot = base_of(wall).map_or(lowest_mm, |base| base.height_mm(at).max(lowest_mm));
    Some((foot, top.height_mm(at)))
}

/// How much of a wall lies between two levels, its openings not taken off, mm²; nothing, where it has no length or height.
pub fn area_between_mm2(wall: &JobWall, low_mm: f64, high_mm: f64) -> Option<f64> {
    let length = wall.length_mm?;
    let within = |outline: &Outline| outline.area_below_mm2(high_mm, length) - outline.area_below_mm2(low_mm, length);
    Some(within(&top_of(wall).ok()?) - base_of(wall).as_ref().map_or(0.0, within))
}

/// At which place along a wall a corner of it stands, by the bearings of the two walls: seen from outside, the wall that
/// faces further round clockwise stands at the left end, at an internal corner at the right one.
pub fn corner_at_mm(job: &Job, corner: &Corner, wall: &JobWall) -> Option<f64> {
    let other = corner.walls.iter().filter(|key| **key != wall.key).find_map(|key| job.wall(key))?;
    let turn = (other.bearing_deg? - wall.bearing_deg?).rem_euclid(360.0);
    if turn == 0.0 || turn == 180.0 {
        return None;
    }
    let left = (turn < 180.0) != (corner.kind == CornerKind::Internal);
    if left { Some(0.0) } else { wall.length_mm }
}

/// The gaps round the pieces of a job.
pub fn gaps_of(panel: &Panel) -> Gaps {
    Gaps {
        lift_in_mm: panel.lift_in_mm,
        base_gap_mm: panel.base_gap_mm.unwrap_or_default(),
        step_gap_mm: panel.step_gap_mm.unwrap_or_default(),
        gap_mm: panel.gap_mm,
        head_gap_mm: panel.head_gap_mm.unwrap_or(panel.gap_mm),
        sill_gap_mm: panel.sill_gap_mm.unwrap_or(panel.gap_mm),
    }
}

/// What the columns of a wall are worked out from.
///
/// # Errors
/// [`JobError`] naming what the job does not say.
pub fn run_of(job: &Job, key: &str) -> Result<Run, JobError> {
    let (wall, panel) = wall_and_panel(job, key)?;
    let openings = wall
        .openings
        .iter()
        .map(|opening| {
            let (from_mm, to_mm) = sides(opening, wall)?;
            Ok(Gap { from_mm, to_mm })
        })
        .collect::<Result<_, JobError>>()?;
    Ok(Run {
        length_mm: known(wall.length_mm, wall, "length")?,
        panel_mm: panel.length_mm,
        least_mm: panel.least_column_mm,
        joint_mm: panel.joint_mm,
        studs_mm: wall.studs_mm.clone(),
        openings,
        clear_of_opening_mm: panel.clear_of_opening_mm,
        kerf_mm: panel.kerf_mm,
        // How many courses there are matters only where panels are counted, and that needs the kerf.
        courses: panel.kerf_mm.map(|_| wall.courses.clamp(1, MOST_COURSES)),
        ends: wall.ends.unwrap_or_default(),
        // Of a width alone nobody knows what an edge needs of it.
        stud_width_mm: panel.bearing_mm.and(panel.stud_width_mm),
        bearing_mm: panel.bearing_mm,
        drawn_mm: wall.joints.iter().filter_map(|joint| joint.at_mm).collect(),
    })
}

/// The frame behind a wall, with the studs that its joints need besides.
///
/// # Errors
/// [`JobError`] naming what the job does not say.
pub fn frame_of(job: &Job, key: &str, joints: &[JointStud]) -> Result<Frame, JobError> {
    let (wall, panel) = wall_and_panel(job, key)?;
    let end = |at: Option<f64>, plain: &str| {
        let corners = job.corners.iter().filter(|corner| corner.walls.iter().any(|other| other == key));
        let mut here = corners.filter(|corner| at.is_some() && corner_at_mm(job, corner, wall) == at);
        here.next().map_or_else(|| plain.to_owned(), |corner| format!("corner {}", corner.key))
    };
    Ok(Frame {
        studs_mm: wall.studs_mm.clone(),
        stud_width_mm: panel.stud_width_mm.unwrap_or(USUAL_STUD_MM.0),
        bearing_mm: panel.bearing_mm.unwrap_or(USUAL_STUD_MM.1),
        joints: joints.to_vec(),
        openings: wall.openings.iter().map(|opening| opening.key.clone()).collect(),
        ends: [end(Some(0.0), "left end"), end(wall.length_mm, "right end")],
    })
}

/// Where the starter line may run, and how far the panel hangs below it, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StartRange {
    /// The lowest start, over the datum.
    pub lowest_mm: f64,
    /// The highest.
    pub highest_mm: f64,
    /// How far the panel hangs below the start.
    pub overhang_mm: f64,
}

/// What the storey rod of some walls of the job is worked out from.
///
/// # Errors
/// [`JobError`] naming what the job does not say.
pub fn building_of<'j>(
    job: &Job,
    walls: impl IntoIterator<Item = &'j JobWall>,
    start: &StartRange,
) -> Result<Building, JobError> {
    let panel = job.panel.as_ref().ok_or(JobError::NoPanel)?;
    let gaps = gaps_of(panel);
    let walls = walls
        .into_iter()
        .map(|wall| {
            let opening =
                |o: &JobOpening| Opening { from_mm: o.from_mm, to_mm: o.to_mm, sill_mm: o.sill_mm, head_mm: o.head_mm };
            Ok(Wall {
                key: wall.key.clone(),
                top: top_of(wall)?,
                base: base_of(wall),
                openings: wall.openings.iter().map(opening).collect(),
            })
        })
        .collect::<Result<_, JobError>>()?;
    Ok(Building {
        cover_mm: panel.cover_mm,
        gains_mm: panel.cover_least_mm.zip(panel.cover_most_mm),
        overhang_mm: start.overhang_mm,
        lowest_mm: start.lowest_mm,
        highest_mm: start.highest_mm,
        least_piece_mm: panel.least_piece_mm,
        lift_in_mm: panel.lift_in_mm,
        head_gap_mm: gaps.head_gap_mm,
        sill_gap_mm: gaps.sill_gap_mm,
        base_gap_mm: gaps.base_gap_mm,
        floors: Floors {
            lines_mm: job.floor_lines_mm.clone(),
            gap_mm: panel.floor_gap_mm.unwrap_or_default(),
            range_mm: panel.floor_range_mm.unwrap_or_default(),
        },
        walls,
    })
}

/// The joints at the floor lines that a wall's courses are parted at. Courses that were kept before the job had a floor line
/// run past it, and have no joint there.
fn floor_joints(job: &Job, panel: &Panel, wall: &JobWall, courses_mm: &[f64]) -> Result<Vec<FloorJoint>, JobError> {
    let top_mm = top_of(wall)?.highest_mm();
    let (gap_mm, range_mm) = (panel.floor_gap_mm.unwrap_or_default(), panel.floor_range_mm.unwrap_or_default());
    let joint = |&floor_mm: &f64| {
        let over = courses_mm.iter().copied().find(|line| *line >= floor_mm)?;
        let begins = (floor_mm + gap_mm..=floor_mm + gap_mm + range_mm).contains(&over);
        let parts = floor_mm < top_mm && courses_mm.first().is_some_and(|lowest| *lowest < floor_mm);
        (begins && parts).then_some(FloorJoint { floor_mm, above_mm: over })
    };
    Ok(job.floor_lines_mm.iter().filter_map(joint).collect())
}

/// What the board ends of a wall of lapped boards are worked out from, once its courses are.
///
/// # Errors
/// [`JobError`] naming what the job does not say.
pub fn boards_of(job: &Job, key: &str, courses_mm: &[f64]) -> Result<BoardWall, JobError> {
    let (wall, panel) = wall_and_panel(job, key)?;
    let end_mm = top_of(wall)?.highest_mm() - panel.lift_in_mm;
    let joints = floor_joints(job, panel, wall, courses_mm)?;
    // Under a floor line a face ends at the joint, and not at the course above.
    let face_top = |above: f64| {
        let joint = joints.iter().find(|joint| joint.above_mm == above);
        joint.map_or(above, |joint| joint.floor_mm - panel.lift_in_mm)
    };
    let tops = courses_mm.iter().skip(1).copied().map(face_top).chain([end_mm]);
    Ok(BoardWall {
        length_mm: known(wall.length_mm, wall, "length")?,
        board_mm: panel.length_mm,
        least_mm: panel.least_column_mm,
        end_gap_mm: panel.joint_mm,
        stagger_mm: panel.stagger_mm.unwrap_or(NEVER_IN_LINE_MM),
        studs_mm: wall.studs_mm.clone(),
        ends: wall.ends.unwrap_or_default(),
        courses: courses_mm.iter().copied().zip(tops).map(|(bottom, top)| [bottom, top]).collect(),
        openings: openings_of(wall)?,
        gap_mm: panel.gap_mm,
        clear_of_opening_mm: panel.clear_of_opening_mm,
    })
}

/// The boards of each course between its board ends.
///
/// # Errors
/// [`JobError`] naming what the job does not say.
pub fn boards_between(job: &Job, key: &str, boards: &Boards) -> Result<Vec<Vec<Gap>>, JobError> {
    let (wall, panel) = wall_and_panel(job, key)?;
    let (length_mm, ends) = (known(wall.length_mm, wall, "length")?, wall.ends.unwrap_or_default());
    let (left_mm, right_mm) = (ends.left_mm, length_mm - ends.right_mm);
    let course = |course: &CourseJoints| columns_between(left_mm, right_mm, &course.joints_mm, panel.joint_mm);
    Ok(boards.courses.iter().map(course).collect())
}

/// What the pieces of a wall are counted from, once its columns and courses are worked out: one list of columns for all
/// courses, or one for each.
///
/// # Errors
/// [`JobError`] naming what the job does not say.
pub fn set_out_of(job: &Job, key: &str, mut columns: Vec<Vec<Gap>>, courses_mm: Vec<f64>) -> Result<SetOut, JobError> {
    let (wall, panel) = wall_and_panel(job, key)?;
    let length_mm = known(wall.length_mm, wall, "length")?;
    if let Some(ends) = wall.ends {
        // Columns that were kept before the job gave its ends run from 0 to the wall's length.
        for columns in &mut columns {
            columns.first_mut().into_iter().for_each(|first| first.from_mm = ends.left_mm);
            columns.last_mut().into_iter().for_each(|last| last.to_mm = length_mm - ends.right_mm);
        }
    }
    Ok(SetOut {
        length_mm,
        columns,
        floors: floor_joints(job, panel, wall, &courses_mm)?,
        courses_mm,
        board_height_mm: panel.board_height_mm(),
        top: top_of(wall)?,
        base: base_of(wall),
        openings: openings_of(wall)?,
        gaps: gaps_of(panel),
        panel_mm: Some(panel.length_mm),
        least_piece_mm: Some(panel.least_piece_mm),
    })
}
