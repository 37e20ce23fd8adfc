//! What the work still to do needs of the stock.

use crate::building::{Subject, SubjectKind, Subjects};
use crate::day::state::{Ledger, State, Takes};
use crate::index::Indexed;
use crate::materials::product::Amount;
use crate::moment::Moment;
use crate::record::Body;
use crate::sequence::Step;

impl State {
    /// The count of every product, and what the work that is not complete at a moment still needs.
    pub fn ledger(&self, now: Moment) -> Ledger {
        let mut takes = Takes::of(self);
        let mut ledger = self.count(&mut takes);
        let today = now.date();
        for line in &mut ledger.lines {
            let past = line.batches.iter().filter(|batch| batch.expires.is_some_and(|last| last < today));
            line.expired = past.map(|batch| batch.sums.left().max(Amount::NONE)).sum();
        }
        let products_of = |step: &'_ Step| step.asks.iter().any(|ask| ask.product.is_some());
        let taking: Indexed<Step, bool> = self.sequence().steps.iter().map(products_of).collect();
        for (step, subject) in self.work() {
            if !taking[step] || *self.subjects.get(subject) == Subject::Job || self.complete(step, subject, now) {
                continue;
            }
            for product in self.sequence().steps[step].asks.iter().filter_map(|ask| ask.product.as_deref()) {
                let Some(line) = ledger.lines.iter_mut().find(|line| line.product == product) else { continue };
                // A corner is of two walls, and so of the job.
                let of_job = self.subjects.get(subject).kind() == SubjectKind::Corner;
                let place = if of_job { Some(&Subjects::JOB) } else { self.subjects.walls_of(subject).first() };
                match takes.amount(product, subject).zip(place) {
                    Some((amount, place)) => *line.needed.entry(*place).or_default() += amount,
                    None => line.need_not_known.push(subject),
                }
            }
        }
        ledger
    }

    /// Whether an entry may change what is to be known of the stock: what is left, or what is still needed.
    pub fn may_change_stock(&self, body: &Body) -> bool {
        match body {
            // Fine weather makes no work to be done again.
            Body::ReadingTaken(reading) => reading.rain || reading.is_frost(),
            Body::StoppageStarted(stoppage) => stoppage.rain,
            Body::StepDone(_)
            | Body::StockTaken(_)
            | Body::BatchDelivered(_)
            | Body::Struck(_)
            | Body::PlanKept(_)
            | Body::SequenceAdopted(_)
            | Body::JobRevised(_)
            | Body::DefectConceded(_) => true,
            _ => false,
        }
    }
}
