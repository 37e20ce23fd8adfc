//! The sequence as the rules use it: every reference resolved to an index.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{NaiveTime, TimeDelta};

use crate::building::{Job, Subject, SubjectKind};
use crate::materials::allowances::Allowance;
use crate::units::number::{show, sum};

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
    pub cautions: Vec<Caution>,
    /// Stages in order.
    pub stages: Vec<Stage>,
    /// All steps, stage by stage.
    pub steps: Vec<Step>,
    /// Hold points.
    pub holds: Vec<Hold>,
    /// Windows.
    pub windows: Vec<Window>,
    /// Limits.
    pub limits: Vec<Limit>,
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
    pub stage: usize,
    /// What it is done to: at least one kind.
    pub on: Vec<SubjectKind>,
    /// Only on some of a row of courses or joints.
    pub which: Option<Which>,
    /// Only on openings or corners of these kinds; all when empty.
    pub kinds: Vec<String>,
    /// Indexes of every step that comes before it, its stage's own order included.
    pub after: Vec<usize>,
    /// Asked of every n-th and of the first and last.
    pub every: Option<u32>,
    /// One after the other.
    pub in_turn: bool,
    /// Asked again on each site day.
    pub daily: bool,
    /// Indexes of the steps that wait, on every higher course or joint of the row, until it is done.
    pub gates: Vec<usize>,
    /// Not on openings and corners that the drawings leave dry.
    pub unless_dry: bool,
    /// On an opening: of the courses that it comes after, only those up to the one over the head.
    pub up_to_head: bool,
    /// Indexes of its cautions.
    pub cautions: Vec<usize>,
    /// Indexes of its limits.
    pub limits: Vec<usize>,
    /// Kept plans that are shown before it.
    pub shows: Vec<PlanShown>,
    /// What is asked; an answer keeps its ask as it was in force.
    pub asks: Vec<Arc<Ask>>,
}

/// A question of a step.
#[derive(Debug, Clone)]
pub struct Ask {
    /// Short key.
    pub key: String,
    /// The question.
    pub prompt: String,
    /// What the answer is.
    pub kind: AskKind,
    /// What is in tolerance.
    pub tolerance: Tolerance,
    /// The ask of the same step on whose answer the tolerance depends.
    pub by: Option<String>,
    /// The tolerance for each of that one's choices.
    pub bounds: Vec<ChoiceBound>,
    /// Only on some of a row of courses or joints.
    pub which: Option<Which>,
    /// The usual answer, offered for Enter.
    pub usual: Option<f64>,
    /// The planned value that it is held against; asked only where such a plan is kept.
    pub planned: Option<Planned>,
    /// That value, where the ask is put for a subject that has one: see [`Step::asks_with`].
    pub planned_value: Option<f64>,
    /// How far from the planned value it may lie, in the ask's unit.
    pub within: f64,
    /// The words to choose from.
    pub choices: Vec<String>,
    /// The product that a batch is of.
    pub product: Option<String>,
    /// May be left unanswered.
    pub optional: bool,
    /// What its numbers rest on.
    pub basis: Option<Basis>,
    /// The figures of the job that its bounds are taken from, where it gives them.
    pub figures: FigureKeys,
}

/// The tolerance of an ask where another was answered with one of its choices.
#[derive(Debug, Clone)]
pub struct ChoiceBound {
    /// The choice.
    pub choice: String,
    /// What is in tolerance then; none of `accept`.
    pub tolerance: Tolerance,
    /// What its numbers rest on.
    pub basis: Basis,
    /// The figures of the job that they are taken from, where it gives them.
    pub figures: FigureKeys,
}

/// By the name of a bound, such as `least`: the key of the job's figure that goes before it.
pub type FigureKeys = BTreeMap<&'static str, String>;

/// Some of a row of courses or joints, by their place in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, strum::Display, strum::EnumString, strum::VariantNames)]
#[strum(serialize_all = "kebab-case")]
pub enum Which {
    /// The lowest course, the leftmost joint.
    First,
    /// The highest course, the rightmost joint.
    Last,
    /// All but the first.
    AllButFirst,
    /// All but the last.
    AllButLast,
}

impl Which {
    /// Whether it takes a number of a row that ends with `last`.
    pub fn takes(self, number: u32, last: u32) -> bool {
        match self {
            Self::First => number == 1,
            Self::Last => number == last,
            Self::AllButFirst => number != 1,
            Self::AllButLast => number != last,
        }
    }
}

