//! The fields of a step and of what it asks.

use std::sync::Arc;

use strum::VariantNames;
use toml::Spanned;

use super::basis::{basis, required_basis};
use super::figures::figure_keys;
use super::model::{Ask, AskKind, ChoiceBound, Measure, StageIx, Step, StepIx, Tolerance, Unless};
use super::names::Names;
use crate::building::{CornerKind, OpeningKind, SubjectKind};
use crate::form::{At, Count, Flag, Key, List, Name, Number, OneOrMore, Section, Text, table, tables, word};
use crate::materials::product;
use crate::units::number::shortened;

/// Tolerances, in the ask's own unit.
const MEASURED: Number = Number(-1_000_000.0, 1_000_000.0);

/// A step of a stage that comes after the steps `before`.
pub(super) fn step(f: &Section<'_>, stage: StageIx, before: &[StepIx], names: &Names<'_>) -> Step {
    let key = f.required("key", Key, "short key");
    let title = f.required("title", Name, "what is done");
    let on: Vec<SubjectKind> = f.required("on", OneOrMore(word()), "what it is done to, or a list of that");
    const KEYS: List<At<Name>> = List(At(Name));
    let kinds = f.or_default("kinds", KEYS, "only on openings or corners of these kinds");
    check_kinds(f, &on, &kinds);
    let mut after = names.steps(f, &f.or_default("after", KEYS, "steps or stages that come before it"));
    after.extend(before.iter().copied().filter(|step| !after.contains(step)).collect::<Vec<_>>());
    let step = Step {
        key,
        title,
        how: f.optional("how", Text, "how it is done, in a sentence or two"),
        stage,
        on,
        which: f.optional(
            "which",
            word(),
            "only on some of a row of courses or joints: first, last, all-but-first, all-but-last",
        ),
        kinds: kinds.into_iter().map(Spanned::into_inner).collect(),
        after,
        every: f.optional("every", Count(1, 1000), "asked of every n-th course or joint, and of the first and last"),
        in_turn: f.or_default("in_turn", Flag, "one after the other: course 2 after course 1"),
        daily: f.or_default("daily", Flag, "asked again on each site day"),
        gates: names.steps(f, &f.or_default("gates", KEYS, "steps that wait for it on every higher course or joint")),
        unless_dry: f.or_default("unless_dry", Flag, "not on openings and corners that the job file calls dry"),
        up_to_head: f.or_default(
            "up_to_head",
            Flag,
            "on an opening: after the courses up to the one over its head, not all",
        ),
        cautions: names.cautions(f, &f.or_default("cautions", KEYS, "cautions acknowledged before it")),
        limits: names.limits(f, &f.or_default("limits", KEYS, "limits that must hold")),
        shows: f.or_default("shows", List(word()), "what is shown before it: kept plans, papers that the job lacks"),
        asks: f.or_default("ask", tables("ask", |part| Arc::new(ask(part, names))), "what is asked"),
    };
    f.unique("ask", "key");
    let row = [SubjectKind::Course, SubjectKind::Joint];
    if !step.on.iter().all(|kind| row.contains(kind)) {
        for key in ["every", "in_turn", "gates", "which"].into_iter().filter(|key| f.has(key)) {
            f.mistake_in(key, format!("'{key}' is only for steps on a course or a joint"));
        }
    }
    if step.up_to_head && step.on != [SubjectKind::Opening] {
        f.mistake_in("up_to_head", "'up_to_head' is only for steps on an opening");
    }
    for (part, ask) in f.peek("ask").iter().zip(&step.asks) {
        if ask.square_over.is_some() && step.on != [SubjectKind::Wall] {
            part.mistake_in("square_over", "'square_over' is only for steps on a wall");
        }
        check_by(part, ask, &step.asks);
        check_unless(part, ask, &step.asks);
    }
    step
}

fn unless(f: &Section<'_>) -> Unless {
    Unless {
        ask: f.required("ask", Key, "the earlier ask of this step, a choice"),
        is: f.required("is", OneOrMore(Name), "what was chosen there, or a list of that"),
    }
}

/// What holds between an ask that another may make needless, and that one.
fn check_unless(f: &Section<'_>, ask: &Ask, all: &[Arc<Ask>]) {
    let Some(Unless { ask: earlier, is }) = &ask.unless else { return };
    let mut before = all.iter().take_while(|other| other.key != ask.key);
    let Some(chosen) = before.find(|other| other.key == *earlier && other.kind == AskKind::Choice) else {
        return f.mistake_in("unless", format!("there is no ask '{earlier}' of kind \"choice\" before this one"));
    };
    for choice in is.iter().filter(|choice| !chosen.choices.contains(choice)) {
        f.mistake_in("unless", format!("'{choice}' is not one of the choices of '{earlier}'"));
    }
}

/// What holds between an ask whose tolerance depends on a choice, and the ask of that choice.
fn check_by(f: &Section<'_>, ask: &Ask, all: &[Arc<Ask>]) {
    let Some(by) = &ask.by else { return };
    let Some(chosen) = all.iter().find(|other| other.key == *by && other.kind == AskKind::Choice) else {
        return f.mistake_in("by", format!("there is no ask '{by}' of kind \"choice\" in this step"));
    };
    if chosen.optional {
        f.mistake_in("by", format!("'{by}' may be left unanswered; remove its 'optional'"));
    }
    for choice in &chosen.choices {
        match ask.bounds.iter().filter(|bound| bound.choice == *choice).count() {
            1 => {}
            0 => f.mistake(format!("there is no [[stage.step.ask.bound]] for the choice '{choice}'")),
            _ => f.mistake(format!("the choice '{choice}' has two bounds")),
        }
    }
    for bound in ask.bounds.iter().filter(|bound| !chosen.choices.contains(&bound.choice)) {
        f.mistake(format!("'{}' is not one of the choices of '{by}'", bound.choice));
    }
}

