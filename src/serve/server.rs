//! The server: it listens, shakes hands, hands each connection to the router, and ends when it is told to.

use std::fs::File;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener, UdpSocket};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use chrono::TimeDelta;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use serde::Serialize;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::TcpStream;
use tokio::sync::watch;
use tokio::task::JoinSet;
use tokio::time::{sleep, timeout};
use tokio_rustls::TlsAcceptor;

use super::app::{App, Peer, Surroundings};
use super::error::ServeError;
use super::limits::{Connections, DRAIN, HANDSHAKE, HEAD};
use super::phones::{CODE_LIVES, Phones, PhonesError};
use super::recorder::{Ended, Recorder};
use super::router::router;
use super::steady::Steady;
use super::tls::Identity;
use crate::atomic_file::{resolved, with_ending};
use crate::journal::Journal;
use crate::moment::Moment;

/// The longest head of a request, bytes.
const MOST_HEAD: usize = 32 * 1024;

/// The most header fields of a request.
const MOST_HEADERS: usize = 64;

/// How the server listens.
pub enum Listen {
    /// By TLS, with a certificate of the database's own.
    Own,
    /// By TLS, with a certificate that was given.
    Given(Identity),
    /// By HTTP: whoever is on the network reads along.
    Plain,
}

/// A pairing code that is out.
#[derive(Debug, Serialize)]
pub struct Pairing {
    /// The page that pairs one phone.
    pub url: String,
    /// Until when.
    pub expires_at: Moment,
}

/// Where the server is found.
#[derive(Debug, Serialize)]
pub struct Started {
    /// The URL of its first page.
    pub url: String,
    /// SHA-256 of its certificate, lower-case hex.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fingerprint: Option<String>,
    /// The first pairing code.
    pub pairing: Pairing,
}

/// A server that listens and does not answer yet.
pub struct Server {
    listener: TcpListener,
    tls: Option<TlsAcceptor>,
    started: Started,
    app: Arc<App>,
    ended: Ended,
    end: watch::Sender<bool>,
    _lock: File,
}

impl Server {
    /// Listens. Whoever connects waits until [`Server::run`].
    ///
    /// # Errors
    /// [`ServeError`].
    pub fn listen(
        journal: Journal,
        address: SocketAddr,
        how: Listen,
        around: Surroundings,
    ) -> Result<Self, ServeError> {
        let database = journal.store().path().to_owned();
        let lock = lock(&database)?;
        let failed = |why| ServeError::Listen { address, why };
        let listener = TcpListener::bind(address).map_err(failed)?;
        listener.set_nonblocking(true).map_err(failed)?;
        let at = listener.local_addr().map_err(failed)?;
        let now = (around.now)().at_site(journal.book().state.job.time_zone);
        let identity = match how {
            Listen::Own => Some(Identity::own(&database, reached_at(at.ip()), now)?),
            Listen::Given(identity) => Some(identity),
            Listen::Plain => None,
        };
        let plain = identity.is_none();
        let fingerprint = identity.as_ref().map(Identity::fingerprint);
        let tls = identity.map(Identity::config).transpose()?.map(TlsAcceptor::from);
        let scheme = if plain { "http" } else { "https" };
        let url = format!("{scheme}://{}/", SocketAddr::new(reached_at(at.ip()), at.port()));
        let phones = Arc::new(Phones::beside(&database)?);
        phones.start(&url)?;
        let pairing = pairing(&phones, &url, now)?;
        let job = journal.job().key.clone();
        let (recorder, ended) = Recorder::start(journal, Arc::clone(&around.log));
        let (end, ending) = watch::channel(false);
        let app = Arc::new(App::new(recorder, phones, job, plain, around, ending));
        Ok(Self { listener, tls, started: Started { url, fingerprint, pairing }, app, ended, end, _lock: lock })
    }

    /// Where it is found.
    pub fn started(&self) -> &Started {
        &self.started
    }

