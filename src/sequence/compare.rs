//! What differs between two editions of a sequence: every number, hold point, window, limit and say.

use std::collections::BTreeMap;

use chrono::TimeDelta;
use serde::Serialize;

use super::model::{Ask, Authority, CountsFrom, Hold, Limit, Sequence, Step, StepIx, SurfaceRow, Window};
use crate::moment::span;
use crate::units::number::show;

/// Something that differs between two editions of a sequence.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct EditionChange {
    /// What it is of.
    pub kind: PartKind,
    /// Its key; of an ask `STEP.ASK`.
    pub key: String,
    /// What of it; absent where all of it is new or dropped.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub aspect: Option<&'static str>,
    /// What it was; absent where it is new.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub before: Option<String>,
    /// What it is; absent where it is dropped.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub after: Option<String>,
}

/// A part of a sequence that the rules go by. In the order in which changes are listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, strum::Display)]
#[serde(rename_all = "kebab-case")]
pub enum PartKind {
    /// A hold point.
    #[strum(to_string = "hold point")]
    Hold,
    /// A window.
    #[strum(to_string = "window")]
    Window,
    /// A limit on site conditions.
    #[strum(to_string = "limit")]
    Limit,
    /// A question of a step.
    #[strum(to_string = "question")]
    Ask,
    /// A step.
    #[strum(to_string = "step")]
    Step,
    /// A caution.
    #[strum(to_string = "caution")]
    Caution,
    /// Who has a say.
    #[strum(to_string = "authority to")]
    Authority,
}

/// What of a part the rules go by, each in words; what it does not have is left out.
type Aspects = BTreeMap<&'static str, String>;

impl EditionChange {
    /// The change in a line.
    pub fn in_words(&self) -> String {
        let Self { kind, key, aspect, before, after } = self;
        let none = || "none".to_owned();
        match aspect {
            None if after.is_none() => format!("{kind} {key} dropped"),
            None => format!("{kind} {key} new"),
            Some(aspect) => {
                let (was, is) = (before.clone().unwrap_or_else(none), after.clone().unwrap_or_else(none));
                format!("{kind} {key}, {aspect}: {is} (was {was})")
            }
        }
    }
}

/// Everything that the rules go by and that differs between two editions, hold points first.
pub fn changes(before: &Sequence, after: &Sequence) -> Vec<EditionChange> {
    let (was, is) = (parts(before), parts(after));
    let mut changes = Vec::new();
    for (part, old) in &was {
        let Some(new) = is.get(part) else {
            changes.push(whole(part, Some(old), None));
            continue;
        };
        let aspects = old.keys().chain(new.keys().filter(|aspect| !old.contains_key(*aspect)));
        let differing = aspects.filter(|aspect| old.get(*aspect) != new.get(*aspect));
        changes.extend(differing.map(|aspect| EditionChange {
            kind: part.0,
            key: part.1.clone(),
            aspect: Some(aspect),
            before: old.get(aspect).cloned(),
            after: new.get(aspect).cloned(),
        }));
    }
    changes
        .extend(is.iter().filter(|(part, _)| !was.contains_key(*part)).map(|(part, new)| whole(part, None, Some(new))));
    changes.sort();
    changes
}

fn whole((kind, key): &(PartKind, String), before: Option<&Aspects>, after: Option<&Aspects>) -> EditionChange {
    let words = |aspects: &Aspects| {
        aspects.iter().map(|(aspect, says)| format!("{aspect}: {says}")).collect::<Vec<_>>().join("; ")
    };
    EditionChange { kind: *kind, key: key.clone(), aspect: None, before: before.map(words), after: after.map(words) }
}

fn parts(sequence: &Sequence) -> BTreeMap<(PartKind, String), Aspects> {
    let mut parts = BTreeMap::new();
    for hold in &sequence.holds {
        parts.insert((PartKind::Hold, hold.key.clone()), of_hold(sequence, hold));
    }
    for window in &sequence.windows {
        parts.insert((PartKind::Window, window.key.clone()), of_window(sequence, window));
    }
    for limit in &sequence.limits {
        parts.insert((PartKind::Limit, limit.key.clone()), of_limit(limit));
    }
    for step in &sequence.steps {
        parts.insert((PartKind::Step, step.key.clone()), of_step(sequence, step));
        for ask in &step.asks {
            parts.insert((PartKind::Ask, format!("{}.{}", step.key, ask.key)), of_ask(ask));
        }
    }
    for caution in &sequence.cautions {
        parts.insert((PartKind::Caution, caution.key.clone()), aspects([("text", caution.text.clone())]));
    }
    let Authority { close, concede, adopt } = &sequence.authority;
    for (what, roles) in [("close", close), ("concede", concede), ("adopt", adopt)] {
        parts.insert((PartKind::Authority, what.to_owned()), aspects([("roles", roles.join(" or "))]));
    }
    parts
}

fn of_hold(sequence: &Sequence, hold: &Hold) -> Aspects {
    aspects([
        ("per", hold.per.to_string()),
        ("after", steps(sequence, &hold.after)),
        ("holds", steps(sequence, &hold.holds)),
        ("roles", hold.roles.join(" or ")),
    ])
}

