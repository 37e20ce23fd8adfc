//! The answer of an authority: `TimeStampResp` (RFC 3161, 2.4.2), and what has to hold of it.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use chrono::{DateTime, NaiveDateTime, SubsecRound};
use der::asn1::{Any, ObjectIdentifier};
use der::{Decode, Encode, Tag, Tagged};
use ring::digest::{Algorithm, SHA1_FOR_LEGACY_USE_ONLY, SHA256, SHA384, SHA512, digest};
use ring::signature::{
    ECDSA_P256_SHA256_ASN1, ECDSA_P256_SHA384_ASN1, ECDSA_P384_SHA256_ASN1, ECDSA_P384_SHA384_ASN1, ED25519,
    RSA_PKCS1_2048_8192_SHA256, RSA_PKCS1_2048_8192_SHA384, RSA_PKCS1_2048_8192_SHA512, UnparsedPublicKey,
    VerificationAlgorithm,
};
use x509_cert::Certificate;
use x509_cert::ext::pkix::ExtendedKeyUsage;
use x509_cert::time::Time;

use super::asn1::{Info, Response, SignedData, SignerInfo, SigningCertificate};
use crate::digest::{hex, sha256_hex};
use crate::moment::Moment;
use crate::plain::visible;

const fn oid(dotted: &str) -> ObjectIdentifier {
    ObjectIdentifier::new_unwrap(dotted)
}

// RFC 5652, 11; RFC 3161, 2.4.2; RFC 2634, 5.4; RFC 5035, 3.
const SIGNED_DATA: ObjectIdentifier = oid("1.2.840.113549.1.7.2");
const STAMP_INFO: ObjectIdentifier = oid("1.2.840.113549.1.9.16.1.4");
const CONTENT_TYPE: ObjectIdentifier = oid("1.2.840.113549.1.9.3");
const MESSAGE_DIGEST: ObjectIdentifier = oid("1.2.840.113549.1.9.4");
const SIGNING_CERTIFICATE: ObjectIdentifier = oid("1.2.840.113549.1.9.16.2.12");
const SIGNING_CERTIFICATE_V2: ObjectIdentifier = oid("1.2.840.113549.1.9.16.2.47");
// RFC 5280, 4.2.1.12.
const EXTENDED_KEY_USAGE: ObjectIdentifier = oid("2.5.29.37");
const TIME_STAMPING: ObjectIdentifier = oid("1.3.6.1.5.5.7.3.8");
const COMMON_NAME: ObjectIdentifier = oid("2.5.4.3");
// RFC 8017, appendix C; RFC 5480, 2.1.1; RFC 5758, 3.2; RFC 8410, 3; RFC 5754, 2.
const RSA: ObjectIdentifier = oid("1.2.840.113549.1.1.1");
const RSA_SHA_256: ObjectIdentifier = oid("1.2.840.113549.1.1.11");
const RSA_SHA_384: ObjectIdentifier = oid("1.2.840.113549.1.1.12");
const RSA_SHA_512: ObjectIdentifier = oid("1.2.840.113549.1.1.13");
const EC: ObjectIdentifier = oid("1.2.840.10045.2.1");
const P_256: ObjectIdentifier = oid("1.2.840.10045.3.1.7");
const P_384: ObjectIdentifier = oid("1.3.132.0.34");
const ECDSA_SHA_256: ObjectIdentifier = oid("1.2.840.10045.4.3.2");
const ECDSA_SHA_384: ObjectIdentifier = oid("1.2.840.10045.4.3.3");
const ED_25519: ObjectIdentifier = oid("1.3.101.112");
pub(super) const SHA_256: ObjectIdentifier = oid("2.16.840.1.101.3.4.2.1");
const SHA_384: ObjectIdentifier = oid("2.16.840.1.101.3.4.2.2");
const SHA_512: ObjectIdentifier = oid("2.16.840.1.101.3.4.2.3");

/// A time stamp whose signature holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stamp {
    /// What was stamped: a SHA-256, lower-case hex.
    pub hash: String,
    /// When, by the authority's clock, in UTC.
    pub at: Moment,
    /// The number of the query that it answers, as the digits of a DER integer.
    pub nonce: Option<Vec<u8>>,
    /// The name in the authority's certificate.
    pub authority: String,
    /// SHA-256 of that certificate, lower-case hex.
    pub certificate_sha256: String,
    /// The certificates that came with it, DER: the authority's own first.
    pub certificates: Vec<Vec<u8>>,
}

/// Why an answer is not taken as a time stamp.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum StampError {
    /// It is something else.
    #[error("not the answer of a time-stamping authority (RFC 3161, DER)")]
    Unreadable,
    /// The authority gave no stamp.
    #[error("the authority gave no stamp: {0}")]
    Denied(String),
    /// It can't be checked here.
    #[error("{0} is of a kind that can't be checked here")]
    Unknown(&'static str),
    /// It has no certificate of the authority.
    #[error("the authority's certificate is not in it; the query asks for that")]
    NoCertificate,
    /// The certificate is for other things.
    #[error("the certificate of {0} is not one for time stamps alone")]
    Usage(String),
    /// The certificate had run out, or did not hold yet.
    #[error("the certificate of {authority} is valid from {from} to {until}, and the stamp is of {at}")]
    Expired {
        /// The name in it.
        authority: String,
        /// Its first moment.
        from: Moment,
        /// Its last.
        until: Moment,
        /// When the stamp was given.
        at: Moment,
    },
    /// It was changed, or was never signed by that certificate.
    #[error("its signature does not hold: it was changed")]
    Signature,
}

