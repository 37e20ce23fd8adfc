//! Photos in a store of objects that answers as S3 does, each under its digest.
//!
//! Requests are signed in their address (AWS Signature Version 4, as `rusty_s3` makes them), which every such store
//! takes. What is sent goes with its SHA-256 (`x-amz-checksum-sha256`), so that a store that heeds it keeps nothing else.

use std::fs::File;
use std::io::{Read, Write};
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use rusty_s3::{Bucket, Credentials, S3Action, UrlStyle};
use tokio_rustls::rustls::crypto::ring;
use ureq::tls::{PemItem, RootCerts, TlsConfig, parse_pem};
use ureq::{Agent, Body, http::Response};

use crate::digest::from_hex;

/// A signed address is used at once.
const VALID: Duration = Duration::from_secs(300);

/// How long a store may take to connect, or to begin its answer.
const PATIENCE: Duration = Duration::from_secs(30);

/// Where systems have the certificates that they trust: Debian, Fedora, Alpine and macOS.
const ROOTS: [&str; 3] =
    ["/etc/ssl/certs/ca-certificates.crt", "/etc/pki/tls/certs/ca-bundle.crt", "/etc/ssl/cert.pem"];

/// So much of what a store says about an error is read.
const MOST_SAID: u64 = 4096;

/// Why a store of objects could not be used.
#[derive(Debug, thiserror::Error)]
pub enum ObjectError {
    /// The address can't be used.
    #[error("the address of the photos can't be used: {0}")]
    Address(String),
    /// The store can't be reached, or broke off.
    #[error("{place}: {why}")]
    Unreachable {
        /// The store.
        place: String,
        /// What happened.
        why: String,
    },
    /// The store answered, and not with what was asked.
    #[error("{place}: the store answered {said}")]
    Refused {
        /// The store.
        place: String,
        /// Its status, and the code of its error.
        said: String,
    },
    /// The photo's own file.
    #[error("{file}: {why}")]
    Disk {
        /// Which.
        file: String,
        /// What the system said.
        why: std::io::Error,
    },
}

/// A store of objects.
pub struct ObjectStore {
    bucket: Bucket,
    credentials: Option<Credentials>,
    agent: Agent,
    prefix: String,
    place: String,
}

/// What the address says beside bucket and prefix.
#[derive(Default)]
struct Given {
    endpoint: Option<String>,
    region: Option<String>,
    roots: Option<String>,
}

