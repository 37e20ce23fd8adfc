//! SHA-256 as the record and the pack write it.

use std::io::{Read, Write};

use sha2::{Digest, Sha256};

const DIGITS: &[u8; 16] = b"0123456789abcdef";

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
    digits(bytes).into_iter().map(char::from).collect()
}

/// Whether `hex` is the SHA-256 of some bytes, in lower-case hex.
///
/// ```
/// assert!(cladlog::digest::is_sha256(b"abc", &cladlog::digest::sha256_hex(b"abc")));
/// assert!(!cladlog::digest::is_sha256(b"abd", &cladlog::digest::sha256_hex(b"abc")));
/// ```
pub fn is_sha256(bytes: &[u8], hex: &str) -> bool {
    digits(bytes).as_slice() == hex.as_bytes()
}

fn digits(bytes: &[u8]) -> [u8; 64] {
    let mut digits = [0; 64];
    for (pair, byte) in digits.chunks_exact_mut(2).zip(Sha256::digest(bytes)) {
        pair[0] = DIGITS[usize::from(byte >> 4)];
        pair[1] = DIGITS[usize::from(byte & 15)];
    }
    digits
}

/// Copies what is read; gives how many bytes that is and their SHA-256.
///
/// # Errors
/// What the system says.
pub fn copy_hashed(from: &mut dyn Read, to: &mut dyn Write) -> std::io::Result<(u64, String)> {
    let mut hash = Sha256::new();
    let (mut block, mut bytes) = (vec![0; 1 << 18], 0);
    loop {
        let read = from.read(&mut block)?;
        if read == 0 {
            return Ok((bytes, hex(&hash.finalize())));
        }
        hash.update(&block[..read]);
        to.write_all(&block[..read])?;
        bytes += read as u64;
    }
}

/// The bytes of hex digits; nothing where they are none.
pub fn from_hex(digits: &str) -> Option<Vec<u8>> {
    let pair = |at: usize| u8::from_str_radix(digits.get(at..at + 2)?, 16).ok();
    digits.bytes().all(|digit| digit.is_ascii_hexdigit()).then(|| (0..digits.len()).step_by(2).map(pair).collect())?
}

/// Bytes as lower-case hex.
pub fn hex(bytes: &[u8]) -> String {
    let pair = |byte: &u8| [DIGITS[usize::from(byte >> 4)], DIGITS[usize::from(byte & 15)]];
    bytes.iter().flat_map(pair).map(char::from).collect()
}
