//! Sealing: what a joint takes and how far it moves.
//!
//! | sum | file | rests on |
//! |---|---|---|
//! | C9 volume, cartridges, depth | [`sealant`] | arithmetic; Allen, *Architectural Detailing* |
//! | C9 movement and least width | [`movement`] | ISO 11600:2002 classes |

pub mod movement;
pub mod sealant;
