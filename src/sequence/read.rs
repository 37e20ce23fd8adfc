//! From a TOML text to a [`Sequence`]: the fields of the file, one line each, and what holds between them.

use chrono::NaiveTime;

use super::basis::required_basis;
use super::figures::figure_keys;
use super::model::{
    Authority, Caution, Document, Hold, Limit, Sealing, Sequence, Stage, Step, StepIx, SurfaceRow, Window,
};
use super::names::Names;
use super::read_step::step;
use super::sealing::{from_bead, usual};
use crate::building::SubjectKind;
use crate::form::{
    self, At, Checked, Duration, Flag, Key, List, Mistake, Name, Number, Section, Text, table, tables, word,
};
use crate::index::{Indexed, Ix};
use crate::materials::allowances::{self, Allowance, Measure};
use crate::units::bounds;

const RATE: Number = Number::within(bounds::SEALING_RATE);
const AIR_C: Number = Number::within(bounds::AIR);
const SURFACE_C: Number = Number::within(bounds::SURFACE);

/// Reads a sequence file.
///
/// # Errors
/// Every mistake in it, with line, column and what to do about it.
pub fn read(text: &str) -> Result<Sequence, Vec<Mistake>> {
    let mut sequence = form::read(text, "sequence", sequence)?;
    text.clone_into(&mut sequence.text);
    sequence.sha256 = crate::digest::sha256_hex(text.as_bytes());
    Ok(sequence)
}

/// The JSON Schema of a sequence file, for editors.
pub fn json_schema() -> serde_json::Value {
    form::json_schema("cladlog install sequence", sequence)
}

fn sequence(top: &Section<'_>) -> Sequence {
    let key = top.required("key", Key, "short key of the sequence");
    let title = top.required("title", Name, "what is put up, and how");
    let edition = top.required("edition", Name, "date or number of this edition");
    let comes_first =
        top.required("comes_first", Text, "what this sequence defers to: the maker, the code, licensed practice");
    let mut names = Names::gather(top);
    names.roles = top.required("roles", List(Name), "the roles that people may have on a job");
    names.documents = top.or_default("document", tables("document", document), "documents that the job must hold");
    let names = names;
    if top.has("roles") && !names.roles.iter().any(|role| role == "lead") {
        top.mistake_in("roles", "'roles' must include \"lead\": every job has a crew lead");
    }
    let authority = top.required(
        "authority",
        table("authority", |f| authority(f, &names)),
        "who may close a defect, who may give a concession, who may adopt another edition",
    );
    let cautions = top.or_default("caution", tables("caution", caution), "hazards, acknowledged before a step");
    let stages = top.required("stage", tables("stage", |f| stage(f, &names)), "the stages, in order");
    let (stages, steps): (Vec<Stage>, Vec<Vec<Step>>) = stages.into_iter().unzip();
    let mut steps: Indexed<Step> = steps.into_iter().flatten().collect();
    let holds = top.or_default("hold", tables("hold", |f| hold(f, &names)), "hold points");
    let windows = top.or_default("window", tables("window", |f| window(f, &names)), "times between two steps");
    let limits = top.or_default("limit", tables("limit", |f| limit(f, &names)), "bounds on site conditions");
    for (window, ends, at) in &windows {
        let Some((choice, step)) = window.handed_on.as_ref().zip(ends.and_then(|(_, to)| steps.get(to))) else {
            continue;
        };
        if !step.asks.iter().any(|ask| ask.tolerance.accept.contains(choice)) {
            top.mistake_at(*at, format!("'{choice}' is no choice that '{}' accepts", step.key));
        }
    }
    let (windows, ends): (Vec<Window>, Vec<_>) = windows.into_iter().map(|(window, ends, _)| (window, ends)).unzip();
    let windows = Indexed::from(windows);
    // The step that a window ends on comes after the one that starts it, even where its 'after' does not say so.
    for (from, to) in ends.into_iter().flatten() {
        if let Some(step) = steps.get_mut(to)
            && from != to
            && !step.after.contains(&from)
        {
            step.after.push(from);
        }
    }
    let sealing = table("sealing", |f| sealing(f, &names, &windows));
    let sealing = top.optional("sealing", sealing, "how joints are sealed, and how fast: for the seal plan").flatten();
    let sealing = sealing.or_else(|| usual(&steps, &windows));
    let allowances = tables("allowance", |f| allowance(f, &names));
    let allowances = top.or_default("allowance", allowances, "what is ordered with what: the lines of the take-off");
    names.circles(top, &steps, &holds);
    Sequence {
        key,
        title,
        edition,
        comes_first,
        authority,
        cautions: cautions.into(),
        stages: stages.into(),
        steps,
        holds: holds.into_iter().map(|(hold, _)| hold).collect(),
        windows,
        limits: limits.into(),
        sealing,
        allowances: allowances.into_iter().flatten().collect(),
        care: top.or_default("care", List(Name), "care advice for the owner, printed in the pack"),
        documents: names.documents,
        roles: names.roles,
        text: String::new(),
        sha256: String::new(),
    }
}

