//! What `cladlog verify` found out.

use serde::Serialize;

/// What was checked, and what failed.
#[derive(Debug, Default, Serialize)]
pub struct Verified {
    /// Whether nothing failed.
    pub ok: bool,
    /// How much was looked at.
    pub checked: Checked,
    /// What failed.
    pub failures: Vec<Failed>,
    /// What could not be looked at, and why.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
    /// Fingerprint of the key whose signature holds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub signed_by: Option<String>,
    /// The signature is that of the key for rehearsals, which everybody has.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub rehearsal_key: bool,
}

/// How much was looked at.
#[derive(Debug, Default, Serialize)]
pub struct Checked {
    /// Entries.
    pub entries: u64,
    /// Files.
    pub files: u64,
}

/// One failure.
#[derive(Debug, Serialize)]
pub struct Failed {
    /// The entry.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub entry: Option<String>,
    /// The file.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// What is wrong.
    pub what: String,
}
