//! materials.
