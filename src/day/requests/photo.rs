//! A photo that a person gives.

use std::path::PathBuf;

use crate::photos::PhotoFacts;
use crate::record::Answer;

/// A photo that was looked over, to be kept when the request is granted.
#[derive(Debug, Clone)]
pub struct Photo {
    /// Its name.
    pub file: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// What the record keeps of it.
    pub facts: PhotoFacts,
    /// Where it lies.
    pub source: PathBuf,
}

impl Photo {
    /// The photo as an answer.
    pub fn answer(&self) -> Answer {
        let photo = Some(Box::new(self.facts.clone()));
        Answer::File { file: self.file.clone(), sha256: self.sha256.clone(), photo }
    }
}
