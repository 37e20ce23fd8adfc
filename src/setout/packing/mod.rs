//! C1: packing that brings stud faces to one plane.
//!
//! Readings say how far each stud face stands from a straight line, + proud. Packers only add, so the
//! finished face lies on a plane that clears every proud stud, and what stands short of it is packed out.
//! The plane that needs least is a linear programme.

mod pack;
mod packers;
mod plane;
mod proud;
mod readings;

pub use pack::{Excess, PackedFixing, Packing, pack};
pub use plane::Plane;
pub use proud::ProudStud;
pub use readings::{Fixing, MOST_FIXINGS, PackingError, PackingRules, READING};
