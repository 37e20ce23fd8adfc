//! The shape of a sequence file: the one declaration behind the reader, its messages and the JSON Schema.

use strum::VariantNames;

use super::model::{AskKind, CautionSum, LapseTrigger, PlanShown, Planned};
use super::sealing::LastLight;
use crate::building::SubjectKind;
use crate::form::{Field, Kind, Shape};
use crate::materials::allowances::Measure;

/// Tolerances and counts lie within this, in the ask's own unit.
const MOST: f64 = 1_000_000.0;

/// A whole sequence file.
pub static SEQUENCE: Shape = Shape {
    name: "sequence",
    doc: "An install sequence: stages, steps, hold points, windows, limits and cautions",
    fields: &[
        Field::needed("key", Kind::Key, "short key of the sequence"),
        Field::needed("title", Kind::Name, "what is put up, and how"),
        Field::needed("edition", Kind::Name, "date or number of this edition"),
        Field::needed(
            "comes_first",
            Kind::Text,
            "what this sequence defers to: the maker, the code, licensed practice",
        ),
        Field::needed("roles", Kind::Names, "the roles that people may have on a job"),
        Field::needed("authority", Kind::Table(&AUTHORITY), "who may close a defect and who may give a concession"),
        Field::optional("document", Kind::Tables(&DOCUMENT), "documents that the job must hold"),
        Field::optional("caution", Kind::Tables(&CAUTION), "hazards, acknowledged before a step"),
        Field::needed("stage", Kind::Tables(&STAGE), "the stages, in order"),
        Field::optional("hold", Kind::Tables(&HOLD), "hold points"),
        Field::optional("window", Kind::Tables(&WINDOW), "times between two steps"),
        Field::optional("limit", Kind::Tables(&LIMIT), "bounds on site conditions"),
        Field::optional("sealing", Kind::Table(&SEALING), "how joints are sealed, and how fast: for the seal plan"),
        Field::optional("allowance", Kind::Tables(&ALLOWANCE), "what is ordered with what: the lines of the take-off"),
        Field::optional("care", Kind::Names, "care advice for the owner, printed in the pack"),
    ],
};

static AUTHORITY: Shape = Shape {
    name: "authority",
    doc: "Roles with a say over defects",
    fields: &[
        Field::needed("close", Kind::Names, "roles that may close a defect"),
        Field::needed("concede", Kind::Names, "roles that may give a concession"),
    ],
};

static DOCUMENT: Shape = Shape {
    name: "document",
    doc: "A document that the job must hold, such as the panel maker's instructions",
    fields: &[Field::needed("key", Kind::Key, "short key"), Field::needed("title", Kind::Name, "what it is")],
};

static CAUTION: Shape = Shape {
    name: "caution",
    doc: "A hazard",
    fields: &[
        Field::needed("key", Kind::Key, "short key"),
        Field::needed("title", Kind::Name, "the hazard in a few words"),
        Field::needed("text", Kind::Text, "what can happen and the usual precautions"),
        Field::optional("shows", Kind::SomeOf(CautionSum::VARIANTS), "sums of the day that are shown with it"),
        Field::needed("defers_to", Kind::Name, "whose word comes first: local law, the maker, a licensed trade"),
    ],
};

static STAGE: Shape = Shape {
    name: "stage",
    doc: "A stage: steps that belong together",
    fields: &[
        Field::needed("key", Kind::Key, "short key"),
        Field::needed("title", Kind::Name, "what the stage is"),
        Field::optional("after", Kind::Names, "stages that come before it"),
        Field::needed("step", Kind::Tables(&STEP), "its steps, in order"),
    ],
};

static STEP: Shape = Shape {
    name: "step",
    doc: "A step: one thing done to one subject",
    fields: &[
        Field::needed("key", Kind::Key, "short key"),
        Field::needed("title", Kind::Name, "what is done"),
        Field::needed("on", Kind::OneOf(SubjectKind::VARIANTS), "what it is done to"),
        Field::optional("how", Kind::Text, "how it is done, in a sentence or two"),
        Field::optional("kinds", Kind::Names, "only on openings or corners of these kinds"),
        Field::optional("after", Kind::Names, "steps or stages that come before it"),
        Field::optional(
            "every",
            Kind::Count(1, 1000),
            "asked of every n-th course or joint, and of the first and last",
        ),
        Field::optional("in_turn", Kind::Flag, "one after the other: course 2 after course 1"),
        Field::optional("cautions", Kind::Names, "cautions acknowledged before it"),
        Field::optional("limits", Kind::Names, "limits that must hold"),
        Field::optional("shows", Kind::SomeOf(PlanShown::VARIANTS), "kept plans that are shown before it"),
        Field::optional("ask", Kind::Tables(&ASK), "what is asked"),
    ],
};

