//! What somebody should know of the materials: never a refusal, never silent.

use std::collections::BTreeSet;

use serde::Serialize;

use crate::building::{SubjectIx, SubjectKind, Subjects};
use crate::day::facts::plain_label;
use crate::day::state::{BatchLine, Counted, Ledger, Line, State};
use crate::materials::product::{Amount, EXPIRY_WARNING_DAYS, counted, unit};
use crate::moment::{Moment, dated};
use crate::record::EntryId;

/// What a flag is about, what presses most first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, strum::IntoStaticStr)]
#[serde(rename_all = "kebab-case")]
#[strum(serialize_all = "kebab-case")]
pub enum FlagKind {
    /// A wall that is begun can't be finished with what is left.
    RunsOut,
    /// What is left does for the walls begun, not for the job.
    Short,
    /// The batch on a wall does not last to its end: the rest would be of another.
    BatchShort,
    /// Two batches of what is seen side by side, on one wall or at a corner.
    SecondBatch,
    /// Something is left that is past its last day.
    Expired,
    /// Something is left that is close to its last day.
    ExpiresSoon,
    /// Used, and no delivery of it is recorded.
    NotDelivered,
    /// Used before it came.
    BeforeDelivery,
    /// More taken than came.
    #[serde(rename = "more-used-than-delivered")]
    #[strum(serialize = "more-used-than-delivered")]
    Over,
}

impl FlagKind {
    /// The word, for JSON and tables.
    pub fn word(self) -> &'static str {
        self.into()
    }

    /// Whether it is about what lies ahead, so that somebody can still do something about it.
    pub fn is_ahead(self) -> bool {
        matches!(self, Self::RunsOut | Self::Short | Self::BatchShort | Self::Expired | Self::ExpiresSoon)
    }
}

/// Something to know of the materials.
#[derive(Debug, Clone)]
pub struct Flag {
    /// What it is about.
    pub kind: FlagKind,
    /// The product.
    pub product: String,
    /// The batch, where it is about one.
    pub batch: Option<String>,
    /// Indexes of the subjects that it is about.
    pub on: Vec<SubjectIx>,
    /// In words, one sentence.
    pub says: String,
    /// The entries that it comes from.
    pub raised_by: Vec<EntryId>,
}

/// Two batches or more of what is seen, side by side.
#[derive(Debug, Clone)]
pub struct SecondBatch {
    /// Indexes of the walls that have both, and of the corners where they meet.
    pub on: Vec<SubjectIx>,
    /// What is counted of the product.
    unit: String,
    /// The label of each batch with the indexes of the subjects that it is on, in the order in which they were begun.
    pub batches: Vec<(String, Vec<SubjectIx>)>,
    /// Their colours, where the labels differ.
    colours: Vec<String>,
    /// The entries that brought in any but the first.
    pub raised_by: Vec<EntryId>,
}

impl SecondBatch {
    /// "2 batches of panels side by side, A (N/C1..8) and B (N/C9)".
    pub fn in_words(&self, state: &State) -> String {
        let where_each = self.batches.iter().map(|(label, on)| format!("{label} ({})", state.subjects.shortly(on)));
        let where_each: Vec<String> = where_each.collect();
        let colours = match self.colours.as_slice() {
            [_, _, ..] => format!("; the labels say {}", self.colours.join(" and ")),
            _ => String::new(),
        };
        format!("{} batches of {} side by side, {}{colours}", self.batches.len(), self.unit, where_each.join(" and "))
    }

    fn is_of_the_same(&self, other: &Self) -> bool {
        let labels = |it: &Self| it.batches.iter().map(|(label, _)| plain_label(label)).collect::<BTreeSet<_>>();
        self.unit == other.unit && labels(self) == labels(other)
    }

    /// With what is of the same batches elsewhere.
    fn extend(&mut self, other: Self) {
        self.on.extend(other.on);
        self.raised_by.extend(other.raised_by);
        for (label, on) in other.batches {
            for (_, known) in self.batches.iter_mut().filter(|(known, _)| plain_label(known) == plain_label(&label)) {
                known.extend(&on);
                known.sort_unstable();
                known.dedup();
            }
        }
    }
}

