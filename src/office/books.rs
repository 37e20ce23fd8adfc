//! The entries on the server: read back, and checked.

use postgres::fallible_iterator::FallibleIterator;

use super::error::OfficeError;
use super::server::Server;
use crate::record::{
    ChainError, Entry, Heads, Link, MergeError, assign_books, check_chain, check_chain_after, in_order, origin, sound,
};

/// A job as the office lists it.
#[derive(Debug, Clone)]
pub struct OfficeJob {
    pub(super) id: i32,
    /// Its key.
    pub key: String,
    /// How many entries it has.
    pub entries: i64,
}

impl OfficeJob {
    /// From the first three columns of a row.
    pub(super) fn read(row: &postgres::Row) -> Result<Self, postgres::Error> {
        Ok(Self { id: row.try_get(0)?, key: row.try_get(1)?, entries: row.try_get(2)? })
    }
}

/// The jobs that a login may see, by key; only the one of a key, where that is given.
///
/// # Errors
/// [`OfficeError::NoJob`] when there is none of that key.
pub fn jobs(server: &mut Server, key: Option<&str>) -> Result<Vec<OfficeJob>, OfficeError> {
    let find = "SELECT id, key, entries FROM cladlog.job WHERE $1::text IS NULL OR key = $1 ORDER BY key COLLATE \"C\"";
    let rows = server.rows(find, &[&key])?;
    let jobs: Result<Vec<OfficeJob>, postgres::Error> = rows.iter().map(OfficeJob::read).collect();
    let jobs = jobs.map_err(|error| OfficeError::of(&server.place, &error))?;
    match key.filter(|_| jobs.is_empty()) {
        Some(key) => Err(OfficeError::NoJob(key.to_owned())),
        None => Ok(jobs),
    }
}

/// Hash of the entry before, and its own; `None` of an entry that is damaged, and named already.
type Hashes = Option<(String, String)>;

/// A row of the server, as it lies there.
struct Filed {
    device: String,
    seq: i64,
    hash: String,
    line: String,
}

impl Filed {
    fn id(&self) -> String {
        format!("{}-{}", self.device, self.seq)
    }

    /// The entry, checked against its hash and its place.
    fn open(self, job: &str) -> Result<Entry, ChainError> {
        let id = self.id();
        let failed = |what: String| ChainError { id: id.clone(), what };
        let entry = Entry::open(self.line, &self.hash).map_err(|error| failed(error.to_string()))?;
        if entry.job != job || *entry.device != *origin(&self.device) || i64::try_from(entry.seq) != Ok(self.seq) {
            return Err(failed("it is stored under the wrong job, device or number".to_owned()));
        }
        Ok(entry)
    }
}

/// The entries of a job that come after `known`, book by book, each handed on as it comes: a long record is never in
/// memory twice.
fn each(server: &mut Server, job: &OfficeJob, known: &Heads, mut take: impl FnMut(Filed)) -> Result<(), OfficeError> {
    let find = "SELECT b.device, e.seq, encode(e.hash, 'hex'), e.line
        FROM cladlog.book b
        LEFT JOIN unnest($2::text[], $3::bigint[]) AS known (device, seq) ON known.device = b.device
        JOIN cladlog.entry e ON e.job = b.job AND e.book = b.id AND e.seq > coalesce(known.seq, 0)
        WHERE b.job = $1 AND e.job = $1 ORDER BY b.device COLLATE \"C\", e.seq";
    let devices: Vec<&str> = known.keys().map(String::as_str).collect();
    let numbers: Vec<i64> = known.values().map(|(seq, _)| *seq as i64).collect();
    let values: [&(dyn postgres::types::ToSql + Sync); 3] = [&job.id, &devices, &numbers];
    let mut read = || {
        let mut rows = server.client.query_raw(find, values)?;
        while let Some(row) = rows.next()? {
            take(Filed { device: row.try_get(0)?, seq: row.try_get(1)?, hash: row.try_get(2)?, line: row.try_get(3)? });
        }
        Ok(())
    };
    let read: Result<(), postgres::Error> = read();
    read.map_err(|error| OfficeError::of(&server.place, &error))
}

