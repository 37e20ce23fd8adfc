//! Sealing: what a joint takes, how far it moves, and the plan of the sealing day.
//!
//! | sum | file | rests on |
//! |---|---|---|
//! | C9 volume, cartridges, depth | [`sealant`] | arithmetic; Allen, *Architectural Detailing* |
//! | C9 movement and least width | [`movement`] | ISO 11600:2002 classes |
//! | C12 timetable of the sealing day | [`plan`] | search, checked by an independent checker |

pub mod movement;
pub mod plan;
pub mod sealant;
