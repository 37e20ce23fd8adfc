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
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}
