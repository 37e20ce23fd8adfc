//! The framer's list: the timber that has to stand behind the edges of the cladding before the wrap goes on.
//!
//! Common practice, no source: each upright edge of the cladding (at a joint, at both ends of the run, on both sides of an
//! opening) bears on one stud, which may be there already if it stands in no opening; level and sloping edges that no course line carries (at sills,
//! heads, the base and the top) have blocking between the studs. A stud that is cut by an opening gives way to one that is
//! added, where both would take the same room. The drawings come first.

use serde::Serialize;

use super::columns::JointStud;
use super::columns::bearing::Faces;
use super::exact::{LengthError, mm, nearest_tick};
use super::panels::{SetOut, WallOpening};
use crate::units::number::show_mm;

/// The width of a stud, and what an edge needs on it, where the job gives neither; common practice, no source.
pub const USUAL_STUD_MM: (f64, f64) = (45.0, 20.0);

/// The frame behind a wall, and what its parts are called.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Frame {
    /// The centres of the studs that are there.
    pub studs_mm: Vec<f64>,
    /// The width of each.
    pub stud_width_mm: f64,
    /// What an edge needs on a stud.
    pub bearing_mm: f64,
    /// The studs that joints need besides.
    pub joints: Vec<JointStud>,
    /// The names of the openings, in the order of the wall's.
    pub openings: Vec<String>,
    /// What stands at the left and at the right end of the run.
    pub ends: [String; 2],
}

/// What the framer has to add.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Framer {
    /// Studs, from the left.
    pub studs: Vec<AddedStud>,
    /// Blocking, from the bottom.
    pub blocking: Vec<Blocking>,
    /// Edges that no further stud can bear: those that stand there leave no room.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub no_room: Vec<String>,
}

/// A stud to add.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AddedStud {
    /// Its centre from the framing's left end, in millimetres.
    pub at_mm: f64,
    /// Where cladding begins there, over the datum.
    pub bottom_mm: f64,
    /// Where it ends.
    pub top_mm: f64,
    /// The edges that it bears.
    pub serves: Vec<String>,
    /// The centres of given studs, cut by an opening, that it takes the place of: over or under the opening they would
    /// stand in its room.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub instead_of_mm: Vec<f64>,
}

/// Timber between studs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Blocking {
    /// Where it begins, in millimetres from the framing's left end.
    pub from_mm: f64,
    /// Where it ends.
    pub to_mm: f64,
    /// The height of the edge that it bears, over the datum, at its beginning.
    pub height_mm: f64,
    /// The same at its end: another one where the edge slopes.
    pub to_height_mm: f64,
    /// The edge that it bears.
    pub serves: String,
}

