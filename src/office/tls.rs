//! TLS to the server, as `sslmode` and `sslrootcert` of the address ask for it: the meanings are those of libpq
//! (PostgreSQL 15 documentation, 34.19 "SSL Support").

use std::future::Future;
use std::io;
use std::path::{Path, PathBuf};
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};

use postgres::config::SslMode;
use postgres::tls::{ChannelBinding, MakeTlsConnect, TlsConnect, TlsStream};
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio_rustls::TlsConnector;
use tokio_rustls::client;
use tokio_rustls::rustls::client::WebPkiServerVerifier;
use tokio_rustls::rustls::client::danger::{HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier};
use tokio_rustls::rustls::crypto::{CryptoProvider, ring, verify_tls12_signature, verify_tls13_signature};
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use tokio_rustls::rustls::{
    CertificateError, ClientConfig, DigitallySignedStruct, Error, RootCertStore, SignatureScheme,
};

/// What the address asks of the connection.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Asked {
    pub mode: SslMode,
    trust: Trust,
}

/// Which certificates of a server are trusted.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Trust {
    /// Any: what is sent is hidden from listeners, not from whoever poses as the server.
    Any,
    /// Those that one of the roots in a file stands behind.
    Signed(PathBuf),
    /// The same, and made out to the name in the address.
    Named(PathBuf),
}

impl Asked {
    /// Reads `sslmode` and `sslrootcert`.
    ///
    /// # Errors
    /// What is wrong with them.
    pub fn read(mode: Option<&str>, roots: Option<&str>) -> Result<Self, String> {
        let needed = |mode: &str| {
            let roots = roots.ok_or_else(|| {
                format!("sslmode={mode} needs sslrootcert=FILE, the certificates (PEM) that stand behind the server's")
            });
            roots.map(PathBuf::from)
        };
        let (mode, trust) = match mode.unwrap_or("prefer") {
            "disable" => (SslMode::Disable, Trust::Any),
            "prefer" => (SslMode::Prefer, Trust::Any),
            "require" => (SslMode::Require, roots.map_or(Trust::Any, |roots| Trust::Signed(roots.into()))),
            mode @ "verify-ca" => (SslMode::Require, Trust::Signed(needed(mode)?)),
            mode @ "verify-full" => (SslMode::Require, Trust::Named(needed(mode)?)),
            other => {
                return Err(format!(
                    "sslmode is '{other}': it is one of disable, prefer, require, verify-ca and verify-full"
                ));
            }
        };
        Ok(Self { mode, trust })
    }

    /// Makes the connector.
    ///
    /// # Errors
    /// The file of roots can't be read, or holds none.
    pub fn connector(self) -> Result<Tls, String> {
        let provider = Arc::new(ring::default_provider());
        let verifier = match self.trust {
            Trust::Any => Verifier { provider: Arc::clone(&provider), signed: None, named: false },
            Trust::Signed(file) => {
                Verifier { signed: Some(signed_by(&file, &provider)?), provider: Arc::clone(&provider), named: false }
            }
            Trust::Named(file) => {
                Verifier { signed: Some(signed_by(&file, &provider)?), provider: Arc::clone(&provider), named: true }
            }
        };
        let config = ClientConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()
            .map_err(|error| error.to_string())?
            .dangerous()
            .with_custom_certificate_verifier(Arc::new(verifier))
            .with_no_client_auth();
        Ok(Tls(Arc::new(config)))
    }
}

fn signed_by(file: &Path, provider: &Arc<CryptoProvider>) -> Result<Arc<WebPkiServerVerifier>, String> {
    let failed = |what: String| format!("sslrootcert {}: {what}", file.display());
    let mut roots = RootCertStore::empty();
    for certificate in CertificateDer::pem_file_iter(file).map_err(|error| failed(error.to_string()))? {
        let certificate = certificate.map_err(|error| failed(error.to_string()))?;
        roots.add(certificate).map_err(|error| failed(error.to_string()))?;
    }
    WebPkiServerVerifier::builder_with_provider(Arc::new(roots), Arc::clone(provider))
        .build()
        .map_err(|error| failed(error.to_string()))
}

/// Checks the certificate of a server as far as it was asked.
#[derive(Debug)]
struct Verifier {
    provider: Arc<CryptoProvider>,
    signed: Option<Arc<WebPkiServerVerifier>>,
    named: bool,
}

