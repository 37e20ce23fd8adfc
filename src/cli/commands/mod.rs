//! One file a command.

pub mod backup;
pub mod batch;
pub mod caution;
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
pub mod photo;
pub mod reading;
pub mod record;
pub mod sequence;
pub mod stock;
pub mod stoppage;
pub mod strike;
pub mod verify;
pub mod walk;
pub mod watch;
pub mod window;
