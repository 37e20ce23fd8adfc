//! The sequence as the rules use it: every reference resolved to an index.

mod ask;
mod basis;
mod row;
mod step;
mod timing;

pub use ask::{Ask, AskKind, ChoiceBound, Measure, Planned, Tolerance, Unless};
pub use basis::{Basis, FigureKeys};
pub use row::Which;
pub use step::{PlanShown, Step};
pub use timing::{CountsFrom, LapseTrigger, LastLight, Limit, Sealing, SurfaceRow, Window};

use crate::building::{Job, Subject, SubjectKind};
use crate::index::{Indexed, Ix};
use crate::materials::allowances::Allowance;
use row::last_of_row;

/// The index of a caution in its sequence.
pub type CautionIx = Ix<Caution>;
/// The index of a stage in its sequence.
pub type StageIx = Ix<Stage>;
/// The index of a step in its sequence.
pub type StepIx = Ix<Step>;
/// The index of a hold point in its sequence.
pub type HoldIx = Ix<Hold>;
/// The index of a window in its sequence.
pub type WindowIx = Ix<Window>;
/// The index of a limit in its sequence.
pub type LimitIx = Ix<Limit>;

/// An install sequence.
#[derive(Debug, Clone)]
pub struct Sequence {
    /// Short key.
    pub key: String,
    /// What is put up, and how.
    pub title: String,
    /// Date or number of the edition.
    pub edition: String,
    /// What it defers to.
    pub comes_first: String,
    /// Roles that people may have.
    pub roles: Vec<String>,
    /// Who has a say over defects and over the sequence itself.
    pub authority: Authority,
    /// Documents that the job must hold.
    pub documents: Vec<Document>,
    /// Hazards.
    pub cautions: Indexed<Caution>,
    /// Stages in order.
    pub stages: Indexed<Stage>,
    /// All steps, stage by stage.
    pub steps: Indexed<Step>,
    /// Hold points.
    pub holds: Indexed<Hold>,
    /// Windows.
    pub windows: Indexed<Window>,
    /// Limits.
    pub limits: Indexed<Limit>,
    /// How joints are sealed: as the file says, or as is usual where it has the steps for it.
    pub sealing: Option<Sealing>,
    /// Lines of the take-off; [`usual_allowances`](super::usual_allowances) stand in where there are none.
    pub allowances: Vec<Allowance>,
    /// Care advice.
    pub care: Vec<String>,
    /// The file's text, as the job pins it.
    pub text: String,
    /// SHA-256 of the text, lower-case hex.
    pub sha256: String,
}

/// Roles with a say over defects and over the sequence itself.
#[derive(Debug, Clone, Default)]
pub struct Authority {
    /// Roles that may close a defect.
    pub close: Vec<String>,
    /// Roles that may give a concession.
    pub concede: Vec<String>,
    /// Roles that may adopt another edition.
    pub adopt: Vec<String>,
}

/// A document that the job must hold.
#[derive(Debug, Clone)]
pub struct Document {
    /// Short key.
    pub key: String,
    /// What it is.
    pub title: String,
}

/// A hazard.
#[derive(Debug, Clone)]
pub struct Caution {
    /// Short key.
    pub key: String,
    /// In a few words.
    pub title: String,
    /// What can happen and the usual precautions.
    pub text: String,
    /// Whose word comes first.
    pub defers_to: String,
    /// Sums of the day that are shown with it.
    pub shows: Vec<CautionSum>,
}

/// A sum of the day that is shown with a caution.
#[derive(Debug, Clone, Copy, PartialEq, Eq, strum::EnumString, strum::VariantNames)]
#[strum(serialize_all = "kebab-case")]
pub enum CautionSum {
    /// The heat index, by the last reading or the forecast.
    HeatIndex,
    /// Eight-hour average of dust, by the exposure kept today.
    Dust,
    /// Lifting index of a panel, alone and in pairs.
    Lifting,
}

/// A stage.
#[derive(Debug, Clone)]
pub struct Stage {
    /// Short key.
    pub key: String,
    /// What it is.
    pub title: String,
}

/// A hold point.
#[derive(Debug, Clone)]
pub struct Hold {
    /// Short key.
    pub key: String,
    /// What is to be released.
    pub title: String,
    /// Released wall by wall, or once for the job.
    pub per: SubjectKind,
    /// Steps that must be complete before it can be released.
    pub after: Vec<StepIx>,
    /// Steps that wait for it.
    pub holds: Vec<StepIx>,
    /// Roles that may release it.
    pub roles: Vec<String>,
    /// What the person who releases it looks at.
    pub look_at: Option<String>,
}

impl Sequence {
    /// The products that batches are asked of.
    pub fn products(&self) -> impl Iterator<Item = &str> {
        self.steps.iter().flat_map(|step| &step.asks).filter_map(|ask| ask.product.as_deref())
    }

    /// The titles of the documents that a job must hold and does not list among its papers.
    pub fn papers_lacking(&self, job: &Job) -> impl Iterator<Item = &str> {
        let lacking = |document: &&Document| job.papers.iter().all(|paper| paper.key != document.key);
        self.documents.iter().filter(lacking).map(|document| document.title.as_str())
    }

    /// Index of the step of this key.
    pub fn step(&self, key: &str) -> Option<StepIx> {
        self.steps.index_of(|step| step.key == key)
    }

    /// Index of the hold point of this key.
    pub fn hold(&self, key: &str) -> Option<HoldIx> {
        self.holds.index_of(|hold| hold.key == key)
    }

    /// Index of the caution of this key.
    pub fn caution(&self, key: &str) -> Option<CautionIx> {
        self.cautions.index_of(|caution| caution.key == key)
    }

    /// Whether a step is asked of a subject at all: right sort, right kind, its turn in every n-th.
    pub fn asked_of(&self, step: StepIx, subject: &Subject, job: &Job) -> bool {
        let step = &self.steps[step];
        if !step.may_be_done_on(subject, job) {
            return false;
        }
        let (Some(every), Some(number)) = (step.every, subject.number()) else { return true };
        number == 1 || number == last_of_row(subject, job) || number % every == 0
    }
}
