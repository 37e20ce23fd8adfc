//! The query that is sent to an authority: `TimeStampReq` (RFC 3161, 2.4.1).

use der::asn1::{Any, Int, OctetString, Uint};
use der::{Decode, Encode, Tag};
use x509_cert::spki::AlgorithmIdentifierOwned;

use super::answer::SHA_256;
use super::asn1::{Imprint, Request};
use crate::digest::{from_hex, hex};

/// A query for a stamp over a SHA-256.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Query {
    /// What is to be stamped: a SHA-256, lower-case hex.
    pub hash: String,
    /// A number, as the digits of a DER integer, that the answer has to repeat.
    pub nonce: Option<Vec<u8>>,
}

impl Query {
    /// Writes a query over a SHA-256 (lower-case hex) in its DER form, to be sent as `application/timestamp-query`. It asks
    /// for the authority's certificates, and for this number to be repeated. Nothing where that is no SHA-256.
    pub fn write(hash: &str, nonce: [u8; 8]) -> Option<Vec<u8>> {
        let hash = from_hex(hash).filter(|hash| hash.len() == 32)?;
        let algorithm = AlgorithmIdentifierOwned { oid: SHA_256, parameters: Some(Any::new(Tag::Null, []).ok()?) };
        let imprint = Imprint { algorithm, hash: OctetString::new(hash).ok()? };
        let nonce = Some(Int::from(Uint::new(&nonce).ok()?));
        let request = Request { version: 1, imprint, policy: None, nonce, with_certificates: true, extensions: None };
        request.to_der().ok()
    }

    /// Reads a query; nothing where it is none over a SHA-256.
    pub fn read(der: &[u8]) -> Option<Self> {
        let request = Request::from_der(der).ok().filter(|request| request.imprint.algorithm.oid == SHA_256)?;
        let nonce = request.nonce.map(|nonce| nonce.as_bytes().to_vec());
        Some(Self { hash: hex(request.imprint.hash.as_bytes()), nonce })
    }
}
