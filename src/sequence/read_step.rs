//! The fields of a step and of what it asks.

use std::sync::Arc;

use strum::VariantNames;
use toml::Spanned;

use super::basis::basis;
use super::model::{Ask, AskKind, Step, Tolerance};
use super::names::Names;
use crate::building::{CornerKind, OpeningKind, SubjectKind};
use crate::form::{At, Count, Flag, Key, List, Name, Number, Section, Text, table, tables, word};
use crate::materials::product;
use crate::units::number::shortened;

/// Tolerances, in the ask's own unit.
const MEASURED: Number = Number(-1_000_000.0, 1_000_000.0);

/// A step of a stage that comes after the steps `before`.
pub(super) fn step(f: &Section<'_>, stage: usize, before: &[usize], names: &Names<'_>) -> Step {
    let key = f.required("key", Key, "short key");
    let title = f.required("title", Name, "what is done");
    // Where the word is wrong, that is the mistake: what depends on it isn't judged.
    let on: Option<SubjectKind> = f.try_required("on", word(), "what it is done to");
    const KEYS: List<At<Name>> = List(At(Name));
    let kinds = f.or_default("kinds", KEYS, "only on openings or corners of these kinds");
    check_kinds(f, on, &kinds);
    let mut after = names.steps(f, &f.or_default("after", KEYS, "steps or stages that come before it"));
    after.extend(before.iter().copied().filter(|step| !after.contains(step)).collect::<Vec<_>>());
    let step = Step {
        key,
        title,
        how: f.optional("how", Text, "how it is done, in a sentence or two"),
        stage,
        on: on.unwrap_or(SubjectKind::Job),
        kinds: kinds.into_iter().map(Spanned::into_inner).collect(),
        after,
        every: f.optional("every", Count(1, 1000), "asked of every n-th course or joint, and of the first and last"),
        in_turn: f.or_default("in_turn", Flag, "one after the other: course 2 after course 1"),
        cautions: names.cautions(f, &f.or_default("cautions", KEYS, "cautions acknowledged before it")),
        limits: names.limits(f, &f.or_default("limits", KEYS, "limits that must hold")),
        shows: f.or_default("shows", List(word()), "kept plans that are shown before it"),
        asks: f.or_default("ask", tables("ask", |part| Arc::new(ask(part, names))), "what is asked"),
    };
    f.unique("ask", "key");
    if !matches!(on, None | Some(SubjectKind::Course | SubjectKind::Joint)) {
        for key in ["every", "in_turn"].into_iter().filter(|key| f.has(key)) {
            f.mistake_in(key, format!("'{key}' is only for steps on a course or a joint"));
        }
    }
    step
}

fn check_kinds(f: &Section<'_>, on: Option<SubjectKind>, kinds: &[Spanned<String>]) {
    let known = match on {
        None => return,
        Some(SubjectKind::Opening) => OpeningKind::VARIANTS,
        Some(SubjectKind::Corner) => CornerKind::VARIANTS,
        Some(_) if kinds.is_empty() => return,
        Some(_) => return f.mistake_in("kinds", "'kinds' is only for steps on an opening or a corner"),
    };
    for kind in kinds.iter().filter(|kind| !known.contains(&kind.get_ref().as_str())) {
        let (word, on) = (shortened(kind.get_ref()), on.unwrap_or(SubjectKind::Job));
        let message = format!("'{word}' is not a kind of {on}; the kinds are {}", known.join(", "));
        f.mistake_at(kind.span().start, message);
    }
}

fn ask(f: &Section<'_>, names: &Names<'_>) -> Ask {
    let kind: Option<AskKind> =
        f.try_required("kind", word(), "what the answer is: length in mm, angle in degrees, temperature in °C");
    let accept = f.or_default("accept", List(At(Name)), "the choices that are in order; all of them when left out");
    let key = f.required("key", Key, "short key, as in --answer KEY=VALUE");
    let product = f.optional(
        "product",
        Key,
        "the product that a batch is of, such as panel, primer or sealant; what is used comes off its stock",
    );
    let by_key = || key.strip_suffix("-batch").filter(|key| product::known(key).is_some()).map(str::to_owned);
    let ask = Ask {
        prompt: f.required("prompt", Name, "the question"),
        kind: kind.unwrap_or(AskKind::Text),
        tolerance: Tolerance {
            least: f.optional("least", MEASURED, "least that is in tolerance"),
            most: f.optional("most", MEASURED, "most that is in tolerance"),
            accept: accept.iter().map(|word| word.get_ref().clone()).collect(),
        },
        usual: f.optional("usual", MEASURED, "the usual answer, offered for Enter"),
        planned: f.optional(
            "planned",
            word(),
            "a planned value that it is held against; asked only where that plan is kept",
        ),
        planned_value: None,
        within: f.or_default("within", Number(0.0, 1000.0), "how far from the planned value it may lie"),
        choices: f.or_default("choices", List(Name), "the words to choose from"),
        product: if kind == Some(AskKind::Batch) { product.or_else(by_key) } else { None },
        optional: f.or_default("optional", Flag, "may be left unanswered"),
        basis: f.optional("basis", table("basis", |part| basis(part, names)), "what its numbers rest on").flatten(),
        key,
    };
    for word in accept.iter().filter(|word| !ask.choices.contains(word.get_ref())) {
        f.mistake_at(word.span().start, format!("'{}' is not one of the choices", word.get_ref()));
    }
    check_ask(f, &ask, kind);
    ask
}

/// What holds between the fields of an ask; `kind` is none where the file has a wrong word.
fn check_ask(f: &Section<'_>, ask: &Ask, kind: Option<AskKind>) {
    use AskKind::{Angle, Batch, Choice, Count, Length, Percent, Temperature};
    let only_for = |key: &str, kinds: &[AskKind], what: &str| {
        if f.has(key) && kind.is_some_and(|kind| !kinds.contains(&kind)) {
            f.mistake_in(key, format!("'{key}' is only for {what}"));
        }
    };
    for key in ["least", "most", "usual"] {
        only_for(key, &[Length, Angle, Temperature, Percent, Count], "measured answers");
    }
    only_for("planned", &[Length], "asks of kind \"length\"");
    only_for("product", &[Batch], "asks of kind \"batch\"");
    only_for("choices", &[Choice], "asks of kind \"choice\"");
    if kind == Some(Choice) && ask.choices.is_empty() {
        f.mistake("an ask of kind \"choice\" needs 'choices'");
    }
    if f.has("planned") != f.has("within") {
        f.mistake("'planned' needs 'within', and 'within' needs 'planned'");
    }
    if f.has("planned") && ["least", "most", "usual"].iter().any(|key| f.has(key)) {
        f.mistake("'planned' sets the tolerance; remove 'least', 'most' and 'usual'");
    }
    let (least, most) = (ask.tolerance.least, ask.tolerance.most);
    if least.zip(most).is_some_and(|(least, most)| least > most) {
        f.mistake_in("most", "'most' is less than 'least'; swap them");
    } else if let Some(usual) = ask.usual
        && (least.is_some_and(|least| usual < least) || most.is_some_and(|most| usual > most))
    {
        f.mistake_in("usual", "'usual' is out of tolerance; change one or the other");
    }
    if ["least", "most", "usual", "within"].iter().any(|key| f.has(key)) && !f.has("basis") {
        f.mistake(
            "this ask has a number but no 'basis': add basis = { published = …, clause = … }, { document = … } or \
             { common_practice = … }",
        );
    }
}
