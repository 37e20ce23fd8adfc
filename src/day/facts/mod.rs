//! What the entries come to, as plain values.

mod adoption;
mod day;
mod defect;
mod done;
mod effect;
mod extra;
mod fact;
mod forecast;
mod grade;
mod hold;
mod kept;
mod seal_plan;
mod stock;
mod stoppage;

pub use adoption::Adoption;
pub use day::{Attendance, Day, Stay};
pub use defect::{Defect, DefectState};
pub use done::{Done, Judged, number};
pub use effect::{Effect, Thing};
pub use extra::ExtraWork;
pub use fact::{Fact, Plan, Reading};
pub use forecast::ForecastInForce;
pub use grade::{Grade, noted};
pub use hold::{HoldState, HoldStatus};
pub use kept::{Kept, KeptSum};
pub use seal_plan::{Inputs, JointRow, LeftRow, PLAN, SealPlan, Timetable};
pub use stock::{Delivery, Stock, Taken, plain_label};
pub use stoppage::Stoppage;
