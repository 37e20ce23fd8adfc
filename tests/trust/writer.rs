//! A program that records one note after the other and says so on stdout: the one that is killed, and the ones that
//! write at the same time. It is this test binary, started again.

use std::io::Write;
use std::path::Path;
use std::process::{Child, Command, Stdio};

use cladlog::journal::Journal;
use cladlog::moment::Moment;
use cladlog::record::{AddNote, Store};

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
#[allow(clippy::disallowed_methods, reason = "a program of its own, by the machine's clock")]
fn writes_until_it_is_killed() {
    let Some(database) = std::env::var_os(WHERE) else { return };
    let path = std::path::PathBuf::from(database);
    let store = Store::write_to(&path).unwrap();
    let job = store.jobs().unwrap().remove(0);
    let mut journal = Journal::open(store, job).unwrap();
    for number in 0.. {
        let text = format!("note {number}, with a few words more to fill it");
        let now = Moment::from(chrono::Local::now().fixed_offset());
        let recorded = journal.record(&AddNote { subject: "N".into(), text }, "Lea", now, now).unwrap();
        let mut out = std::io::stdout().lock();
        for entry in &recorded.entries {
            writeln!(out, "ACK {} {}.", entry.id, entry.hash).unwrap();
        }
        out.flush().unwrap();
        // As a walk does; and as the server does, which leaves it until nobody waits.
        if number % 3 == 0 {
            journal.carry().unwrap();
        }
    }
}
