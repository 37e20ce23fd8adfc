//! A file of a pack: in memory, or read when it is wanted. Photos are large and many: no more than a few of them are
//! in memory at once.

use std::borrow::Cow;
use std::sync::Arc;

use crate::digest::sha256_hex;

/// Reads a file anew.
pub type Reader = Arc<dyn Fn() -> std::io::Result<Vec<u8>> + Send + Sync>;

/// A file of a pack.
#[derive(Clone)]
pub enum Blob {
    /// In memory.
    Memory(Arc<[u8]>),
    /// Elsewhere.
    OnDisk {
        /// SHA-256 of what is read, lower-case hex.
        sha256: String,
        /// How many bytes.
        bytes: u64,
        /// Reads it.
        read: Reader,
    },
}

impl std::fmt::Debug for Blob {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} bytes", self.len())
    }
}

impl From<Vec<u8>> for Blob {
    fn from(bytes: Vec<u8>) -> Self {
        Self::Memory(bytes.into())
    }
}

impl Blob {
    /// How many bytes.
    pub fn len(&self) -> u64 {
        match self {
            Self::Memory(bytes) => bytes.len() as u64,
            Self::OnDisk { bytes, .. } => *bytes,
        }
    }

    /// Whether there is nothing in it.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// SHA-256, lower-case hex.
    pub fn sha256(&self) -> Cow<'_, str> {
        match self {
            Self::Memory(bytes) => Cow::Owned(sha256_hex(bytes)),
            Self::OnDisk { sha256, .. } => Cow::Borrowed(sha256),
        }
    }

    /// The bytes.
    ///
    /// # Errors
    /// What the system says, and when it is not the file any more that it was.
    pub fn read(&self) -> std::io::Result<Cow<'_, [u8]>> {
        match self {
            Self::Memory(bytes) => Ok(Cow::Borrowed(bytes)),
            Self::OnDisk { sha256, read, .. } => {
                let bytes = read()?;
                if sha256_hex(&bytes) == *sha256 {
                    Ok(Cow::Owned(bytes))
                } else {
                    Err(std::io::Error::other("a file was changed while the pack was being made or checked"))
                }
            }
        }
    }
}
