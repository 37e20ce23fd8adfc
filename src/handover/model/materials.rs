//! Materials: what was ordered, what was delivered, where each batch is, and what was cut.

use crate::building::SubjectIx;
use crate::day::{BatchLine, Flag, Kept, Ledger, Line, OrderedVsUsed};
use crate::materials::cuts::WallCuts;
use crate::materials::takeoff::TakeOff;
use crate::moment::Moment;

/// What the record says of materials.
#[derive(Debug)]
pub struct Materials {
    /// The count of the stock, product by product.
    pub ledger: Ledger,
    /// What to note about it, what matters most first.
    pub flags: Vec<Flag>,
    /// Ordered against used, product by product.
    pub compared: Vec<OrderedVsUsed>,
    /// Where each batch is on the building.
    pub traces: Vec<Trace>,
    /// Take-offs in force: the whole job's, then those of walls in building order.
    pub takeoffs: Vec<Kept<TakeOff>>,
    /// Cut plans in force, in the same order.
    pub cuts: Vec<Kept<WallCuts>>,
}

impl Materials {
    /// What to note about a batch, a word each.
    pub fn flags_of(&self, line: &Line, batch: &BatchLine) -> Vec<&'static str> {
        let of_batch = |flag: &&Flag| flag.product == line.product && flag.batch.as_deref() == Some(&batch.batch);
        self.flags.iter().filter(of_batch).map(|flag| flag.kind.word()).collect()
    }
}

/// A batch on a part of the building.
#[derive(Debug)]
pub struct Trace {
    /// The product.
    pub product: String,
    /// Indexes of the subjects, in building order.
    pub on: Vec<SubjectIx>,
    /// The batch; absent where nobody named it.
    pub batch: Option<String>,
    /// When the first of it was used there.
    pub first_at: Moment,
    /// When the last.
    pub last_at: Moment,
}
