//! From a TOML text to a [`Sequence`]; the checks across the file are in [`super::check`].

use std::collections::BTreeSet;

use super::check::{self, Keys};
use super::model::{
    Ask, AskKind, Authority, Basis, Caution, Document, Hold, Limit, Sequence, Stage, Step, SurfaceRow, Tolerance,
    Window,
};
use super::sealing::Sealing;
use super::shape::SEQUENCE;
use crate::building::{Corner, Opening, SubjectKind};
use crate::form::{Mistake, Section, Sheet};
use crate::materials::allowances::Allowance;
use crate::materials::product;
use crate::units::number::shortened;

/// Reads a sequence file.
///
/// # Errors
/// Every mistake in it, with line, column and the way to mend it.
pub fn read(text: &str) -> Result<Sequence, Vec<Mistake>> {
    let read = Sheet::read(text, &SEQUENCE, |top| {
        if check::too_many(top) {
            return None;
        }
        let keys = Keys::gather(top);
        let documents: Vec<Document> = top
            .tables("document")
            .iter()
            .map(|d| Document { key: d.text("key").to_owned(), title: d.text("title").to_owned() })
            .collect();
        let roles: Vec<String> = words(top, "roles");
        if top.has("roles") && !roles.iter().any(|role| role == "lead") {
            top.mistake(top.spot_of("roles"), "the roles must have \"lead\": someone leads the crew");
        }
        let authority =
            top.table("authority").map_or(Authority { close: vec![], concede: vec![] }, |section| Authority {
                close: check::roles(&section, "close", &roles),
                concede: check::roles(&section, "concede", &roles),
            });
        let reader = Reader { keys: &keys, documents: &documents, roles: &roles };
        let mut steps = Vec::new();
        let mut stages = Vec::new();
        for (place, stage) in top.tables("stage").iter().enumerate() {
            stages.push(Stage { key: stage.text("key").to_owned(), title: stage.text("title").to_owned() });
            let before = keys.steps_of(stage, "after");
            steps.extend(stage.tables("step").iter().map(|section| reader.step(section, place, &before)));
        }
        let holds: Vec<Hold> = top.tables("hold").iter().map(|section| reader.hold(section)).collect();
        let (windows, ends): (Vec<Window>, Vec<_>) =
            top.tables("window").iter().map(|section| reader.window(section)).unzip();
        let limits = top.tables("limit").iter().map(|section| reader.limit(section)).collect();
        let allowances = reader.allowances(&top.tables("allowance"));
        // The step that a window ends on comes after the one that starts it, said or not.
        for (from, to) in ends.into_iter().flatten() {
            if let Some(step) = steps.get_mut(to)
                && from != to
                && !step.after.contains(&from)
            {
                step.after.push(from);
            }
        }
        let sealing = top.table("sealing").and_then(|section| reader.sealing(&section, &windows));
        // Steps in a circle hold up the hold points too: that isn't a second mistake.
        if !check::circles(top, &steps) {
            check::hold_circles(top, &steps, &holds);
        }
        let sequence = Sequence {
            key: top.text("key").to_owned(),
            title: top.text("title").to_owned(),
            edition: top.text("edition").to_owned(),
            comes_first: top.prose("comes_first").unwrap_or_default(),
            roles: roles.clone(),
            authority,
            cautions: top.tables("caution").iter().map(caution).collect(),
            stages,
            steps,
            holds,
            windows,
            limits,
            sealing,
            allowances,
            care: words(top, "care"),
            documents: documents.clone(),
            text: text.to_owned(),
            sha256: crate::digest::sha256_hex(text.as_bytes()),
        };
        Some(sequence)
    })?;
    // Nothing read means that a mistake was noted.
    read.ok_or_else(Vec::new)
}

fn words(section: &Section<'_, '_>, key: &str) -> Vec<String> {
    section.texts(key).into_iter().map(|(word, _)| word.to_owned()).collect()
}

fn caution(section: &Section<'_, '_>) -> Caution {
    Caution {
        key: section.text("key").to_owned(),
        title: section.text("title").to_owned(),
        text: section.prose("text").unwrap_or_default(),
        defers_to: section.text("defers_to").to_owned(),
        shows: section.texts("shows").into_iter().filter_map(|(word, _)| word.parse().ok()).collect(),
    }
}

/// The product that a batch is of: as the file says, or by the ask's key, as in `sealant-batch`.
fn product_of(section: &Section<'_, '_>, kind: AskKind) -> Option<String> {
    if kind != AskKind::Batch {
        return None;
    }
    let by_key = || section.text("key").strip_suffix("-batch").filter(|key| product::known(key).is_some());
    section.text_or_none("product").or_else(by_key).map(str::to_owned)
}

