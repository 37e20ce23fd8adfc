//! The conditions on site: dew, sun and shade, and what work does to the people who do it.
//!
//! | sum | file | rests on |
//! |---|---|---|
//! | C10 dew point and margin | [`dew`] | WMO-No. 8, Annex 4.B |

pub mod dew;