impl Stamp {
    /// The certificates as PEM, one after the other.
    pub fn certificates_pem(&self) -> String {
        let one = |der: &Vec<u8>| {
            let text = STANDARD.encode(der);
            let lines: String =
                text.as_bytes().chunks(64).flat_map(|line| [line, b"\n"].concat()).map(char::from).collect();
            format!("-----BEGIN CERTIFICATE-----\n{lines}-----END CERTIFICATE-----\n")
        };
        self.certificates.iter().map(one).collect()
    }

    /// Reads an answer and checks it.
    ///
    /// # Errors
    /// [`StampError`].
    pub fn read(der: &[u8]) -> Result<Self, StampError> {
        let response = Response::from_der(der).map_err(|_| StampError::Unreadable)?;
        let token = match (response.status.status, response.token) {
            (0 | 1, Some(token)) if token.content_type == SIGNED_DATA => token,
            (0 | 1, _) => return Err(StampError::Unreadable),
            (status, _) => {
                let text = response.status.text.filter(|text| !text.is_empty());
                let text = text.map_or_else(|| format!("status {status}"), |text| visible(&text.join("; ")));
                return Err(StampError::Denied(text));
            }
        };
        let signed = token.signed;
        let content = signed.content.bytes.as_bytes();
        let info = Info::from_der(content).map_err(|_| StampError::Unreadable)?;
        if signed.content.content_type != STAMP_INFO || info.version != 1 {
            return Err(StampError::Unreadable);
        }
        if info.imprint.algorithm.oid != SHA_256 {
            return Err(StampError::Unknown("the hash that was stamped"));
        }
        let at = time(&info.time).ok_or(StampError::Unreadable)?;
        let [signer] = signed.signers.as_slice() else { return Err(StampError::Unreadable) };
        let (own, certificate) = certificate_of(signer, &signed)?;
        let authority = name(&certificate);
        check_certificate(&certificate, &authority, at)?;
        check_signed(signer, content)?;
        check_signature(signer, &certificate)?;
        let mut certificates = certificates(&signed);
        certificates.sort_by_key(|der| *der != own);
        Ok(Self {
            hash: hex(info.imprint.hash.as_bytes()),
            at,
            nonce: info.nonce.map(|nonce| nonce.as_bytes().to_vec()),
            authority,
            certificate_sha256: sha256_hex(&own),
            certificates,
        })
    }
}

/// Reads `GeneralizedTime` in UTC; fractions of a second are cut off (RFC 3161 allows them, where RFC 5280 does not).
fn time(time: &Any) -> Option<Moment> {
    if time.tag() != Tag::GeneralizedTime {
        return None;
    }
    let text = std::str::from_utf8(time.value()).ok()?.strip_suffix('Z')?;
    let read = NaiveDateTime::parse_from_str(text, "%Y%m%d%H%M%S%.f").ok()?;
    Some(Moment::from(read.trunc_subsecs(0).and_utc())).filter(|at| at.in_range())
}

fn certificates(signed: &SignedData) -> Vec<Vec<u8>> {
    let all = signed.certificates.iter().flat_map(|set| set.iter());
    all.filter_map(|certificate| certificate.to_der().ok()).collect()
}

/// The only value of a signed attribute.
fn attribute(signer: &SignerInfo, oid: ObjectIdentifier) -> Option<&Any> {
    let mut found = signer.signed.iter().filter(|attribute| attribute.oid == oid);
    match (found.next()?.values.as_slice(), found.next()) {
        ([value], None) => Some(value),
        _ => None,
    }
}

/// The certificate that the signature names: the first of those in the signed attribute (RFC 3161, 2.4.2).
fn certificate_of(signer: &SignerInfo, signed: &SignedData) -> Result<(Vec<u8>, Certificate), StampError> {
    let newer = attribute(signer, SIGNING_CERTIFICATE_V2).map(|value| (value, &SHA256));
    let (named, by) = newer
        .or_else(|| attribute(signer, SIGNING_CERTIFICATE).map(|value| (value, &SHA1_FOR_LEGACY_USE_ONLY)))
        .ok_or(StampError::Unreadable)?;
    let named: SigningCertificate = named.decode_as().map_err(|_| StampError::Unreadable)?;
    let named = named.certificates.first().ok_or(StampError::Unreadable)?;
    let by = match &named.algorithm {
        None => by,
        Some(algorithm) => hash_of(algorithm.oid).ok_or(StampError::Unknown("the hash of the certificate"))?,
    };
    let own = certificates(signed).into_iter().find(|der| digest(by, der).as_ref() == named.hash.as_bytes());
    let own = own.ok_or(StampError::NoCertificate)?;
    let certificate = Certificate::from_der(&own).map_err(|_| StampError::Unknown("the authority's certificate"))?;
    Ok((own, certificate))
}

