//! Quantities: one newtype each, built and read by functions named after the unit.
//!
//! A bare `f64` never crosses a public boundary of the library without its unit in the name.

pub mod bounds;
pub mod decimal;
pub mod number;
mod site;
mod tape;

pub use bounds::{Bounds, OutOfRange};
pub use number::{NumberError, parse_count, parse_decimal, parse_hours};
pub use site::Quantity;
pub use tape::parse_length;

use serde::{Deserialize, Serialize};

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $new:ident, $get:ident, $unit:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(f64);

        impl $name {
            #[doc = concat!("Builds the quantity from a value in ", $unit, ".")]
            pub const fn $new(value: f64) -> Self {
                Self(value)
            }

            #[doc = concat!("The value in ", $unit, ".")]
            pub const fn $get(self) -> f64 {
                self.0
            }
        }

        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }
    };
}

quantity!(
    /// A length along, up or off the wall.
    Length, mm, as_mm, "millimetres"
);
quantity!(
    /// A temperature of air or of a surface.
    Temperature, celsius, as_celsius, "degrees Celsius"
);
quantity!(
    /// Relative humidity over water.
    Humidity, percent, as_percent, "per cent"
);
quantity!(
    /// An angle or a bearing; bearings run clockwise from north.
    Angle, degrees, as_degrees, "degrees"
);