/// The studs and the blocking to add.
///
/// # Errors
/// [`LengthError`] for a place that is on no wall.
///
/// # Example
/// ```
/// use cladlog::setout::columns::Gap;
/// use cladlog::setout::framer::{Frame, framer};
/// use cladlog::setout::outline::Outline;
/// use cladlog::setout::panels::{Gaps, SetOut, WallOpening};
/// let wall = SetOut {
///     length_mm: 1200.0, columns: vec![vec![Gap { from_mm: 0.0, to_mm: 1200.0 }]], courses_mm: vec![0.0],
///     board_height_mm: 2400.0, top: Outline::level(2400.0), base: None, gaps: Gaps::default(),
///     openings: vec![WallOpening { from_mm: 300.0, to_mm: 900.0, sill_mm: Some(900.0), head_mm: Some(2100.0) }],
///     panel_mm: None, least_piece_mm: None, floors: Vec::new(),
/// };
/// let frame = Frame {
///     studs_mm: vec![22.5, 277.5, 600.0, 1177.5], stud_width_mm: 45.0, bearing_mm: 20.0, joints: Vec::new(),
///     openings: vec!["O1".into()], ends: ["corner A".into(), "corner B".into()],
/// };
/// // A stud stands at its left side and at both corners; at its right side one has to be added.
/// let list = framer(&wall, &frame).unwrap();
/// assert_eq!((list.studs.len(), list.studs[0].at_mm), (1, 922.5));
/// assert_eq!(list.studs[0].serves, ["right side of O1"]);
/// ```
pub fn framer(wall: &SetOut, frame: &Frame) -> Result<Framer, LengthError> {
    let mut list = List { faces: faces(wall, frame)?, added: Vec::new(), no_room: Vec::new() };
    for stud in &frame.joints {
        list.bear_joint(wall, stud)?;
    }
    let (left, right) = wall.ends_mm();
    let [left_end, right_end] = &frame.ends;
    let end = |name: &String| Edge { serves: name.clone(), beside: None };
    list.bear_right_of(nearest_tick("end", left.max(0.0))?, end(left_end));
    list.bear_left_of(nearest_tick("end", right.min(wall.length_mm))?, end(right_end));
    for (place, (name, opening)) in frame.openings.iter().zip(&wall.openings).enumerate() {
        let side = |side: &str| Edge { serves: format!("{side} side of {name}"), beside: Some(place) };
        let edge = |mm: f64| nearest_tick("opening", mm);
        let (from, to) = (edge(opening.from_mm - wall.gaps.gap_mm)?, edge(opening.to_mm + wall.gaps.gap_mm)?);
        // An opening at an end of the run has no cladding beside it there.
        if opening.from_mm > left {
            list.bear_left_of(from, side("left"));
        }
        if opening.to_mm < right {
            list.bear_right_of(to, side("right"));
        }
    }
    list.added.sort_by_key(|(at, _)| *at);
    let stud = |(at, edges): (i64, Vec<Edge>)| {
        let at_mm = mm(at);
        let reaches = edges.iter().map(|edge| reach(wall, at_mm, edge.beside));
        let (bottom_mm, top_mm) = reaches
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(bottom, top), (low, high)| (bottom.min(low), top.max(high)));
        let cut = frame.studs_mm.iter().copied().filter(|stud| wall.openings.iter().any(|it| it.stops_stud(*stud)));
        AddedStud {
            at_mm,
            bottom_mm,
            top_mm,
            serves: edges.into_iter().map(|edge| edge.serves).collect(),
            instead_of_mm: cut.filter(|cut| (cut - at_mm).abs() < frame.stud_width_mm).collect(),
        }
    };
    Ok(Framer {
        studs: list.added.into_iter().map(stud).collect(),
        blocking: blocking(wall, frame),
        no_room: list.no_room,
    })
}

/// From where to where a stud stands: from the foot of the cladding to its top, or beside an opening to the head of one
/// below it and the sill of one above it, where those stand in its way.
fn reach(wall: &SetOut, at_mm: f64, beside: Option<usize>) -> (f64, f64) {
    let (foot, top) = (wall.foot_mm(at_mm), wall.top.height_mm(at_mm));
    let Some(own) = beside.and_then(|place| wall.openings.get(place)) else { return (foot, top) };
    let level = |opening: &WallOpening| (opening.sill_mm.unwrap_or(foot), opening.head_mm.unwrap_or(top));
    let (sill, head) = level(own);
    let in_the_way = wall.openings.iter().filter(|other| other.stops_stud(at_mm));
    in_the_way.map(level).fold((foot, top), |(low, high), (other_sill, other_head)| {
        if other_head <= sill {
            (low.max(other_head), high)
        } else if other_sill >= head {
            (low, high.min(other_sill))
        } else {
            (low, high)
        }
    })
}

/// The studs that stand from the foot to the top: one whose centre is in an opening, or on its side, ends under it or begins
/// over it.
fn faces(wall: &SetOut, frame: &Frame) -> Result<Faces, LengthError> {
    let studs = frame.studs_mm.iter().filter(|stud| !wall.openings.iter().any(|opening| opening.stops_stud(**stud)));
    let mut studs: Vec<i64> = studs.map(|stud| nearest_tick("stud", *stud)).collect::<Result<_, _>>()?;
    studs.sort_unstable();
    let width = nearest_tick("stud width", frame.stud_width_mm)?;
    Ok(Faces { studs, width, bearing: nearest_tick("bearing", frame.bearing_mm)?, joint: 0 })
}

/// The studs while the list grows: what was added for one edge may bear another.
struct List {
    faces: Faces,
    /// Centres, with the edges that each bears.
    added: Vec<(i64, Vec<Edge>)>,
    no_room: Vec<String>,
}

/// An upright edge of the cladding.
#[derive(Clone)]
struct Edge {
    serves: String,
    /// The opening that it is a side of.
    beside: Option<usize>,
}

impl List {
    fn add(&mut self, at: i64, edge: Edge) {
        match self.added.iter_mut().find(|(added, _)| *added == at) {
            Some((_, all)) => all.push(edge),
            None => {
                self.faces.studs.insert(self.faces.studs.partition_point(|stud| *stud < at), at);
                self.added.push((at, vec![edge]));
            }
        }
    }

