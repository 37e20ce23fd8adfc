//! A PostgreSQL of the tests' own, from Debian's packages, and a database of its own for each test.

use std::io::Write;
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::LazyLock;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use cladlog::office::{Server, migrate};

/// The server that the tests share; none where there are no programs of PostgreSQL.
static SHARED: LazyLock<Option<Cluster>> = LazyLock::new(Cluster::start);

/// A running server. It is ended, and its folder removed, when whoever started it ends, however that is.
pub struct Cluster {
    folder: PathBuf,
    /// By network, where that was asked for.
    port: Option<u16>,
    // Held open for as long as the server is to run.
    keeper: Child,
}

/// Runs a server until its own input ends.
const KEEP: &str = "set -u; folder=$2; program=$1; shift 2; \"$program\" -D \"$folder/data\" \
    -c unix_socket_directories=\"$folder\" -c fsync=off -c max_connections=200 \"$@\" >>\"$folder/log\" 2>&1 & pid=$!; \
    cat >/dev/null; kill -INT $pid; wait $pid; rm -rf \"$folder\"";

/// Waits until no process of a family runs; one that nobody has asked after yet is ended all the same.
const GONE: &str = "for pid in $family; do \
    while grep -q '^State:.[^Z]' /proc/$pid/status 2>/dev/null; do sleep 0.02; done; done";

impl Cluster {
    /// Makes and starts one, by a socket in its folder.
    pub fn start() -> Option<Self> {
        Self::start_with(None, |_| {})
    }

    /// The same with a port of 127.0.0.1, where it is given; `prepare` may change what is in the folder of its data.
    pub fn start_with(port: Option<u16>, prepare: impl FnOnce(&Path)) -> Option<Self> {
        let programs = programs()?;
        let folder = tempfile::Builder::new().prefix("office-").tempdir().unwrap().keep();
        // Whoever runs the server removes it in the end.
        let owned = as_user(Path::new("sh")).args(["-c", "id -u; id -g"]).output().unwrap();
        let ids: Vec<u32> = String::from_utf8(owned.stdout).unwrap().lines().map(|id| id.parse().unwrap()).collect();
        std::os::unix::fs::chown(&folder, Some(ids[0]), Some(ids[1])).unwrap();
        let data = folder.join("data");
        let made = as_user(&programs.join("initdb"))
            .args(["--auth=trust", "--username=postgres", "--encoding=UTF8", "--locale=C", "--no-sync", "-D"])
            .arg(&data)
            .output()
            .unwrap();
        assert!(made.status.success(), "{made:?}");
        prepare(&data);
        let cluster = Self { keeper: keep(&folder, port), folder, port };
        cluster.wait_until_ready();
        Some(cluster)
    }

