//! The secrets of a phone. What is sent and what is kept are two types, and neither shows itself.

use std::fmt;

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;

use crate::digest::sha256_hex;

/// Random bytes in a phone's token.
const TOKEN_BYTES: usize = 32;

/// Random bytes in a pairing code.
const CODE_BYTES: usize = 12;

/// A secret as it is sent: in a phone's cookie, or in the URL of the pairing page.
#[derive(Clone, PartialEq, Eq)]
pub struct PlainToken(String);

/// A secret as it is kept: its SHA-256, from which it can't be made again.
#[derive(Clone, PartialEq, Eq)]
pub struct HashedToken(String);

/// What every form of a session carries: made from the secret of the session, of no use without it.
#[derive(Clone)]
pub struct FormToken(String);

/// The system gives no random numbers.
#[derive(Debug, thiserror::Error)]
#[error("the system gives no random numbers: {0}")]
pub struct NoRandomness(getrandom::Error);

impl PlainToken {
    /// A new secret for a phone.
    ///
    /// # Errors
    /// [`NoRandomness`].
    pub fn for_phone() -> Result<Self, NoRandomness> {
        Ok(Self(URL_SAFE_NO_PAD.encode(random_bytes::<TOKEN_BYTES>()?)))
    }

    /// A new pairing code.
    ///
    /// # Errors
    /// [`NoRandomness`].
    pub fn for_pairing() -> Result<Self, NoRandomness> {
        Ok(Self(URL_SAFE_NO_PAD.encode(random_bytes::<CODE_BYTES>()?)))
    }

    /// What somebody sent: nothing is known of it yet.
    pub fn received(text: &str) -> Self {
        Self(text.to_owned())
    }

    /// As it is kept.
    pub fn hashed(&self) -> HashedToken {
        HashedToken(sha256_hex(self.0.as_bytes()))
    }

    /// The token of the forms of its session.
    pub fn form_token(&self) -> FormToken {
        FormToken(sha256_hex(format!("form {}", self.0).as_bytes()))
    }

    /// The secret itself, for the cookie or the URL and for nothing else.
    pub fn reveal(&self) -> &str {
        &self.0
    }
}

impl HashedToken {
    /// The hash, for the file.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl FormToken {
    /// Whether this is what a form brought. The time it takes says nothing of how much of it is right.
    pub fn is(&self, given: &str) -> bool {
        let differ = |all: u8, (own, given): (u8, u8)| all | (own ^ given);
        self.0.len() == given.len() && self.0.bytes().zip(given.bytes()).fold(0, differ) == 0
    }

    /// The token, for the pages of its session.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// Random bytes that nobody can guess.
///
/// # Errors
/// [`NoRandomness`].
pub fn random_bytes<const BYTES: usize>() -> Result<[u8; BYTES], NoRandomness> {
    let mut bytes = [0; BYTES];
    getrandom::fill(&mut bytes).map_err(NoRandomness)?;
    Ok(bytes)
}

impl fmt::Debug for PlainToken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("PlainToken(…)")
    }
}

impl fmt::Debug for HashedToken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("HashedToken(…)")
    }
}

impl fmt::Debug for FormToken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("FormToken(…)")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn secrets_differ_and_show_themselves_nowhere() {
        let (one, other) = (PlainToken::for_phone().unwrap(), PlainToken::for_phone().unwrap());
        assert_ne!(one, other);
        assert_ne!(one.hashed(), other.hashed());
        let shown = format!("{one:?} {:?} {:?}", one.hashed(), one.form_token());
        for secret in [one.reveal(), one.hashed().as_str(), one.form_token().as_str()] {
            assert!(!shown.contains(secret), "{shown}");
        }
    }

    #[test]
    fn a_form_token_is_that_of_its_session_alone() {
        let (one, other) = (PlainToken::received("one"), PlainToken::received("other"));
        assert!(one.form_token().is(one.form_token().as_str()));
        for wrong in [other.form_token().as_str(), "", &one.form_token().as_str()[1..], one.hashed().as_str()] {
            assert!(!one.form_token().is(wrong), "{wrong}");
        }
    }
}
