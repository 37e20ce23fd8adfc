//! conditions.
