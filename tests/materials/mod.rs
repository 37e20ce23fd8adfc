//! materials
