//! The crew's key, which signs packs: made on first use, kept in a private file beside the database.

use std::io::Write;
use std::path::{Path, PathBuf};

use super::failure::Failure;
use super::out::Out;
use crate::atomic_file::{Access, AtomicFile};
use crate::digest::hex;
use crate::handover::Signer;

/// The first line of the file.
const HEAD: &str = "cladlog signing key (Ed25519 seed). Whoever has this file can sign as this crew: keep it private.";

/// Where the key of a database is kept: `FILE.key` beside `FILE`.
pub fn beside(database: &Path) -> PathBuf {
    let mut name = database.file_name().unwrap_or_default().to_os_string();
    name.push(".key");
    database.with_file_name(name)
}

/// The key in a file; made when there is none yet.
pub fn key(path: &Path, out: &mut Out) -> Result<Signer, Failure> {
    match std::fs::read_to_string(path) {
        Ok(text) => {
            if others_can_read(path) {
                out.say(format!("{}: other users can read this key; make it private: chmod 600", path.display()));
            }
            read(&text).ok_or_else(|| {
                let what = format!("{}: is not a cladlog signing key", path.display());
                Failure::input_hint(
                    what,
                    "give the right file with --key, or move this one away to have a new key made",
                )
            })
        }
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => make(path, out),
        Err(error) => Err(Failure::machine(format!("{}: can't be read: {error}", path.display()))),
    }
}

fn read(text: &str) -> Option<Signer> {
    let (head, seed) = text.trim_end().split_once('\n')?;
    if head != HEAD || seed.len() != 64 || !seed.is_ascii() {
        return None;
    }
    let mut bytes = [0; 32];
    for (at, byte) in bytes.iter_mut().enumerate() {
        *byte = u8::from_str_radix(seed.get(at * 2..at * 2 + 2)?, 16).ok()?;
    }
    Some(Signer::from_seed(&bytes))
}

fn make(path: &Path, out: &mut Out) -> Result<Signer, Failure> {
    let mut seed = [0; 32];
    getrandom::fill(&mut seed).map_err(|error| Failure::machine(format!("no random numbers: {error}")))?;
    let made = AtomicFile::create(path, Access::Private).and_then(|mut file| {
        writeln!(file, "{HEAD}\n{}", hex(&seed))?;
        file.commit_new()
    });
    match made {
        Ok(()) => {
            out.say(format!("Made the crew's signing key: {}. Keep it private, and keep a copy.", path.display()));
            Ok(Signer::from_seed(&seed))
        }
        // Another program made one at the same time: that one counts.
        Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => key(path, out),
        Err(error) => Err(Failure::Machine {
            what: format!("{}: the signing key can't be made: {error}", path.display()),
            hint: Some("say where to keep it with --key FILE".to_owned()),
        }),
    }
}

fn others_can_read(path: &Path) -> bool {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        std::fs::metadata(path).is_ok_and(|data| data.permissions().mode() & 0o077 != 0)
    }
    #[cfg(not(unix))]
    {
        let _ = path;
        false
    }
}
