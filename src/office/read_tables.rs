//! The read tables: written by `work`, read for the board, traces and hours. What they don't cover is replayed.

use chrono::NaiveDate;
use chrono_tz::Tz;
use postgres::Transaction;

use super::books::{OfficeJob, record};
use super::error::OfficeError;
use super::lines::{BoardLine, Place, Stretch, hours, places};
use super::server::Server;
use crate::accounts::hours::Worked;
use crate::day::{Book, ReplayError, plain_label};
use crate::moment::{Moment, MomentError};

/// Rows that another program wrote may mean something else.
pub(super) const PROGRAM: &str = env!("CARGO_PKG_VERSION");

/// What the replay of a job comes to.
pub(super) struct Replayed {
    zone: Tz,
    stretches: Vec<Stretch>,
    places: Vec<Place>,
    hours: Vec<Worked>,
}

impl Replayed {
    pub(super) fn of(book: &Book, now: Moment) -> Result<Self, ReplayError> {
        let zone = book.state.job.time_zone;
        Ok(Self { zone, stretches: BoardLine::ahead(book, now)?, places: places(book), hours: hours(book) })
    }
}

/// Puts what a job comes to in the place of what was there; leaves alone what came from more entries than `entries`.
pub(super) fn write(
    work: &mut Transaction<'_>,
    job: i32,
    entries: i64,
    found: &Result<Replayed, String>,
) -> Result<(), postgres::Error> {
    // Two at the same job, one after the other.
    work.execute("SELECT pg_advisory_xact_lock(hashtext('cladlog_read'), $1)", &[&job])?;
    let newer = "SELECT FROM cladlog_read.replayed WHERE job = $1 AND entries > $2 AND program = $3";
    if work.query_opt(newer, &[&job, &entries, &PROGRAM])?.is_some() {
        return Ok(());
    }
    forget(work, &[job])?;
    let zone = found.as_ref().ok().map(|found| found.zone.name());
    work.execute(
        "INSERT INTO cladlog_read.replayed (job, entries, program, zone, failed) VALUES ($1, $2, $3, $4, $5)",
        &[&job, &entries, &PROGRAM, &zone, &found.as_ref().err()],
    )?;
    let Ok(found) = found else { return Ok(()) };
    let since: Vec<String> = found.stretches.iter().map(|stretch| stretch.since.to_string()).collect();
    let until: Vec<String> = found.stretches.iter().map(|stretch| stretch.until.to_string()).collect();
    let lines = found.stretches.iter().map(|stretch| serde_json::to_string(&stretch.line));
    let lines: Vec<String> = lines.map(Result::unwrap_or_default).collect();
    work.execute(
        "INSERT INTO cladlog_read.board (job, since, until, line)
         SELECT $1, since::timestamptz, until::timestamptz, line::json
         FROM unnest($2::text[], $3::text[], $4::text[]) AS row (since, until, line)",
        &[&job, &since, &until, &lines],
    )?;
    let labels: Vec<&str> = found.places.iter().map(|place| place.label.as_str()).collect();
    let subjects: Vec<&str> = found.places.iter().map(|place| place.subject.as_str()).collect();
    let ids: Vec<String> = found.places.iter().map(|place| place.entry.to_string()).collect();
    work.execute(
        "INSERT INTO cladlog_read.place (job, number, label, subject, entry)
         SELECT $1, number, label, subject, entry
         FROM unnest($2::text[], $3::text[], $4::text[]) WITH ORDINALITY AS row (label, subject, entry, number)",
        &[&job, &labels, &subjects, &ids],
    )?;
    let dates: Vec<String> = found.hours.iter().map(|one| one.date.to_string()).collect();
    let people: Vec<&str> = found.hours.iter().map(|one| one.person.as_str()).collect();
    let hours: Vec<f64> = found.hours.iter().map(|one| one.hours).collect();
    work.execute(
        "INSERT INTO cladlog_read.worked (job, number, date, person, hours)
         SELECT $1, number, date::date, person, hours
         FROM unnest($2::text[], $3::text[], $4::float8[]) WITH ORDINALITY AS row (date, person, hours, number)",
        &[&job, &dates, &people, &hours],
    )?;
    Ok(())
}

/// Removes all that the read tables have of some jobs.
pub(super) fn forget(work: &mut Transaction<'_>, jobs: &[i32]) -> Result<(), postgres::Error> {
    for table in ["replayed", "board", "place", "worked"] {
        work.execute(&format!("DELETE FROM cladlog_read.{table} WHERE job = ANY ($1)"), &[&jobs])?;
    }
    Ok(())
}

/// A job that could not be replayed, and why.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct NotReplayed {
    /// Its key.
    pub job: String,
    /// Why.
    pub why: String,
}

/// An answer over all jobs, and the jobs that have no part in it.
#[derive(Debug)]
pub struct Answer<T> {
    /// What was found.
    pub found: Vec<T>,
    /// Jobs that could not be replayed.
    pub not_replayed: Vec<NotReplayed>,
}

