//! The count of the stock: what was delivered, what was taken, what is left.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use chrono::NaiveDate;

use super::quantity::Takes;
use super::state::State;
use crate::building::{SubjectIx, SubjectKind, Subjects};
use crate::day::facts::{Delivery, Taken, plain_label};
use crate::materials::product::{Amount, Product, known_or_plain};
use crate::moment::Moment;
use crate::record::StockUse;

/// Every product of the job.
#[derive(Debug, Clone, Default)]
pub struct Ledger {
    /// A line for each product that was delivered, used, or is asked for, by its key.
    pub lines: Vec<Line>,
}

/// What came and where it went.
#[derive(Debug, Clone, Copy, Default)]
pub struct Sums {
    /// All that came.
    pub delivered: Amount,
    /// All that was used or cut up.
    pub used: Amount,
    /// All that was thrown away.
    pub thrown_away: Amount,
    /// All that was sent back.
    pub sent_back: Amount,
}

impl Sums {
    /// All that was thrown away or sent back.
    pub fn gone(&self) -> Amount {
        self.thrown_away + self.sent_back
    }

    /// What is left; less than nothing where more was used than delivered.
    pub fn left(&self) -> Amount {
        self.delivered - self.used - self.gone()
    }

    fn take(&mut self, how: StockUse, amount: Amount) {
        *match how {
            StockUse::ThrownAway => &mut self.thrown_away,
            StockUse::SentBack => &mut self.sent_back,
            StockUse::Used | StockUse::CutUp | StockUse::OffCut => &mut self.used,
        } += amount;
    }
}

/// One product.
#[derive(Debug, Clone)]
pub struct Line {
    /// Its key.
    pub product: String,
    /// What it is counted in.
    pub unit: String,
    /// What is known of it.
    pub known: Product,
    /// Something of it was delivered: its count is kept.
    pub kept: bool,
    /// What came and where it went, batches that nobody named included.
    pub sums: Sums,
    /// What is left of batches that are past their last day: of no use for the work still to do.
    pub expired: Amount,
    /// What the work still to do takes, as far as it is known, by the index of the wall; that of corners by the job's.
    pub needed: BTreeMap<SubjectIx, Amount>,
    /// Subjects still to do whose need is not known.
    pub need_not_known: Vec<SubjectIx>,
    /// Its batches, in the order in which each was first heard of.
    pub batches: Vec<BatchLine>,
    /// What was used without its batch being named.
    pub not_named: Vec<Counted>,
    /// Where each label stands among the batches, as it was written somewhere.
    places: BTreeMap<String, usize>,
}

/// One batch of a product.
#[derive(Debug, Clone, Default)]
pub struct BatchLine {
    /// What stands on the label, as it was first written.
    pub batch: String,
    /// Its colour, where a delivery says.
    pub colour: Option<String>,
    /// The last day on which it may be used; the earliest, where deliveries differ.
    pub expires: Option<NaiveDate>,
    /// Its deliveries; none for one that was used and never delivered.
    pub deliveries: Vec<Delivery>,
    /// What was taken of it, in the order in which it happened.
    pub taken: Vec<Counted>,
    /// What came and where it went.
    pub sums: Sums,
}

/// Something taken, with its amount.
#[derive(Debug, Clone)]
pub struct Counted {
    /// What was taken.
    pub taken: Arc<Taken>,
    /// How much came off the stock; `None` where neither somebody counted nor the geometry says.
    pub amount: Option<Amount>,
}

impl Counted {
    /// How many were taken; absent where it is not known. Cutting an off-cut up takes nothing off the stock.
    pub fn count(&self) -> Option<Amount> {
        if self.taken.how == StockUse::OffCut { self.taken.count } else { self.amount }
    }
}

impl Line {
    /// What is left and may be used.
    pub fn usable(&self) -> Amount {
        (self.sums.left() - self.expired).max(Amount::NONE)
    }

    /// What the work still to do takes, as far as it is known.
    pub fn needed_in_all(&self) -> Amount {
        self.needed.values().copied().sum()
    }

    /// How many whole units are short for it.
    pub fn short(&self) -> Amount {
        let wanting = (self.needed_in_all() - self.usable()).rounded_up();
        if self.kept { wanting.max(Amount::NONE) } else { Amount::NONE }
    }

    /// The batch of this label.
    pub fn batch(&self, label: &str) -> Option<&BatchLine> {
        let label = plain_label(label);
        self.batches.iter().find(|line| plain_label(&line.batch) == label)
    }

    /// Everything taken, named or not.
    pub fn all_taken(&self) -> impl Iterator<Item = &Counted> {
        self.batches.iter().flat_map(|batch| &batch.taken).chain(&self.not_named)
    }

