//! What is found where a pack should be.

use std::collections::BTreeMap;
use std::io::Read;
use std::path::PathBuf;

use serde::Serialize;

use crate::handover::gather::Originals;
use crate::handover::model::Blob;
use crate::handover::model::paths::RECORD;
use crate::photos::PhotoSort;

/// More bytes than a small or a large picture has.
const MOST_PICTURE: u64 = 6_000_000;

/// What was found where a pack should be.
#[derive(Debug, Clone, Default)]
pub struct Contents {
    /// Files by their path in the pack, `/` between folders. Those on a disk are left there until they are wanted, but for
    /// what [`most_in_memory`](super::most_in_memory) names.
    pub files: BTreeMap<String, Blob>,
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
    /// Takes a file into memory.
    pub(super) fn take(&mut self, path: &str, content: &mut dyn Read) -> std::io::Result<()> {
        let mut bytes = Vec::new();
        content.read_to_end(&mut bytes)?;
        self.files.insert(path.to_owned(), bytes.into());
        Ok(())
    }

    /// A file that is in memory.
    pub(crate) fn in_memory(&self, path: &str) -> Option<&[u8]> {
        match self.files.get(path)? {
            Blob::Memory(bytes) => Some(bytes),
            Blob::OnDisk { .. } => None,
        }
    }

    pub(crate) fn len_and_hash(&self, path: &str) -> Option<(u64, String)> {
        self.files.get(path).map(|blob| (blob.len(), blob.sha256().into_owned()))
    }
}

impl Originals for Contents {
    fn file(&self, _: &str, _: PhotoSort, path: &str) -> Option<Blob> {
        self.files.get(path).cloned()
    }

    fn picture(&self, path: &str) -> Option<Vec<u8>> {
        let blob = self.files.get(path).filter(|blob| blob.len() <= MOST_PICTURE)?;
        Some(blob.read().ok()?.into_owned())
    }
}

/// One thing that does not hold.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Failed {
    /// Id of the entry.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub entry: Option<String>,
    /// Path of the file.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// What is wrong.
    pub what: String,
}

impl Failed {
    /// A failure of a file.
    pub fn file(path: &str, what: impl Into<String>) -> Self {
        Self { entry: None, file: Some(path.to_owned()), what: what.into() }
    }

    /// A failure of the record as a whole.
    pub fn whole(what: impl Into<String>) -> Self {
        Self { entry: None, file: None, what: what.into() }
    }

    pub(crate) fn entry(id: String, what: impl Into<String>) -> Self {
        Self { entry: Some(id), file: Some(RECORD.to_owned()), what: what.into() }
    }
}