/// The bounds that a limit may have, besides being dry.
const LIMIT_BOUNDS: &[&str] = &[
    "air_least_c",
    "air_most_c",
    "surface_least_c",
    "surface_most_c",
    "dew_margin_least_c",
    "humidity_most_pct",
    "wind_most_kmh",
];

struct Reader<'r> {
    keys: &'r Keys,
    documents: &'r [Document],
    roles: &'r [String],
}

impl Reader<'_> {
    fn step(&self, section: &Section<'_, '_>, stage: usize, before: &[usize]) -> Step {
        // Where the word is wrong, that is the mistake: what hangs on it isn't judged.
        let known = section.text("on").parse().ok();
        let on = known.unwrap_or(SubjectKind::Job);
        let row = matches!(known, None | Some(SubjectKind::Course | SubjectKind::Joint));
        for key in ["every", "in_turn"] {
            if section.has(key) && !row {
                section.mistake(section.spot_of(key), format!("'{key}' goes with steps on a course or a joint only"));
            }
        }
        if section.has("kinds") && !matches!(known, None | Some(SubjectKind::Opening | SubjectKind::Corner)) {
            section.mistake(section.spot_of("kinds"), "'kinds' goes with steps on an opening or a corner only");
        }
        let kinds = match known {
            Some(SubjectKind::Opening) => Opening::KINDS,
            Some(SubjectKind::Corner) => Corner::KINDS,
            _ => &[],
        };
        for (word, spot) in section.texts("kinds") {
            if !kinds.is_empty() && !kinds.contains(&word) {
                let message =
                    format!("no {} is of the kind '{}': the kinds are {}", on, shortened(word), kinds.join(", "));
                section.mistake(spot, message);
            }
        }
        let mut after = self.keys.steps_of(section, "after");
        after.extend(before.iter().copied().filter(|step| !after.contains(step)).collect::<Vec<_>>());
        let mut asked = std::collections::BTreeSet::new();
        let asks = section.tables("ask");
        for ask in &asks {
            if !asked.insert(ask.text("key")) && !ask.text("key").is_empty() {
                ask.mistake(ask.spot_of("key"), format!("'{}' is asked twice in this step", ask.text("key")));
            }
        }
        Step {
            key: section.text("key").to_owned(),
            title: section.text("title").to_owned(),
            how: section.prose("how"),
            stage,
            on,
            kinds: words(section, "kinds"),
            after,
            every: section.count("every"),
            in_turn: section.flag("in_turn"),
            cautions: self.keys.cautions_of(section, "cautions"),
            limits: self.keys.limits_of(section, "limits"),
            shows: section.texts("shows").into_iter().filter_map(|(word, _)| word.parse().ok()).collect(),
            asks: asks.iter().map(|ask| self.ask(ask)).collect(),
        }
    }

    fn ask(&self, section: &Section<'_, '_>) -> Ask {
        let known_kind = section.text("kind").parse();
        let kind = known_kind.unwrap_or(AskKind::Text);
        let measured =
            matches!(kind, AskKind::Length | AskKind::Angle | AskKind::Temperature | AskKind::Percent | AskKind::Count);
        let tolerance = Tolerance {
            least: section.number("least"),
            most: section.number("most"),
            accept: words(section, "accept"),
        };
        let choices = words(section, "choices");
        let known_kind = known_kind.is_ok();
        if section.has("planned") != section.has("within") {
            section.mistake(section.spot(), "'planned' and 'within' go together: a planned value and how far from it");
        }
        if section.has("planned") && ["least", "most", "usual"].iter().any(|key| section.has(key)) {
            section
                .mistake(section.spot(), "a planned value brings its own tolerance: take 'least', 'most', 'usual' out");
        }
        if section.has("planned") && kind != AskKind::Length {
            section.mistake(section.spot_of("planned"), "'planned' goes with lengths only");
        }
        for key in ["least", "most", "usual"] {
            if section.has(key) && !measured && known_kind {
                section.mistake(section.spot_of(key), format!("'{key}' goes with measured answers only"));
            }
        }
        if let (Some(least), Some(most)) = (tolerance.least, tolerance.most)
            && least > most
        {
            section.mistake(section.spot_of("most"), "'most' is less than 'least': swap them");
        }
        if section.has("product") && kind != AskKind::Batch && known_kind {
            section.mistake(section.spot_of("product"), "'product' goes with asks of kind \"batch\" only");
        }
        if known_kind && (kind == AskKind::Choice) == choices.is_empty() {
            section.mistake(section.spot(), "an ask of kind \"choice\", and only that, lists its 'choices'");
        }
        for (word, spot) in section.texts("accept") {
            if !choices.iter().any(|choice| choice == word) {
                section.mistake(spot, format!("'{word}' is not one of the choices"));
            }
        }
        let basis = section.table("basis").and_then(|basis| self.basis(&basis));
        if let Some(usual) = section.number("usual")
            && (tolerance.least.is_some_and(|least| usual < least) || tolerance.most.is_some_and(|most| usual > most))
        {
            section.mistake(section.spot_of("usual"), "the usual answer is out of tolerance: mend one of them");
        }
        let has_number = ["least", "most", "usual", "within"].iter().any(|key| section.has(key));
        if has_number && !section.has("basis") {
            section.mistake(
                section.spot(),
                "this ask has a number with no basis: add basis = { published = …, clause = … }, { document = … } \
                 or { common_practice = … }",
            );
        }
        Ask {
            key: section.text("key").to_owned(),
            prompt: section.text("prompt").to_owned(),
            kind,
            tolerance,
            usual: section.number("usual"),
            planned: section.text_or_none("planned").and_then(|word| word.parse().ok()),
            within: section.number("within").unwrap_or(0.0),
            choices,
            product: product_of(section, kind),
            optional: section.flag("optional"),
            basis,
        }
    }

    fn basis(&self, section: &Section<'_, '_>) -> Option<Basis> {
        let given: Vec<&str> =
            ["published", "document", "common_practice"].into_iter().filter(|key| section.has(key)).collect();
        if given.len() != 1 {
            section.mistake(section.spot(), "a basis is one of: published (with clause), document, common_practice");
            return None;
        }
        if section.has("clause") != section.has("published") {
            section.mistake(section.spot(), "a published basis names its clause, and only a published one does");
        }
        Some(match given[0] {
            "published" => Basis::Published {
                source: section.text("published").to_owned(),
                clause: section.text("clause").to_owned(),
            },
            "document" => {
                let key = section.text("document");
                let title = self.documents.iter().find(|document| document.key == key).map(|d| d.title.clone());
                if title.is_none() {
                    section.mistake(
                        section.spot_of("document"),
                        format!("no [[document]] has the key '{key}': add it, or name one that is there"),
                    );
                }
                Basis::Document { key: key.to_owned(), title: title.unwrap_or_default() }
            }
            _ => Basis::CommonPractice(section.text("common_practice").to_owned()),
        })
    }

    /// A basis that the shape has insisted on: a made-up one only stands in while mistakes are reported.
    fn needed_basis(&self, section: &Section<'_, '_>) -> Basis {
        section
            .table("basis")
            .and_then(|basis| self.basis(&basis))
            .unwrap_or_else(|| Basis::CommonPractice(String::new()))
    }

    fn hold(&self, section: &Section<'_, '_>) -> Hold {
        let roles = check::roles(section, "roles", self.roles);
        let holds = self.keys.steps_of(section, "holds");
        let after = self.keys.steps_of(section, "after");
        if let Some(both) = holds.iter().find(|step| after.contains(step)) {
            section.mistake(
                section.spot_of("holds"),
                format!(
                    "it holds '{}' and waits for it as well: it could never be released",
                    self.keys.step_name(*both)
                ),
            );
        }
        Hold {
            key: section.text("key").to_owned(),
            title: section.text("title").to_owned(),
            per: section.text("per").parse().unwrap_or(SubjectKind::Wall),
            after,
            holds,
            roles,
            look_at: section.prose("look_at"),
        }
    }

    /// A window, and the steps at its two ends when the file defines both.
    fn window(&self, section: &Section<'_, '_>) -> (Window, Option<(usize, usize)>) {
        let (from, to) = (self.keys.step_of(section, "from"), self.keys.step_of(section, "to"));
        if let (Some(from), Some(to)) = (from, to) {
            if from == to {
                section.mistake(section.spot_of("to"), "a window runs between two different steps");
            }
            if let (Some(from_on), Some(to_on)) = (self.keys.step_on(from), self.keys.step_on(to))
                && from_on != to_on
            {
                section.mistake(
                    section.spot_of("to"),
                    format!(
                        "'{}' is done on {} and '{}' on {}: both steps of a window are done on one subject",
                        self.keys.step_name(from),
                        from_on.a_word(),
                        self.keys.step_name(to),
                        to_on.a_word()
                    ),
                );
            }
        }
        let by_surface: Vec<SurfaceRow> = section
            .tables("surface")
            .iter()
            .map(|row| {
                check::bounds_in_order(row);
                SurfaceRow {
                    surface_c: row.number("surface_c").unwrap_or(0.0),
                    earliest: row.span("earliest"),
                    latest: row.span("latest"),
                }
            })
            .collect();
        if by_surface.windows(2).any(|pair| pair[0].surface_c >= pair[1].surface_c) {
            section
                .mistake(section.spot_of("surface"), "the rows go from cold to hot, each warmer than the one before");
        }
        check::bounds_in_order(section);
        if !section.has("earliest") && !section.has("latest") && by_surface.is_empty() {
            section
                .mistake(section.spot(), "this window has neither 'earliest' nor 'latest' nor [[window.surface]] rows");
        }
        if section.has("warn") && section.span("latest") < section.span("warn") && section.has("latest") {
            section.mistake(section.spot_of("warn"), "'warn' is longer than the window itself");
        }
        let window = Window {
            key: section.text("key").to_owned(),
            title: section.text("title").to_owned(),
            from: from.unwrap_or(0),
            to: to.unwrap_or(0),
            earliest: section.span("earliest"),
            latest: section.span("latest"),
            warn: section.span("warn").unwrap_or_default(),
            lapses_on: section.texts("lapses_on").into_iter().filter_map(|(word, _)| word.parse().ok()).collect(),
            redo: section.prose("redo"),
            by_surface,
            basis: self.needed_basis(section),
        };
        (window, from.zip(to))
    }

    /// How joints are sealed; nothing where its steps are not what it takes, which is noted.
    fn sealing(&self, section: &Section<'_, '_>, windows: &[Window]) -> Option<Sealing> {
        let basis = self.needed_basis(section);
        let step = |field: &str| {
            let found = self.keys.step_of(section, field);
            let on = found.and_then(|step| self.keys.step_on(step));
            if on.is_some_and(|on| on != SubjectKind::Joint) {
                section.mistake(section.spot_of(field), "joints are sealed: name a step that is done on a joint");
            }
            found
        };
        let (mask, prime, gun, tape_off) = (step("mask"), step("prime")?, step("gun")?, step("tape_off"));
        let Some(window) = windows.iter().position(|window| window.from == prime && window.to == gun) else {
            section.mistake(section.spot_of("gun"), "no [[window]] runs from 'prime' to 'gun': the plan goes by it");
            return None;
        };
        let rate = |key: &str| section.number(key).unwrap_or(0.0);
        Some(Sealing {
            mask,
            prime,
            gun,
            tape_off,
            window,
            mask_min_per_m: rate("mask_min_per_m"),
            prime_min_per_m: rate("prime_min_per_m"),
            gun_min_per_m: rate("gun_min_per_m"),
            tape_off_min_per_m: rate("tape_off_min_per_m"),
            tape_off_within: section
                .span("tape_off_within")
                .unwrap_or_else(|| super::sealing::tape_off_within(windows, gun, tape_off)),
            margin: section.span("margin"),
            in_sun: section.flag("in_sun"),
            last_light: section.text_or_none("last_light").and_then(|word| word.parse().ok()).unwrap_or_default(),
            basis,
        })
    }

    fn limit(&self, section: &Section<'_, '_>) -> Limit {
        let pair = |least: &str, most: &str| {
            let (low, high) = (section.number(least), section.number(most));
            if let (Some(low), Some(high)) = (low, high)
                && low > high
            {
                section.mistake(section.spot_of(most), format!("'{most}' is less than '{least}': swap them"));
            }
            (low, high)
        };
        if !section.flag("dry") && !LIMIT_BOUNDS.iter().any(|bound| section.has(bound)) {
            section.mistake(
                section.spot(),
                format!("this limit bounds nothing: give it one of {} or dry = true", LIMIT_BOUNDS.join(", ")),
            );
        }
        Limit {
            key: section.text("key").to_owned(),
            title: section.text("title").to_owned(),
            reading_within: section.span("reading_within").unwrap_or_default(),
            air_c: pair("air_least_c", "air_most_c"),
            surface_c: pair("surface_least_c", "surface_most_c"),
            dew_margin_c: section.number("dew_margin_least_c"),
            humidity_pct: section.number("humidity_most_pct"),
            wind_kmh: section.number("wind_most_kmh"),
            dry: section.flag("dry"),
            basis: self.needed_basis(section),
        }
    }

    fn allowances(&self, sections: &[Section<'_, '_>]) -> Vec<Allowance> {
        let mut seen = BTreeSet::new();
        let one = |section: &Section<'_, '_>| {
            let item = section.text("item");
            if !item.is_empty() && !seen.insert(item.to_owned()) {
                section.mistake(section.spot_of("item"), format!("'{item}' is ordered twice: one line for each item"));
            }
            Some(Allowance {
                item: item.to_owned(),
                product: section.has("product").then(|| section.text("product").to_owned()),
                // A word that is none is noted already.
                per: section.text("per").parse().ok()?,
                rate: section.number("rate").unwrap_or(1.0),
                unit: section.text("unit").to_owned(),
                pack: section.number("pack").unwrap_or(1.0),
                sold_as: section.text("sold_as").to_owned(),
                waste_pct: section.number("waste_pct").unwrap_or(0.0),
                basis: self.needed_basis(section).to_string(),
            })
        };
        sections.iter().filter_map(one).collect()
    }
}
