//! The tables of the office, and how older ones become newer.
//!
//! Two laws, as for the crew's file: never change a migration that was published; never make a change that an older
//! program would misread without a new number, which it then refuses.

use serde::Serialize;

use super::error::OfficeError;
use super::server::Server;

/// Each makes the next version.
const MIGRATIONS: &[&str] = &[include_str!("schema/1.sql"), include_str!("schema/2.sql")];

/// Tells the server how to make the read tables.
const READ_TABLES: &str = include_str!("schema/read_tables.sql");

/// Makes the read tables where they are not there.
pub(super) const MAKE_READ_TABLES: &str = "SELECT cladlog.make_read_tables()";

/// One program at a time makes tables: `CLAD`, as in the crew's file.
const LOCK: i64 = 0x434C_4144;

/// What was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Migrated {
    /// Version of the schema now.
    pub version: i32,
    /// How many versions it came on; 0 where there was nothing to do.
    pub applied: i32,
}

fn known() -> i32 {
    MIGRATIONS.len() as i32
}

/// Makes the schema, the read tables and the two group roles, or brings them up to date.
///
/// # Errors
/// [`OfficeError`]; nothing is changed then.
pub fn migrate(server: &mut Server) -> Result<Migrated, OfficeError> {
    let place = server.place.clone();
    let failed = |error: postgres::Error| OfficeError::of(&place, &error);
    let mut work = server.client.transaction().map_err(failed)?;
    work.execute("SELECT pg_advisory_xact_lock($1)", &[&LOCK]).map_err(failed)?;
    let made: bool = work
        .query_one("SELECT to_regclass('cladlog.migration') IS NOT NULL", &[])
        .and_then(|row| row.try_get(0))
        .map_err(failed)?;
    let newest = "SELECT coalesce(max(number), 0) FROM cladlog.migration";
    let version: i32 =
        if made { work.query_one(newest, &[]).and_then(|row| row.try_get(0)).map_err(failed)? } else { 0 };
    if version > known() {
        return Err(OfficeError::Newer { place, version, known: known() });
    }
    for (number, migration) in (1..).zip(MIGRATIONS).skip(usize::try_from(version).unwrap_or_default()) {
        work.batch_execute(migration).map_err(failed)?;
        work.execute("INSERT INTO cladlog.migration (number) VALUES ($1)", &[&number]).map_err(failed)?;
    }
    work.batch_execute(READ_TABLES).map_err(failed)?;
    work.batch_execute(MAKE_READ_TABLES).map_err(failed)?;
    work.commit().map_err(failed)?;
    Ok(Migrated { version: known(), applied: known() - version })
}

impl Server {
    /// Insists on the schema that this program knows.
    ///
    /// # Errors
    /// [`OfficeError::NotMade`] or [`OfficeError::Newer`].
    pub fn made(mut self) -> Result<Self, OfficeError> {
        let version = self.told("SELECT coalesce(max(number), 0) FROM cladlog.migration")?;
        let version: i32 = version.first().and_then(|number| number.parse().ok()).unwrap_or_default();
        match version.cmp(&known()) {
            std::cmp::Ordering::Less => Err(OfficeError::NotMade(self.place)),
            std::cmp::Ordering::Equal => Ok(self),
            std::cmp::Ordering::Greater => Err(OfficeError::Newer { place: self.place, version, known: known() }),
        }
    }
}