impl Flag {
    /// What makes it the same flag in another state, whatever its numbers.
    fn place(&self) -> (FlagKind, &str, Option<&str>, &[SubjectIx]) {
        let on = if self.kind == FlagKind::Short { &[] } else { self.on.as_slice() };
        (self.kind, &self.product, self.batch.as_deref(), on)
    }
}

impl State {
    /// Every flag at a moment, product by product, what presses most first.
    pub fn stock_flags(&self, now: Moment) -> Vec<Flag> {
        if self.stock.deliveries.is_empty() && self.stock.taken.is_empty() {
            return Vec::new();
        }
        self.flags_of(&self.ledger(now), now)
    }

    /// The flags of a count that is in hand.
    pub fn flags_of(&self, ledger: &Ledger, now: Moment) -> Vec<Flag> {
        let mut flags: Vec<Flag> = ledger.lines.iter().flat_map(|line| self.of_line(line, now)).collect();
        flags.sort_by(|a, b| (a.kind, &a.product).cmp(&(b.kind, &b.product)));
        flags
    }

    /// What is new once these entries are recorded: the flags that they raise, and any that were not there before.
    pub fn stock_warnings(&self, before: &[Flag], recorded: &[EntryId], now: Moment) -> Vec<Flag> {
        let raised = |flag: &Flag| flag.raised_by.iter().any(|entry| recorded.contains(entry));
        let new = |flag: &Flag| !before.iter().any(|old| old.place() == flag.place());
        self.stock_flags(now).into_iter().filter(|flag| raised(flag) || new(flag)).collect()
    }

    fn of_line(&self, line: &Line, now: Moment) -> Vec<Flag> {
        let mut flags: Vec<Flag> =
            self.second_batches_of(line).into_iter().map(|it| self.side_by_side(line, it)).collect();
        if !line.kept {
            return flags;
        }
        flags.extend(self.runs_out(line));
        flags.extend(self.batches_short(line));
        for batch in &line.batches {
            flags.extend(self.of_batch(line, batch, now));
        }
        flags
    }

    fn side_by_side(&self, line: &Line, second: SecondBatch) -> Flag {
        Flag {
            kind: FlagKind::SecondBatch,
            product: line.product.clone(),
            batch: None,
            says: format!("{}: {}: compare them in daylight", self.subjects.shortly(&second.on), second.in_words(self)),
            on: second.on,
            raised_by: second.raised_by,
        }
    }

