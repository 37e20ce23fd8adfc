//! The phones of a record, the pairing codes that are out, and where the server listens: a small SQLite file of its own
//! beside the database, so that no copy, export or pack of the record ever holds the hash of a token.

use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use rusqlite::{Connection, OptionalExtension, TransactionBehavior, params};
use serde::Serialize;

use super::token::{HashedToken, NoRandomness, PlainToken, random_bytes};
use crate::atomic_file::{resolved, with_ending};
use crate::digest::hex;
use crate::moment::Moment;

/// How long a pairing code is good for.
pub const CODE_LIVES: Duration = Duration::from_secs(10 * 60);

/// How long another program is waited for.
const BUSY: Duration = Duration::from_secs(5);

/// What this version writes; a file of another is left alone.
const VERSION: i64 = 1;

const TABLES: &str = "
    CREATE TABLE phone (
        id           TEXT PRIMARY KEY,
        job          TEXT NOT NULL,
        person       TEXT NOT NULL,
        token_sha256 TEXT NOT NULL UNIQUE,
        public_key   TEXT,
        paired_at    TEXT NOT NULL,
        last_seen_at TEXT NOT NULL
    ) STRICT;
    CREATE TABLE code (
        sha256    TEXT PRIMARY KEY,
        made_at_s INTEGER NOT NULL
    ) STRICT;
    CREATE TABLE server (
        one INTEGER PRIMARY KEY CHECK (one = 1),
        url TEXT NOT NULL
    ) STRICT;
    PRAGMA user_version = 1;
";

/// A paired phone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Phone {
    /// Its id.
    pub id: String,
    /// Whose it is.
    pub person: String,
    /// When it was paired.
    pub paired_at: Moment,
    /// When it was last seen, to some ten seconds.
    pub last_seen_at: Moment,
    /// The public key that it signs with, PEM, where it has one.
    #[serde(skip)]
    pub public_key: Option<String>,
}

/// A code that was taken out of the file, to be put back should the pairing not come about.
#[derive(Debug)]
pub struct TakenCode {
    hashed: HashedToken,
    made_at_s: i64,
}

/// Why the file of phones can't be used.
#[derive(Debug, thiserror::Error)]
pub enum PhonesError {
    /// SQLite can't read or write it.
    #[error("{}: {why}", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What SQLite said.
        why: rusqlite::Error,
    },
    /// It was written by a newer version.
    #[error("{}: was written by a newer cladlog", .0.display())]
    Newer(PathBuf),
    /// It can't be made.
    #[error("{}: can't be made: {why}", path.display())]
    Unmade {
        /// The file.
        path: PathBuf,
        /// What the system said.
        why: std::io::Error,
    },
    /// No random numbers.
    #[error(transparent)]
    NoRandomness(#[from] NoRandomness),
}

/// The open file.
pub struct Phones {
    path: PathBuf,
    connection: Mutex<Connection>,
}

impl Phones {
    /// Where the phones of a database are kept: `FILE.phones` beside `FILE`.
    pub fn path_beside(database: &Path) -> PathBuf {
        with_ending(&resolved(database), ".phones")
    }

    /// Opens the file beside a database, or makes it, private to the user.
    ///
    /// # Errors
    /// [`PhonesError`].
    pub fn beside(database: &Path) -> Result<Self, PhonesError> {
        let path = Self::path_beside(database);
        private_file(&path).map_err(|why| PhonesError::Unmade { path: path.clone(), why })?;
        let open = || -> rusqlite::Result<(Connection, i64)> {
            let mut connection = Connection::open(&path)?;
            connection.busy_timeout(BUSY)?;
            // Whoever looks a token up does not wait for whoever writes.
            connection.query_row("PRAGMA journal_mode = WAL", [], |_| Ok(()))?;
            connection.pragma_update(None, "synchronous", "FULL")?;
            let making = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
            let version = |file: &Connection| file.query_row("PRAGMA user_version", [], |row| row.get(0));
            if version(&making)? == 0_i64 {
                making.execute_batch(TABLES)?;
            }
            making.commit()?;
            let found = version(&connection)?;
            Ok((connection, found))
        };
        match open() {
            Ok((connection, VERSION)) => Ok(Self { path, connection: Mutex::new(connection) }),
            Ok(_) => Err(PhonesError::Newer(path)),
            Err(why) => Err(PhonesError::File { path, why }),
        }
    }

    /// The phones of a job, in the order in which they were paired.
    ///
    /// # Errors
    /// [`PhonesError`].
    pub fn list(&self, job: &str) -> Result<Vec<Phone>, PhonesError> {
        self.ask(|file| {
            let find =
                "SELECT id, person, paired_at, last_seen_at, public_key FROM phone WHERE job = ?1 ORDER BY rowid";
            file.prepare_cached(find)?.query_map([job], phone)?.collect()
        })
    }

