//! setout.