/// What an answer is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, strum::EnumString, strum::IntoStaticStr, strum::VariantNames)]
#[strum(serialize_all = "kebab-case")]
pub enum AskKind {
    /// Millimetres.
    Length,
    /// Degrees.
    Angle,
    /// Degrees Celsius.
    Temperature,
    /// Per cent.
    Percent,
    /// A whole number.
    Count,
    /// One of a few words.
    Choice,
    /// Yes or no; yes is in order.
    YesNo,
    /// Words.
    Text,
    /// A photo: a file name.
    Photo,
    /// A batch: what stands on the label.
    Batch,
}

/// A kept plan that a step shows before it asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, strum::EnumString, strum::VariantNames)]
#[strum(serialize_all = "kebab-case")]
pub enum PlanShown {
    /// The studs that the framer has to add.
    StudsToAdd,
    /// The packers for each fixing of the wall.
    Packing,
    /// The start and the height of each course.
    StoreyRod,
    /// What was ordered.
    TakeOff,
}

/// A planned value that a measurement is held against: see the set-out sums.
#[derive(Debug, Clone, Copy, PartialEq, Eq, strum::EnumString, strum::VariantNames)]
#[strum(serialize_all = "kebab-case")]
pub enum Planned {
    /// Height of the starter line.
    StartHeight,
    /// Height of the bottom of the course.
    CourseHeight,
    /// Height of the piece that closes the wall at its top.
    TopRip,
    /// Centre of the joint from the wall's left end.
    JointPosition,
}

/// What is in tolerance.
#[derive(Debug, Clone, Default)]
pub struct Tolerance {
    /// The least.
    pub least: Option<f64>,
    /// The most.
    pub most: Option<f64>,
    /// The choices in order; all when empty.
    pub accept: Vec<String>,
}

/// What a number rests on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Basis {
    /// A published source and its clause.
    Published {
        /// The source with its edition.
        source: String,
        /// The clause or table.
        clause: String,
    },
    /// A document that the job must hold, by its title.
    Document {
        /// Key of the document.
        key: String,
        /// Its title.
        title: String,
    },
    /// What the trade commonly does; no source.
    CommonPractice(String),
    /// Figures of the job go before what the sequence rests on.
    Figures {
        /// The bounds that the job's figures give, each with the paper and clause.
        held: Vec<(&'static str, String)>,
        /// Keys of figures that the job does not give.
        missing: Vec<String>,
        /// What the other numbers rest on, where there are any.
        own: Option<Box<Basis>>,
    },
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
    pub after: Vec<usize>,
    /// Steps that wait for it.
    pub holds: Vec<usize>,
    /// Roles that may release it.
    pub roles: Vec<String>,
    /// What the person who releases it looks at.
    pub look_at: Option<String>,
}

/// What makes a window lapse at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq, strum::Display, strum::EnumString, strum::VariantNames)]
#[strum(serialize_all = "kebab-case")]
pub enum LapseTrigger {
    /// A reading that says it rains.
    Rain,
    /// A reading of air or surface at 0 °C or below.
    Frost,
}

/// The time between two steps on one subject.
#[derive(Debug, Clone)]
pub struct Window {
    /// Short key.
    pub key: String,
    /// In a few words.
    pub title: String,
    /// The step that starts it.
    pub from: usize,
    /// The step that must fall inside it.
    pub to: usize,
    /// Whether it counts from the beginning of the first step or from its end.
    pub counts_from: CountsFrom,
    /// Not before this long after the first step.
    pub earliest: Option<TimeDelta>,
    /// Not after this long after the first step.
    pub latest: Option<TimeDelta>,
    /// Warn this long before it closes.
    pub warn: TimeDelta,
    /// What makes it lapse at once.
    pub lapses_on: Vec<LapseTrigger>,
    /// What is done when it has lapsed.
    pub redo: Option<String>,
    /// Other bounds by surface temperature, coldest first.
    pub by_surface: Vec<SurfaceRow>,
    /// What its times rest on.
    pub basis: Basis,
    /// The figures of the job that they are taken from, where it gives them.
    pub figures: FigureKeys,
}

/// What a window counts from.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, strum::Display, strum::EnumString, strum::VariantNames)]
#[strum(serialize_all = "kebab-case")]
pub enum CountsFrom {
    /// The beginning of the first step, where that is recorded: a skin forms from the first metre of the bead.
    Beginning,
    /// Its end.
    #[default]
    End,
}

