//! Questions of a step, and what answer is in tolerance.

use std::str::FromStr;
use std::sync::Arc;

use strum::VariantNames;

use super::basis::{Basis, FigureKeys};
use super::row::Which;
use crate::units::number::show;
use crate::units::{Bounds, bounds};

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
    /// Not asked where an earlier ask of the step was answered so.
    pub unless: Option<Unless>,
    /// The usual answer, offered for Enter.
    pub usual: Option<f64>,
    /// Hardly anybody measures less: whoever types it is asked once more.
    pub doubt_below: Option<f64>,
    /// The planned value that it is held against; asked only where such a plan is kept.
    pub planned: Option<Planned>,
    /// That value, where the ask is put for a subject that has one: see [`Step::asks_with`](crate::sequence::Step::asks_with).
    pub planned_value: Option<f64>,
    /// How far from the planned value it may lie, in the ask's unit.
    pub within: f64,
    /// Answered by both diagonals of a frame; the number is how far its top stands sideways of its bottom in this much
    /// height, mm.
    pub square_over: Option<f64>,
    /// The wall's length, which a frame is taken to be wide, where the ask is put for a wall that has one.
    pub frame_mm: Option<f64>,
    /// How high the wall is at the least and at the most, mm, where the ask is put for a wall that says so.
    pub wall_heights_mm: Option<(f64, f64)>,
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

/// What was chosen at an earlier ask of a step, so that there is nothing more to ask.
#[derive(Debug, Clone)]
pub struct Unless {
    /// The earlier ask.
    pub ask: String,
    /// The choices.
    pub is: Vec<String>,
}

/// What an answer is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AskKind {
    /// A number.
    Measured(Measure),
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

/// What is measured, or counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
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
}

/// The kinds by the words for them in a sequence file.
const KINDS: [(&str, AskKind); 10] = [
    ("length", AskKind::Measured(Measure::Length)),
    ("angle", AskKind::Measured(Measure::Angle)),
    ("temperature", AskKind::Measured(Measure::Temperature)),
    ("percent", AskKind::Measured(Measure::Percent)),
    ("count", AskKind::Measured(Measure::Count)),
    ("choice", AskKind::Choice),
    ("yes-no", AskKind::YesNo),
    ("text", AskKind::Text),
    ("photo", AskKind::Photo),
    ("batch", AskKind::Batch),
];

impl AskKind {
    /// The word for it in a sequence file.
    pub fn word(self) -> &'static str {
        KINDS.iter().find(|(_, kind)| *kind == self).map_or("", |(word, _)| word)
    }
}

impl FromStr for AskKind {
    type Err = strum::ParseError;

    fn from_str(word: &str) -> Result<Self, Self::Err> {
        let found = KINDS.iter().find(|(known, _)| *known == word);
        found.map(|(_, kind)| *kind).ok_or(strum::ParseError::VariantNotFound)
    }
}

impl VariantNames for AskKind {
    const VARIANTS: &'static [&'static str] = &{
        let mut words = [""; KINDS.len()];
        let mut at = 0;
        while at < KINDS.len() {
            words[at] = KINDS[at].0;
            at += 1;
        }
        words
    };
}

impl Measure {
    /// What is taken of it at all, and its unit.
    pub fn bounds(self) -> Bounds {
        match self {
            Self::Length => bounds::LENGTH,
            Self::Angle => bounds::ANGLE,
            Self::Temperature => bounds::SURFACE,
            Self::Percent => bounds::PERCENT,
            Self::Count => bounds::COUNT,
        }
    }
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
    /// Centre of the first joint of a course's boards from the wall's left end.
    BoardEnd,
    /// Height of the notch in the board under a sill.
    SillNotch,
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

impl Ask {
    /// Whether it is asked once the asks before it are answered; `chosen` gives the choice made at one.
    pub fn is_asked<'a>(&self, chosen: impl FnOnce(&str) -> Option<&'a str>) -> bool {
        let Some(unless) = &self.unless else { return true };
        !chosen(&unless.ask).is_some_and(|choice| unless.is.iter().any(|it| it == choice))
    }

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
        if let AskKind::Measured(measure) = self.kind { measure.bounds().unit } else { "" }
    }

    /// Whether a number that answers it may be below zero.
    pub fn may_be_negative(&self) -> bool {
        self.tolerance.least.is_some_and(|least| least < 0.0)
            || matches!(self.kind, AskKind::Measured(Measure::Temperature | Measure::Angle))
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
