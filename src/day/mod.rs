//! The rules: what the record comes to, what is next, what is refused.
//!
//! Three pure functions, and every screen is a skin over them:
//! [`replay`] folds the entries into a [`State`], [`next`] says what can be done now, what waits and why,
//! [`decide`] turns a request into entry bodies or into a refusal. Both `replay` and `decide` ask the same
//! [`judge`] whether a step is in order: `decide` refuses what it finds, `replay` opens it as a defect.
//! So nothing that the record holds, however it came in, escapes the rules.
//!
//! The rooms, each knowing only those above it: `facts` (plain values), `state` (the facts of a job, and look-ups),
//! `rules`, `replay`, `book` (entries and what they come to), `requests`, `views`.

mod book;
mod facts;
mod replay;
mod requests;
mod rules;
mod state;
mod views;

pub use book::{Book, Change};
pub use facts::{
    Adoption, Attendance, Day, Defect, DefectState, Delivery, Done, Effect, ExtraWork, Fact, ForecastInForce, Grade,
    HoldState, HoldStatus, Inputs, JointRow, Judged, Kept, KeptSum, LeftRow, PLAN, Plan, Reading, SealPlan, Stock,
    Stoppage, Taken, Thing, Timetable, noted, plain_label,
};
#[cfg(test)]
pub(crate) use replay::FOLDED;
pub use replay::{ReplayError, replay};
pub use requests::{
    AddPhotos, Context, DecideError, Decision, Given, NoPhoto, Photo, RecordStep, Request, Value, check_break,
    check_clock, check_time, decide, key_on_record, readings_by_place, recorded_ahead, recording_time, set_up, spelled,
};
pub use rules::{
    AnswerError, Breach, Conditions, LimitReason, Missed, NoAnswer, OutOfLimit, Phase, Run, Spoiled, StampFlaw,
    Unanswered, answer_typed, judge, judge_answer, may_release, out_of, release_waits_for,
};
pub use state::{BatchLine, Choice, Counted, KeptCuts, Ledger, Line, SetOutError, State, Sums};
pub use views::{
    Action, ActivePlan, Coming, Effects, Flag, FlagJson, FlagKind, Group, HEAT_LIMIT, HeldUp, InOneGo, LIFTING_LIMIT,
    LONGEST_SEARCH, Mark, OpenEdge, OrderedVsUsed, PhotoUse, Picking, Planned, PlannedTask, Saying, SayingKind,
    SealAsk, SealDay, SealError, SealPlanDue, SecondBatch, Slip, StampRow, Task, TaskId, USUAL_HOURS, Urgency,
    WallWork, WindowRow, WindowsAlike, basis_words, coming, counts_from_its_beginning, gathered_windows, held_up,
    holds_listed, hours_offered, how_typed, is_at, is_failing, is_probably_a_slip, judged_words, keep_recordable,
    last_label, limit_line, missed_at_once, names_photo, next, next_checked, next_listed, offer_words, on_words,
    photo_notes, photos, planned, planned_ask, required_words, running_windows, sayings, stamps, still_open,
    stock_ahead, text_to_send, the, time_before, wall_words, window_words, windows_listed,
};
