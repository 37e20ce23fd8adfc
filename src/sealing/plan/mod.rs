//! The seal plan (C12): a timetable in which every joint that gets primed is sealed inside its window.
//!
//! [`Day::new`] checks what was given and [`plan`] makes the timetable; `tests/sealplan/check.rs` holds timetables against
//! the rules without knowing how they are made. Time is whole minutes from the day's first whole minute; all intervals are
//! half-open, so one may begin where another ends. A task that takes no time may stand at the edge of sun, rain or
//! another task of the same person, but not inside it; masking with its priming counts as one.

mod check;
mod day;
mod drawing;
mod duration;
mod error;
mod given;
mod reader;
mod solve;
mod timetable;

pub use day::{Day, Joint, Primed, Span, TapeOff, Wall, Window};
pub use drawing::drawing;
pub use error::{DayError, DayErrors};
pub use given::{GivenDay, GivenJoint, GivenRates, GivenSpan, GivenWall, GivenWindow, MOST_CREW, MOST_JOINTS};
pub use reader::{day_form, read_toml};
pub use solve::{Effort, plan};
pub use timetable::{LeftOut, Plan, PlannedJoint, Stint, Task};