    /// Waits until the server takes connections.
    pub fn wait_until_ready(&self) {
        let until = Instant::now() + Duration::from_secs(120);
        while let Err(error) = postgres::Client::connect(&self.url("postgres", "postgres"), postgres::NoTls) {
            assert!(Instant::now() < until, "the server did not start: {error}\n{}", self.log());
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    fn log(&self) -> String {
        std::fs::read_to_string(self.folder.join("log")).unwrap_or_default()
    }

    /// The address of a database for a login.
    pub fn url(&self, login: &str, database: &str) -> String {
        let port = self.port.unwrap_or(PORT);
        format!("postgres:///{database}?host={}&port={port}&user={login}", self.folder.display())
    }

    /// Ends the processes of the server at once, as a power cut does, and starts it again.
    pub fn crash(&mut self) {
        let pid = std::fs::read_to_string(self.folder.join("data/postmaster.pid")).unwrap();
        let pid = pid.lines().next().unwrap().to_owned();
        // The whole family, waited for until none runs: a backend that outlived the postmaster would hold the folder.
        let ended = Command::new("sh")
            .args([
                "-c",
                &format!("family=\"$(ps -o pid= --ppid {pid}) {pid}\"; kill -KILL $family 2>/dev/null; {GONE}"),
            ])
            .status();
        ended.unwrap();
        // Who started it has not heard of its end: by its number it seems to run.
        let port = self.port.unwrap_or(PORT);
        for left in ["data/postmaster.pid".to_owned(), format!(".s.PGSQL.{port}.lock")] {
            let _ = std::fs::remove_file(self.folder.join(left));
        }
        let keeper = keep(&self.folder, self.port);
        // The one before would remove the folder: it is ended without hearing of it.
        let mut before = std::mem::replace(&mut self.keeper, keeper);
        before.kill().unwrap();
        before.wait().unwrap();
        self.wait_until_ready();
    }
}

impl Drop for Cluster {
    fn drop(&mut self) {
        drop(self.keeper.stdin.take());
        let _ = self.keeper.wait();
    }
}

/// Names the socket of a server that no network reaches.
const PORT: u16 = 5432;

/// Starts a server in its folder.
fn keep(folder: &Path, port: Option<u16>) -> Child {
    let network = match port {
        Some(_) => "listen_addresses=127.0.0.1",
        None => "listen_addresses=",
    };
    as_user(Path::new("sh"))
        .args(["-c", KEEP, "keep"])
        .arg(programs().unwrap().join("postgres"))
        .arg(folder)
        .args(["-c", network, "-c", &format!("port={}", port.unwrap_or(PORT))])
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// Gives a file to the user that the server runs as.
pub fn give(file: &Path) {
    std::fs::set_permissions(file, std::fs::Permissions::from_mode(0o600)).unwrap();
    let owner = std::fs::metadata(file.parent().unwrap()).unwrap();
    std::os::unix::fs::chown(file, Some(owner.uid()), Some(owner.gid())).unwrap();
}

/// Where the newest programs of PostgreSQL are, 15 or newer.
fn programs() -> Option<PathBuf> {
    let versions = std::fs::read_dir("/usr/lib/postgresql").ok()?;
    let newest = versions.filter_map(|found| found.ok()?.file_name().to_str()?.parse::<u32>().ok()).max()?;
    let folder = PathBuf::from(format!("/usr/lib/postgresql/{newest}/bin"));
    (newest >= 15 && folder.join("initdb").exists()).then_some(folder)
}

/// A command as the user `postgres`, where we are root: the server refuses to run as that.
fn as_user(program: &Path) -> Command {
    let root = std::fs::metadata("/proc/self").is_ok_and(|own| own.uid() == 0);
    if !root {
        return Command::new(program);
    }
    let mut command = Command::new("setpriv");
    command.args(["--reuid=postgres", "--regid=postgres", "--clear-groups", "--"]).arg(program);
    command.current_dir("/");
    command
}

/// An office of its own for one test.
pub struct Office {
    database: String,
    cluster: &'static Cluster,
}

impl Office {
    /// A new database with the tables of the office; none where it can't be tried here.
    pub fn new() -> Option<Self> {
        let office = Self::empty()?;
        migrate(&mut office.server()).unwrap();
        Some(office)
    }

    /// A new empty database.
    pub fn empty() -> Option<Self> {
        static NUMBER: AtomicUsize = AtomicUsize::new(1);
        let Some(cluster) = SHARED.as_ref() else {
            crate::harness::not_tried("the office: PostgreSQL 15 or newer is not installed (Debian: postgresql)");
            return None;
        };
        let database = format!("office_{}", NUMBER.fetch_add(1, Ordering::Relaxed));
        let office = Self { database, cluster };
        // Two at once would ask for the same template.
        office.psql("postgres", "postgres", &format!("CREATE DATABASE {}", office.database)).unwrap();
        Some(office)
    }

    /// The address for the owner.
    pub fn url(&self) -> String {
        self.url_of("postgres")
    }

    /// The address for a login.
    pub fn url_of(&self, login: &str) -> String {
        self.cluster.url(login, &self.database)
    }

    /// The owner's connection.
    pub fn server(&self) -> Server {
        Server::connect(&self.url()).unwrap()
    }

    /// Makes a login of a role; its name is of this database alone.
    pub fn login(&self, name: &str, role: &str) -> String {
        let login = format!("{name}_{}", self.database);
        self.sql(&format!("CREATE ROLE {login} LOGIN IN ROLE {role}"));
        login
    }

    /// What a login gets from psql, or its complaint.
    pub fn psql(&self, login: &str, database: &str, statement: &str) -> Result<String, String> {
        let mut psql = Command::new("psql")
            .args(["-X", "-A", "-t", "-q", "-v", "ON_ERROR_STOP=1", "-d"])
            .arg(self.cluster.url(login, database))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        psql.stdin.take().unwrap().write_all(statement.as_bytes()).unwrap();
        let done = psql.wait_with_output().unwrap();
        let text = |bytes| String::from_utf8(bytes).unwrap().trim().to_owned();
        if done.status.success() { Ok(text(done.stdout)) } else { Err(text(done.stderr)) }
    }

    /// What a login gets from psql in this office.
    pub fn try_as(&self, login: &str, statement: &str) -> Result<String, String> {
        self.psql(login, &self.database, statement)
    }

    /// What the owner gets.
    #[track_caller]
    pub fn sql(&self, statement: &str) -> String {
        self.try_as("postgres", statement).unwrap()
    }
}
