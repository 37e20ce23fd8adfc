//! What the record says of itself: what is crossed out, who confirmed it, by which keys, stamps and phones.

use serde::{Deserialize, Serialize};

use crate::record::id::EntryId;

/// An entry is crossed out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Strike {
    /// Id of the entry.
    pub entry: EntryId,
    /// Why.
    pub why: String,
    /// Even if later entries depend on it: each of them becomes a defect.
    #[serde(skip)]
    pub anyway: bool,
}

/// The key that signs packs from now on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct UseKey {
    /// SHA-256 of the public key's DER form, lower-case hex.
    pub fingerprint: String,
}

/// A person confirmed what somebody else typed in their name: a release, a refusal, a closing, a concession.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ConfirmSaying {
    /// The entry that says it.
    pub entry: EntryId,
    /// How they confirmed it.
    pub how: Confirmed,
}

/// How a person confirmed what was typed in their name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Confirmed {
    /// They replied; the reply word for word.
    Reply(String),
    /// They signed paper that was scanned.
    SignedPaper {
        /// Name of the scan.
        file: String,
        /// SHA-256 of the scan, lower-case hex.
        sha256: String,
    },
    /// They signed the hash of the entry (its 64 digits as text) with a key of their own: Ed25519, RFC 8032.
    OwnKey {
        /// Their public key, PEM.
        public: String,
        /// The signature, lower-case hex.
        signature: String,
    },
}

/// A time-stamping authority stamped the hash of an entry: it, and all before it in its book, was there by then.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TakeStamp {
    /// The entry whose hash was stamped.
    pub entry: EntryId,
    /// The authority's answer (RFC 3161, `TimeStampResp`, DER) as it came, in base64.
    pub answer: String,
}

/// A phone is paired: what it records is by its person.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PairPhone {
    /// Id of the phone.
    pub phone: String,
    /// Whose it is.
    pub person: String,
}

/// A paired phone is forgotten: it records nothing any more.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ForgetPhone {
    /// Id of the phone.
    pub phone: String,
    /// Whose it was.
    pub person: String,
}