fn of_window(sequence: &Sequence, window: &Window) -> Aspects {
    let row = |row: &SurfaceRow| {
        let bound = |word: &str, length: Option<TimeDelta>| length.map(|it| format!("{word} {}", span(it)));
        let bounds: Vec<String> =
            bound("not before", row.earliest).into_iter().chain(bound("not after", row.latest)).collect();
        format!("at {} °C {}", show(row.surface_c), bounds.join(", "))
    };
    let lapses: Vec<String> = window.lapses_on.iter().map(ToString::to_string).collect();
    aspects([
        ("from", steps(sequence, &[window.from])),
        ("to", steps(sequence, &[window.to])),
        (
            "counts from",
            if window.counts_from == CountsFrom::End { String::new() } else { window.counts_from.to_string() },
        ),
        ("earliest", time(window.earliest)),
        ("latest", time(window.latest)),
        ("warning", time(Some(window.warn).filter(|warn| !warn.is_zero()))),
        ("lapses on", lapses.join(", ")),
        ("redo from", steps(sequence, window.redo_from.as_slice())),
        ("handed on by", window.handed_on.clone().unwrap_or_default()),
        ("by surface", window.by_surface.iter().map(row).collect::<Vec<_>>().join("; ")),
        ("basis", window.basis.to_string()),
    ])
}

fn of_limit(limit: &Limit) -> Aspects {
    let between = |(least, most): (Option<f64>, Option<f64>), unit: &str| match (least, most) {
        (Some(least), Some(most)) => format!("{} to {} {unit}", show(least), show(most)),
        (Some(least), None) => format!("at least {} {unit}", show(least)),
        (None, Some(most)) => format!("at most {} {unit}", show(most)),
        (None, None) => String::new(),
    };
    aspects([
        ("reading within", span(limit.reading_within)),
        ("air", between(limit.air_c, "°C")),
        ("surface", between(limit.surface_c, "°C")),
        ("surface over dew point", between((limit.dew_margin_c, None), "°C")),
        ("humidity", between((None, limit.humidity_pct), "%")),
        ("wind", between((None, limit.wind_kmh), "km/h")),
        ("dry", flag(limit.dry)),
        ("basis", limit.basis.to_string()),
    ])
}

fn of_step(sequence: &Sequence, step: &Step) -> Aspects {
    let cautions: Vec<&str> = step.cautions.iter().map(|caution| &*sequence.cautions[*caution].key).collect();
    let limits: Vec<&str> = step.limits.iter().map(|limit| &*sequence.limits[*limit].key).collect();
    aspects([
        ("on", step.on.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")),
        ("which", step.which.map(|which| which.to_string()).unwrap_or_default()),
        ("kinds", step.kinds.join(", ")),
        ("after", steps(sequence, &step.after)),
        ("every", step.every.map(|every| every.to_string()).unwrap_or_default()),
        ("in turn", flag(step.in_turn)),
        ("daily", flag(step.daily)),
        ("gates", steps(sequence, &step.gates)),
        ("unless dry", flag(step.unless_dry)),
        ("up to head", flag(step.up_to_head)),
        ("cautions", cautions.join(", ")),
        ("limits", limits.join(", ")),
    ])
}

fn of_ask(ask: &Ask) -> Aspects {
    aspects([
        ("answer", ask.kind.word().to_owned()),
        ("tolerance", ask.tolerance_words()),
        ("square over", ask.square_over.map(|over| format!("{} mm", show(over))).unwrap_or_default()),
        ("choices", ask.choices.join(", ")),
        ("which", ask.which.map(|which| which.to_string()).unwrap_or_default()),
        (
            "not asked",
            ask.unless.as_ref().map(|it| format!("where {} is {}", it.ask, it.is.join(" or "))).unwrap_or_default(),
        ),
        ("asked once more", ask.doubt_below.map(|it| format!("below {}", show(it))).unwrap_or_default()),
        ("optional", flag(ask.optional)),
        (
            "basis",
            ask.bounds
                .iter()
                .map(|bound| &bound.basis)
                .chain(&ask.basis)
                .map(ToString::to_string)
                .collect::<Vec<_>>()
                .join("; "),
        ),
    ])
}

fn aspects<const N: usize>(all: [(&'static str, String); N]) -> Aspects {
    all.into_iter().filter(|(_, says)| !says.is_empty()).collect()
}

/// Steps by their keys, in the order of the alphabet: which of them a file names first has no meaning.
fn steps(sequence: &Sequence, indexes: &[StepIx]) -> String {
    let mut keys: Vec<&str> = indexes.iter().map(|step| sequence.steps[*step].key.as_str()).collect();
    keys.sort_unstable();
    keys.join(", ")
}

fn flag(is: bool) -> String {
    if is { "yes".to_owned() } else { String::new() }
}

fn time(length: Option<TimeDelta>) -> String {
    length.map(span).unwrap_or_default()
}
