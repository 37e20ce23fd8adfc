//! The conditions on site: dew, sun and shade, and what the work does to the people who do it.
//!
//! | sum | file | rests on |
//! |---|---|---|
//! | C10 dew point and margin | [`dew`] | WMO-No. 8, Annex 4.B |
//! | C11 place of the sun, incidence | [`sun`] | NREL/TP-560-34302 (Reda and Andreas) |
//! | C11 sunrise, sunset, walls in the sun | [`shade`] | the same, upright walls |
//! | C13 eight-hour exposure | [`exposure`] | 29 CFR 1910.1000(d) |
//! | wind by what it does | [`beaufort`] | WMO-No. 8 |
//! | C13 heat index | [`heat`] | NWS, Rothfusz SR 90-23 |
//! | C13 lifting | [`lifting`] | DHHS (NIOSH) 94-110 |
//! | the forecast between the hours | [`forecast`] | linear interpolation |

pub mod beaufort;
pub mod dew;
pub mod exposure;
pub mod forecast;
pub mod heat;
pub mod lifting;
pub mod shade;
pub mod sun;