fn authority(f: &Section<'_>, names: &Names<'_>) -> Authority {
    Authority {
        close: names.roles(f, "close", "roles that may close a defect"),
        concede: names.roles(f, "concede", "roles that may give a concession"),
        adopt: names.roles_or(
            f,
            "adopt",
            "lead",
            "roles that may adopt another edition; the lead where it is left out",
        ),
    }
}

fn document(f: &Section<'_>) -> Document {
    Document { key: f.required("key", Key, "short key"), title: f.required("title", Name, "what it is") }
}

fn caution(f: &Section<'_>) -> Caution {
    Caution {
        key: f.required("key", Key, "short key"),
        title: f.required("title", Name, "the hazard in a few words"),
        text: f.required("text", Text, "what can happen and the usual precautions"),
        shows: f.or_default("shows", List(word()), "sums of the day that are shown with it"),
        defers_to: f.required("defers_to", Name, "whose word comes first: local law, the maker, a licensed trade"),
    }
}

fn stage(f: &Section<'_>, names: &Names<'_>) -> (Stage, Vec<Step>) {
    let stage =
        Stage { key: f.required("key", Key, "short key"), title: f.required("title", Name, "what the stage is") };
    let before = names.steps(f, &f.or_default("after", List(At(Name)), "stages that come before it"));
    let steps =
        f.required("step", tables("step", |part| step(part, Ix::at(f.place()), &before, names)), "its steps, in order");
    (stage, steps)
}

/// A hold point, and where its `after` stands.
fn hold(f: &Section<'_>, names: &Names<'_>) -> (Hold, usize) {
    /// How a hold point is released.
    #[derive(strum::EnumString, strum::VariantNames)]
    #[strum(serialize_all = "kebab-case")]
    enum Per {
        Wall,
        Job,
    }
    let per = f.try_required("per", word(), "released wall by wall, or once for the job");
    let steps = |key, doc| names.steps(f, &f.required(key, List(At(Name)), doc));
    let hold = Hold {
        key: f.required("key", Key, "short key"),
        title: f.required("title", Name, "what is to be released"),
        per: if let Some(Per::Job) = per { SubjectKind::Job } else { SubjectKind::Wall },
        after: steps("after", "steps or stages that must be complete before it can be released"),
        holds: steps("holds", "steps or stages that wait for it"),
        roles: names.roles(f, "roles", "roles that may release it"),
        look_at: f.optional("look_at", Text, "what the person who releases it looks at"),
    };
    (hold, f.at("after"))
}

