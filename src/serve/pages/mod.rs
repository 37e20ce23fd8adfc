//! The pages: a job's book and who looks at it → HTML. Nothing here reads, writes or asks the time, and no rule stands
//! here: what is next, what is asked and how it is judged come from `day`, as the walk has them.
//!
//! Every page works by plain links and forms; `script.js` adds to what is there. Text from the record goes through
//! [`visible`](crate::plain::visible) and is escaped by `maud`.

mod aside;
mod cautions;
mod clocks;
mod defects;
mod evening;
mod extra;
mod frame;
mod holds;
mod notice;
mod now;
mod pairing;
mod reading;
mod seal_plan;
mod step;
mod stock;
mod subject;
mod times;
mod view;
mod wall;

pub use cautions::cautions;
pub use clocks::clocks;
pub use defects::defects;
pub use evening::evening;
pub use extra::extra;
pub use holds::holds;
pub use now::now;
pub use pairing::{error_page, pair, unpaired};
pub use seal_plan::seal_plan;
pub use step::step;
pub use stock::stock;
pub use subject::on;
pub(super) use view::segment;
pub use wall::wall;
