//! TLS: the certificate that the server makes for itself, or one that was given.

use std::io::Write;
use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use chrono::{Datelike, TimeDelta};
use rcgen::{CertificateParams, DistinguishedName, DnType, ExtendedKeyUsagePurpose, KeyPair, KeyUsagePurpose, SanType};
use tokio_rustls::rustls::crypto::ring::default_provider;
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};
use tokio_rustls::rustls::{self, ServerConfig};

use crate::atomic_file::{Access, AtomicFile, resolved, with_ending};
use crate::digest::sha256_hex;
use crate::moment::Moment;

/// How long a certificate of our own is good for. Phones trust none for longer than 825 days, as far as we know: from
/// memory.
const GOOD_FOR: TimeDelta = TimeDelta::days(820);

/// The first line of the file of our own.
const HEAD: &str = "The certificate of cladlog serve and its private key. Whoever has this file can pretend to be this server: keep it private.";

/// No file of a certificate or a key is longer.
const MOST_BYTES: u64 = 1 << 20;

/// Why there is no TLS.
#[derive(Debug, thiserror::Error)]
pub enum TlsError {
    /// A file can't be read or written.
    #[error("{}: {why}", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What the system said.
        why: std::io::Error,
    },
    /// A file holds no certificate, or no key.
    #[error("{}: {why}", path.display())]
    Holds {
        /// The file.
        path: PathBuf,
        /// What it lacks.
        why: String,
    },
    /// The certificate and the key don't fit.
    #[error("{} and {} can't be used together: {why}", cert.display(), key.display())]
    Pair {
        /// The certificate.
        cert: PathBuf,
        /// The key.
        key: PathBuf,
        /// What the TLS library said.
        why: rustls::Error,
    },
    /// None could be made.
    #[error("no certificate can be made: {0}")]
    Making(rcgen::Error),
}

/// A certificate with its key.
pub struct Identity {
    chain: Vec<CertificateDer<'static>>,
    key: PrivateKeyDer<'static>,
    cert_path: PathBuf,
    key_path: PathBuf,
}

impl Identity {
    /// The certificate of a database's own, kept in `FILE.tls` beside `FILE`, private to the user; made where there is
    /// none, or none that is still good for a month.
    ///
    /// # Errors
    /// [`TlsError`].
    pub fn own(database: &Path, listens_at: IpAddr, now: Moment) -> Result<Self, TlsError> {
        let path = with_ending(&resolved(database), ".tls");
        match std::fs::read_to_string(&path) {
            Ok(text) => {
                let made = text.lines().nth(1).and_then(|line| Moment::parse_from_rfc3339(line).ok());
                if made.is_some_and(|made| made <= now && now - made < GOOD_FOR - TimeDelta::days(30)) {
                    return Self::given(&path, &path);
                }
            }
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => {}
            Err(why) => return Err(TlsError::File { path, why }),
        }
        let text = make(listens_at, now).map_err(TlsError::Making)?;
        let written = AtomicFile::create(&path, Access::Private).and_then(|mut file| {
            write!(file, "{HEAD}\n{now}\n{text}")?;
            file.commit()
        });
        written.map_err(|why| TlsError::File { path: path.clone(), why })?;
        Self::given(&path, &path)
    }

    /// A certificate and a key that were given, PEM.
    ///
    /// # Errors
    /// [`TlsError`].
    pub fn given(cert: &Path, key: &Path) -> Result<Self, TlsError> {
        let holds = |path: &Path, why: String| TlsError::Holds { path: path.to_owned(), why };
        let bytes = read(cert)?;
        let chain = CertificateDer::pem_slice_iter(&bytes).collect::<Result<Vec<_>, _>>();
        let chain = chain.map_err(|error| holds(cert, format!("is no PEM file: {error}")))?;
        if chain.is_empty() {
            return Err(holds(cert, "holds no certificate (PEM)".to_owned()));
        }
        let read_key = PrivateKeyDer::from_pem_slice(&read(key)?);
        let read_key = read_key.map_err(|_| holds(key, "holds no private key (PEM)".to_owned()))?;
        Ok(Self { chain, key: read_key, cert_path: cert.to_owned(), key_path: key.to_owned() })
    }

    /// SHA-256 of the server's own certificate in DER form, lower-case hex.
    pub fn fingerprint(&self) -> String {
        self.chain.first().map(|cert| sha256_hex(cert)).unwrap_or_default()
    }

    /// What a listener is set to.
    ///
    /// # Errors
    /// [`TlsError::Pair`].
    pub fn config(self) -> Result<Arc<ServerConfig>, TlsError> {
        let Self { chain, key, cert_path, key_path } = self;
        let built = || {
            ServerConfig::builder_with_provider(Arc::new(default_provider()))
                .with_safe_default_protocol_versions()?
                .with_no_client_auth()
                .with_single_cert(chain, key)
        };
        let mut config = built().map_err(|why| TlsError::Pair { cert: cert_path, key: key_path, why })?;
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        Ok(Arc::new(config))
    }
}

fn read(path: &Path) -> Result<Vec<u8>, TlsError> {
    let failed = |why: std::io::Error| TlsError::File { path: path.to_owned(), why };
    let data = std::fs::metadata(path).map_err(failed)?;
    if !data.is_file() || data.len() > MOST_BYTES {
        return Err(TlsError::Holds { path: path.to_owned(), why: "is no certificate or key".to_owned() });
    }
    std::fs::read(path).map_err(failed)
}

/// A new certificate and its key as PEM, for this machine and the address that it listens at.
fn make(listens_at: IpAddr, now: Moment) -> Result<String, rcgen::Error> {
    let mut params = CertificateParams::new(vec!["localhost".to_owned()])?;
    let mut name = DistinguishedName::new();
    name.push(DnType::CommonName, "cladlog serve");
    params.distinguished_name = name;
    let own = [IpAddr::from([127, 0, 0, 1]), IpAddr::from([0, 0, 0, 0, 0, 0, 0, 1])];
    for address in own.into_iter().chain([listens_at]).filter(|address| !address.is_unspecified()) {
        let san = SanType::IpAddress(address);
        if !params.subject_alt_names.contains(&san) {
            params.subject_alt_names.push(san);
        }
    }
    let day = |at: Moment| {
        let date = at.at_offset(chrono::FixedOffset::east_opt(0).unwrap_or(at.offset())).date();
        rcgen::date_time_ymd(date.year(), date.month() as u8, date.day() as u8)
    };
    // A phone's clock may be behind.
    params.not_before = day(now.checked_add(-TimeDelta::days(1)).unwrap_or(now));
    params.not_after = day(now.checked_add(GOOD_FOR).unwrap_or(now));
    params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
    params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
    let key = KeyPair::generate()?;
    let cert = params.self_signed(&key)?;
    Ok(cert.pem() + &key.serialize_pem())
}