/// Bounds at one surface temperature.
#[derive(Debug, Clone)]
pub struct SurfaceRow {
    /// Surface temperature, °C.
    pub surface_c: f64,
    /// Not before.
    pub earliest: Option<TimeDelta>,
    /// Not after.
    pub latest: Option<TimeDelta>,
}

/// Bounds on site conditions.
#[derive(Debug, Clone)]
pub struct Limit {
    /// Short key.
    pub key: String,
    /// In a few words.
    pub title: String,
    /// How old a reading may be.
    pub reading_within: TimeDelta,
    /// Air temperature, least and most, °C.
    pub air_c: (Option<f64>, Option<f64>),
    /// Surface temperature, least and most, °C.
    pub surface_c: (Option<f64>, Option<f64>),
    /// Surface over dew point, least, °C.
    pub dew_margin_c: Option<f64>,
    /// Relative humidity, most, %.
    pub humidity_pct: Option<f64>,
    /// Wind, most, km/h.
    pub wind_kmh: Option<f64>,
    /// No rain.
    pub dry: bool,
    /// What its numbers rest on.
    pub basis: Basis,
    /// The figures of the job that they are taken from, where it gives them.
    pub figures: FigureKeys,
}

/// How joints are sealed: the steps, how long each takes, and by what light.
#[derive(Debug, Clone)]
pub struct Sealing {
    /// The step that cleans and masks a joint.
    pub mask: Option<usize>,
    /// The step that primes it.
    pub prime: usize,
    /// The step that fills and tools it.
    pub gun: usize,
    /// The step that takes the tape off.
    pub tape_off: Option<usize>,
    /// The window from priming to gunning.
    pub window: usize,
    /// Masking, minutes a metre.
    pub mask_min_per_m: f64,
    /// Priming, minutes a metre.
    pub prime_min_per_m: f64,
    /// Gunning and tooling, minutes a metre.
    pub gun_min_per_m: f64,
    /// Taking the tape off, minutes a metre.
    pub tape_off_min_per_m: f64,
    /// The tape comes off this soon after gunning.
    pub tape_off_within: TimeDelta,
    /// That counts from the beginning of the bead, and by then the tape is off.
    pub from_bead: bool,
    /// Kept in hand at the end of the window; a tenth of it where it is `None`.
    pub margin: Option<TimeDelta>,
    /// No rain is to fall for this long after gunning.
    pub dry_after: TimeDelta,
    /// Nothing is masked or primed in the rain or for this long after it, where it is given.
    pub dry_before: Option<TimeDelta>,
    /// Nothing is done after this time of day.
    pub knock_off: Option<NaiveTime>,
    /// Joints may be primed and gunned in the sun.
    pub in_sun: bool,
    /// When the day ends.
    pub last_light: LastLight,
    /// What its numbers rest on.
    pub basis: Basis,
}

/// When it is too dark to seal.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, strum::EnumString, strum::VariantNames)]
#[strum(serialize_all = "kebab-case")]
pub enum LastLight {
    /// When the sun is down: dew follows.
    #[default]
    Sunset,
    /// At the end of civil twilight.
    Twilight,
}

impl Sequence {
    /// The products that batches are asked of.
    pub fn products(&self) -> impl Iterator<Item = &str> {
        self.steps.iter().flat_map(|step| &step.asks).filter_map(|ask| ask.product.as_deref())
    }

    /// Index of the step of this key.
    pub fn step(&self, key: &str) -> Option<usize> {
        self.steps.iter().position(|step| step.key == key)
    }

    /// Index of the hold point of this key.
    pub fn hold(&self, key: &str) -> Option<usize> {
        self.holds.iter().position(|hold| hold.key == key)
    }

    /// Index of the caution of this key.
    pub fn caution(&self, key: &str) -> Option<usize> {
        self.cautions.iter().position(|caution| caution.key == key)
    }

    /// Whether a step is asked of a subject at all: right sort, right kind, its turn in every n-th.
    pub fn asked_of(&self, step: usize, subject: &Subject, job: &Job) -> bool {
        let step = &self.steps[step];
        if !step.may_be_done_on(subject, job) {
            return false;
        }
        let (Some(every), Some(number)) = (step.every, subject.number()) else { return true };
        number == 1 || number == last_of_row(subject, job) || number % every == 0
    }
}

