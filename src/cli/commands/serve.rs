//! `cladlog serve`: the day on the crew's phones.

use std::io::IsTerminal;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::{Args, Subcommand};
use qrcode::render::unicode::Dense1x2;
use qrcode::{EcLevel, QrCode};
use serde_json::json;

use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::plain::visible;
use crate::record::{ForgetPhone, Store};
use crate::serve::{
    Identity, Listen, Pairing, Phones, PhonesError, ServeError, Server, Surroundings, TlsError, new_pairing,
};

/// Put the day on the crew's phones, over the site's own network
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub struct ServeArgs {
    /// Where to listen; 0.0.0.0:4433 for phones on the same network
    #[arg(long, value_name = "ADDRESS", default_value = "127.0.0.1:0", value_parser = address)]
    listen: SocketAddr,
    /// A certificate for TLS, PEM [default: one of its own, kept beside the database]
    #[arg(long, value_name = "FILE", requires = "key")]
    cert: Option<PathBuf>,
    /// The private key of the certificate, PEM
    #[arg(long, value_name = "FILE", requires = "cert")]
    key: Option<PathBuf>,
    /// HTTP without TLS: anybody on the network can read along and act as any of the phones
    #[arg(long, conflicts_with = "cert")]
    plain: bool,
    #[command(subcommand)]
    command: Option<ServeCommand>,
}

#[derive(Debug, Subcommand)]
enum ServeCommand {
    /// List the paired phones
    Phones,
    /// Forget a phone: it records nothing any more
    Forget {
        /// Its id
        #[arg(value_name = "ID")]
        id: String,
    },
    /// Get another pairing code from the running server
    Pair,
}

/// Reads an address to listen at.
fn address(text: &str) -> Result<SocketAddr, String> {
    text.parse().map_err(|_| "give an IP address and a port, such as 0.0.0.0:4433".to_owned())
}

impl From<PhonesError> for Failure {
    fn from(error: PhonesError) -> Self {
        match error {
            PhonesError::Newer(_) => Self::input_hint(error, "install the newer cladlog; nothing was changed"),
            other => Self::machine(other),
        }
    }
}

impl From<ServeError> for Failure {
    fn from(error: ServeError) -> Self {
        match error {
            ServeError::Journal(error) => error.into(),
            ServeError::Phones(error) => error.into(),
            ServeError::Listen { .. } => Self::machine_hint(error, "give another address or port with --listen"),
            ServeError::Served(_) => Self::input_hint(error, "for another pairing code: cladlog serve pair"),
            ServeError::NotServed(_) => Self::input_hint(error, "start the server first: cladlog serve"),
            ServeError::Tls(TlsError::Holds { .. } | TlsError::Pair { .. }) => Self::input(error),
            ServeError::Tls(TlsError::File { .. } | TlsError::Making(_))
            | ServeError::Lock { .. }
            | ServeError::Stopped
            | ServeError::Runtime(_) => Self::machine(error),
        }
    }
}

pub fn run(args: &ServeArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match &args.command {
        None => serve(args, site, out),
        Some(ServeCommand::Phones) => phones(site, out),
        Some(ServeCommand::Forget { id }) => forget(id, site, out),
        Some(ServeCommand::Pair) => pair(site, out),
    }
}

fn serve(args: &ServeArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    if site.global.at.is_some() {
        return Err(Failure::input("serve records what happens now, so it does not accept --at"));
    }
    let how = match (&args.cert, &args.key) {
        (Some(cert), Some(key)) => Listen::Given(given(cert, key)?),
        _ if args.plain => Listen::Plain,
        _ => Listen::Own,
    };
    if args.plain && !args.listen.ip().is_loopback() {
        let warning = "WARNING: --plain sends everything unencrypted. Anybody on this network can read along and record \
                       in the name of anybody whose phone is paired.";
        out.message(warning);
    }
    let clock = site.clock;
    let around = Surroundings {
        now: Arc::new(move || clock.now()),
        log: Arc::new(|what| {
            // Whoever started the server reads this; where nobody can any more, there is nobody to tell.
            let _ =
                std::io::Write::write_all(&mut std::io::stderr(), format!("cladlog: {}\n", visible(what)).as_bytes());
        }),
    };
    let journal = site.journal()?;
    // What blocks is photos being looked over and phones being noted as seen: a few threads do, and each takes memory.
    let mut runtime = tokio::runtime::Builder::new_multi_thread();
    let runtime = runtime.worker_threads(2).max_blocking_threads(4).enable_all().build();
    let runtime = runtime.map_err(ServeError::Runtime)?;
    let server = Server::listen(journal, args.listen, how, around)?;
    runtime.block_on(async {
        // Heard from before anybody is told that the server is there.
        let stop = stop()?;
        let started = server.started();
        if out.is_json() {
            out.json_text(&serde_json::to_string(started).map_err(Failure::machine)?)?;
        } else {
            out.line(format!("Serving at {}", started.url))?;
            if let Some(fingerprint) = &started.fingerprint {
                out.line(format!("Certificate (SHA-256): {}", in_groups(fingerprint)))?;
            }
            show(&started.pairing, out)?;
            out.line("Ctrl-C ends it. For another phone, in a second terminal: cladlog serve pair")?;
        }
        Ok(server.run(stop).await?)
    })
}

