//! One file a command.

pub mod alarms;
pub mod backup;
pub mod caution;
pub mod coming;
pub mod completions;
pub mod day;
pub mod defect;
pub mod demo;
pub mod extra;
pub mod forecast;
pub mod hold;
pub mod job;
pub mod log;
pub mod next;
pub mod note;
pub mod pack;
pub mod reading;
pub mod record;
pub mod sealplan;
pub mod sequence;
pub mod stoppage;
pub mod strike;
pub mod verify;
pub mod walk;
pub mod watch;
pub mod window;
