//! SHA-256 as the record and the pack write it.

use sha2::{Digest, Sha256};

/// SHA-256 of some bytes, lower-case hex.
///
/// ```
/// // FIPS 180-4 example, value as reproduced by Python's hashlib.
/// assert_eq!(
///     cladlog::digest::sha256_hex(b"abc"),
///     "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
/// );
/// ```
pub fn sha256_hex(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// Bytes as lower-case hex.
pub fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write;
    let mut text = String::with_capacity(bytes.len() * 2);
    for byte in bytes {
        // Writing to a string does not fail.
        let _ = write!(text, "{byte:02x}");
    }
    text
}
