//! Drawings as SVG text, in one colour, sized in millimetres of paper.
//!
//! - [`elevation`]: one wall: columns, courses, joints, openings, studs to add, packing, dimensions
//! - [`rod_pages`]: the storey rod full size, in strips to cut out and tape together

mod elevation;
mod rod;

pub use elevation::{DrawnOpening, Elevation, PackMark, elevation};
pub use rod::rod_pages;