impl ServerCertVerifier for Verifier {
    fn verify_server_cert(
        &self,
        end_entity: &CertificateDer<'_>,
        intermediates: &[CertificateDer<'_>],
        name: &ServerName<'_>,
        ocsp: &[u8],
        now: UnixTime,
    ) -> Result<ServerCertVerified, Error> {
        let Some(signed) = &self.signed else { return Ok(ServerCertVerified::assertion()) };
        // The name is looked at last, when everything else holds.
        match signed.verify_server_cert(end_entity, intermediates, name, ocsp, now) {
            Err(Error::InvalidCertificate(
                CertificateError::NotValidForName | CertificateError::NotValidForNameContext { .. },
            )) if !self.named => Ok(ServerCertVerified::assertion()),
            found => found,
        }
    }

    fn verify_tls12_signature(
        &self,
        message: &[u8],
        certificate: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        verify_tls12_signature(message, certificate, signed, &self.provider.signature_verification_algorithms)
    }

    fn verify_tls13_signature(
        &self,
        message: &[u8],
        certificate: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        verify_tls13_signature(message, certificate, signed, &self.provider.signature_verification_algorithms)
    }

    fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
        self.provider.signature_verification_algorithms.supported_schemes()
    }
}

/// Makes connections of TLS.
#[derive(Clone)]
pub(super) struct Tls(Arc<ClientConfig>);

/// Makes one, to a server of this name.
pub(super) struct ToServer(Arc<ClientConfig>, String);

impl<S: AsyncRead + AsyncWrite + Unpin + Send + 'static> MakeTlsConnect<S> for Tls {
    type Stream = Encrypted<S>;
    type TlsConnect = ToServer;
    type Error = io::Error;

    fn make_tls_connect(&mut self, domain: &str) -> io::Result<ToServer> {
        // A socket in a folder has no name, and asks for no TLS.
        Ok(ToServer(Arc::clone(&self.0), domain.to_owned()))
    }
}

impl<S: AsyncRead + AsyncWrite + Unpin + Send + 'static> TlsConnect<S> for ToServer {
    type Stream = Encrypted<S>;
    type Error = io::Error;
    type Future = Pin<Box<dyn Future<Output = io::Result<Encrypted<S>>> + Send>>;

    fn connect(self, stream: S) -> Self::Future {
        Box::pin(async move {
            let name = ServerName::try_from(self.1).map_err(io::Error::other)?;
            TlsConnector::from(self.0).connect(name, stream).await.map(Encrypted)
        })
    }
}

/// A connection of TLS. Authentication is not bound to it: `verify-full` says who the server is.
pub(super) struct Encrypted<S>(client::TlsStream<S>);

impl<S: AsyncRead + AsyncWrite + Unpin> TlsStream for Encrypted<S> {
    fn channel_binding(&self) -> ChannelBinding {
        ChannelBinding::none()
    }
}

impl<S: AsyncRead + AsyncWrite + Unpin> AsyncRead for Encrypted<S> {
    fn poll_read(mut self: Pin<&mut Self>, cx: &mut Context<'_>, buffer: &mut ReadBuf<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.0).poll_read(cx, buffer)
    }
}

impl<S: AsyncRead + AsyncWrite + Unpin> AsyncWrite for Encrypted<S> {
    fn poll_write(mut self: Pin<&mut Self>, cx: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        Pin::new(&mut self.0).poll_write(cx, bytes)
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.0).poll_flush(cx)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.0).poll_shutdown(cx)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sslmode_means_what_libpq_means_by_it() {
        let read = |mode, roots| Asked::read(mode, roots).map(|asked| (asked.mode, asked.trust));
        let roots = || PathBuf::from("ca.pem");
        assert_eq!(read(None, None), Ok((SslMode::Prefer, Trust::Any)));
        assert_eq!(read(Some("disable"), None), Ok((SslMode::Disable, Trust::Any)));
        assert_eq!(read(Some("require"), None), Ok((SslMode::Require, Trust::Any)));
        assert_eq!(read(Some("require"), Some("ca.pem")), Ok((SslMode::Require, Trust::Signed(roots()))));
        assert_eq!(read(Some("verify-ca"), Some("ca.pem")), Ok((SslMode::Require, Trust::Signed(roots()))));
        assert_eq!(read(Some("verify-full"), Some("ca.pem")), Ok((SslMode::Require, Trust::Named(roots()))));
        for (mode, roots) in [("verify-full", None), ("verify-ca", None), ("always", Some("ca.pem"))] {
            assert!(read(Some(mode), roots).is_err(), "{mode}");
        }
    }
}
