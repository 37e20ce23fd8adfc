//! A program that records one note after the other and says so on stdout: the one that is killed, and the ones that
//! write at the same time. It is this test binary, started again.

use std::io::Write;
use std::path::Path;
use std::process::{Child, Command, Stdio};

use cladlog::cli::site::Site;
use cladlog::cli::{Clock, Colour, Global};
use cladlog::day::Request;
use cladlog::record::Store;

/// The variable that says where to write, and that this is such a program.
const WHERE: &str = "CLADLOG_TRUST_WRITER";

/// Starts a writer on a database.
pub fn start(database: &Path) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args(["trust::writer::writes_until_it_is_killed", "--exact", "--nocapture", "--ignored"])
        .env(WHERE, database)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// The id and hash that a line of a writer acknowledges.
pub fn acknowledged(line: &str) -> Option<(String, String)> {
    let (id, hash) = line.split_once("ACK ")?.1.split_once(' ')?;
    // A line that was cut off acknowledges nothing.
    hash.strip_suffix('.').map(|hash| (id.to_owned(), hash.to_owned()))
}

#[test]
#[ignore = "the program that the kill tests start"]
fn writes_until_it_is_killed() {
    let Some(database) = std::env::var_os(WHERE) else { return };
    let path = std::path::PathBuf::from(database);
    let global = Global {
        db: Some(path.clone()),
        job: None,
        by: Some("Lea".into()),
        at: None,
        json: true,
        color: Colour::Never,
    };
    let site = Site { global: &global, clock: Clock::Machine };
    let mut store = Store::write_to(&path).unwrap();
    let mut held = None;
    for number in 0.. {
        let request =
            Request::Note { on: "N".into(), text: format!("note {number}, with a few words more to fill it") };
        let (recorded, book) = site.record_in(&mut store, &request, None, held.take()).unwrap();
        held = Some(book);
        let mut out = std::io::stdout().lock();
        for entry in &recorded.entries {
            writeln!(out, "ACK {} {}.", entry.id, entry.hash).unwrap();
        }
        out.flush().unwrap();
    }
}
