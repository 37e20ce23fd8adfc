//! The signature of the manifest: Ed25519 (RFC 8032) by the crew's key.
//!
//! `manifest.sig` is the 64 bytes of the signature over the bytes of `manifest.json`; `manifest.pub` is the public
//! key as PEM (RFC 8410), so that other programs can check it too.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use ed25519_dalek::pkcs8::KeypairBytes;
use ed25519_dalek::{Signature, Signer as _, SigningKey, VerifyingKey};

use pkcs8::{DecodePrivateKey as _, EncodePrivateKey as _, LineEnding};

use crate::digest::sha256_hex;

/// Path of the signature in the pack.
pub const SIGNATURE: &str = "manifest.sig";
/// Path of the public key in the pack.
pub const PUBLIC_KEY: &str = "manifest.pub";

/// What stands before the 32 bytes of an Ed25519 key in its DER form (RFC 8410, section 4).
const DER: [u8; 12] = [0x30, 0x2a, 0x30, 0x05, 0x06, 0x03, 0x2b, 0x65, 0x70, 0x03, 0x21, 0x00];

/// The seed of the key that signs rehearsals. Everybody has it: what it signs proves nothing.
const REHEARSAL_SEED: [u8; 32] = *b"cladlog rehearsal, proves nothin";

/// A key that signs packs.
#[derive(Clone)]
pub struct Signer(SigningKey);

impl std::fmt::Debug for Signer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "key {}", self.fingerprint())
    }
}

impl Signer {
    /// The key of a seed.
    pub fn from_seed(seed: &[u8; 32]) -> Self {
        Self(SigningKey::from_bytes(seed))
    }

    /// The key in a PEM file (PKCS #8, RFC 5958), which a passphrase opens where it is encrypted; nothing where that is no
    /// Ed25519 key, or not its passphrase.
    pub fn from_pkcs8(pem: &str, passphrase: Option<&str>) -> Option<Self> {
        let key = match passphrase {
            None => KeypairBytes::from_pkcs8_pem(pem),
            Some(passphrase) => KeypairBytes::from_pkcs8_encrypted_pem(pem, passphrase),
        };
        SigningKey::try_from(key.ok()?).ok().map(Self)
    }

    /// The key under a passphrase: PEM, PKCS #8, scrypt and AES-256 (RFC 8018, RFC 7914), which OpenSSL reads too. Nothing
    /// where the system has no random numbers.
    pub fn to_pkcs8(&self, passphrase: &str) -> Option<String> {
        // Without the public key beside it: older programs read no other form.
        let key = KeypairBytes { secret_key: self.0.to_bytes(), public_key: None };
        key.to_pkcs8_encrypted_pem(passphrase, LineEnding::LF).ok().map(|pem| pem.to_string())
    }

    /// The key that signs rehearsals.
    pub fn rehearsal() -> Self {
        Self::from_seed(&REHEARSAL_SEED)
    }

    /// SHA-256 of the public key's DER form, lower-case hex.
    pub fn fingerprint(&self) -> String {
        fingerprint(&self.0.verifying_key())
    }

    /// The signature of some bytes.
    pub fn sign(&self, bytes: &[u8]) -> [u8; 64] {
        self.0.sign(bytes).to_bytes()
    }

    /// The public key as PEM.
    pub fn public_pem(&self) -> String {
        pem(&self.0.verifying_key())
    }
}

/// Whether a fingerprint is that of the key for rehearsals.
pub fn is_rehearsal_key(fingerprint: &str) -> bool {
    Signer::rehearsal().fingerprint() == fingerprint
}

fn der(key: &VerifyingKey) -> Vec<u8> {
    [&DER[..], key.as_bytes()].concat()
}

fn fingerprint(key: &VerifyingKey) -> String {
    sha256_hex(&der(key))
}

fn pem(key: &VerifyingKey) -> String {
    format!("-----BEGIN PUBLIC KEY-----\n{}\n-----END PUBLIC KEY-----\n", STANDARD.encode(der(key)))
}

/// Why a signature does not hold.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SignatureError {
    /// The key can't be read, or is not written as the program writes it.
    #[error("it is not an Ed25519 public key as the program writes it: it was changed")]
    Key,
    /// The signature does not fit.
    #[error("it is not the signature of manifest.json by the key in {PUBLIC_KEY}: one of the three was changed")]
    Signature,
}

/// Checks a signature; gives the fingerprint of the key.
///
/// # Errors
/// [`SignatureError`].
pub fn check_signature(signed: &[u8], signature: &[u8], public: &[u8]) -> Result<String, SignatureError> {
    let key = public_key(public).ok_or(SignatureError::Key)?;
    let signature = Signature::from_slice(signature).map_err(|_| SignatureError::Signature)?;
    key.verify_strict(signed, &signature).map_err(|_| SignatureError::Signature)?;
    Ok(fingerprint(&key))
}

fn public_key(text: &[u8]) -> Option<VerifyingKey> {
    let text = std::str::from_utf8(text).ok()?;
    let coded = text.strip_prefix("-----BEGIN PUBLIC KEY-----\n")?.strip_suffix("\n-----END PUBLIC KEY-----\n")?;
    let bytes = STANDARD.decode(coded).ok()?;
    let key = VerifyingKey::from_bytes(bytes.strip_prefix(&DER)?.try_into().ok()?).ok()?;
    (pem(&key) == text).then_some(key)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bytes(hex: &str) -> Vec<u8> {
        (0..hex.len()).step_by(2).map(|at| u8::from_str_radix(&hex[at..at + 2], 16).unwrap()).collect()
    }

    /// RFC 8032 section 7.1, tests 1 to 3.
    #[test]
    fn it_signs_as_rfc_8032_has_it() {
        let vectors = [
            (
                "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
                "",
                "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
                "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
            ),
            (
                "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
                "72",
                "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
                "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
            ),
            (
                "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
                "af82",
                "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
                "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
            ),
        ];
        for (seed, message, public, signature) in vectors {
            let signer = Signer::from_seed(&bytes(seed).try_into().unwrap());
            assert_eq!(signer.0.verifying_key().as_bytes().to_vec(), bytes(public));
            assert_eq!(signer.sign(&bytes(message)).to_vec(), bytes(signature));
            let held = check_signature(&bytes(message), &bytes(signature), signer.public_pem().as_bytes());
            assert_eq!(held, Ok(signer.fingerprint()));
        }
    }

    #[test]
    fn a_changed_byte_of_key_signature_or_message_is_found() {
        let signer = Signer::rehearsal();
        let (message, signature, public) = (b"message".to_vec(), signer.sign(b"message").to_vec(), signer.public_pem());
        for part in 0..3 {
            let mut parts = [message.clone(), signature.clone(), public.clone().into_bytes()];
            for at in 0..parts[part].len() {
                for bit in [0x01, 0x20, 0x80] {
                    parts[part][at] ^= bit;
                    assert!(check_signature(&parts[0], &parts[1], &parts[2]).is_err(), "part {part} at {at}");
                    parts[part][at] ^= bit;
                }
            }
        }
    }
}