static ASK: Shape = Shape {
    name: "ask",
    doc: "A question of a step",
    fields: &[
        Field::needed("key", Kind::Key, "short key, as in --answer KEY=VALUE"),
        Field::needed("prompt", Kind::Name, "the question"),
        Field::needed(
            "kind",
            Kind::OneOf(AskKind::VARIANTS),
            "what the answer is: length in mm, angle in degrees, temperature in °C",
        ),
        Field::optional("least", Kind::Number(-MOST, MOST), "least that is in tolerance"),
        Field::optional("most", Kind::Number(-MOST, MOST), "most that is in tolerance"),
        Field::optional("usual", Kind::Number(-MOST, MOST), "the usual answer, offered for Enter"),
        Field::optional(
            "planned",
            Kind::OneOf(Planned::VARIANTS),
            "a planned value that it is held against; asked only where that plan is kept",
        ),
        Field::optional("within", Kind::Number(0.0, 1000.0), "how far from the planned value it may lie"),
        Field::optional("choices", Kind::Names, "the words to choose from"),
        Field::optional("accept", Kind::Names, "the choices that are in order; all of them when left out"),
        Field::optional(
            "product",
            Kind::Key,
            "the product that a batch is of, such as panel, primer or sealant; what is used comes off its stock",
        ),
        Field::optional("optional", Kind::Flag, "may be left unanswered"),
        Field::optional("basis", Kind::Table(&BASIS), "what its numbers rest on"),
    ],
};

static BASIS: Shape = Shape {
    name: "basis",
    doc: "What a number rests on: a published source, a document that the job holds, or common practice",
    fields: &[
        Field::optional("published", Kind::Name, "the published source, with its edition"),
        Field::optional("clause", Kind::Name, "the clause or table in it"),
        Field::optional("document", Kind::Key, "a document of this sequence that the job must hold"),
        Field::optional("common_practice", Kind::Name, "what the trade commonly does"),
    ],
};

static HOLD: Shape = Shape {
    name: "hold",
    doc: "A hold point",
    fields: &[
        Field::needed("key", Kind::Key, "short key"),
        Field::needed("title", Kind::Name, "what is to be released"),
        Field::needed("per", Kind::OneOf(&["wall", "job"]), "released wall by wall, or once for the job"),
        Field::needed("after", Kind::Names, "steps or stages that must be complete before it can be released"),
        Field::needed("holds", Kind::Names, "steps or stages that wait for it"),
        Field::needed("roles", Kind::Names, "roles that may release it"),
        Field::optional("look_at", Kind::Text, "what the person who releases it looks at"),
    ],
};

static WINDOW: Shape = Shape {
    name: "window",
    doc: "The time between two steps on one subject",
    fields: &[
        Field::needed("key", Kind::Key, "short key"),
        Field::needed("title", Kind::Name, "what it is, in a few words"),
        Field::needed("from", Kind::Key, "the step that starts it"),
        Field::needed("to", Kind::Key, "the step that must fall inside it"),
        Field::optional("earliest", Kind::Span, "not before this long after the first step"),
        Field::optional("latest", Kind::Span, "not after this long after the first step"),
        Field::optional("warn", Kind::Span, "warn this long before it closes"),
        Field::optional("lapses_on", Kind::SomeOf(LapseTrigger::VARIANTS), "what makes it lapse at once on that wall"),
        Field::optional("redo", Kind::Text, "what is done when it has lapsed"),
        Field::optional("surface", Kind::Tables(&SURFACE), "other bounds by surface temperature, coldest first"),
        Field::needed("basis", Kind::Table(&BASIS), "what its times rest on"),
    ],
};

