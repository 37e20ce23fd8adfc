//! Drawings as SVG text, in one colour, sized in millimetres of paper.
//!
//! - [`elevation`]: one wall: pieces, courses, joints, openings, corners, dimensions, and what is noted of each
//! - [`rod_pages`]: the storey rod full size, in strips to cut out and tape together

mod dimensions;
mod elevation;
mod labels;
mod legend;
mod marks;
mod of_wall;
mod rod;
mod view;

pub use elevation::{elevation, elevation_with_links};
pub use of_wall::{Corner, Course, Elevation, Form, Ground, Joint, Mark, Opening, PackMark, Place, Plans, Sides};
pub use rod::rod_pages;
pub use view::Sheet;