/// The common name in a certificate, or all of the name that there is.
fn name(certificate: &Certificate) -> String {
    let subject = certificate.tbs_certificate().subject();
    let common = subject.iter().find(|part| part.oid == COMMON_NAME);
    let common = common.and_then(|part| std::str::from_utf8(part.value.value()).ok().map(str::to_owned));
    visible(&common.unwrap_or_else(|| subject.to_string()))
}

/// For time stamps alone, marked as critical (RFC 3161, 2.3), and valid when the stamp was given.
fn check_certificate(certificate: &Certificate, authority: &str, at: Moment) -> Result<(), StampError> {
    let body = certificate.tbs_certificate();
    let extensions = body.extensions().map(Vec::as_slice).unwrap_or_default();
    let usage = extensions.iter().find(|extension| extension.extn_id == EXTENDED_KEY_USAGE);
    let only = |bytes: &[u8]| ExtendedKeyUsage::from_der(bytes).is_ok_and(|usage| usage.0 == [TIME_STAMPING]);
    if !usage.is_some_and(|usage| usage.critical && only(usage.extn_value.as_bytes())) {
        return Err(StampError::Usage(authority.to_owned()));
    }
    let moment = |time: &Time| {
        let seconds = i64::try_from(time.to_unix_duration().as_secs()).ok()?;
        DateTime::from_timestamp(seconds, 0).map(Moment::from)
    };
    let validity = body.validity();
    let (Some(from), Some(until)) = (moment(&validity.not_before), moment(&validity.not_after)) else {
        return Err(StampError::Unknown("the authority's certificate"));
    };
    if at < from || until < at {
        return Err(StampError::Expired { authority: authority.to_owned(), from, until, at });
    }
    Ok(())
}

/// What is signed says what kind of content it is, and its hash (RFC 5652, 5.4).
fn check_signed(signer: &SignerInfo, content: &[u8]) -> Result<(), StampError> {
    let by = hash_of(signer.digest_algorithm.oid).ok_or(StampError::Unknown("the hash of what is signed"))?;
    let kind = attribute(signer, CONTENT_TYPE).and_then(|value| value.decode_as::<ObjectIdentifier>().ok());
    let hash = attribute(signer, MESSAGE_DIGEST).filter(|value| value.tag() == Tag::OctetString);
    let holds = kind == Some(STAMP_INFO) && hash.is_some_and(|hash| hash.value() == digest(by, content).as_ref());
    if holds { Ok(()) } else { Err(StampError::Signature) }
}

fn check_signature(signer: &SignerInfo, certificate: &Certificate) -> Result<(), StampError> {
    let key = certificate.tbs_certificate().subject_public_key_info();
    let curve = key.algorithm.parameters.as_ref().and_then(|curve| curve.decode_as().ok());
    let (hash, signature) = (signer.digest_algorithm.oid, signer.signature_algorithm.oid);
    let scheme = scheme(key.algorithm.oid, curve, signature, hash).ok_or(StampError::Unknown("its signature"))?;
    let bits = key.subject_public_key.as_bytes().ok_or(StampError::Unknown("its signature"))?;
    let signed = signer.signed.to_der().map_err(|_| StampError::Unreadable)?;
    UnparsedPublicKey::new(scheme, bits).verify(&signed, signer.signature.as_bytes()).map_err(|_| StampError::Signature)
}

fn hash_of(oid: ObjectIdentifier) -> Option<&'static Algorithm> {
    [(SHA_256, &SHA256), (SHA_384, &SHA384), (SHA_512, &SHA512)]
        .into_iter()
        .find_map(|(of, by)| (of == oid).then_some(by))
}

/// How a signature is checked, by its key, the key's curve, the signature's own kind, and the hash where that does not say.
fn scheme(
    key: ObjectIdentifier,
    curve: Option<ObjectIdentifier>,
    signature: ObjectIdentifier,
    hash: ObjectIdentifier,
) -> Option<&'static dyn VerificationAlgorithm> {
    let by = if signature == RSA { hash } else { signature };
    Some(match (key, curve, by) {
        (RSA, _, RSA_SHA_256 | SHA_256) => &RSA_PKCS1_2048_8192_SHA256,
        (RSA, _, RSA_SHA_384 | SHA_384) => &RSA_PKCS1_2048_8192_SHA384,
        (RSA, _, RSA_SHA_512 | SHA_512) => &RSA_PKCS1_2048_8192_SHA512,
        (EC, Some(P_256), ECDSA_SHA_256) => &ECDSA_P256_SHA256_ASN1,
        (EC, Some(P_256), ECDSA_SHA_384) => &ECDSA_P256_SHA384_ASN1,
        (EC, Some(P_384), ECDSA_SHA_256) => &ECDSA_P384_SHA256_ASN1,
        (EC, Some(P_384), ECDSA_SHA_384) => &ECDSA_P384_SHA384_ASN1,
        (ED_25519, None, ED_25519) => &ED25519,
        _ => return None,
    })
}