    /// Takes the stud that a joint needs; where one that stands there leaves no room for it, each edge of the joint is borne
    /// by itself.
    fn bear_joint(&mut self, wall: &SetOut, stud: &JointStud) -> Result<(), LengthError> {
        let at = nearest_tick("stud", stud.at_mm)?;
        let joint = format!("joint at {} mm", show_mm(stud.joint_mm));
        let edge = |serves: String| Edge { serves, beside: None };
        if self.added.iter().any(|(added, _)| *added == at) || self.faces.stands(at) {
            self.add(at, edge(joint));
            return Ok(());
        }
        let columns = wall.columns.first().map_or(&[][..], Vec::as_slice);
        let gaps = columns.windows(2).map(|pair| (pair[0].to_mm, pair[1].from_mm));
        let off = |(left, right): &(f64, f64)| ((left + right) / 2.0 - stud.joint_mm).abs();
        let gap = gaps.min_by(|one, other| off(one).total_cmp(&off(other)));
        let (left, right) = gap.unwrap_or((stud.joint_mm, stud.joint_mm));
        self.bear_left_of(nearest_tick("joint", left)?, edge(format!("{joint}, left edge")));
        self.bear_right_of(nearest_tick("joint", right)?, edge(format!("{joint}, right edge")));
        Ok(())
    }

    /// Bears an edge whose cladding lies to its right.
    fn bear_right_of(&mut self, at: i64, edge: Edge) {
        let half = self.faces.width / 2;
        self.bear((at + self.faces.bearing - half, at + half), at + half, edge);
    }

    /// Bears an edge whose cladding lies to its left.
    fn bear_left_of(&mut self, at: i64, edge: Edge) {
        let half = self.faces.width / 2;
        self.bear((at - half, at - self.faces.bearing + half), at - half, edge);
    }

    /// Bears an edge by a stud whose centre lies in a range: the one that is there, or one as near as can be to where it
    /// is wished.
    fn bear(&mut self, range: (i64, i64), wished: i64, edge: Edge) {
        if let Some(given) = self.faces.given(range) {
            // One that was there before is not on the list.
            self.added.iter_mut().filter(|(at, _)| *at == given).for_each(|(_, all)| all.push(edge.clone()));
            return;
        }
        match self.faces.free(range, wished) {
            Some(at) => self.add(at, edge),
            None => self.no_room.push(edge.serves),
        }
    }
}

/// Blocking at the level and sloping edges that no course line carries.
fn blocking(wall: &SetOut, frame: &Frame) -> Vec<Blocking> {
    let ends = wall.ends_mm();
    let mut rows: Vec<Blocking> = Vec::new();
    let top = wall.top.legs_between(ends).map(|leg| (leg, -wall.gaps.lift_in_mm, "top edge"));
    let base = wall.base.iter().flat_map(|base| base.legs_between(ends));
    let base = base.filter(|[from, to]| from[1].max(to[1]) > wall.lowest_mm());
    for ([from, to], up_mm, serves) in top.chain(base.map(|leg| (leg, wall.gaps.base_gap_mm, "base"))) {
        rows.push(Blocking {
            from_mm: from[0],
            to_mm: to[0],
            height_mm: from[1] + up_mm,
            to_height_mm: to[1] + up_mm,
            serves: serves.to_owned(),
        });
    }
    for joint in &wall.floors {
        for (from_mm, to_mm) in wall.along_mm(joint.floor_mm) {
            for (height_mm, serves) in
                [(joint.floor_mm, "below the floor line"), (joint.above_mm, "above the floor line")]
            {
                rows.push(Blocking { from_mm, to_mm, height_mm, to_height_mm: height_mm, serves: serves.to_owned() });
            }
        }
    }
    for (name, opening) in frame.openings.iter().zip(&wall.openings) {
        let level = |height_mm: f64, serves: &str| Blocking {
            from_mm: opening.from_mm,
            to_mm: opening.to_mm,
            height_mm,
            to_height_mm: height_mm,
            serves: format!("{serves} of {name}"),
        };
        let WallOpening { sill_mm, head_mm, .. } = opening;
        let middle = (opening.from_mm + opening.to_mm) / 2.0;
        let sill = sill_mm.filter(|sill| *sill > wall.foot_mm(middle));
        let head = head_mm.filter(|head| *head < wall.top.height_mm(middle));
        rows.extend(sill.map(|sill| level(sill - wall.gaps.sill_gap_mm, "sill")));
        rows.extend(head.map(|head| level(head + wall.gaps.head_gap_mm, "head")));
    }
    rows.sort_by(|a, b| a.height_mm.total_cmp(&b.height_mm).then(a.from_mm.total_cmp(&b.from_mm)));
    rows
}
