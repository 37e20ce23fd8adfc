//! The tables of the file, and how an older file becomes a newer one.
//!
//! Two laws: never remove or reorder a migration; never make a change that an older program would
//! misread without a new version number, which it then refuses.

use std::sync::OnceLock;

use rusqlite::Connection;

/// `CLAD`, so that `file` and we ourselves know what a file is.
pub(super) const APPLICATION_ID: i32 = 0x434C_4144;

/// Each entry of the list makes the next version of the file.
pub(super) static MIGRATIONS: &[&str] = &[
    "
    -- The truth. `line` is the RFC 8785 form of the entry without its hash; the other columns repeat
    -- what stands in it, so that it can be found, and are checked against it whenever it is read.
    CREATE TABLE entry (
        place  INTEGER PRIMARY KEY,
        job    TEXT NOT NULL,
        device TEXT NOT NULL,
        seq    INTEGER NOT NULL CHECK (seq > 0),
        line   TEXT NOT NULL,
        hash   TEXT NOT NULL CHECK (length(hash) = 64),
        UNIQUE (device, seq)
    ) STRICT;
    CREATE INDEX entry_by_job ON entry (job, place);
    CREATE TRIGGER entry_is_never_changed BEFORE UPDATE ON entry
        BEGIN SELECT RAISE(ABORT, 'the record is append-only: strike the entry instead'); END;
    CREATE TRIGGER entry_is_never_deleted BEFORE DELETE ON entry
        BEGIN SELECT RAISE(ABORT, 'the record is append-only: strike the entry instead'); END;

    -- Read tables: rebuilt from the entries, in the transaction that adds one.
    CREATE TABLE job_line (
        job       TEXT PRIMARY KEY,
        name      TEXT NOT NULL,
        device    TEXT NOT NULL,
        rehearsal INTEGER NOT NULL CHECK (rehearsal IN (0, 1))
    ) STRICT;
    CREATE TABLE log_line (
        place       INTEGER PRIMARY KEY REFERENCES entry (place),
        job         TEXT NOT NULL,
        id          TEXT NOT NULL UNIQUE,
        happened_at TEXT NOT NULL,
        recorded_at TEXT NOT NULL,
        by_whom     TEXT NOT NULL,
        kind        TEXT NOT NULL,
        subject     TEXT NOT NULL,
        late        INTEGER NOT NULL CHECK (late IN (0, 1)),
        struck_by   TEXT
    ) STRICT;
    CREATE INDEX log_line_by_job ON log_line (job, place);
    CREATE TABLE hold_line (
        job     TEXT NOT NULL,
        hold    TEXT NOT NULL,
        subject TEXT NOT NULL,
        state   TEXT NOT NULL CHECK (state IN ('held', 'released', 'refused')),
        PRIMARY KEY (job, hold, subject)
    ) STRICT;
    CREATE TABLE defect_line (
        job     TEXT NOT NULL,
        id      TEXT NOT NULL,
        subject TEXT NOT NULL,
        state   TEXT NOT NULL CHECK (state IN ('open', 'closed', 'conceded')),
        what    TEXT NOT NULL,
        PRIMARY KEY (job, id)
    ) STRICT;
",
    "
    -- What the work is paid at. No read table: it stands in no entry, and a rebuild leaves it alone.
    CREATE TABLE rate_line (
        job      TEXT NOT NULL,
        place    INTEGER NOT NULL,
        stage    TEXT NOT NULL,
        unit     TEXT NOT NULL CHECK (unit IN ('m2', 'm', 'each')),
        price    REAL NOT NULL,
        currency TEXT NOT NULL,
        PRIMARY KEY (job, stage, unit)
    ) STRICT;
",
    "
    -- The log is read from the entries themselves: a second copy of every line was a third of what each commit
    -- had to write. Only what an entry can't say of itself is kept: what strikes it.
    CREATE TABLE struck_line (
        job       TEXT NOT NULL,
        id        TEXT NOT NULL,
        struck_by TEXT NOT NULL,
        PRIMARY KEY (job, id)
    ) STRICT, WITHOUT ROWID;
    INSERT INTO struck_line SELECT job, id, struck_by FROM log_line WHERE struck_by IS NOT NULL;
    DROP TABLE log_line;
    -- A job is read book by book, in the order of each chain.
    DROP INDEX entry_by_job;
    CREATE INDEX entry_by_book ON entry (job, device, seq);
    -- For whoever looks into the file with other tools.
    CREATE VIEW log_line AS
        SELECT place, entry.job, device || '-' || seq AS id,
               json_extract(line, '$.happened_at') AS happened_at, json_extract(line, '$.recorded_at') AS recorded_at,
               json_extract(line, '$.by') AS by_whom, json_extract(line, '$.kind') AS kind,
               coalesce(json_extract(line, '$.body.subject'), 'job') AS subject, struck_by
        FROM entry LEFT JOIN struck_line ON struck_line.job = entry.job AND struck_line.id = device || '-' || seq;
",
    "
    -- Where the file was last written, so that a copy of it begins a book of its own. It stands in no entry.
    CREATE TABLE home_line (
        one  INTEGER PRIMARY KEY CHECK (one = 1),
        mark TEXT NOT NULL
    ) STRICT;
    -- `device` is the book that an entry is filed in: of two tails of one book one is filed apart. The line stays as it is.
    DROP TRIGGER entry_is_never_changed;
    CREATE TRIGGER entry_is_never_changed BEFORE UPDATE OF place, job, seq, line, hash ON entry
        BEGIN SELECT RAISE(ABORT, 'the record is append-only: strike the entry instead'); END;
",
    "
    -- What this file's commands recorded as one, so that it can be undone as one: a row for each that recorded more than
    -- one entry, and for each that was an undo. Every other entry is a command of its own. It stands in no entry.
    CREATE TABLE command_line (
        device TEXT NOT NULL,
        first  INTEGER NOT NULL,
        last   INTEGER NOT NULL CHECK (last >= first),
        undo   INTEGER NOT NULL CHECK (undo IN (0, 1)),
        PRIMARY KEY (device, first)
    ) STRICT, WITHOUT ROWID;
",
    "
    -- What phones sent, with what came of it, so that what is sent twice is recorded once: written in the transaction that
    -- records it. It stands in no entry.
    CREATE TABLE sent_line (
        phone   TEXT NOT NULL,
        request TEXT NOT NULL,
        sha256  TEXT NOT NULL,
        answer  TEXT NOT NULL,
        PRIMARY KEY (phone, request)
    ) STRICT, WITHOUT ROWID;
",
];

