//! Set-out: the sums that come before the first panel.
//!
//! - [`packing`]: the plane that needs least packing, and the packers from the box
//! - [`square`]: diagonals, corners, plumb, double studs
//! - [`starter`]: lowest and highest start of the starter line
//! - [`courses`]: one start height for the building, and every course height (storey rod)
//! - [`columns`]: joints and columns of one wall, and the studs to add
//! - [`framer`]: studs and blocking to add behind the edges of the cladding
//! - [`outline`]: the upper and lower outline of a wall
//! - [`boards`]: where the ends of lapped boards meet, course by course
//! - [`panels`]: every piece, with its rip, notches, area and cut edge
//! - [`drawing`]: a wall's elevation and the storey rod as SVG
//! - [`of_job`]: the inputs of these sums from a job's own geometry
//! - [`marks`]: studs and openings along a wall, checked
//! - [`exact`]: lengths in whole ticks, for sums that must come out exact

pub mod boards;
pub mod columns;
pub mod courses;
pub mod drawing;
pub mod exact;
pub mod framer;
pub mod marks;
pub mod of_job;
pub mod opening;
pub mod outline;
pub mod packing;
pub mod panels;
pub mod square;
pub mod starter;
