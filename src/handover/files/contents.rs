//! What is found where a pack should be.

use std::collections::BTreeMap;
use std::path::PathBuf;

use crate::digest::sha256_hex;
use crate::handover::gather::Originals;
use crate::handover::model::Blob;
use crate::handover::model::paths::RECORD;
use crate::photos::PhotoSort;

/// What was found where a pack should be.
#[derive(Debug, Clone, Default)]
pub struct Contents {
    /// Files by their path in the pack, `/` between folders.
    pub files: BTreeMap<String, Vec<u8>>,
    /// Files left where they are until they are wanted: all that is not [held](super::held) and lies on a disk.
    pub kept: BTreeMap<String, Blob>,
    /// What could not be read, or has no business there.
    pub failures: Vec<Failed>,
    /// The zip that they came from.
    pub zip: Option<ZipPlace>,
}

/// A zip that files came from.
#[derive(Debug, Clone)]
pub struct ZipPlace {
    /// Its name.
    pub name: String,
    /// The folder in it.
    pub folder: String,
    /// Where it lies.
    pub place: PathBuf,
}

impl Contents {
    /// A file of the pack.
    pub(crate) fn blob(&self, path: &str) -> Option<Blob> {
        self.kept.get(path).cloned().or_else(|| self.files.get(path).cloned().map(Blob::Held))
    }

    pub(crate) fn len_and_hash(&self, path: &str) -> Option<(u64, String)> {
        let kept = self.kept.get(path).map(|blob| (blob.len(), blob.sha256().into_owned()));
        kept.or_else(|| self.files.get(path).map(|bytes| (bytes.len() as u64, sha256_hex(bytes))))
    }

    pub(crate) fn paths(&self) -> impl Iterator<Item = &str> {
        self.files.keys().chain(self.kept.keys()).map(String::as_str)
    }
}

impl Originals for Contents {
    fn file(&self, _: &str, _: PhotoSort, path: &str) -> Option<Blob> {
        self.blob(path)
    }

    fn small(&self, path: &str) -> Option<Vec<u8>> {
        Some(self.blob(path)?.read().ok()?.into_owned())
    }
}

/// One thing that does not hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failed {
    /// Id of the entry.
    pub entry: Option<String>,
    /// Path of the file.
    pub file: Option<String>,
    /// What is wrong.
    pub what: String,
}

impl Failed {
    /// A failure of a file.
    pub fn file(path: &str, what: impl Into<String>) -> Self {
        Self { entry: None, file: Some(path.to_owned()), what: what.into() }
    }

    pub(crate) fn entry(id: String, what: impl Into<String>) -> Self {
        Self { entry: Some(id), file: Some(RECORD.to_owned()), what: what.into() }
    }
}