/// What the read tables may answer of a job, and what they don't cover.
enum Known<T> {
    Read(Vec<T>),
    Stale,
}

/// The board, each line with the moment that it answers for: what closes next first, then by key. `at` gives that moment
/// by the clocks of a site: a time of day is another one in each time zone.
///
/// # Errors
/// [`OfficeError`]; [`OfficeError::At`] when `at` gives none.
pub fn board(
    server: &mut Server,
    key: Option<&str>,
    at: &dyn Fn(Tz) -> Result<Moment, MomentError>,
) -> Result<Answer<(Moment, BoardLine)>, OfficeError> {
    let (mut zones, mut moments) = (Vec::new(), Vec::new());
    for zone in zones_there(server)? {
        moments.push(at(zone)?.to_string());
        zones.push(zone.name());
    }
    let query = "SELECT j.id, j.key, j.entries, b.line::text, r.zone
        FROM cladlog.job j
        LEFT JOIN cladlog_read.replayed r ON r.job = j.id AND r.entries = j.entries AND r.program = $4
        LEFT JOIN unnest($2::text[], $3::text[]::timestamptz[]) AS asked (zone, at) ON asked.zone = r.zone
        LEFT JOIN cladlog_read.board b ON b.job = r.job AND b.since <= asked.at AND asked.at < b.until
        WHERE $1::text IS NULL OR j.key = $1 ORDER BY j.key COLLATE \"C\"";
    type Line = (Moment, BoardLine);
    let read = |row: &postgres::Row| -> Result<(OfficeJob, Known<Line>), postgres::Error> {
        let (line, zone): (Option<String>, Option<String>) = (row.try_get(3)?, row.try_get(4)?);
        // A line that can't be read is none.
        let line = line.and_then(|line| serde_json::from_str(&line).ok());
        let moment = zone.and_then(|zone| at(zone.parse().ok()?).ok());
        let line = moment.zip(line).map_or(Known::Stale, |line| Known::Read(vec![line]));
        Ok((OfficeJob::read(row)?, line))
    };
    let known = known(server, query, &[&key, &zones, &moments, &PROGRAM], key, read)?;
    let mut answer = complete(server, known, |book| {
        let at = at(book.state.job.time_zone)?;
        Ok(BoardLine::at(book, at).map(|line| vec![(at, line)]))
    })?;
    let order = |line: &BoardLine| (line.next_closes_at.is_none(), line.next_closes_at, line.key.clone());
    answer.found.sort_by_cached_key(|(_, line)| order(line));
    Ok(answer)
}

/// Where a batch is on every job: the key of the job with each place.
///
/// # Errors
/// [`OfficeError`].
pub fn trace(server: &mut Server, key: Option<&str>, batch: &str) -> Result<Answer<(String, Place)>, OfficeError> {
    let label = plain_label(batch);
    let query = "SELECT j.id, j.key, j.entries, r.job IS NOT NULL, p.subjects, p.entries
        FROM cladlog.job j
        LEFT JOIN cladlog_read.replayed r
            ON r.job = j.id AND r.entries = j.entries AND r.program = $3 AND r.failed IS NULL
        LEFT JOIN (
            SELECT job, array_agg(subject ORDER BY number) AS subjects, array_agg(entry ORDER BY number) AS entries
            FROM cladlog_read.place WHERE label = $2 GROUP BY job
        ) p ON p.job = r.job
        WHERE $1::text IS NULL OR j.key = $1 ORDER BY j.key COLLATE \"C\"";
    let read = |row: &postgres::Row| -> Result<(OfficeJob, Known<(String, Place)>), postgres::Error> {
        let job = OfficeJob::read(row)?;
        if !row.try_get::<_, bool>(3)? {
            return Ok((job, Known::Stale));
        }
        let (subjects, entries): (Option<Vec<String>>, Option<Vec<String>>) = (row.try_get(4)?, row.try_get(5)?);
        let both = subjects.unwrap_or_default().into_iter().zip(entries.unwrap_or_default());
        let place = |(subject, entry): (String, String)| {
            Some((job.key.clone(), Place { label: label.clone(), subject, entry: entry.parse().ok()? }))
        };
        let places = both.map(place).collect::<Option<Vec<_>>>();
        Ok((job, places.map_or(Known::Stale, Known::Read)))
    };
    let known = known(server, query, &[&key, &label, &PROGRAM], key, read)?;
    complete(server, known, |book| {
        let of_batch = places(book).into_iter().filter(|place| place.label == label);
        Ok(Ok(of_batch.map(|place| (book.state.job.key.clone(), place)).collect()))
    })
}