    /// Subjects that used it and are not counted: neither somebody counted nor the geometry says.
    pub fn uncounted(&self) -> Vec<SubjectIx> {
        let mut found: Vec<SubjectIx> = self
            .all_taken()
            .filter(|counted| counted.amount.is_none() && counted.taken.subject != Subjects::JOB)
            .map(|counted| counted.taken.subject)
            .collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    /// Subjects that used it without the batch being named.
    pub fn subjects_not_named(&self) -> Vec<SubjectIx> {
        let named: BTreeSet<SubjectIx> =
            self.batches.iter().flat_map(|batch| &batch.taken).map(|counted| counted.taken.subject).collect();
        let mut found: Vec<SubjectIx> = self.not_named.iter().map(|counted| counted.taken.subject).collect();
        found.retain(|subject| !named.contains(subject));
        found.sort_unstable();
        found.dedup();
        found
    }

    /// Files what was taken, of the batch at that place.
    fn add(&mut self, counted: Counted, batch: Option<usize>) {
        let (how, amount) = (counted.taken.how, counted.amount.unwrap_or_default());
        self.sums.take(how, amount);
        let Some(batch) = batch.and_then(|place| self.batches.get_mut(place)) else {
            return self.not_named.push(counted);
        };
        batch.sums.take(how, amount);
        batch.taken.push(counted);
    }

    /// Where the batch of a label stands; one that was not heard of yet begins a line.
    fn place_of(&mut self, label: &str) -> usize {
        if let Some(place) = self.places.get(label) {
            return *place;
        }
        let wanted = plain_label(label);
        let known = self.batches.iter().position(|line| plain_label(&line.batch) == wanted);
        let place = known.unwrap_or_else(|| {
            self.batches.push(BatchLine { batch: label.to_owned(), ..BatchLine::default() });
            self.batches.len() - 1
        });
        self.places.insert(label.to_owned(), place);
        place
    }
}

impl Ledger {
    /// The line of a product.
    pub fn line(&self, product: &str) -> Option<&Line> {
        self.lines.iter().find(|line| line.product == product)
    }
}

/// A delivered batch, as it is offered for an answer.
#[derive(Debug, Clone)]
pub struct Choice {
    /// What stands on the label.
    pub batch: String,
    /// Its colour.
    pub colour: Option<String>,
    /// The last day on which it may be used.
    pub expires: Option<NaiveDate>,
    /// What is left of it.
    pub left: Amount,
    /// What it is counted in.
    pub unit: String,
    /// It is the one that was last used on the wall in question.
    pub in_use: bool,
}

impl Choice {
    /// Whether something is left of it that may be used on a day.
    pub fn is_good(&self, today: NaiveDate) -> bool {
        self.left > Amount::NONE && self.expires.is_none_or(|last| last >= today)
    }
}

impl State {
    /// The count, without what is still needed.
    pub(in crate::day) fn count<'s>(&'s self, takes: &mut Takes<'s>) -> Ledger {
        let stock = &self.stock;
        let named = stock.deliveries.iter().map(|came| came.product.as_str());
        let taken = stock.taken.iter().map(|taken| taken.product.as_str());
        let keys: BTreeSet<&str> = named.chain(taken).chain(self.sequence().products()).collect();
        let mut lines: Vec<Line> = keys
            .into_iter()
            .map(|key| Line {
                product: key.to_owned(),
                unit: stock.unit(key).unwrap_or(known_or_plain(key).unit).to_owned(),
                known: known_or_plain(key),
                kept: stock.is_kept(key),
                sums: Sums::default(),
                expired: Amount::NONE,
                needed: BTreeMap::new(),
                need_not_known: Vec::new(),
                batches: Vec::new(),
                not_named: Vec::new(),
                places: BTreeMap::new(),
            })
            .collect();
        for came in &stock.deliveries {
            let Some(line) = lines.iter_mut().find(|line| line.product == came.product) else { continue };
            line.sums.delivered += came.count;
            let place = line.place_of(&came.batch);
            let batch = &mut line.batches[place];
            batch.sums.delivered += came.count;
            batch.colour = batch.colour.take().or_else(|| came.colour.clone());
            batch.expires = batch.expires.into_iter().chain(came.expires).min();
            batch.deliveries.push(came.clone());
        }
        // Pieces of off-cuts, by product and subject, still to be taken off what the geometry counts there.
        let mut saved: BTreeMap<(&str, SubjectIx), Amount> = BTreeMap::new();
        for taken in stock.taken.iter().filter(|taken| taken.how == StockUse::OffCut) {
            *saved.entry((&taken.product, taken.subject)).or_default() += taken.count.unwrap_or_default();
        }
        // Pieces that stay where they are, so that the same one put up again is not counted again.
        let mut up: BTreeSet<(&str, Option<usize>, SubjectIx)> = BTreeSet::new();
        for taken in &stock.taken {
            let Some(line) = lines.iter_mut().find(|line| line.product == taken.product) else { continue };
            let amount = match (taken.how, taken.count) {
                (StockUse::OffCut, _) => Some(Amount::NONE),
                (_, Some(count)) => Some(count),
                (_, None)
                    if self.subjects.get(taken.subject).kind() == SubjectKind::Corner && taken.batch.is_none() =>
                {
                    // The drawings may leave it dry.
                    None
                }
                (_, None) => takes.amount(&taken.product, taken.subject),
            };
            let batch = taken.batch.as_deref().map(|label| line.place_of(label));
            let piece = (taken.product.as_str(), batch, taken.subject);
            let again = taken.step.is_some() && line.known.solid && !up.insert(piece);
            let amount = match amount {
                Some(_) if again => Some(Amount::NONE),
                Some(amount) if taken.step.is_some() => {
                    let saved = saved.entry((&taken.product, taken.subject)).or_default();
                    let less = (*saved).min(amount);
                    *saved -= less;
                    Some(amount - less)
                }
                other => other,
            };
            line.add(Counted { taken: taken.clone(), amount }, batch);
        }
        Ledger { lines }
    }

