//! Figures of the job: bounds that a paper it holds gives, in the place of the sequence's own.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use chrono::TimeDelta;

use super::model::{Basis, ChoiceBound, FigureKeys, Limit, Sequence, Tolerance, Window};
use crate::building::{Figure, Job};
use crate::form::{Key, Section, table};
use crate::moment::Moment;

/// The figures of a job, and since when those hold that it was not set up with.
#[derive(Debug, Clone, Copy)]
pub struct FiguresInForce<'a> {
    /// The job.
    pub job: &'a Job,
    /// By the key of a figure: who revised it last, and when.
    pub revised: &'a BTreeMap<String, FigureRevised>,
}

/// Who revised a figure of the job, and when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FigureRevised {
    /// Who.
    pub by: String,
    /// When: it is in force from then.
    pub at: Moment,
}

impl FiguresInForce<'_> {
    /// Where a figure is from, and since when it holds where it was revised.
    pub fn source_of(&self, figure: &Figure) -> String {
        let source = self.job.source_of(figure);
        match self.revised.get(&figure.key) {
            Some(FigureRevised { by, at }) => format!("{source}, in force since {} (revised by {by})", at.full()),
            None => source,
        }
    }
}

/// The keys of the figures that go before the bounds of a part of the file: `figure` where it has one bound, `figures` by the
/// names of the bounds where it has several.
pub(super) fn figure_keys(f: &Section<'_>, bounds: &[&'static str]) -> FigureKeys {
    let one = f.optional("figure", Key, "key of the job's figure that goes before the bound, where the job gives it");
    let by_bound = |part: &Section<'_>| -> FigureKeys {
        let key = |bound: &&'static str| Some((*bound, part.optional(bound, Key, "key of the job's figure")?));
        bounds.iter().filter_map(key).collect()
    };
    let several = f.optional("figures", table("figures", by_bound), "the same for each of several bounds");
    let given: Vec<&'static str> = bounds.iter().copied().filter(|bound| f.has(bound)).collect();
    let mut keys = several.unwrap_or_default();
    for bound in keys.keys().filter(|bound| !given.contains(bound)) {
        f.mistake_in("figures", format!("'{bound}' has no number here to stand in where the job gives no figure"));
    }
    match (one, given.as_slice()) {
        (None, _) => {}
        (Some(key), [bound]) => {
            keys.insert(bound, key);
        }
        (Some(_), _) => f.mistake_in("figure", "'figure' goes with exactly one bound; write figures = { BOUND = KEY }"),
    }
    keys
}