/// A window, and the steps at its two ends when the file defines both.
///
/// Behind them, where `handed_on` stands: the choice is one of the second step's, which is known only later.
fn window(f: &Section<'_>, names: &Names<'_>) -> (Window, Option<(StepIx, StepIx)>, usize) {
    let from = names.step(f, f.try_required("from", At(Key), "the step that starts it"));
    let to = names.step(f, f.try_required("to", At(Key), "the step that must fall inside it"));
    let ends = from.zip(to);
    let window = Window {
        key: f.required("key", Key, "short key"),
        title: f.required("title", Name, "what it is, in a few words"),
        from: from.unwrap_or_default(),
        to: to.unwrap_or_default(),
        counts_from: f.or_default("counts_from", word(), "beginning or end of the first step; its end when left out"),
        earliest: f.optional("earliest", Duration, "not before this long after the first step"),
        latest: f.optional("latest", Duration, "not after this long after the first step"),
        warn: f.or_default("warn", Duration, "warn this long before it closes"),
        lapses_on: f.or_default("lapses_on", List(word()), "what makes it lapse at once on that wall"),
        redo: f.optional("redo", Text, "what is done when it has lapsed"),
        redo_from: names.step(f, f.optional("redo_from", At(Key), "an earlier step that is then done again as well")),
        handed_on: f.optional("handed_on", Name, "choice at the second step that leaves the work to somebody else"),
        by_surface: f.or_default(
            "surface",
            tables("surface row", surface),
            "other bounds by surface temperature, coldest first; between rows the stricter one counts",
        ),
        basis: required_basis(f, names, "what its times rest on"),
        figures: figure_keys(f, &["earliest", "latest"]),
    };
    if let Some((from, to)) = ends {
        if from == to {
            f.mistake_in("to", "'from' and 'to' are the same step");
        }
        on_the_same(f, "to", from, to, names);
        if let Some(redo_from) = window.redo_from {
            if redo_from == from || redo_from == to {
                f.mistake_in("redo_from", "'redo_from' is a step before 'from'");
            }
            on_the_same(f, "redo_from", from, redo_from, names);
        }
    }
    if window.by_surface.windows(2).any(|pair| pair[0].surface_c >= pair[1].surface_c) {
        f.mistake_in("surface", "the rows must go from cold to hot, each warmer than the one before");
    }
    bounds_in_order(f, window.earliest, window.latest);
    if !f.has("earliest") && !f.has("latest") && window.by_surface.is_empty() {
        f.mistake("this window has neither 'earliest' nor 'latest' nor [[window.surface]] rows");
    }
    if window.latest.is_some_and(|latest| latest < window.warn) {
        f.mistake_in("warn", "'warn' is longer than the window itself");
    }
    (window, ends, f.at("handed_on"))
}

/// Notes under `field` that a step of a window is not done on the same kinds of subject as its first.
fn on_the_same(f: &Section<'_>, field: &'static str, from: StepIx, other: StepIx, names: &Names<'_>) {
    let (Some(from_on), Some(other_on)) = (names.on(from), names.on(other)) else { return };
    if from_on.iter().all(|kind| other_on.contains(kind)) && other_on.iter().all(|kind| from_on.contains(kind)) {
        return;
    }
    let words = |on: &[SubjectKind]| on.iter().map(|kind| kind.a_word()).collect::<Vec<_>>().join(" or ");
    let (from_on, other_on) = (words(from_on), words(other_on));
    let (from, other) = (names.key_of(from), names.key_of(other));
    let message = format!(
        "'{from}' is done on {from_on}, '{other}' on {other_on}: the steps of a window must be on the same kinds of subject"
    );
    f.mistake_in(field, message);
}

fn surface(f: &Section<'_>) -> SurfaceRow {
    let row = SurfaceRow {
        surface_c: f.required("surface_c", SURFACE_C, "surface temperature"),
        earliest: f.optional("earliest", Duration, "not before"),
        latest: f.optional("latest", Duration, "not after"),
    };
    bounds_in_order(f, row.earliest, row.latest);
    row
}

fn bounds_in_order<T: PartialOrd>(f: &Section<'_>, earliest: Option<T>, latest: Option<T>) {
    if earliest.zip(latest).is_some_and(|(earliest, latest)| latest < earliest) {
        f.mistake_in("latest", "'latest' is before 'earliest': this window could never be met");
    }
}

