//! sealing.
