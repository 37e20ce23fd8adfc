//! Weather that is foreseen, and the sealing day that is planned by it.

mod forecast;
