//! Steps, and what they are asked of.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::ask::{Ask, Planned};
use super::row::{Which, is_taken};
use super::{CautionIx, LimitIx, StageIx, StepIx};
use crate::building::{Job, Subject, SubjectKind};
use crate::setout::of_job::heights_mm;
use crate::units::number::sum;

/// A step.
#[derive(Debug, Clone)]
pub struct Step {
    /// Short key.
    pub key: String,
    /// What is done.
    pub title: String,
    /// How, in a sentence or two.
    pub how: Option<String>,
    /// Index of its stage.
    pub stage: StageIx,
    /// What it is done to: at least one kind.
    pub on: Vec<SubjectKind>,
    /// Only on some of a row of courses or joints.
    pub which: Option<Which>,
    /// Only on openings or corners of these kinds; all when empty.
    pub kinds: Vec<String>,
    /// Indexes of every step that comes before it, its stage's own order included.
    pub after: Vec<StepIx>,
    /// Asked of every n-th and of the first and last.
    pub every: Option<u32>,
    /// One after the other.
    pub in_turn: bool,
    /// Asked again on each site day.
    pub daily: bool,
    /// Indexes of the steps that wait, on every higher course or joint of the row, until it is done.
    pub gates: Vec<StepIx>,
    /// Not on openings and corners that the drawings leave dry.
    pub unless_dry: bool,
    /// On an opening: of the courses that it comes after, only those up to the one over the head.
    pub up_to_head: bool,
    /// Indexes of its cautions.
    pub cautions: Vec<CautionIx>,
    /// Indexes of its limits.
    pub limits: Vec<LimitIx>,
    /// What is shown before it: kept plans, papers that are lacking.
    pub shows: Vec<PlanShown>,
    /// What is asked; an answer keeps its ask as it was in force.
    pub asks: Vec<Arc<Ask>>,
}

/// What a step shows before it asks: mostly a kept plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, strum::EnumString, strum::VariantNames)]
#[strum(serialize_all = "kebab-case")]
pub enum PlanShown {
    /// The studs that the framer has to add.
    StudsToAdd,
    /// The packers for each fixing of the wall.
    Packing,
    /// The start and the height of each course.
    StoreyRod,
    /// The pieces of a course: length, rip, notches.
    Pieces,
    /// What was ordered.
    TakeOff,
    /// The documents that the job does not list among its papers.
    PapersLacking,
}

impl Step {
    /// Whether the step is done to subjects of a kind.
    pub fn is_on(&self, kind: SubjectKind) -> bool {
        self.on.contains(&kind)
    }

    /// Whether it sets the starter line: it asks for the height that the storey rod gives for that.
    pub fn sets_starter(&self) -> bool {
        self.asks.iter().any(|ask| ask.planned == Some(Planned::StartHeight))
    }

    /// The kinds that it is done to, each with its article: "a joint or an opening".
    pub fn on_words(&self) -> String {
        self.on.iter().map(|kind| kind.a_word()).collect::<Vec<_>>().join(" or ")
    }

    /// Whether the step can be recorded on a subject: the right sort, kind and place in its row, every n-th or not.
    pub fn may_be_done_on(&self, subject: &Subject, job: &Job) -> bool {
        self.is_on(subject.kind())
            && (self.kinds.is_empty() || self.kinds.iter().any(|kind| kind == job.kind_of(subject)))
            && is_taken(self.which, subject, job)
            && !(self.unless_dry && job.is_dry(subject))
    }

    /// The questions of the step on a subject where these values are planned, by key of the ask.
    ///
    /// One that is held against a plan gets its tolerance from there; without a plan it is not asked.
    pub fn asks_with(&self, subject: &Subject, job: &Job, planned: &BTreeMap<String, f64>) -> Vec<Arc<Ask>> {
        let wall = subject.wall().and_then(|key| job.wall(key));
        let frame_mm = wall.and_then(|wall| wall.length_mm);
        let wall_heights_mm = wall.and_then(heights_mm);
        let put = |ask: &Arc<Ask>| match ask.planned {
            None if ask.square_over.is_some() => Some(Arc::new(Ask { frame_mm, wall_heights_mm, ..Ask::clone(ask) })),
            None => Some(Arc::clone(ask)),
            Some(_) => {
                let planned = *planned.get(&ask.key)?;
                let mut ask = Ask::clone(ask);
                ask.planned_value = Some(planned);
                ask.tolerance.least = Some(sum(planned, -ask.within));
                ask.tolerance.most = Some(sum(planned, ask.within));
                ask.usual = None;
                Some(Arc::new(ask))
            }
        };
        self.asks.iter().filter(|ask| is_taken(ask.which, subject, job)).filter_map(put).collect()
    }
}