impl ObjectStore {
    /// A store by its address, `s3://BUCKET/PREFIX?endpoint=https://…&region=…&sslrootcert=FILE`, of which only the bucket
    /// is needed. `variable` gives the variables that other programs read as well: `AWS_ACCESS_KEY_ID`,
    /// `AWS_SECRET_ACCESS_KEY`, `AWS_SESSION_TOKEN`, `AWS_REGION`, `AWS_ENDPOINT_URL` and `SSL_CERT_FILE`. Nothing is asked
    /// of the store yet.
    ///
    /// # Errors
    /// [`ObjectError::Address`].
    pub fn open(address: &str, variable: &dyn Fn(&str) -> Option<String>) -> Result<Self, ObjectError> {
        let wrong = |why: String| ObjectError::Address(why);
        let rest = address.strip_prefix("s3://").ok_or_else(|| wrong("it begins with s3://".to_owned()))?;
        let (path, query) = rest.split_once('?').unwrap_or((rest, ""));
        let (name, prefix) = path.split_once('/').unwrap_or((path, ""));
        if name.is_empty() {
            return Err(wrong("it names no bucket: s3://BUCKET/PREFIX".to_owned()));
        }
        let given = Given::read(query).map_err(wrong)?;
        let set = |name: &str| variable(name).filter(|value| !value.trim().is_empty());
        let region = given.region.or_else(|| set("AWS_REGION")).unwrap_or_else(|| "us-east-1".to_owned());
        // A store of one's own rarely has a host name for every bucket.
        let (endpoint, style) = match given.endpoint.or_else(|| set("AWS_ENDPOINT_URL")) {
            Some(endpoint) => (endpoint, UrlStyle::Path),
            None => (format!("https://s3.{region}.amazonaws.com"), UrlStyle::VirtualHost),
        };
        let url = endpoint.parse().ok().ok_or_else(|| wrong(format!("endpoint '{endpoint}' is not a URL")))?;
        let bucket = Bucket::new(url, style, name.to_owned(), region).map_err(|error| wrong(error.to_string()))?;
        let credentials = set("AWS_ACCESS_KEY_ID").zip(set("AWS_SECRET_ACCESS_KEY"));
        let credentials = credentials.map(|(key, secret)| match set("AWS_SESSION_TOKEN") {
            Some(token) => Credentials::new_with_token(key, secret, token),
            None => Credentials::new(key, secret),
        });
        let secured = endpoint.starts_with("https:");
        let tls = if secured { Some(trusting(given.roots.or_else(|| set("SSL_CERT_FILE")))?) } else { None };
        let config = Agent::config_builder()
            .http_status_as_error(false)
            .max_redirects(0)
            .max_redirects_will_error(false)
            .timeout_connect(Some(PATIENCE))
            .timeout_recv_response(Some(PATIENCE))
            .tls_config(tls.unwrap_or_default())
            .build();
        let prefix = prefix.trim_matches('/');
        let prefix = if prefix.is_empty() { String::new() } else { format!("{prefix}/") };
        let place = format!("s3://{name}/{prefix} at {endpoint}");
        Ok(Self { bucket, credentials, agent: config.into(), prefix, place })
    }

    /// Whether there is an object of this name.
    ///
    /// # Errors
    /// [`ObjectError`].
    pub fn has(&self, name: &str) -> Result<bool, ObjectError> {
        let key = format!("{}{name}", self.prefix);
        let url = self.bucket.head_object(self.credentials.as_ref(), &key).sign(VALID);
        let answer = self.answer(self.agent.head(url.as_str()).call())?;
        match answer.status().as_u16() {
            200 => Ok(true),
            404 => Ok(false),
            _ => Err(self.refused(answer)),
        }
    }

    /// Puts a file under this name; `sha256` (hex) goes with it.
    ///
    /// # Errors
    /// [`ObjectError`].
    pub fn put(&self, name: &str, from: &Path, sha256: &str) -> Result<(), ObjectError> {
        const CHECKSUM: &str = "x-amz-checksum-sha256";
        let disk = |why| ObjectError::Disk { file: from.display().to_string(), why };
        let file = File::open(from).map_err(disk)?;
        let key = format!("{}{name}", self.prefix);
        let checksum = STANDARD.encode(from_hex(sha256).unwrap_or_default());
        let mut action = self.bucket.put_object(self.credentials.as_ref(), &key);
        action.headers_mut().insert(CHECKSUM, checksum.as_str());
        let url = action.sign(VALID);
        let answer = self.answer(self.agent.put(url.as_str()).header(CHECKSUM, &checksum).send(&file))?;
        if answer.status().is_success() { Ok(()) } else { Err(self.refused(answer)) }
    }

    /// Writes the object of this name, at most `most` bytes of it; `false` where there is none. What comes is not checked.
    ///
    /// # Errors
    /// [`ObjectError`].
    pub fn get(&self, name: &str, most: u64, to: &mut dyn Write) -> Result<bool, ObjectError> {
        let key = format!("{}{name}", self.prefix);
        let url = self.bucket.get_object(self.credentials.as_ref(), &key).sign(VALID);
        let answer = self.answer(self.agent.get(url.as_str()).call())?;
        match answer.status().as_u16() {
            200 => {
                let copied = std::io::copy(&mut answer.into_body().into_reader().take(most), to);
                copied.map_err(|error| self.unreachable(error.to_string()))?;
                Ok(true)
            }
            404 => Ok(false),
            _ => Err(self.refused(answer)),
        }
    }