fn bound(f: &Section<'_>, names: &Names<'_>) -> ChoiceBound {
    let tolerance = Tolerance {
        least: f.optional("least", MEASURED, "least that is in tolerance"),
        most: f.optional("most", MEASURED, "most that is in tolerance"),
        accept: Vec::new(),
    };
    if tolerance.least.is_none() && tolerance.most.is_none() {
        f.mistake("a bound has 'least' or 'most'");
    }
    if tolerance.least.zip(tolerance.most).is_some_and(|(least, most)| least > most) {
        f.mistake_in("most", "'most' is less than 'least'; swap them");
    }
    ChoiceBound {
        choice: f.required("choice", Name, "the choice that it is for"),
        tolerance,
        basis: required_basis(f, names, "what its numbers rest on"),
        figures: figure_keys(f, &["least", "most"]),
    }
}

fn check_kinds(f: &Section<'_>, on: &[SubjectKind], kinds: &[Spanned<String>]) {
    // Where the word is wrong, that is the mistake: what depends on it isn't judged.
    let &[on] = on else {
        if on.len() > 1 && !kinds.is_empty() {
            f.mistake_in("kinds", "'kinds' is only for steps on openings alone or on corners alone");
        }
        return;
    };
    let known = match on {
        SubjectKind::Opening => OpeningKind::VARIANTS,
        SubjectKind::Corner => CornerKind::VARIANTS,
        _ if kinds.is_empty() => return,
        _ => return f.mistake_in("kinds", "'kinds' is only for steps on an opening or a corner"),
    };
    for kind in kinds.iter().filter(|kind| !known.contains(&kind.get_ref().as_str())) {
        let word = shortened(kind.get_ref());
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
        by: f.optional(
            "by",
            Key,
            "the ask of this step on whose choice the tolerance depends, by [[stage.step.ask.bound]]",
        ),
        bounds: f.or_default(
            "bound",
            tables("bound", |part| bound(part, names)),
            "the tolerance for one of the choices",
        ),
        which: f.optional("which", word(), "only on some of a row of courses or joints"),
        unless: f.optional("unless", table("unless", unless), "not asked where an earlier choice was so"),
        usual: f.optional("usual", MEASURED, "the usual answer, offered for Enter"),
        doubt_below: f.optional("doubt_below", MEASURED, "hardly anybody measures less: the walk asks once more"),
        planned: f.optional(
            "planned",
            word(),
            "a planned value that it is held against; asked only where that plan is kept",
        ),
        planned_value: None,
        within: f.or_default("within", Number(0.0, 1000.0), "how far from the planned value it may lie"),
        square_over: f.optional(
            "square_over",
            Number(1.0, 100_000.0),
            "answered by both diagonals of a frame: how far its top stands sideways in this much height, mm",
        ),
        frame_mm: None,
        wall_heights_mm: None,
        choices: f.or_default("choices", List(Name), "the words to choose from"),
        product: if kind == Some(AskKind::Batch) { product.or_else(by_key) } else { None },
        optional: f.or_default("optional", Flag, "may be left unanswered"),
        basis: f.optional("basis", table("basis", |part| basis(part, names)), "what its numbers rest on").flatten(),
        figures: figure_keys(f, &["least", "most"]),
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
    use AskKind::{Batch, Choice, Measured};
    let only_for = |key: &str, fits: &dyn Fn(AskKind) -> bool, what: &str| {
        if f.has(key) && kind.is_some_and(|kind| !fits(kind)) {
            f.mistake_in(key, format!("'{key}' is only for {what}"));
        }
    };
    let length = |kind| kind == Measured(Measure::Length);
    for key in ["least", "most", "usual", "doubt_below", "by"] {
        only_for(key, &|kind| matches!(kind, Measured(_)), "measured answers");
    }
    if f.has("by") != f.has("bound") {
        f.mistake("'by' needs a [[stage.step.ask.bound]] for each choice, and a bound needs 'by'");
    }
    if f.has("by") && ["least", "most", "usual", "planned"].iter().any(|key| f.has(key)) {
        f.mistake("'by' sets the tolerance; remove 'least', 'most', 'usual' and 'planned'");
    }
    only_for("square_over", &length, "asks of kind \"length\"");
    if f.has("square_over") && ["usual", "planned"].iter().any(|key| f.has(key)) {
        f.mistake("'square_over' is answered by two diagonals; remove 'usual' and 'planned'");
    }
    only_for("planned", &length, "asks of kind \"length\"");
    only_for("product", &|kind| kind == Batch, "asks of kind \"batch\"");
    only_for("choices", &|kind| kind == Choice, "asks of kind \"choice\"");
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
    if ["least", "most", "usual", "doubt_below", "within", "square_over"].iter().any(|key| f.has(key))
        && !f.has("basis")
    {
        f.mistake(
            "this ask has a number but no 'basis': add basis = { published = …, clause = … }, { document = … } or \
             { common_practice = … }",
        );
    }
}
