//! The manifest: every file of the pack with its hash, and a hash over itself.

use serde::{Deserialize, Serialize};

use crate::digest::sha256_hex;
use crate::handover::model::paths::PROGRAM;
use crate::handover::model::{Document, Locations};

/// The version of its form.
const FORMAT: u32 = 2;

/// The manifest. Its form is frozen with [`Manifest::format`]: add fields only with a new number.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Manifest {
    /// Version of the form.
    pub format: u32,
    /// Version of the program that made the pack.
    pub program: String,
    /// Key of the job.
    pub job: String,
    /// Name of the job.
    pub name: String,
    /// The moment that the pack speaks of, RFC 3339.
    pub made_at: String,
    /// Something was written under a rehearsal clock.
    pub rehearsal: bool,
    /// Nothing is missing.
    pub complete: bool,
    /// How many things are missing.
    pub missing: usize,
    /// The photos are copies without their locations (since form 2).
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub no_places: bool,
    /// How many entries the record has.
    pub entries: usize,
    /// Every file but the manifest's own, in the order of their paths.
    pub files: Vec<FileLine>,
    /// SHA-256 over the RFC 8785 form of all the rest, lower-case hex.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub sha256: String,
}

/// One file of the pack.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FileLine {
    /// Path in the pack, `/` between folders.
    pub path: String,
    /// SHA-256 of its bytes, lower-case hex.
    pub sha256: String,
    /// How many bytes.
    pub bytes: u64,
    /// SHA-256 of the photo that this is a copy of, without its location (since form 2).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub copy_of: Option<String>,
}

/// Why a manifest does not hold.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ManifestError {
    /// Not a manifest.
    #[error("it can't be read: {0}")]
    Unreadable(String),
    /// A form that this program does not know.
    #[error("its form is {0}, this program knows form {FORMAT}: verify it with a newer cladlog")]
    Newer(u32),
    /// The hash does not fit.
    #[error("its text does not fit its own hash: it was changed after it was written")]
    Hash,
    /// Says the same, but not in the bytes that were written.
    #[error("it is not written as the program writes it: it was changed after it was written")]
    Bytes,
    /// No canonical form; can't happen with finite numbers.
    #[error("it has no canonical form: {0}")]
    Canonical(String),
}

impl Manifest {
    /// The manifest of a document and its files.
    ///
    /// # Errors
    /// [`ManifestError::Canonical`].
    pub fn of(document: &Document<'_>, mut files: Vec<FileLine>) -> Result<Self, ManifestError> {
        files.sort_by(|a, b| a.path.cmp(&b.path));
        let job = &document.state().job;
        let mut manifest = Self {
            format: FORMAT,
            program: PROGRAM.to_owned(),
            job: job.key.clone(),
            name: job.name.clone(),
            made_at: document.made_at.to_string(),
            rehearsal: document.is_rehearsal(),
            complete: document.is_complete(),
            missing: document.missing.len(),
            no_places: document.locations == Locations::Withheld,
            entries: document.book.entries.len(),
            files,
            sha256: String::new(),
        };
        manifest.sha256 = manifest.own_hash()?;
        Ok(manifest)
    }

    /// SHA-256 over the RFC 8785 form of all but `sha256`.
    fn own_hash(&self) -> Result<String, ManifestError> {
        let bare = Self { sha256: String::new(), ..self.clone() };
        serde_json_canonicalizer::to_vec(&bare)
            .map(|bytes| sha256_hex(&bytes))
            .map_err(|error| ManifestError::Canonical(error.to_string()))
    }

    /// Its bytes, as they are written.
    ///
    /// # Errors
    /// [`ManifestError::Canonical`].
    pub fn bytes(&self) -> Result<Vec<u8>, ManifestError> {
        let mut bytes = serde_json::to_vec_pretty(self).map_err(|error| ManifestError::Canonical(error.to_string()))?;
        bytes.push(b'\n');
        Ok(bytes)
    }

    /// Reads a manifest and checks it against its own hash, and its bytes against those that would be written.
    ///
    /// # Errors
    /// [`ManifestError`].
    pub fn open(bytes: &[u8]) -> Result<Self, ManifestError> {
        #[derive(Deserialize)]
        struct Form {
            format: u32,
        }
        let unreadable = |error: serde_json::Error| ManifestError::Unreadable(error.to_string());
        let form: Form = serde_json::from_slice(bytes).map_err(unreadable)?;
        if form.format > FORMAT {
            return Err(ManifestError::Newer(form.format));
        }
        let manifest: Self = serde_json::from_slice(bytes).map_err(unreadable)?;
        if manifest.own_hash()? != manifest.sha256 {
            return Err(ManifestError::Hash);
        }
        if manifest.bytes()? != bytes {
            return Err(ManifestError::Bytes);
        }
        Ok(manifest)
    }
}
