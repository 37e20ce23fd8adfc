//! A time stamp over the hash of an entry is kept.

use super::context::{Context, DecideError, Decision, Request, input};
use crate::day::rules::{CLOCK_SLACK, StampFlaw, stamp_of};
use crate::record::{Body, TakeStamp};
use crate::refusal::{Clears, Refusal, Rule};

/// What is refused.
const KEEP: &str = "keep this time stamp";

impl Request for TakeStamp {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        let Some(entry) = context.book.entry(&self.entry) else {
            return input(format!("there is no entry {}", self.entry));
        };
        let mut kept = context.book.entries.iter().filter(|kept| !context.book.state.is_struck(kept));
        if let Some(kept) = kept.find(|kept| matches!(&kept.body, Body::StampTaken(it) if it == self)) {
            return input(format!("entry {} already keeps this time stamp", kept.id()));
        }
        let refused = |why: String| {
            let clears = Clears::from("correct this machine's clock, then ask for another stamp")
                .typed(": cladlog stamp request FILE.tsq");
            Refusal::new(Rule::Clock, KEEP, why, clears).into()
        };
        let stamp = match stamp_of(entry, self) {
            Ok((stamp, _)) => stamp,
            Err(StampFlaw::Early { at, recorded_at }) => {
                let (at, recorded_at) = (at.full(), recorded_at.full());
                return Err(refused(format!(
                    "the authority's clock said {at}, but entry {} was recorded at {recorded_at} by this one",
                    self.entry
                )));
            }
            Err(flaw) => return input(flaw.to_string()),
        };
        let at = stamp.at.at_offset(context.now.offset());
        if at - context.now > CLOCK_SLACK {
            let now = context.now.full();
            return Err(refused(format!("the authority's clock said {}, but this one says {now}", at.full())));
        }
        Ok(Body::StampTaken(self.clone()).into())
    }
}