    /// The phone of a token.
    ///
    /// # Errors
    /// [`PhonesError`].
    pub fn find(&self, job: &str, token: &HashedToken) -> Result<Option<Phone>, PhonesError> {
        self.ask(|file| {
            let find = "SELECT id, person, paired_at, last_seen_at, public_key FROM phone \
                        WHERE job = ?1 AND token_sha256 = ?2";
            file.prepare_cached(find)?.query_row([job, token.as_str()], phone).optional()
        })
    }

    /// Adds a phone under an id of its own.
    ///
    /// # Errors
    /// [`PhonesError`].
    pub fn add(&self, job: &str, id: &str, person: &str, token: &HashedToken, now: Moment) -> Result<(), PhonesError> {
        let add = "INSERT INTO phone (id, job, person, token_sha256, paired_at, last_seen_at) \
                   VALUES (?1, ?2, ?3, ?4, ?5, ?5)";
        let now = now.to_string();
        self.ask(|file| file.execute(add, params![id, job, person, token.as_str(), now])).map(|_| ())
    }

    /// Ends a phone; gives it where there was one.
    ///
    /// # Errors
    /// [`PhonesError`].
    pub fn forget(&self, job: &str, id: &str) -> Result<Option<Phone>, PhonesError> {
        self.ask(|file| {
            let forget = "DELETE FROM phone WHERE job = ?1 AND id = ?2 \
                          RETURNING id, person, paired_at, last_seen_at, public_key";
            file.query_row(forget, [job, id], phone).optional()
        })
    }

    /// Notes that a phone was seen.
    ///
    /// # Errors
    /// [`PhonesError`].
    pub fn seen(&self, id: &str, now: Moment) -> Result<(), PhonesError> {
        let note = "UPDATE phone SET last_seen_at = ?2 WHERE id = ?1";
        self.ask(|file| file.prepare_cached(note)?.execute([id, &now.to_string()])).map(|_| ())
    }

    /// Keeps the public key that a phone signs with.
    ///
    /// # Errors
    /// [`PhonesError`].
    pub fn set_key(&self, id: &str, public_pem: &str) -> Result<(), PhonesError> {
        self.ask(|file| file.execute("UPDATE phone SET public_key = ?2 WHERE id = ?1", [id, public_pem])).map(|_| ())
    }

    /// A new pairing code, good from now on.
    ///
    /// # Errors
    /// [`PhonesError`].
    pub fn new_code(&self) -> Result<PlainToken, PhonesError> {
        let code = PlainToken::for_pairing()?;
        let made = seconds();
        self.ask(|file| {
            file.execute("DELETE FROM code WHERE made_at_s <= ?1", [oldest(made)])?;
            file.execute("INSERT INTO code VALUES (?1, ?2)", params![code.hashed().as_str(), made])
        })?;
        Ok(code)
    }

    /// Whether a pairing code is good.
    ///
    /// # Errors
    /// [`PhonesError`].
    pub fn is_code(&self, code: &PlainToken) -> Result<bool, PhonesError> {
        let find = "SELECT count(*) FROM code WHERE sha256 = ?1 AND made_at_s > ?2";
        let hashed = code.hashed();
        let values = params![hashed.as_str(), oldest(seconds())];
        self.ask(|file| file.query_row(find, values, |row| row.get(0))).map(|found: i64| found > 0)
    }

    /// Takes a pairing code: nobody else can have it then.
    ///
    /// # Errors
    /// [`PhonesError`].
    pub fn take_code(&self, code: &PlainToken) -> Result<Option<TakenCode>, PhonesError> {
        let hashed = code.hashed();
        let take = "DELETE FROM code WHERE sha256 = ?1 AND made_at_s > ?2 RETURNING made_at_s";
        let values = params![hashed.as_str(), oldest(seconds())];
        let made = self.ask(|file| file.query_row(take, values, |row| row.get(0)).optional())?;
        Ok(made.map(|made_at_s| TakenCode { hashed, made_at_s }))
    }

    /// Puts a code back that no phone was paired with; it is good for as long as it would have been.
    ///
    /// # Errors
    /// [`PhonesError`].
    pub fn put_back(&self, code: &TakenCode) -> Result<(), PhonesError> {
        let put = "INSERT OR IGNORE INTO code VALUES (?1, ?2)";
        self.ask(|file| file.execute(put, params![code.hashed.as_str(), code.made_at_s])).map(|_| ())
    }

    /// Notes where the server listens; codes from an earlier run are good no longer.
    ///
    /// # Errors
    /// [`PhonesError`].
    pub fn start(&self, url: &str) -> Result<(), PhonesError> {
        self.ask(|file| {
            file.execute("DELETE FROM code", [])?;
            file.execute("INSERT OR REPLACE INTO server VALUES (1, ?1)", [url])
        })
        .map(|_| ())
    }

    /// Where the server listens, or listened last.
    ///
    /// # Errors
    /// [`PhonesError`].
    pub fn server_url(&self) -> Result<Option<String>, PhonesError> {
        self.ask(|file| file.query_row("SELECT url FROM server", [], |row| row.get(0)).optional())
    }