fn time_of_day(text: String) -> Result<NaiveTime, String> {
    NaiveTime::parse_from_str(&text, "%H:%M").map_err(|_| "must be a time of day, as in \"16:30\"".to_owned())
}

/// What sealing steps may be on.
const SEALED: [SubjectKind; 3] = [SubjectKind::Joint, SubjectKind::Opening, SubjectKind::Corner];

/// How joints are sealed; nothing where its steps are not what it takes, which is noted.
fn sealing(f: &Section<'_>, names: &Names<'_>, windows: &Indexed<Window>) -> Option<Sealing> {
    let step = |key: &'static str, name| {
        let found = names.step(f, name);
        if found.and_then(|step| names.on(step)).is_some_and(|on| !on.iter().all(|kind| SEALED.contains(kind))) {
            f.mistake_in(key, format!("'{key}' must name a step that is done on a joint, an opening or a corner"));
        }
        found
    };
    let mask = step("mask", f.optional("mask", At(Key), "the step that cleans and masks a joint"));
    let prime = step("prime", f.try_required("prime", At(Key), "the step that primes it; a window runs from here"));
    let gun = step("gun", f.try_required("gun", At(Key), "the step that fills and tools it; the window ends here"));
    let tape_off = step("tape_off", f.optional("tape_off", At(Key), "the step that takes the tape off"));
    let ends = prime.zip(gun);
    let window = ends.and_then(|ends| windows.index_of(|window| (window.from, window.to) == ends));
    if ends.is_some() && window.is_none() {
        f.mistake_in("gun", "there is no [[window]] from 'prime' to 'gun'; the seal plan needs one");
    }
    let sealing = Sealing {
        mask,
        prime: prime.unwrap_or_default(),
        gun: gun.unwrap_or_default(),
        tape_off,
        window: window.unwrap_or_default(),
        mask_min_per_m: f.required("mask_min_per_m", RATE, "masking, minutes a metre of joint"),
        prime_min_per_m: f.required("prime_min_per_m", RATE, "priming, minutes a metre"),
        gun_min_per_m: f.required("gun_min_per_m", RATE, "gunning and tooling, minutes a metre"),
        tape_off_min_per_m: f.required("tape_off_min_per_m", RATE, "taking the tape off, minutes a metre"),
        tape_off_within: f.optional("tape_off_within", Duration, "the tape comes off this soon after gunning ends"),
        from_bead: from_bead(windows, gun.unwrap_or_default(), tape_off),
        dry_after: f.or_default("dry_after", Duration, "no rain for so long after gunning"),
        dry_before: f.optional(
            "dry_before",
            Duration,
            "nothing is masked or primed in the rain or for so long after it",
        ),
        knock_off: f.optional(
            "knock_off",
            Checked(Name, time_of_day),
            "when work ends, as in \"16:30\"; at last light when left out",
        ),
        margin: f.optional("margin", Duration, "kept in hand at the end of the window; a tenth of it when left out"),
        in_sun: f.or_default("in_sun", Flag, "joints may be primed and gunned in the sun"),
        last_light: f.or_default("last_light", word(), "when the day ends: sunset when left out"),
        basis: required_basis(f, names, "what its numbers rest on"),
    };
    window.map(|_| sealing)
}