/// The version that this program writes.
pub(super) fn newest() -> i64 {
    MIGRATIONS.len() as i64
}

/// Brings a file from its version to the newest, in one exclusive transaction.
pub(super) fn migrate(connection: &mut Connection) -> rusqlite::Result<()> {
    migrate_to(connection, newest())
}

fn migrate_to(connection: &mut Connection, target: i64) -> rusqlite::Result<()> {
    let transaction = connection.transaction_with_behavior(rusqlite::TransactionBehavior::Exclusive)?;
    let version: i64 = transaction.query_row("PRAGMA user_version", [], |row| row.get(0))?;
    let place = |version: i64| usize::try_from(version).unwrap_or(0);
    for step in MIGRATIONS.iter().take(place(target)).skip(place(version)) {
        transaction.execute_batch(step)?;
    }
    transaction.pragma_update(None, "user_version", target.max(version))?;
    transaction.pragma_update(None, "application_id", APPLICATION_ID)?;
    transaction.commit()
}

/// The tables, indexes and triggers that a file of a version has, as SQLite keeps their text.
pub(super) fn expected(version: i64) -> rusqlite::Result<&'static Vec<(String, String)>> {
    // Made once: every file that is opened is held to it.
    static EXPECTED: [OnceLock<Vec<(String, String)>>; MIGRATIONS.len() + 1] =
        [const { OnceLock::new() }; MIGRATIONS.len() + 1];
    let version = version.clamp(0, newest());
    let place = &EXPECTED[usize::try_from(version).unwrap_or(0)];
    if let Some(expected) = place.get() {
        return Ok(expected);
    }
    let mut fresh = Connection::open_in_memory()?;
    migrate_to(&mut fresh, version)?;
    let expected = present(&fresh)?;
    Ok(place.get_or_init(|| expected))
}

/// The tables, indexes and triggers that are in a file.
pub(super) fn present(connection: &Connection) -> rusqlite::Result<Vec<(String, String)>> {
    connection
        .prepare("SELECT name, sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY name")?
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect()
}