/// Opens the entries that come after `known`.
fn opened(server: &mut Server, job: &OfficeJob, known: &Heads) -> Result<Result<Vec<Entry>, ChainError>, OfficeError> {
    let (mut entries, mut wrong) = (Vec::new(), None);
    each(server, job, known, |row| match row.open(&job.key) {
        Ok(entry) => entries.push(entry),
        Err(error) => drop(wrong.get_or_insert(error)),
    })?;
    Ok(wrong.map_or(Ok(entries), Err))
}

/// The entries that came after `known`, checked against the chains that end there, in the order of [`in_order`]. Where a
/// book forked nothing is said of them: which entry is in which book follows from all.
pub(super) fn newer(
    server: &mut Server,
    job: &OfficeJob,
    known: &Heads,
) -> Result<Result<Vec<Entry>, ChainError>, OfficeError> {
    let mut entries = match opened(server, job, known)? {
        Ok(entries) => entries,
        broken => return Ok(broken),
    };
    if let Some(broken) = check_chain_after(known, entries.iter().map(Link::from)).into_iter().next() {
        return Ok(Err(broken));
    }
    in_order(&mut entries);
    Ok(Ok(entries))
}

/// The whole record of a job, checked, in the order of [`in_order`].
///
/// # Errors
/// [`OfficeError::Record`] names the first entry that does not hold.
pub fn record(server: &mut Server, job: &OfficeJob) -> Result<Vec<Entry>, OfficeError> {
    let failed = |error| OfficeError::Record { job: job.key.clone(), error };
    let opened = opened(server, job, &Heads::new())?;
    let broken = |id, what| failed(MergeError::Entry { id, what });
    let mut entries = opened.map_err(|ChainError { id, what }| broken(id, what))?;
    // Of the tails of a book that forked the server may have another one under the name of the book.
    assign_books(&mut entries).map_err(|error| broken(String::new(), error.to_string()))?;
    entries.sort_by(|a, b| (&a.device, a.seq).cmp(&(&b.device, b.seq)));
    sound(&entries).map_err(failed)?;
    in_order(&mut entries);
    Ok(entries)
}

/// What was found out about a job on the server.
#[derive(Debug, Default)]
pub struct Checked {
    /// How many entries were looked at.
    pub entries: u64,
    /// What does not hold; the id is empty for what is no single entry's.
    pub failures: Vec<ChainError>,
}

/// Checks every entry and every chain of a job on the server, to the newest entry that each book is said to have.
///
/// # Errors
/// [`OfficeError`] when it can't be read that far.
pub fn verify(server: &mut Server, job: &OfficeJob) -> Result<Checked, OfficeError> {
    server.at_one_moment(|server| check(server, job))
}

fn check(server: &mut Server, job: &OfficeJob) -> Result<Checked, OfficeError> {
    let mut checked = Checked::default();
    let mut links: Vec<(String, i64, Hashes)> = Vec::new();
    each(server, job, &Heads::new(), |row| {
        checked.entries += 1;
        let (device, seq) = (row.device.clone(), row.seq);
        match row.open(&job.key) {
            Ok(entry) => links.push((device, seq, Some((entry.prev, entry.hash)))),
            Err(error) => {
                checked.failures.push(error);
                links.push((device, seq, None));
            }
        }
    })?;
    checked.failures.extend(check_chain(links.iter().map(|(device, seq, hashes)| Link {
        device,
        seq: (*seq).max(0) as u64,
        hashes: hashes.as_ref().map(|(prev, hash)| (prev.as_str(), hash.as_str())),
    })));
    let ends = server.rows("SELECT device, seq, encode(hash, 'hex') FROM cladlog.book WHERE job = $1", &[&job.id])?;
    for row in ends {
        let read = || Ok((row.try_get(0)?, row.try_get(1)?, row.try_get(2)?));
        let read: Result<(String, i64, String), postgres::Error> = read();
        let (device, seq, hash) = read.map_err(|error| OfficeError::of(&server.place, &error))?;
        let last = links.iter().rfind(|(of, ..)| *of == device);
        let what = match last {
            Some((_, last, Some((_, found)))) if *last == seq && *found == hash => continue,
            // Named already.
            Some((_, last, None)) if *last == seq => continue,
            _ => "the newest entry of its book is not the one that was filed last: the end is missing or was replaced",
        };
        checked.failures.push(ChainError { id: format!("{device}-{seq}"), what: what.to_owned() });
    }
    Ok(checked)
}