/// The hours worked on every job from one day to another, both included: the key of the job with each.
///
/// # Errors
/// [`OfficeError`].
pub fn hours_between(
    server: &mut Server,
    key: Option<&str>,
    from: NaiveDate,
    until: NaiveDate,
) -> Result<Answer<(String, Worked)>, OfficeError> {
    let (first, last) = (from.to_string(), until.to_string());
    let query = "SELECT j.id, j.key, j.entries, r.job IS NOT NULL, w.dates, w.people, w.hours
        FROM cladlog.job j
        LEFT JOIN cladlog_read.replayed r
            ON r.job = j.id AND r.entries = j.entries AND r.program = $4 AND r.failed IS NULL
        LEFT JOIN (
            SELECT job, array_agg(date::text ORDER BY number) AS dates, array_agg(person ORDER BY number) AS people,
                array_agg(hours ORDER BY number) AS hours
            FROM cladlog_read.worked WHERE date BETWEEN $2::text::date AND $3::text::date GROUP BY job
        ) w ON w.job = r.job
        WHERE $1::text IS NULL OR j.key = $1 ORDER BY j.key COLLATE \"C\"";
    let read = |row: &postgres::Row| -> Result<(OfficeJob, Known<(String, Worked)>), postgres::Error> {
        let job = OfficeJob::read(row)?;
        if !row.try_get::<_, bool>(3)? {
            return Ok((job, Known::Stale));
        }
        let (dates, people): (Option<Vec<String>>, Option<Vec<String>>) = (row.try_get(4)?, row.try_get(5)?);
        let hours: Option<Vec<f64>> = row.try_get(6)?;
        let all = dates.unwrap_or_default().into_iter().zip(people.unwrap_or_default()).zip(hours.unwrap_or_default());
        let one = |((date, person), hours): ((String, String), f64)| {
            Some((job.key.clone(), Worked { date: date.parse().ok()?, person, hours }))
        };
        let found = all.map(one).collect::<Option<Vec<_>>>();
        Ok((job, found.map_or(Known::Stale, Known::Read)))
    };
    let known = known(server, query, &[&key, &first, &last, &PROGRAM], key, read)?;
    complete(server, known, |book| {
        let within = hours(book).into_iter().filter(|one| from <= one.date && one.date <= until);
        Ok(Ok(within.map(|one| (book.state.job.key.clone(), one)).collect()))
    })
}

/// The time zones of the sites that were replayed; none where there are no read tables.
fn zones_there(server: &mut Server) -> Result<Vec<Tz>, OfficeError> {
    if !made(server)? {
        return Ok(Vec::new());
    }
    let rows = server.rows("SELECT DISTINCT zone FROM cladlog_read.replayed WHERE zone IS NOT NULL", &[])?;
    Ok(rows.iter().filter_map(|row| row.try_get::<_, String>(0).ok()?.parse().ok()).collect())
}

fn made(server: &mut Server) -> Result<bool, OfficeError> {
    Ok(server
        .told("SELECT to_regclass('cladlog_read.replayed') IS NOT NULL")?
        .first()
        .is_some_and(|there| there == "t"))
}

/// Every job with what the read tables know of it; all are stale where there are no such tables.
fn known<T>(
    server: &mut Server,
    query: &str,
    values: &[&(dyn postgres::types::ToSql + Sync)],
    key: Option<&str>,
    read: impl Fn(&postgres::Row) -> Result<(OfficeJob, Known<T>), postgres::Error>,
) -> Result<Vec<(OfficeJob, Known<T>)>, OfficeError> {
    if !made(server)? {
        return Ok(super::books::jobs(server, key)?.into_iter().map(|job| (job, Known::Stale)).collect());
    }
    let rows = server.rows(query, values)?;
    if let Some(key) = key.filter(|_| rows.is_empty()) {
        return Err(OfficeError::NoJob(key.to_owned()));
    }
    rows.iter().map(read).collect::<Result<_, _>>().map_err(|error| OfficeError::of(&server.place, &error))
}

/// Replays what the read tables don't cover.
fn complete<T>(
    server: &mut Server,
    known: Vec<(OfficeJob, Known<T>)>,
    of_book: impl Fn(&Book) -> Result<Result<Vec<T>, ReplayError>, OfficeError>,
) -> Result<Answer<T>, OfficeError> {
    let mut answer = Answer { found: Vec::new(), not_replayed: Vec::new() };
    for (job, known) in known {
        match known {
            Known::Read(found) => answer.found.extend(found),
            Known::Stale => {
                let found = match open(server, &job)? {
                    Ok(book) => of_book(&book)?.map_err(|why| why.to_string()),
                    Err(why) => Err(why),
                };
                match found {
                    Ok(found) => answer.found.extend(found),
                    Err(why) => answer.not_replayed.push(NotReplayed { job: job.key, why }),
                }
            }
        }
    }
    Ok(answer)
}

/// The book of a job on the server; or why there is none yet, such as that another crew has not sent the book that sets it
/// up.
pub(super) fn open(server: &mut Server, job: &OfficeJob) -> Result<Result<Book, String>, OfficeError> {
    match record(server, job) {
        Ok(entries) => Ok(Book::open(entries).map_err(|why| why.to_string())),
        Err(OfficeError::Record { error, .. }) => Ok(Err(error.to_string())),
        Err(error) => Err(error),
    }
}