    fn ask<T>(&self, work: impl FnOnce(&Connection) -> rusqlite::Result<T>) -> Result<T, PhonesError> {
        let file: MutexGuard<'_, Connection> = self.connection.lock().unwrap_or_else(PoisonError::into_inner);
        work(&file).map_err(|why| PhonesError::File { path: self.path.clone(), why })
    }
}

/// An id for a phone: eight hexadecimal digits.
///
/// # Errors
/// [`NoRandomness`].
pub fn new_id() -> Result<String, NoRandomness> {
    random_bytes::<4>().map(|bytes| hex(&bytes))
}

fn phone(row: &rusqlite::Row<'_>) -> rusqlite::Result<Phone> {
    let moment = |column: usize| -> rusqlite::Result<Moment> {
        let text: String = row.get(column)?;
        Moment::parse_from_rfc3339(&text).map_err(|error| {
            rusqlite::Error::FromSqlConversionFailure(column, rusqlite::types::Type::Text, Box::new(error))
        })
    };
    Ok(Phone {
        id: row.get(0)?,
        person: row.get(1)?,
        paired_at: moment(2)?,
        last_seen_at: moment(3)?,
        public_key: row.get(4)?,
    })
}

/// Codes made then or before are good no longer.
fn oldest(now_s: i64) -> i64 {
    now_s - CODE_LIVES.as_secs() as i64
}

/// Seconds by the machine's own clock. A rehearsal's clock stands still; a code must not.
#[allow(clippy::disallowed_methods, reason = "how old a code is reaches nothing that is recorded")]
fn seconds() -> i64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH);
    since.map_or(0, |since| i64::try_from(since.as_secs()).unwrap_or(i64::MAX))
}

fn private_file(path: &Path) -> std::io::Result<()> {
    let mut options = std::fs::OpenOptions::new();
    options.append(true).create(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    options.open(path).map(|_| ())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn now() -> Moment {
        Moment::parse_from_rfc3339("2026-03-02T07:00:00+13:00").unwrap()
    }

    fn phones() -> (tempfile::TempDir, Phones) {
        let folder = tempfile::tempdir().unwrap();
        let phones = Phones::beside(&folder.path().join("job.db")).unwrap();
        (folder, phones)
    }

    #[test]
    fn a_code_is_taken_once_and_only_put_back_as_old_as_it_was() {
        let (_folder, phones) = phones();
        let code = phones.new_code().unwrap();
        assert!(phones.is_code(&code).unwrap());
        let taken = phones.take_code(&code).unwrap().unwrap();
        assert!(!phones.is_code(&code).unwrap() && phones.take_code(&code).unwrap().is_none());
        phones.put_back(&taken).unwrap();
        assert!(phones.is_code(&code).unwrap());
        let old = TakenCode { hashed: code.hashed(), made_at_s: oldest(seconds()) };
        phones.take_code(&code).unwrap();
        phones.put_back(&old).unwrap();
        assert!(!phones.is_code(&code).unwrap() && phones.take_code(&code).unwrap().is_none());
    }

    #[test]
    fn a_phone_is_found_by_its_token_and_job_until_it_is_forgotten() {
        let (_folder, phones) = phones();
        let token = PlainToken::for_phone().unwrap();
        phones.add("mill", "a1", "Ivo", &token.hashed(), now()).unwrap();
        assert_eq!(phones.find("mill", &token.hashed()).unwrap().unwrap().person, "Ivo");
        assert!(phones.find("other", &token.hashed()).unwrap().is_none());
        assert!(phones.find("mill", &PlainToken::for_phone().unwrap().hashed()).unwrap().is_none());
        assert!(phones.forget("other", "a1").unwrap().is_none());
        assert_eq!(phones.forget("mill", "a1").unwrap().unwrap().id, "a1");
        assert!(phones.find("mill", &token.hashed()).unwrap().is_none());
    }

    #[test]
    fn neither_tokens_nor_codes_are_in_the_file() {
        let (folder, phones) = phones();
        let (token, code) = (PlainToken::for_phone().unwrap(), phones.new_code().unwrap());
        phones.add("mill", "a1", "Ivo", &token.hashed(), now()).unwrap();
        for file in std::fs::read_dir(folder.path()).unwrap() {
            let bytes = std::fs::read(file.unwrap().path()).unwrap();
            let has = |secret: &str| bytes.windows(secret.len()).any(|part| part == secret.as_bytes());
            assert!(!has(token.reveal()) && !has(code.reveal()));
        }
    }

    #[test]
    fn a_file_of_a_newer_version_is_left_alone() {
        let (folder, phones) = phones();
        phones.ask(|file| file.pragma_update(None, "user_version", VERSION + 1)).unwrap();
        assert!(matches!(Phones::beside(&folder.path().join("job.db")), Err(PhonesError::Newer(_))));
    }
}
