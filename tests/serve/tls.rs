//! TLS with a certificate of the server's own: named by its fingerprint, kept private, the same after a restart.

use std::io::Write;
use std::net::TcpStream;
use std::sync::{Arc, Mutex};

use tokio_rustls::rustls::client::danger::{HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier};
use tokio_rustls::rustls::crypto::{WebPkiSupportedAlgorithms, ring::default_provider};
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use tokio_rustls::rustls::{
    ClientConfig, ClientConnection, DigitallySignedStruct, Error, SignatureScheme, StreamOwned,
};

use super::server::{Server, answer, start};
use crate::rules::site::closed;

const EIGHT: &str = "2026-03-02T08:00:00+13:00";

/// Takes any certificate and remembers it; that the server has its key is checked all the same.
#[derive(Debug)]
struct Remember(Mutex<Option<Vec<u8>>>, WebPkiSupportedAlgorithms);

impl ServerCertVerifier for Remember {
    fn verify_server_cert(
        &self,
        cert: &CertificateDer<'_>,
        _: &[CertificateDer<'_>],
        _: &ServerName<'_>,
        _: &[u8],
        _: UnixTime,
    ) -> Result<ServerCertVerified, Error> {
        *self.0.lock().unwrap() = Some(cert.to_vec());
        Ok(ServerCertVerified::assertion())
    }

    fn verify_tls12_signature(
        &self,
        message: &[u8],
        cert: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        tokio_rustls::rustls::crypto::verify_tls12_signature(message, cert, signed, &self.1)
    }

    fn verify_tls13_signature(
        &self,
        message: &[u8],
        cert: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        tokio_rustls::rustls::crypto::verify_tls13_signature(message, cert, signed, &self.1)
    }

    fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
        self.1.supported_schemes()
    }
}

/// Asks for the first page; gives the status and the certificate's SHA-256.
fn ask(server: &Server) -> (u16, String) {
    let provider = Arc::new(default_provider());
    let verifier = Arc::new(Remember(Mutex::new(None), provider.signature_verification_algorithms));
    let config = ClientConfig::builder_with_provider(provider).with_safe_default_protocol_versions().unwrap();
    let config = config.dangerous().with_custom_certificate_verifier(Arc::clone(&verifier) as _).with_no_client_auth();
    let connection = ClientConnection::new(Arc::new(config), ServerName::try_from("localhost").unwrap()).unwrap();
    let socket = TcpStream::connect(server.address()).unwrap();
    let mut stream = StreamOwned::new(connection, socket);
    write!(stream, "GET / HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", server.address()).unwrap();
    let answer = answer(&mut stream);
    let cert = verifier.0.lock().unwrap().clone().unwrap();
    (answer.status, cladlog::digest::sha256_hex(&cert))
}

#[test]
fn the_certificate_is_the_one_that_was_named_and_stays() {
    let site = closed(EIGHT);
    let server = start(&site, "");
    assert!(server.said["url"].as_str().unwrap().starts_with("https://"));
    let named = server.said["fingerprint"].as_str().unwrap().to_owned();
    // Somebody who connects and says nothing keeps nobody from shaking hands.
    let _silent: Vec<_> = (0..20).map(|_| server.stranger().connect()).collect();
    assert_eq!(ask(&server), (401, named.clone()));
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        assert_eq!(std::fs::metadata(site.path("job.db.tls")).unwrap().permissions().mode() & 0o777, 0o600);
    }
    server.kill();
    let server = start(&site, "");
    assert_eq!(server.said["fingerprint"], named);
    // Two years later it is another one.
    server.kill();
    site.clock("2028-06-01T08:00:00+12:00");
    let server = start(&site, "--clock-is-right");
    assert_ne!(server.said["fingerprint"], named);
    assert_eq!(ask(&server).0, 401);
}

#[test]
fn a_certificate_that_is_given_is_used() {
    let site = closed(EIGHT);
    let made = rcgen::generate_simple_self_signed(vec!["localhost".to_owned()]).unwrap();
    site.file("cert.pem", &made.cert.pem());
    site.file("key.pem", &made.signing_key.serialize_pem());
    let server = start(&site, "--cert cert.pem --key key.pem");
    let sha256 = cladlog::digest::sha256_hex(made.cert.der());
    assert_eq!(server.said["fingerprint"], sha256);
    assert_eq!(ask(&server), (401, sha256));
    server.kill();
    assert!(!site.path("job.db.tls").exists());
    site.file("not.pem", "nothing");
    for wrong in ["--cert not.pem --key key.pem", "--cert cert.pem --key not.pem", "--cert cert.pem"] {
        site.bad(format!("serve {wrong}"));
    }
    for (wrong, option) in [("--cert none.pem --key key.pem", "--cert"), ("--cert cert.pem --key none.pem", "--key")] {
        assert!(site.bad(format!("serve {wrong}")).contains(option), "{wrong}");
    }
    site.bad("serve --listen x");
    let other = rcgen::generate_simple_self_signed(vec!["localhost".to_owned()]).unwrap();
    site.file("other.pem", &other.signing_key.serialize_pem());
    assert!(site.bad("serve --cert cert.pem --key other.pem").contains("can't be used together"));
}
