//! Names across a sequence file: what each refers to, those given twice, and steps that wait for each other.

use std::collections::{BTreeMap, BTreeSet};

use toml::Spanned;

use super::model::{CautionIx, Document, Hold, LimitIx, Step, StepIx};
use crate::building::SubjectKind;
use crate::form::{At, List, Name, Section, nearest};
use crate::index::{Indexed, Ix};

/// Most stages, hold points, windows, limits, cautions, documents or allowances in a file.
const MOST_PARTS: usize = 500;
/// Most steps in a file.
const MOST_STEPS: usize = 2000;

/// Every key that the file defines, by kind. Of a file of absurd size, or while fields are described, it knows none and
/// notes nothing.
#[derive(Default)]
pub(super) struct Names<'f> {
    /// Steps in the order of the file.
    steps: Vec<StepName<'f>>,
    /// A stage's key to the indexes of its steps.
    stages: BTreeMap<&'f str, Vec<StepIx>>,
    cautions: Vec<&'f str>,
    limits: Vec<&'f str>,
    /// Documents that the job must hold, once they are read.
    pub(super) documents: Vec<Document>,
    /// Roles that people may have, once they are read.
    pub(super) roles: Vec<String>,
    /// Whether the keys were gathered: else nothing is judged.
    gathered: bool,
}

/// What other parts of the file say of a step.
pub(super) struct StepName<'f> {
    pub(super) key: &'f str,
    /// What it is done to; `None` where the file has a wrong word.
    pub(super) on: Option<Vec<SubjectKind>>,
    /// Where its `after` stands.
    after_at: usize,
}

