//! Every question to a person, and what is said between questions. Each question has a flag that answers it instead;
//! without a terminal none is asked. The end of the input leaves, and records nothing.

pub mod day;
pub mod job;
pub mod question;
pub mod screen;