fn limit(f: &Section<'_>, names: &Names<'_>) -> Limit {
    let pair = |least: &'static str, most: &'static str, kind: Number, docs: [&'static str; 2]| {
        let (low, high) = (f.optional(least, kind, docs[0]), f.optional(most, kind, docs[1]));
        if low.zip(high).is_some_and(|(low, high)| low > high) {
            f.mistake_in(most, format!("'{most}' is less than '{least}'; swap them"));
        }
        (low, high)
    };
    let air = ["air temperature, least", "air temperature, most"];
    let surface = ["surface temperature, least", "surface temperature, most"];
    let limit = Limit {
        key: f.required("key", Key, "short key"),
        title: f.required("title", Name, "what it is, in a few words"),
        reading_within: f.required("reading_within", Duration, "how old a reading may be"),
        air_c: pair("air_least_c", "air_most_c", AIR_C, air),
        surface_c: pair("surface_least_c", "surface_most_c", SURFACE_C, surface),
        dew_margin_c: f.optional("dew_margin_least_c", Number(0.0, 30.0), "surface over dew point, least"),
        humidity_pct: f.optional("humidity_most_pct", Number(0.0, 100.0), "relative humidity, most"),
        wind_kmh: f.optional("wind_most_kmh", Number::within(bounds::WIND), "wind, most"),
        dry: f.or_default("dry", Flag, "no rain"),
        basis: required_basis(f, names, "what its numbers rest on"),
        figures: figure_keys(f, &Limit::BOUNDS),
    };
    if !limit.dry && !Limit::BOUNDS.iter().any(|bound| f.has(bound)) {
        f.mistake(format!("this limit has no bounds: add one of {} or dry = true", Limit::BOUNDS.join(", ")));
    }
    limit
}

/// A line of the take-off; nothing where what it is counted by is wrong, which is noted.
fn allowance(f: &Section<'_>, names: &Names<'_>) -> Option<Allowance> {
    let per = f.try_required("per", word(), "what it is counted by");
    let allowance = |per| Allowance {
        item: f.required("item", Name, "what is ordered"),
        product: f.optional("product", Key, "the product that it comes to the site as, as batches name it"),
        per,
        rate: f
            .optional("rate", Number::within(allowances::RATE), "how much goes with each, in its unit; 1 when left out")
            .unwrap_or(1.0),
        unit: f.required("unit", Name, "unit of the need and of the pack: pieces, m, ml"),
        pack: f.required("pack", Number::within(allowances::PACK), "how much a pack holds, in its unit"),
        sold_as: f.required("sold_as", Name, "what a pack is called: box, length, tin"),
        waste_pct: f.or_default(
            "waste_pct",
            Number::within(allowances::WASTE),
            "waste on top, in per cent; none when left out",
        ),
        lap_mm: f.or_default(
            "lap_mm",
            Number::within(allowances::LAP),
            "of runs: how far each length laps the one before; 0",
        ),
        past_mm: f.or_default(
            "past_mm",
            Number::within(allowances::LAP),
            "of runs: how far they go past either end; 0",
        ),
        width_mm: f.optional("width_mm", Number::within(allowances::WIDTH), "of wrap: the width of a roll"),
        kinds: f.or_default("kinds", List(word()), "only corners of these kinds; all when left out"),
        basis: required_basis(f, names, "what rate, pack and waste rest on").to_string(),
    };
    let read = allowance(per.unwrap_or(Measure::Board));
    let (in_runs, wrap) = (read.per.is_in_runs(), read.per == Measure::WrapM);
    for key in ["lap_mm", "past_mm"].into_iter().filter(|key| f.has(key) && !in_runs && !wrap) {
        f.mistake_in(key, format!("'{key}' goes with flashings, battens and wrap"));
    }
    if wrap != f.has("width_mm") {
        f.mistake(if wrap { "wrap needs 'width_mm', the width of a roll" } else { "'width_mm' goes with wrap" });
    }
    if f.has("kinds") && !read.per.is_of_corners() {
        f.mistake_in("kinds", "'kinds' goes with what is counted by corners");
    }
    if (in_runs || wrap) && read.unit != "m" {
        f.mistake_in("unit", "flashings, battens and wrap are counted in \"m\"");
    }
    // What a length must be by its lap is known once both can be read.
    let crossed = (in_runs || wrap).then(|| read.check()).filter(|_| read.pack > 0.0);
    if let Some(Err((field, error))) = crossed {
        f.mistake_in(field, error.to_string());
    }
    per.map(|_| read)
}
