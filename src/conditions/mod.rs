//! The conditions on site: dew, sun and shade, and what work does to the people who do it.
//!
//! | sum | file | rests on |
//! |---|---|---|
//! | C10 dew point and margin | [`dew`] | WMO-No. 8, Annex 4.B |
//! | C11 place of the sun | [`sun`] | NREL SPA (Reda and Andreas) |
//! | C11 when walls are lit | [`shade`] | the same, upright walls |

pub mod dew;
pub mod shade;
pub mod sun;
