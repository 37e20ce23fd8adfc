//! The rules of the day: each looks at the state and says what it finds. [`judge`] asks them all.

mod asks;
mod authority;
mod breach;
mod cautions;
mod expiry;
mod holds;
mod judge;
mod limits;
mod missed;
mod order;
mod stamps;
mod windows;

pub use asks::{AnswerError, NoAnswer, Unanswered, answer_typed, judge_answer};
pub(in crate::day) use asks::{check_answered, check_asked, out_of_tolerance};
pub(in crate::day) use authority::{has_role, roles_known};
pub use breach::Breach;
pub(in crate::day) use cautions::with_others;
pub(in crate::day) use expiry::{expired, judge_batches, stock_of};
pub(in crate::day) use holds::{covered_by, took_part};
pub use holds::{may_release, release_waits_for};
pub use judge::judge;
pub(in crate::day) use judge::{Attempt, judge_attempt};
pub use limits::{Conditions, LimitReason, OutOfLimit, out_of};
pub(in crate::day) use limits::{in_words, reasons};
pub use missed::{Missed, Spoiled};
pub use stamps::StampFlaw;
pub(in crate::day) use stamps::{CLOCK_SLACK, stamp_of};
pub use windows::{Phase, Run};