/// The certificate and the key that were given; what can't be read is named with its option.
fn given(cert: &Path, key: &Path) -> Result<Identity, Failure> {
    Identity::given(cert, key).map_err(|error| match error {
        TlsError::File { path, why } => {
            let option = if path == cert { "--cert" } else { "--key" };
            Failure::input(format!("{option} {}: can't be read: {why}", path.display()))
        }
        other => ServeError::from(other).into(),
    })
}

/// Waits for Ctrl-C, or for the system to end the program.
#[cfg(unix)]
fn stop() -> Result<impl Future<Output = ()>, ServeError> {
    use tokio::signal::unix::{SignalKind, signal};
    let mut interrupt = signal(SignalKind::interrupt()).map_err(ServeError::Runtime)?;
    let mut terminate = signal(SignalKind::terminate()).map_err(ServeError::Runtime)?;
    Ok(async move {
        tokio::select! {
            _ = interrupt.recv() => {}
            _ = terminate.recv() => {}
        }
    })
}

/// Waits for Ctrl-C.
#[cfg(not(unix))]
fn stop() -> Result<impl Future<Output = ()>, ServeError> {
    let mut pressed = tokio::signal::windows::ctrl_c().map_err(ServeError::Runtime)?;
    Ok(async move { drop(pressed.recv().await) })
}

/// Hex digits as people compare them: four at a time.
fn in_groups(hex: &str) -> String {
    let digits: Vec<char> = hex.chars().collect();
    digits.chunks(4).map(String::from_iter).collect::<Vec<_>>().join(" ")
}

/// A pairing code to scan, and to type.
fn show(pairing: &Pairing, out: &mut Out) -> Result<(), Failure> {
    if std::io::stdout().is_terminal()
        && let Ok(code) = QrCode::with_error_correction_level(&pairing.url, EcLevel::L)
    {
        // Cameras want dark on light. Where no colour may be used, terminals are taken to be dark: what is set is light.
        let (dark, light) =
            if out.colour() { (Dense1x2::Dark, Dense1x2::Light) } else { (Dense1x2::Light, Dense1x2::Dark) };
        for line in code.render::<Dense1x2>().dark_color(dark).light_color(light).build().lines() {
            let line = if out.colour() { format!("\x1b[30;107m{line}\x1b[0m\n") } else { format!("{line}\n") };
            out.raw(line.as_bytes())?;
        }
    }
    let until = pairing.expires_at.format("%H:%M");
    out.line(format!("Pair one phone, until {until}:"))?;
    out.line(format!("  {}", pairing.url))
}

fn pair(site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let database = site.database()?;
    let opened = site.open()?;
    let pairing = new_pairing(&database, opened.now)?;
    if out.is_json() { out.json(&json!({ "pairing": pairing })) } else { show(&pairing, out) }
}

fn phones(site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let store = Store::read(&site.database()?)?;
    let job = site.pick(store.jobs()?)?;
    let phones = match Phones::path_beside(store.path()) {
        // Asking makes no file.
        path if path.exists() => Phones::beside(store.path())?.list(&job.key)?,
        _ => Vec::new(),
    };
    if out.is_json() {
        return out.json(&json!({ "phones": phones }));
    }
    if phones.is_empty() {
        return out.line("No phone is paired.");
    }
    let row = |phone: &crate::serve::Phone| {
        let time = |at: crate::moment::Moment| at.format("%a %-d %b %H:%M").to_string();
        [phone.id.clone(), phone.person.clone(), time(phone.paired_at), time(phone.last_seen_at)]
    };
    out.table(["Id", "Person", "Paired", "Last seen"], phones.iter().map(row))
}

fn forget(id: &str, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let mut journal = site.journal()?;
    let phones = Phones::beside(journal.store().path())?;
    let key = journal.job().key.clone();
    let Some(phone) = phones.list(&key)?.into_iter().find(|phone| phone.id == id) else {
        let id = crate::units::number::shortened(id);
        return Err(Failure::input_hint(format!("there is no phone '{id}'"), "list them: cladlog serve phones"));
    };
    // Who forgets it has to be known before anything is done; that it is forgotten must not wait for the record.
    let by = site.by(journal.book())?;
    phones.forget(&key, id)?;
    let now = site.now(journal.book());
    let request = ForgetPhone { phone: phone.id.clone(), person: phone.person.clone() };
    let recorded = journal.record(&request, &by, now, now)?;
    crate::cli::site::print(&recorded, journal.book(), out)
}