    /// Answers until `stop` is done, then ends the requests in hand.
    ///
    /// # Errors
    /// [`ServeError::Journal`] where the database is not the same file any more; [`ServeError::Listen`].
    pub async fn run(self, stop: impl Future<Output = ()>) -> Result<(), ServeError> {
        let Self { listener, tls, app, ended, end, started: _, _lock } = self;
        let address = listener.local_addr().unwrap_or_else(|_| SocketAddr::new(Ipv4Addr::UNSPECIFIED.into(), 0));
        let listener =
            tokio::net::TcpListener::from_std(listener).map_err(|why| ServeError::Listen { address, why })?;
        let (router, connections) = (router(Arc::clone(&app)), Arc::new(Connections::default()));
        let mut tasks = JoinSet::new();
        tokio::pin!(stop, ended);
        let ended = loop {
            tokio::select! {
                () = &mut stop => break Ok(()),
                error = &mut ended => break Err(error.map_or(ServeError::Stopped, ServeError::from)),
                accepted = listener.accept() => match accepted {
                    Ok((stream, peer)) => {
                        let (router, tls, ending) = (router.clone(), tls.clone(), app.ending.clone());
                        let connections = Arc::clone(&connections);
                        tasks.spawn(async move {
                            let from = peer.ip().to_canonical();
                            if let Some(_counted) = connections.one_more(from) {
                                connection(stream, Peer(from), tls, router, ending).await;
                            }
                        });
                    }
                    // No more files may be open, or the other side is gone already.
                    Err(_) => sleep(Duration::from_millis(20)).await,
                },
                Some(_) = tasks.join_next() => {}
            }
        };
        drop(listener);
        // Nobody listens where all connections have ended.
        let _ = end.send(true);
        let _ = timeout(DRAIN, async { while tasks.join_next().await.is_some() {} }).await;
        ended
    }
}

/// One connection, from its handshake to its end. It waits for nobody else, and nobody waits for it.
async fn connection(
    stream: TcpStream,
    peer: Peer,
    tls: Option<TlsAcceptor>,
    router: Router,
    ending: watch::Receiver<bool>,
) {
    // Answers are small: none is to wait for the next.
    let _ = stream.set_nodelay(true);
    let stream = Steady::of(stream);
    match tls {
        None => answer(stream, peer, router, ending).await,
        Some(tls) => {
            if let Ok(Ok(stream)) = timeout(HANDSHAKE, tls.accept(stream)).await {
                answer(stream, peer, router, ending).await;
            }
        }
    }
}

async fn answer<S>(stream: S, peer: Peer, router: Router, mut ending: watch::Receiver<bool>)
where
    S: AsyncRead + AsyncWrite + Unpin + Send + 'static,
{
    let service = TowerToHyperService::new(router.layer(axum::Extension(peer)));
    let mut http = http1::Builder::new();
    http.timer(TokioTimer::new()).header_read_timeout(HEAD).max_buf_size(MOST_HEAD).max_headers(MOST_HEADERS);
    let connection = http.serve_connection(TokioIo::new(stream), service);
    tokio::pin!(connection);
    // How a connection ends is of no interest: who was answered was answered.
    tokio::select! {
        _ = connection.as_mut() => return,
        _ = ending.wait_for(|ending| *ending) => connection.as_mut().graceful_shutdown(),
    }
    let _ = connection.await;
}

/// Another pairing code from the server of a database.
///
/// # Errors
/// [`ServeError::NotServed`] where there is no server.
pub fn new_pairing(database: &Path, now: Moment) -> Result<Pairing, ServeError> {
    if lock(database).is_ok() {
        return Err(ServeError::NotServed(database.to_owned()));
    }
    let phones = Phones::beside(database)?;
    let url = phones.server_url()?.ok_or_else(|| ServeError::NotServed(database.to_owned()))?;
    Ok(pairing(&phones, &url, now)?)
}

fn pairing(phones: &Phones, url: &str, now: Moment) -> Result<Pairing, PhonesError> {
    let code = phones.new_code()?;
    let lives = TimeDelta::seconds(CODE_LIVES.as_secs() as i64);
    let expires_at = now.checked_add(lives).unwrap_or(now);
    Ok(Pairing { url: format!("{url}pair/{}", code.reveal()), expires_at })
}

/// Holds `FILE.serving` beside the database for as long as it is served: the system lets go of it whatever happens.
fn lock(database: &Path) -> Result<File, ServeError> {
    let path: PathBuf = with_ending(&resolved(database), ".serving");
    let failed = |why| ServeError::Lock { path: path.clone(), why };
    let file = File::options().create(true).append(true).open(&path).map_err(failed)?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(std::fs::TryLockError::WouldBlock) => Err(ServeError::Served(database.to_owned())),
        Err(std::fs::TryLockError::Error(why)) => Err(failed(why)),
    }
}

/// The address under which others reach this one: where the server listens at all of them, the one that the machine
/// would send from. No packet is sent to find it out.
fn reached_at(listens_at: IpAddr) -> IpAddr {
    if !listens_at.is_unspecified() {
        return listens_at;
    }
    // RFC 5737: an address for documentation, that nobody has.
    let found = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).and_then(|socket| {
        socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9))?;
        socket.local_addr()
    });
    found.map_or(IpAddr::V4(Ipv4Addr::LOCALHOST), |address| address.ip())
}