    /// The store, as messages name it: no key is in it.
    pub fn place(&self) -> &str {
        &self.place
    }

    fn answer(&self, answer: Result<Response<Body>, ureq::Error>) -> Result<Response<Body>, ObjectError> {
        answer.map_err(|error| self.unreachable(error.to_string()))
    }

    fn unreachable(&self, why: String) -> ObjectError {
        ObjectError::Unreachable { place: self.place.clone(), why }
    }

    /// What a store says when it refuses: `<Code>…</Code>` in a few lines of XML.
    fn refused(&self, answer: Response<Body>) -> ObjectError {
        let status = answer.status();
        let mut text = String::new();
        // What can't be read is left out: the status says enough.
        let _ = answer.into_body().into_reader().take(MOST_SAID).read_to_string(&mut text);
        let code = text.split_once("<Code>").and_then(|(_, rest)| rest.split_once("</Code>")).map(|(code, _)| code);
        let code = code.map(|code| format!(", {}", crate::plain::visible(code))).unwrap_or_default();
        ObjectError::Refused { place: self.place.clone(), said: format!("{status}{code}") }
    }
}

impl Given {
    fn read(query: &str) -> Result<Self, String> {
        let mut given = Self::default();
        for (key, value) in form_urlencoded::parse(query.as_bytes()) {
            let place = match &*key {
                "endpoint" => &mut given.endpoint,
                "region" => &mut given.region,
                "sslrootcert" => &mut given.roots,
                other => return Err(format!("it may give endpoint, region and sslrootcert, not '{other}'")),
            };
            *place = Some(value.into_owned());
        }
        Ok(given)
    }
}

/// TLS that trusts the certificates in a file, or those that the system trusts.
fn trusting(roots: Option<String>) -> Result<TlsConfig, ObjectError> {
    let system = || ROOTS.iter().find(|file| Path::new(file).exists()).map(|file| (*file).to_owned());
    let file = roots.or_else(system).ok_or_else(|| {
        let what = "no certificates to trust were found on this system: give sslrootcert=FILE (PEM)";
        ObjectError::Address(what.to_owned())
    })?;
    let pem = std::fs::read(&file).map_err(|why| ObjectError::Disk { file: file.clone(), why })?;
    let roots = parse_pem(&pem).filter_map(|item| match item {
        Ok(PemItem::Certificate(certificate)) => Some(certificate),
        _ => None,
    });
    let roots: Vec<_> = roots.collect();
    if roots.is_empty() {
        return Err(ObjectError::Address(format!("{file} holds no certificate (PEM)")));
    }
    let config = TlsConfig::builder()
        .unversioned_rustls_crypto_provider(Arc::new(ring::default_provider()))
        .root_certs(RootCerts::Specific(Arc::new(roots)));
    Ok(config.build())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_is_read_and_what_is_wrong_with_it_is_named() {
        let variable = |name: &str| (name == "AWS_REGION").then(|| "ap-southeast-2".to_owned());
        let at = |address: &str| ObjectStore::open(address, &variable);
        let store = at("s3://photos/office/one?endpoint=http%3A%2F%2F127.0.0.1%3A9000").ok().unwrap();
        assert_eq!(store.place(), "s3://photos/office/one/ at http://127.0.0.1:9000");
        assert_eq!(store.bucket.base_url().as_str(), "http://127.0.0.1:9000/photos/");
        assert_eq!(store.bucket.region(), "ap-southeast-2");
        for (address, says) in [
            ("s3://", "no bucket"),
            ("https://photos", "s3://"),
            ("s3://photos?endpoint=ftp://h", "scheme"),
            ("s3://photos?endpoint=h", "not a URL"),
            ("s3://photos?key=1", "not 'key'"),
            ("s3://photos?endpoint=https://h&sslrootcert=/dev/null", "no certificate"),
        ] {
            let error = at(address).err().map(|error| error.to_string()).unwrap_or_default();
            assert!(error.contains(says), "{address}: {error}");
        }
    }
}
