//! The ASN.1 of queries and answers (RFC 3161) and of the signed data in them (RFC 5652), as far as it is read.

use der::asn1::{Any, BitString, Int, ObjectIdentifier, OctetString, SetOfVec};
use der::{Choice, Sequence, ValueOrd};
use x509_cert::attr::Attribute;
use x509_cert::ext::Extensions;
use x509_cert::ext::pkix::name::GeneralName;
use x509_cert::spki::AlgorithmIdentifierOwned;

/// What is stamped: `MessageImprint`.
#[derive(Debug, Clone, PartialEq, Eq, Sequence)]
pub(super) struct Imprint {
    pub algorithm: AlgorithmIdentifierOwned,
    pub hash: OctetString,
}

/// `TimeStampReq`.
#[derive(Debug, Sequence)]
pub(super) struct Request {
    pub version: u8,
    pub imprint: Imprint,
    #[asn1(optional = "true")]
    pub policy: Option<ObjectIdentifier>,
    #[asn1(optional = "true")]
    pub nonce: Option<Int>,
    #[asn1(default = "Default::default")]
    pub with_certificates: bool,
    #[asn1(context_specific = "0", tag_mode = "IMPLICIT", optional = "true")]
    pub extensions: Option<Extensions>,
}

/// `TimeStampResp`.
#[derive(Debug, Sequence)]
pub(super) struct Response {
    pub status: Status,
    #[asn1(optional = "true")]
    pub token: Option<ContentInfo>,
}

/// `PKIStatusInfo`: granted is 0, granted with changes 1.
#[derive(Debug, Sequence)]
pub(super) struct Status {
    pub status: u32,
    #[asn1(optional = "true")]
    pub text: Option<Vec<String>>,
    #[asn1(optional = "true")]
    pub failure: Option<BitString>,
}

/// `ContentInfo` of signed data.
#[derive(Debug, Sequence)]
pub(super) struct ContentInfo {
    pub content_type: ObjectIdentifier,
    #[asn1(context_specific = "0", tag_mode = "EXPLICIT")]
    pub signed: SignedData,
}

/// `SignedData`.
#[derive(Debug, Sequence)]
pub(super) struct SignedData {
    pub version: u8,
    pub digest_algorithms: SetOfVec<AlgorithmIdentifierOwned>,
    pub content: Content,
    #[asn1(context_specific = "0", tag_mode = "IMPLICIT", optional = "true")]
    pub certificates: Option<SetOfVec<Any>>,
    #[asn1(context_specific = "1", tag_mode = "IMPLICIT", optional = "true")]
    pub revoked: Option<SetOfVec<Any>>,
    pub signers: SetOfVec<SignerInfo>,
}

/// `EncapsulatedContentInfo`.
#[derive(Debug, Sequence)]
pub(super) struct Content {
    pub content_type: ObjectIdentifier,
    #[asn1(context_specific = "0", tag_mode = "EXPLICIT")]
    pub bytes: OctetString,
}

/// `SignerInfo`. Who signed is told by the signed attribute that names the certificate, not by `signer`.
#[derive(Debug, Clone, PartialEq, Eq, Sequence, ValueOrd)]
pub(super) struct SignerInfo {
    pub version: u8,
    pub signer: SignerId,
    pub digest_algorithm: AlgorithmIdentifierOwned,
    #[asn1(context_specific = "0", tag_mode = "IMPLICIT", constructed = "true")]
    pub signed: SetOfVec<Attribute>,
    pub signature_algorithm: AlgorithmIdentifierOwned,
    pub signature: OctetString,
    #[asn1(context_specific = "1", tag_mode = "IMPLICIT", constructed = "true", optional = "true")]
    pub unsigned: Option<SetOfVec<Attribute>>,
}

/// `SignerIdentifier`.
#[derive(Debug, Clone, PartialEq, Eq, Choice, ValueOrd)]
pub(super) enum SignerId {
    /// Issuer and serial number of the certificate.
    Issuer(IssuerAndSerial),
    /// Its key identifier.
    #[asn1(context_specific = "0", tag_mode = "IMPLICIT", constructed = "false")]
    Key(OctetString),
}

/// `IssuerAndSerialNumber`.
#[derive(Debug, Clone, PartialEq, Eq, Sequence, ValueOrd)]
pub(super) struct IssuerAndSerial {
    pub issuer: Any,
    pub serial: Int,
}

/// `TSTInfo`: what the authority signs.
#[derive(Debug, Sequence)]
pub(super) struct Info {
    pub version: u8,
    pub policy: ObjectIdentifier,
    pub imprint: Imprint,
    pub serial: Int,
    /// A `GeneralizedTime` that may have fractions of a second.
    pub time: Any,
    #[asn1(optional = "true")]
    pub accuracy: Option<Accuracy>,
    #[asn1(default = "Default::default")]
    pub ordering: bool,
    #[asn1(optional = "true")]
    pub nonce: Option<Int>,
    #[asn1(context_specific = "0", tag_mode = "EXPLICIT", optional = "true")]
    pub authority: Option<GeneralName>,
    #[asn1(context_specific = "1", tag_mode = "IMPLICIT", optional = "true")]
    pub extensions: Option<Extensions>,
}

/// `Accuracy`.
#[derive(Debug, Sequence)]
pub(super) struct Accuracy {
    #[asn1(optional = "true")]
    pub seconds: Option<Int>,
    #[asn1(context_specific = "0", tag_mode = "IMPLICIT", optional = "true")]
    pub milliseconds: Option<Int>,
    #[asn1(context_specific = "1", tag_mode = "IMPLICIT", optional = "true")]
    pub microseconds: Option<Int>,
}

/// `SigningCertificate` (RFC 2634, the hashes are SHA-1) and `SigningCertificateV2` (RFC 5035).
#[derive(Debug, Sequence)]
pub(super) struct SigningCertificate {
    pub certificates: Vec<CertificateId>,
    #[asn1(optional = "true")]
    pub policies: Option<Vec<Any>>,
}

/// `ESSCertID` and `ESSCertIDv2`.
#[derive(Debug, Sequence)]
pub(super) struct CertificateId {
    #[asn1(optional = "true")]
    pub algorithm: Option<AlgorithmIdentifierOwned>,
    pub hash: OctetString,
    #[asn1(optional = "true")]
    pub issuer: Option<Any>,
}
