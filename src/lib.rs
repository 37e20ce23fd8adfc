//! cladlog: a site-day workflow and quality log for cladding crews.

pub mod building;
pub mod cli;
pub mod conditions;
pub mod day;
pub mod digest;
pub mod form;
pub mod handover;
pub mod materials;
pub mod moment;
pub mod record;
pub mod refusal;
pub mod sealing;
pub mod sequence;
pub mod setout;
pub mod units;