/// Takes the figures that the job gives; the basis of what is in force then.
fn take(
    keys: &FigureKeys,
    bounds_given: usize,
    basis: Basis,
    figures: FiguresInForce<'_>,
    mut set: impl FnMut(&'static str, f64),
) -> Basis {
    if keys.is_empty() {
        return basis;
    }
    let (mut held, mut missing) = (Vec::new(), Vec::new());
    for (bound, key) in keys {
        match figures.job.figure(key) {
            Some(figure) => {
                set(bound, figure.value);
                held.push((*bound, figures.source_of(figure)));
            }
            None => missing.push(key.clone()),
        }
    }
    let own = (held.len() < bounds_given).then(|| Box::new(basis));
    Basis::Figures { held, missing, own }
}

fn minutes(value: f64) -> TimeDelta {
    TimeDelta::try_minutes(value.round() as i64).unwrap_or(TimeDelta::MAX)
}

impl Sequence {
    /// The keys of the figures that the sequence takes from the job, where the job gives them.
    pub fn figure_keys(&self) -> BTreeSet<&str> {
        let asks = self.steps.iter().flat_map(|step| &step.asks);
        let of_asks = asks.flat_map(|ask| ask.bounds.iter().map(|bound| &bound.figures).chain([&ask.figures]));
        let of_windows = self.windows.iter().map(|window| &window.figures);
        let of_limits = self.limits.iter().map(|limit| &limit.figures);
        let all = of_asks.chain(of_windows).chain(of_limits);
        all.flat_map(|keys| keys.values().map(String::as_str)).collect()
    }

    /// The least that the sequence requires where it names this figure of the job, in the unit of what it bounds, and what
    /// that rests on: the job's figure where it gives one.
    pub fn least(&self, figure: &str) -> Option<(f64, &Basis)> {
        let names = |keys: &FigureKeys| keys.get("least").is_some_and(|key| key == figure);
        self.steps.iter().flat_map(|step| &step.asks).find_map(|ask| {
            let bound = ask.bounds.iter().find(|bound| names(&bound.figures));
            let of_choice = bound.and_then(|bound| Some((bound.tolerance.least?, &bound.basis)));
            let of_ask = || Some((ask.tolerance.least.filter(|_| names(&ask.figures))?, ask.basis.as_ref()?));
            of_choice.or_else(of_ask)
        })
    }

    /// The sequence with the figures of a job in the place of its own, wherever it names one that the job gives.
    #[must_use]
    pub fn with_figures(mut self, figures: FiguresInForce<'_>) -> Self {
        for ask in self.steps.iter_mut().flat_map(|step| &mut step.asks) {
            if ask.figures.is_empty() && ask.bounds.iter().all(|bound| bound.figures.is_empty()) {
                continue;
            }
            let ask = Arc::make_mut(ask);
            if let Some(basis) = ask.basis.take() {
                ask.basis = Some(ask.tolerance.take_figures(&ask.figures, basis, figures));
            }
            for ChoiceBound { tolerance, basis, figures: keys, .. } in &mut ask.bounds {
                *basis = tolerance.take_figures(keys, std::mem::take(basis), figures);
            }
        }
        self.windows.iter_mut().for_each(|window| window.take_figures(figures));
        self.limits.iter_mut().for_each(|limit| limit.take_figures(figures));
        self
    }
}

impl Tolerance {
    fn take_figures(&mut self, keys: &FigureKeys, basis: Basis, figures: FiguresInForce<'_>) -> Basis {
        let given = [self.least, self.most].into_iter().flatten().count();
        take(keys, given, basis, figures, |bound, value| match bound {
            "least" => self.least = Some(value),
            _ => self.most = Some(value),
        })
    }
}

impl Window {
    fn take_figures(&mut self, figures: FiguresInForce<'_>) {
        let given = [self.earliest, self.latest].into_iter().flatten().count();
        let basis = std::mem::take(&mut self.basis);
        self.basis = take(&self.figures, given, basis, figures, |bound, value| match bound {
            "earliest" => self.earliest = Some(minutes(value)),
            _ => self.latest = Some(minutes(value)),
        });
    }
}

impl Limit {
    /// The bounds that a job's figure may go before, by their names in the file.
    pub(super) const BOUNDS: [&'static str; 7] = [
        "air_least_c",
        "air_most_c",
        "surface_least_c",
        "surface_most_c",
        "dew_margin_least_c",
        "humidity_most_pct",
        "wind_most_kmh",
    ];

    fn bound(&mut self, name: &str) -> &mut Option<f64> {
        match name {
            "air_least_c" => &mut self.air_c.0,
            "air_most_c" => &mut self.air_c.1,
            "surface_least_c" => &mut self.surface_c.0,
            "surface_most_c" => &mut self.surface_c.1,
            "dew_margin_least_c" => &mut self.dew_margin_c,
            "humidity_most_pct" => &mut self.humidity_pct,
            _ => &mut self.wind_kmh,
        }
    }

    fn take_figures(&mut self, figures: FiguresInForce<'_>) {
        let given = Self::BOUNDS.iter().filter(|bound| self.bound(bound).is_some()).count() + usize::from(self.dry);
        let (basis, keys) = (std::mem::take(&mut self.basis), self.figures.clone());
        self.basis = take(&keys, given, basis, figures, |bound, value| *self.bound(bound) = Some(value));
    }
}