    /// What subjects would take of a product by the job's geometry, and what is left of a batch of it.
    pub fn would_take<'s>(&'s self, product: &'s str, batch: &str, subjects: &[SubjectIx]) -> Option<(Amount, Amount)> {
        let mut takes = Takes::of(self);
        let amount = subjects.iter().map(|subject| takes.amount(product, *subject)).sum::<Option<Amount>>()?;
        Some((amount, self.count(&mut takes).line(product)?.batch(batch)?.sums.left()))
    }

    /// Other batches of a product that are on the walls of these subjects already, where it has to match.
    pub fn other_batches(&self, product: &str, batch: &str, subjects: &[SubjectIx]) -> Vec<String> {
        if !known_or_plain(product).matched {
            return Vec::new();
        }
        let walls = |subject: SubjectIx| self.subjects.walls_of(subject);
        let here = |taken: &&Arc<Taken>| {
            taken.product == product
                && taken.how.is_on_the_wall()
                && subjects.iter().any(|subject| walls(*subject).iter().any(|wall| walls(taken.subject) == [*wall]))
        };
        let mut others: Vec<String> = Vec::new();
        for label in self.stock.taken.iter().filter(here).filter_map(|taken| taken.batch.as_ref()) {
            if plain_label(label) != plain_label(batch)
                && others.iter().all(|other| plain_label(other) != plain_label(label))
            {
                others.push(label.clone());
            }
        }
        others
    }

    /// The delivered batches of a product, for an answer: the one in use on the wall first, then those in date by
    /// their expiry, then those that are used up or expired.
    pub fn choices(&self, product: &str, wall: Option<SubjectIx>, at: Moment) -> Vec<Choice> {
        if !self.stock.is_kept(product) {
            return Vec::new();
        }
        let ledger = self.count(&mut Takes::of(self));
        let Some(line) = ledger.line(product) else { return Vec::new() };
        let on_wall = |counted: &&Counted| {
            let walls = self.subjects.walls_of(counted.taken.subject);
            counted.taken.how.is_on_the_wall() && wall.is_some_and(|wall| walls.contains(&wall))
        };
        let last_on_wall = line
            .batches
            .iter()
            .flat_map(|batch| &batch.taken)
            .filter(on_wall)
            .max_by_key(|counted| counted.taken.at)
            .and_then(|counted| counted.taken.batch.as_deref().map(plain_label));
        let mut choices: Vec<Choice> = line
            .batches
            .iter()
            .filter(|batch| !batch.deliveries.is_empty())
            .map(|batch| Choice {
                batch: batch.batch.clone(),
                colour: batch.colour.clone(),
                expires: batch.expires,
                left: batch.sums.left(),
                unit: line.unit.clone(),
                in_use: last_on_wall.as_ref() == Some(&plain_label(&batch.batch)),
            })
            .collect();
        let today = at.date();
        // The sort is stable: of those alike the one delivered first comes first.
        choices.sort_by_key(|choice| {
            let past = choice.expires.is_some_and(|last| last < today);
            let out = past || choice.left <= Amount::NONE;
            (out, !choice.in_use, choice.expires.is_none(), choice.expires)
        });
        choices
    }
}