static ALLOWANCE: Shape = Shape {
    name: "allowance",
    doc: "A line of the take-off: what is counted, times a rate, plus waste, in whole packs",
    fields: &[
        Field::needed("item", Kind::Name, "what is ordered"),
        Field::optional("product", Kind::Key, "the product that it comes to the site as, as batches name it"),
        Field::needed("per", Kind::OneOf(Measure::VARIANTS), "what it is counted by"),
        Field::optional("rate", Kind::Number(0.0, 10_000.0), "how much goes with each, in its unit; 1 when left out"),
        Field::needed("unit", Kind::Name, "unit of the need and of the pack: pieces, m, ml"),
        Field::needed("pack", Kind::Number(0.001, MOST), "how much a pack holds, in its unit"),
        Field::needed("sold_as", Kind::Name, "what a pack is called: box, length, tin"),
        Field::optional("waste_pct", Kind::Number(0.0, 100.0), "waste on top, in per cent; none when left out"),
        Field::needed("basis", Kind::Table(&BASIS), "what rate, pack and waste rest on"),
    ],
};

static SURFACE: Shape = Shape {
    name: "surface row",
    doc: "Bounds at one surface temperature; between rows the stricter one counts",
    fields: &[
        Field::needed("surface_c", Kind::Number(-60.0, 110.0), "surface temperature"),
        Field::optional("earliest", Kind::Span, "not before"),
        Field::optional("latest", Kind::Span, "not after"),
    ],
};

/// Minutes a metre beyond which a rate is a slip of the keyboard.
const MOST_RATE: f64 = 1000.0;

static SEALING: Shape = Shape {
    name: "sealing",
    doc: "How joints are sealed: the steps, how long each takes, and by what light",
    fields: &[
        Field::optional("mask", Kind::Key, "the step that cleans and masks a joint"),
        Field::needed("prime", Kind::Key, "the step that primes it; a window runs from here"),
        Field::needed("gun", Kind::Key, "the step that fills and tools it; the window ends here"),
        Field::optional("tape_off", Kind::Key, "the step that takes the tape off"),
        Field::needed("mask_min_per_m", Kind::Number(0.0, MOST_RATE), "masking, minutes a metre of joint"),
        Field::needed("prime_min_per_m", Kind::Number(0.0, MOST_RATE), "priming, minutes a metre"),
        Field::needed("gun_min_per_m", Kind::Number(0.0, MOST_RATE), "gunning and tooling, minutes a metre"),
        Field::needed("tape_off_min_per_m", Kind::Number(0.0, MOST_RATE), "taking the tape off, minutes a metre"),
        Field::optional("tape_off_within", Kind::Span, "the tape comes off this soon after gunning ends"),
        Field::optional("margin", Kind::Span, "kept in hand at the end of the window; a tenth of it when left out"),
        Field::optional("in_sun", Kind::Flag, "joints may be primed and gunned in the sun"),
        Field::optional("last_light", Kind::OneOf(LastLight::VARIANTS), "when the day ends: sunset when left out"),
        Field::needed("basis", Kind::Table(&BASIS), "what its numbers rest on"),
    ],
};

static LIMIT: Shape = Shape {
    name: "limit",
    doc: "Bounds on site conditions for the steps that name it",
    fields: &[
        Field::needed("key", Kind::Key, "short key"),
        Field::needed("title", Kind::Name, "what it is, in a few words"),
        Field::needed("reading_within", Kind::Span, "how old a reading may be"),
        Field::optional("air_least_c", Kind::Number(-60.0, 60.0), "air temperature, least"),
        Field::optional("air_most_c", Kind::Number(-60.0, 60.0), "air temperature, most"),
        Field::optional("surface_least_c", Kind::Number(-60.0, 110.0), "surface temperature, least"),
        Field::optional("surface_most_c", Kind::Number(-60.0, 110.0), "surface temperature, most"),
        Field::optional("dew_margin_least_c", Kind::Number(0.0, 30.0), "surface over dew point, least"),
        Field::optional("humidity_most_pct", Kind::Number(0.0, 100.0), "relative humidity, most"),
        Field::optional("wind_most_kmh", Kind::Number(0.0, 300.0), "wind, most"),
        Field::optional("dry", Kind::Flag, "no rain"),
        Field::needed("basis", Kind::Table(&BASIS), "what its numbers rest on"),
    ],
};
