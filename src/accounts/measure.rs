//! How much there is of the building: square metres of wall and course net of openings, metres of starter line and of what
//! is sealed.

use crate::building::{Subject, SubjectIx, SubjectKind, Unit, Wall};
use crate::day::State;
use crate::index::Indexed;
use crate::setout::of_job::area_between_mm2;

/// The measures of a job.
#[derive(Debug, Clone)]
pub struct Measures {
    /// Square metres of walls and courses, by the index of the subject.
    areas_m2: Indexed<Subject, Option<f64>>,
    /// Metres of starter line on walls, and of what is sealed, by the index of the subject.
    lengths_m: Indexed<Subject, Option<f64>>,
    /// What could not be measured or taken off, in words.
    pub remarks: Vec<String>,
}

impl Measures {
    /// Measures a job by its file and by the storey rod, where one is kept.
    ///
    /// A wall reaches from the start of its courses (the datum where no rod is kept) to its height, a course to the
    /// next one's bottom; without a rod the courses of a wall are equally high. An opening without a sill reaches
    /// down to the start, one without a head up to the top. What is cut off at a joint or round an opening is not
    /// taken off: the measure is of the wall, not of the panels.
    pub fn of(state: &State) -> Self {
        let mut areas_m2: Indexed<Subject, Option<f64>> = state.subjects.all().iter().map(|_| None).collect();
        let length = |(index, subject): (SubjectIx, &Subject)| match subject {
            Subject::Wall(_) => state.starter_m(index),
            Subject::Joint { .. } | Subject::Opening { .. } | Subject::Corner(_) => state.sealed_m(index),
            Subject::Job | Subject::Course { .. } => None,
        };
        let mut lengths_m: Indexed<Subject, Option<f64>> = state.subjects.all().indexed().map(length).collect();
        let mut remarks = Vec::new();
        for wall in &state.job.walls {
            let Some(place) = state.subjects.index(&wall.key) else { continue };
            let (Some(length), Some(top)) = (wall.length_mm, wall.height_mm) else {
                remarks.push(format!("Wall {} has no length or no height in the job file: not measured.", wall.key));
                continue;
            };
            let bands = bands(wall, top, state.rod(place).map(|rod| rod.result.courses_mm));
            let areas: Vec<f64> = bands.iter().map(|band| area_m2(wall, length, *band)).collect();
            areas_m2[place] = Some(areas.iter().sum());
            let mut courses = areas.into_iter();
            for course in state.subjects.related(place, SubjectKind::Course) {
                areas_m2[*course] = courses.next();
            }
            // A joint that openings take whole is known: there is nothing of it.
            for joint in state.subjects.related(place, SubjectKind::Joint) {
                lengths_m[*joint].get_or_insert(0.0);
            }
            let unknown: Vec<&str> = wall
                .openings
                .iter()
                .filter(|opening| opening.from_mm.is_none() || opening.to_mm.is_none())
                .map(|opening| opening.key.as_str())
                .collect();
            if !unknown.is_empty() {
                let list = unknown.join(", ");
                remarks.push(format!("Wall {}: openings without a width are not taken off: {list}.", wall.key));
            }
        }
        Self { areas_m2, lengths_m, remarks }
    }

    /// How much there is of a subject in a unit; `None` where it is not known.
    pub fn get(&self, subject: SubjectIx, unit: Unit) -> Option<f64> {
        let known = |measures: &Indexed<Subject, Option<f64>>| measures.get(subject).copied().flatten();
        match unit {
            Unit::M2 => known(&self.areas_m2),
            Unit::M => known(&self.lengths_m),
            Unit::Each => Some(1.0),
        }
    }
}

/// Bottom and top of each course, or of the wall where it has none.
fn bands(wall: &Wall, top: f64, bottoms: Option<Vec<f64>>) -> Vec<(f64, f64)> {
    let courses = wall.courses as usize;
    let start = bottoms.as_ref().and_then(|bottoms| bottoms.first().copied()).filter(|start| *start < top);
    let start = start.unwrap_or(0.0);
    match bottoms.filter(|bottoms| bottoms.len() == courses && bottoms.is_sorted()) {
        Some(bottoms) if courses > 0 => {
            let tops = bottoms.iter().skip(1).copied().chain([top]);
            bottoms.iter().copied().zip(tops).map(|(low, high)| (low.min(top), high.min(top))).collect()
        }
        _ => {
            let many = courses.max(1);
            let height = (top - start) / many as f64;
            (0..many).map(|course| (start + height * course as f64, start + height * (course + 1) as f64)).collect()
        }
    }
}

fn overlap(a: (f64, f64), b: (f64, f64)) -> f64 {
    (a.1.min(b.1) - a.0.max(b.0)).max(0.0)
}

fn area_m2(wall: &Wall, length: f64, band: (f64, f64)) -> f64 {
    let cut: f64 = wall
        .openings
        .iter()
        .filter_map(|opening| Some((opening.from_mm?, opening.to_mm?, opening.height_within(band.0, band.1))))
        .map(|(from, to, height)| overlap((from, to), (0.0, length)) * height)
        .sum();
    let whole = area_between_mm2(wall, band.0, band.1).unwrap_or((band.1 - band.0) * length);
    (whole - cut).max(0.0) / 1e6
}