    /// Walls that something of the product is on, each with what is on it, in the order in which it happened.
    fn by_wall<'l>(&self, line: &'l Line) -> Vec<(SubjectIx, Vec<&'l Counted>)> {
        let mut walls: Vec<(SubjectIx, Vec<&Counted>)> = Vec::new();
        let mut all: Vec<&Counted> = line.all_taken().filter(|counted| counted.taken.how.is_on_the_wall()).collect();
        all.sort_by_key(|counted| counted.taken.at);
        for counted in all {
            // A corner is on two walls: what is there belongs to neither alone.
            let [wall] = self.subjects.walls_of(counted.taken.subject) else { continue };
            match walls.iter_mut().find(|(known, _)| known == wall) {
                Some((_, list)) => list.push(counted),
                None => walls.push((*wall, vec![counted])),
            }
        }
        walls
    }

    /// Where two batches of what is seen hang side by side, product by product: one for all places where the same batches do.
    pub fn second_batches(&self, ledger: &Ledger) -> Vec<SecondBatch> {
        let mut all: Vec<SecondBatch> = Vec::new();
        for second in ledger.lines.iter().flat_map(|line| self.second_batches_of(line)) {
            match all.iter_mut().find(|other| other.is_of_the_same(&second)) {
                Some(other) => other.extend(second),
                None => all.push(second),
            }
        }
        all
    }

    /// Wall by wall, then corner by corner.
    fn second_batches_of(&self, line: &Line) -> Vec<SecondBatch> {
        if !line.known.matched {
            return Vec::new();
        }
        let walls = self.by_wall(line);
        let mut found: Vec<SecondBatch> =
            walls.iter().filter_map(|(wall, all)| self.batches_at(line, *wall, all.clone())).collect();
        for corner in self.subjects.related(Subjects::JOB, SubjectKind::Corner) {
            let round = walls.iter().filter(|(wall, _)| self.subjects.walls_of(*corner).contains(wall));
            let [one, other] = round.map(|(_, all)| all).collect::<Vec<_>>()[..] else { continue };
            if one.iter().any(|here| other.iter().any(|there| self.meet(here, there))) {
                found.extend(self.batches_at(line, *corner, [one.as_slice(), other].concat()));
            }
        }
        found
    }

    /// Whether what is on two walls meets at their corner with a batch of its own each: a course runs on round it.
    fn meet(&self, here: &Counted, there: &Counted) -> bool {
        let number = |counted: &Counted| self.subjects.get(counted.taken.subject).number();
        let labels = || here.taken.batch.as_deref().zip(there.taken.batch.as_deref());
        number(here) == number(there)
            && labels().is_some_and(|(here, there)| here != there && plain_label(here) != plain_label(there))
    }

    fn batches_at(&self, line: &Line, on: SubjectIx, mut all: Vec<&Counted>) -> Option<SecondBatch> {
        all.sort_by_key(|counted| counted.taken.at);
        let mut batches: Vec<(String, Vec<SubjectIx>)> = Vec::new();
        let mut raised_by = Vec::new();
        for counted in all {
            let Some(label) = counted.taken.batch.as_deref() else { continue };
            let place = batches.iter().position(|(known, _)| plain_label(known) == plain_label(label));
            if let Some(place) = place {
                batches[place].1.push(counted.taken.subject);
                continue;
            }
            if !batches.is_empty() {
                raised_by.push(counted.taken.entry.clone());
            }
            batches.push((label.to_owned(), vec![counted.taken.subject]));
        }
        for (_, on) in &mut batches {
            on.sort_unstable();
            on.dedup();
        }
        let mut colours: Vec<String> =
            batches.iter().filter_map(|(label, _)| line.batch(label)?.colour.clone()).collect();
        colours.dedup_by_key(|colour| plain_label(colour));
        (batches.len() > 1).then(|| SecondBatch { on: vec![on], unit: line.unit.clone(), batches, colours, raised_by })
    }

    fn runs_out(&self, line: &Line) -> Option<Flag> {
        let short = line.short();
        if short == Amount::NONE {
            return None;
        }
        let (left, needed) = (line.usable(), line.needed_in_all());
        let begun: Vec<SubjectIx> = self.by_wall(line).into_iter().map(|(wall, _)| wall).collect();
        let stuck: Vec<SubjectIx> = line
            .needed
            .iter()
            .filter(|(wall, needed)| **needed > left && begun.contains(wall))
            .map(|(wall, _)| *wall)
            .collect();
        let walls: Vec<SubjectIx> = line.needed.keys().copied().filter(|wall| *wall != Subjects::JOB).collect();
        let on = if stuck.is_empty() { &walls } else { &stuck };
        let more = if line.need_not_known.is_empty() { "" } else { " or more" };
        let says = format!(
            "{}{} left, {needed} needed{}: {short}{more} short{}",
            named(line, left),
            if line.expired == Amount::NONE { "" } else { " in date" },
            if on.is_empty() { String::new() } else { format!(" for {}", self.subjects.shortly(&walls)) },
            if stuck.is_empty() {
                String::new()
            } else {
                format!("; it runs out before {} is done", self.subjects.shortly(&stuck))
            }
        );
        // What the job lacks is said once; what a begun wall lacks, at every use.
        let at_use = if stuck.is_empty() { Vec::new() } else { line.all_taken().collect() };
        Some(Flag {
            kind: if stuck.is_empty() { FlagKind::Short } else { FlagKind::RunsOut },
            product: line.product.clone(),
            batch: None,
            on: on.clone(),
            says,
            raised_by: at_use.into_iter().map(|counted: &Counted| counted.taken.entry.clone()).collect(),
        })
    }

    /// The product lasts, but not of the batch that the wall was begun with.
    fn batches_short(&self, line: &Line) -> Vec<Flag> {
        if !line.known.matched {
            return Vec::new();
        }
        let of_wall = |(wall, all): (SubjectIx, Vec<&Counted>)| {
            let needed = *line.needed.get(&wall)?;
            let last = all.iter().rev().find_map(|counted| counted.taken.batch.as_deref())?;
            let batch = line.batch(last).filter(|batch| !batch.deliveries.is_empty())?;
            let left = batch.sums.left().max(Amount::NONE);
            (left < needed && line.usable() >= needed).then(|| Flag {
                kind: FlagKind::BatchShort,
                product: line.product.clone(),
                batch: Some(batch.batch.clone()),
                on: vec![wall],
                says: format!(
                    "{}: {} needed, {left} left of batch {}: the rest would be of another",
                    self.subjects.get(wall),
                    counted(needed, &format!("more {}", line.unit)),
                    batch.batch
                ),
                raised_by: all.iter().map(|counted| counted.taken.entry.clone()).collect(),
            })
        };
        self.by_wall(line).into_iter().filter_map(of_wall).collect()
    }

    fn of_batch(&self, line: &Line, batch: &BatchLine, now: Moment) -> Vec<Flag> {
        let mut flags = Vec::new();
        let name = format!("{} {}", line.product, batch.batch);
        let on_wall: Vec<&Counted> = batch.taken.iter().filter(|counted| counted.taken.how.is_on_the_wall()).collect();
        let mut flag = |kind: FlagKind, says: String, from: &[&Counted]| {
            let mut on: Vec<SubjectIx> = from.iter().map(|counted| counted.taken.subject).collect();
            on.sort_unstable();
            on.dedup();
            flags.push(Flag {
                kind,
                product: line.product.clone(),
                batch: Some(batch.batch.clone()),
                on,
                says,
                raised_by: from.iter().map(|counted| counted.taken.entry.clone()).collect(),
            });
        };
        let all: Vec<&Counted> = batch.taken.iter().collect();
        let Some(first) = batch.deliveries.iter().map(|came| came.at).min() else {
            flag(FlagKind::NotDelivered, format!("{name} was used, and no delivery of it is recorded"), &all);
            return flags;
        };
        let early: Vec<&Counted> = all.iter().copied().filter(|counted| counted.taken.at < first).collect();
        if let Some(earliest) = early.first() {
            let day = now.date();
            let says = format!(
                "{name} was used {}, before it was delivered {}",
                earliest.taken.at.clock(day),
                first.clock(day)
            );
            flag(FlagKind::BeforeDelivery, says, &early);
        }
        let left = batch.sums.left();
        if left < Amount::NONE {
            let says = format!(
                "{name}: {} delivered, {} gone: count what is left, or record the delivery that is missing",
                counted(batch.sums.delivered, &line.unit),
                batch.sums.delivered - left
            );
            flag(FlagKind::Over, says, &all);
        }
        if let Some(last) = batch.expires.filter(|_| left > Amount::NONE) {
            let days = (last - now.date()).num_days();
            let many = named(line, left);
            if days < 0 {
                flag(FlagKind::Expired, format!("{name} expired on {}: set {many} aside", dated(last)), &on_wall);
            } else if days <= EXPIRY_WARNING_DAYS {
                let when = match days {
                    0 => "today is its last day".to_owned(),
                    1 => "tomorrow is its last day".to_owned(),
                    days => format!("expires in {days} days, on {}", dated(last)),
                };
                flag(FlagKind::ExpiresSoon, format!("{name}: {when}; {many} left"), &on_wall);
            }
        }
        flags
    }
}

/// An amount of a product with its unit, and with the product where the unit does not say it.
fn named(line: &Line, amount: Amount) -> String {
    let many = counted(amount, &line.unit);
    let says_it = unit(&line.unit).is_some_and(|unit| unit.one == line.product);
    if says_it { many } else { format!("{many} of {}", line.product) }
}
