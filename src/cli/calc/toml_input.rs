//! TOML files that a sum reads.

use std::path::Path;

use serde::de::DeserializeOwned;

use crate::cli::{Failure, input};

/// Reads a TOML file into the shape that the sum wants.
///
/// # Errors
/// [`Failure::Input`] worded `FILE:LINE:COLUMN: why`.
pub(super) fn read_toml<T: DeserializeOwned>(path: &Path) -> Result<T, Failure> {
    let text = input::read_text(path)?;
    toml::from_str(&text).map_err(|error| {
        let before = error.span().and_then(|span| text.get(..span.start)).unwrap_or("");
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
        // The first line says it; the rest is a picture of the place.
        let why = error.message().lines().next().unwrap_or("is not TOML").to_owned();
        Failure::input(format!("{}:{line}:{column}: {why}", path.display()))
    })
}