impl<'f> Names<'f> {
    /// Gathers the keys ahead of reading, and notes those given twice.
    pub(super) fn gather(top: &Section<'f>) -> Self {
        if too_many(top) {
            return Self::default();
        }
        let (cautions, limits) = (top.unique("caution", "key"), top.unique("limit", "key"));
        let mut names = Self { cautions, limits, gathered: true, ..Self::default() };
        for table in ["document", "hold", "window"] {
            top.unique(table, "key");
        }
        top.unique("allowance", "item");
        let mut seen = BTreeSet::new();
        let mut once = |section: &Section<'f>| {
            let key = section.peek_text("key");
            // A key that is missing or no text has a mistake of its own.
            if !seen.insert(key) && !key.is_empty() {
                let message = format!("'{key}' is given twice; steps and stages share one set of keys");
                section.mistake_in("key", message);
            }
            key
        };
        for stage in top.peek("stage") {
            let key = once(&stage);
            let mut own = Vec::new();
            for step in stage.peek("step") {
                own.push(Ix::at(names.steps.len()));
                let on = step.peek_texts("on").iter().map(|word| word.parse().ok()).collect();
                names.steps.push(StepName { key: once(&step), on, after_at: step.at("after") });
            }
            names.stages.insert(key, own);
        }
        names
    }

    /// What a step is done to, where the file says it right.
    pub(super) fn on(&self, step: StepIx) -> Option<&[SubjectKind]> {
        self.steps.get(step.place())?.on.as_deref()
    }

    /// Its key.
    pub(super) fn key_of(&self, step: StepIx) -> &'f str {
        self.steps.get(step.place()).map_or("", |step| step.key)
    }

    /// The step of this name.
    pub(super) fn step(&self, f: &Section<'_>, name: Option<Spanned<String>>) -> Option<StepIx> {
        let name = name?;
        let found = self.steps.iter().position(|step| step.key == name.get_ref());
        if found.is_none() {
            let known: Vec<&str> = self.steps.iter().map(|step| step.key).collect();
            self.unknown(f, "step", &name, &known);
        }
        found.map(Ix::at)
    }

    /// The steps of these names, each once; a stage stands for its steps.
    pub(super) fn steps(&self, f: &Section<'_>, names: &[Spanned<String>]) -> Vec<StepIx> {
        let mut found = Vec::new();
        for name in names {
            let key = name.get_ref().as_str();
            match (self.stages.get(key), self.steps.iter().position(|step| step.key == key)) {
                (Some(steps), _) => found.extend(steps),
                (None, Some(step)) => found.push(Ix::at(step)),
                (None, None) => {
                    let steps = self.steps.iter().map(|step| step.key);
                    let known: Vec<&str> = steps.chain(self.stages.keys().copied()).collect();
                    self.unknown(f, "step or stage", name, &known);
                }
            }
        }
        let mut seen = BTreeSet::new();
        found.retain(|step| seen.insert(*step));
        found
    }

    /// The cautions of these names.
    pub(super) fn cautions(&self, f: &Section<'_>, names: &[Spanned<String>]) -> Vec<CautionIx> {
        self.indexes(f, "caution", names, &self.cautions)
    }

    /// The limits of these names.
    pub(super) fn limits(&self, f: &Section<'_>, names: &[Spanned<String>]) -> Vec<LimitIx> {
        self.indexes(f, "limit", names, &self.limits)
    }

    fn indexes<Of>(&self, f: &Section<'_>, what: &str, names: &[Spanned<String>], known: &[&str]) -> Vec<Ix<Of>> {
        let index = |name: &Spanned<String>| {
            let found = known.iter().position(|key| key == name.get_ref());
            if found.is_none() {
                self.unknown(f, what, name, known);
            }
            found.map(Ix::at)
        };
        names.iter().filter_map(index).collect()
    }

    fn unknown(&self, f: &Section<'_>, what: &str, name: &Spanned<String>, known: &[&str]) {
        if !self.gathered {
            return;
        }
        let key = name.get_ref();
        // Among thousands of names a near one takes long to find and helps nobody.
        let near = (known.len() <= 1000).then(|| nearest(key, known)).flatten();
        let hint = near.map_or("define it, or use another".to_owned(), |near| format!("did you mean '{near}'?"));
        f.mistake_at(name.span().start, format!("there is no {what} '{key}'; {hint}"));
    }

    /// The roles that a list names, at least one; each must be one of the sequence's.
    pub(super) fn roles(&self, f: &Section<'_>, key: &'static str, doc: &'static str) -> Vec<String> {
        let named = f.try_required(key, List(At(Name)), doc);
        self.named_roles(f, key, named)
    }

    /// The roles of a list that may be left out: one role then.
    pub(super) fn roles_or(&self, f: &Section<'_>, key: &'static str, usual: &str, doc: &'static str) -> Vec<String> {
        match f.optional(key, List(At(Name)), doc) {
            None => vec![usual.to_owned()],
            named => self.named_roles(f, key, named),
        }
    }

    fn named_roles(&self, f: &Section<'_>, key: &'static str, named: Option<Vec<Spanned<String>>>) -> Vec<String> {
        let Some(named) = named else { return Vec::new() };
        if named.is_empty() {
            f.mistake_in(key, format!("'{key}' must name at least one role"));
        }
        // Without any roles the missing list is the mistake, not each name.
        for role in named.iter().filter(|role| !self.roles.is_empty() && !self.roles.contains(role.get_ref())) {
            let (role, at) = (role.get_ref(), role.span().start);
            f.mistake_at(at, format!("'{role}' is not one of 'roles'; add it there, or use {}", self.roles.join(", ")));
        }
        named.into_iter().map(Spanned::into_inner).collect()
    }

    /// Notes steps and hold points (each with the place of its `after`) that wait for each other.
    pub(super) fn circles(&self, top: &Section<'_>, steps: &Indexed<Step>, holds: &[(Hold, usize)]) {
        #[derive(Clone, Copy, PartialEq)]
        enum Seen {
            No,
            OnPath,
            Done,
        }
        // What each step waits for, then each hold point.
        let of_holds = holds.iter().map(|(hold, _)| &hold.after);
        let after = steps.iter().map(|step| &step.after).chain(of_holds);
        let places = |after: &Vec<StepIx>| after.iter().map(|step| step.place()).collect();
        let mut after: Vec<Vec<usize>> = after.map(places).collect();
        for (place, (hold, _)) in holds.iter().enumerate() {
            hold.holds.iter().for_each(|step| after[step.place()].push(steps.len() + place));
        }
        // Depth first, without recursion so that a long file can't exhaust the stack.
        let (mut seen, mut noted) = (vec![Seen::No; after.len()], vec![false; after.len()]);
        for start in 0..after.len() {
            let mut path = if seen[start] == Seen::No { vec![(start, 0)] } else { Vec::new() };
            while let Some((at, next)) = path.pop() {
                seen[at] = Seen::OnPath;
                let Some(&before) = after[at].get(next) else {
                    seen[at] = Seen::Done;
                    continue;
                };
                path.push((at, next + 1));
                match seen[before] {
                    Seen::No => path.push((before, 0)),
                    Seen::OnPath => {
                        let from = path.iter().position(|(on_path, _)| *on_path == before).unwrap_or(0);
                        let circle: Vec<usize> = path[from..].iter().map(|(on_path, _)| *on_path).collect();
                        // Circles that share a step are one mistake.
                        if !circle.iter().any(|at| noted[*at]) {
                            self.note_circle(top, &circle, steps, holds);
                        }
                        circle.iter().for_each(|at| noted[*at] = true);
                    }
                    Seen::Done => {}
                }
            }
        }
    }

    fn note_circle(&self, top: &Section<'_>, circle: &[usize], steps: &Indexed<Step>, holds: &[(Hold, usize)]) {
        let hold = |at: usize| at.checked_sub(steps.len()).map(|place| &holds[place]);
        let round = circle.iter().chain(&circle[..1]).map(|at| match hold(*at) {
            Some((hold, _)) => format!("hold point {}", hold.key),
            None => steps[Ix::at(*at)].key.clone(),
        });
        let round: Vec<String> = round.collect();
        let closing = circle.last().and_then(|at| self.steps.get(*at)).map_or(0, |step| step.after_at);
        let at = circle.iter().find_map(|at| hold(*at)).map_or(closing, |(_, after_at)| *after_at);
        let what = if at == closing { "steps" } else { "steps and hold points" };
        top.mistake_at(at, format!("{what} wait for each other: {}; remove one 'after'", round.join(" after ")));
    }
}

/// Notes a file of absurd size.
fn too_many(top: &Section<'_>) -> bool {
    let tables = ["document", "caution", "stage", "hold", "window", "limit", "allowance"];
    let crowded = tables.map(|table| (top.peek(table).len(), table)).into_iter().find(|(count, _)| *count > MOST_PARTS);
    let steps: usize = top.peek("stage").iter().map(|stage| stage.peek("step").len()).sum();
    match crowded {
        Some((count, table)) => top.mistake(format!("{count} tables called '{table}'; at most {MOST_PARTS}")),
        None if steps > MOST_STEPS => top.mistake(format!("{steps} steps; at most {MOST_STEPS}")),
        None => return false,
    }
    true
}