/// The number of the last course or joint of a subject's row.
fn last_of_row(subject: &Subject, job: &Job) -> u32 {
    let wall = subject.wall().and_then(|key| job.wall(key));
    wall.map_or(0, |wall| match subject {
        Subject::Joint { .. } => wall.joints.len() as u32,
        _ => wall.courses,
    })
}

/// Whether something that is only for some of a row is for a subject.
fn is_taken(which: Option<Which>, subject: &Subject, job: &Job) -> bool {
    let number = which.zip(subject.number());
    number.is_none_or(|(which, number)| which.takes(number, last_of_row(subject, job)))
}

impl Step {
    /// Whether the step is done to subjects of a kind.
    pub fn is_on(&self, kind: SubjectKind) -> bool {
        self.on.contains(&kind)
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
        let put = |ask: &Arc<Ask>| match ask.planned {
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

impl Ask {
    /// The question as the choice that was made decides: with that one's tolerance and basis.
    pub fn where_chosen(self: Arc<Self>, choice: Option<&str>) -> Arc<Self> {
        let Some(bound) = choice.and_then(|choice| self.bounds.iter().find(|bound| bound.choice == choice)) else {
            return self;
        };
        let (tolerance, basis) = (bound.tolerance.clone(), Some(bound.basis.clone()));
        Arc::new(Self { tolerance, basis, bounds: Vec::new(), ..Self::clone(&self) })
    }

    /// The unit of the answer, as written behind a number.
    pub fn unit(&self) -> &'static str {
        match self.kind {
            AskKind::Length => "mm",
            AskKind::Angle => "°",
            AskKind::Temperature => "°C",
            AskKind::Percent => "%",
            _ => "",
        }
    }

    /// The tolerance in words, before anything is typed; empty where anything goes.
    pub fn tolerance_words(&self) -> String {
        let unit = self.unit();
        let with = |n: f64| if unit.is_empty() { show(n) } else { format!("{} {unit}", show(n)) };
        if let Some(planned) = self.planned_value {
            return format!("planned {}, within ±{}", with(planned), with(self.within));
        }
        if self.planned.is_some() {
            return format!("as planned, within ±{}", with(self.within));
        }
        if !self.bounds.is_empty() {
            let bound = |bound: &ChoiceBound| format!("{} ({})", bounds_words(&bound.tolerance, &with), bound.choice);
            return self.bounds.iter().map(bound).collect::<Vec<_>>().join(", ");
        }
        match bounds_words(&self.tolerance, &with) {
            words if !words.is_empty() => words,
            _ if self.kind == AskKind::YesNo => "yes".to_owned(),
            _ => self.tolerance.accept.join(" or "),
        }
    }
}

/// The least and the most in words; empty where there is neither.
fn bounds_words(tolerance: &Tolerance, with: &dyn Fn(f64) -> String) -> String {
    match (tolerance.least, tolerance.most) {
        (Some(least), Some(most)) if least == -most => format!("within ±{}", with(most)),
        (Some(least), Some(most)) if least == most => format!("exactly {}", with(least)),
        (Some(least), Some(most)) => format!("{} to {}", show(least), with(most)),
        (Some(least), None) => format!("at least {}", with(least)),
        (None, Some(most)) => format!("at most {}", with(most)),
        (None, None) => String::new(),
    }
}

impl Default for Basis {
    /// Stands in for a basis that a file gives wrong, while its mistakes are gathered.
    fn default() -> Self {
        Self::CommonPractice(String::new())
    }
}

impl std::fmt::Display for Basis {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Published { source, clause } => write!(f, "{source}, {clause}"),
            Self::Document { title, .. } => write!(f, "{title} (held on the job)"),
            Self::CommonPractice(note) => write!(f, "common practice: {note}"),
            Self::Figures { held, missing, own } => {
                let alone = own.is_none() && held.len() == 1;
                let words = |(bound, source): &(&'static str, String)| match alone {
                    true => source.clone(),
                    false => format!("{}: {source}", bound.replace('_', " ")),
                };
                if !held.is_empty() {
                    write!(f, "the job's figure, {}", held.iter().map(words).collect::<Vec<_>>().join("; "))?;
                }
                let Some(own) = own else { return Ok(()) };
                let lead = if held.is_empty() { "" } else { "; for the rest " };
                write!(f, "{lead}{own}")?;
                match missing.is_empty() {
                    true => Ok(()),
                    false => write!(f, "; the job gives no figure of its own ({})", missing.join(", ")),
                }
            }
        }
    }
}
