//! The rates of a job: beside the record, since what a crew is paid is no business of whoever gets its record.
//!
//! They are in no entry, no export and no pack, unless a pack is asked to show them.

use rusqlite::Error::FromSqlConversionFailure;
use rusqlite::params;
use rusqlite::types::Type;

use super::error::{StoreError, error_of};
use super::store::Store;
use super::writing::Writing;
use crate::building::Rate;

impl Store {
    /// The rates of a job; none in a file that an older program wrote.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn rates(&self, job: &str) -> Result<Vec<Rate>, StoreError> {
        let read = || -> rusqlite::Result<Vec<Rate>> {
            if !self.connection.table_exists(None, "rate_line")? {
                return Ok(Vec::new());
            }
            let rate = |row: &rusqlite::Row<'_>| {
                let unit = row.get::<_, String>(1)?.parse();
                let unit = unit.map_err(|error| FromSqlConversionFailure(1, Type::Text, Box::new(error)))?;
                Ok(Rate { stage: row.get(0)?, unit, price: row.get(2)?, currency: row.get(3)? })
            };
            self.connection
                .prepare("SELECT stage, unit, price, currency FROM rate_line WHERE job = ?1 ORDER BY place")?
                .query_map([job], rate)?
                .collect()
        };
        read().map_err(|error| error_of(self.path(), &error))
    }
}

impl Writing<'_> {
    /// Puts these rates in the place of those that a job had.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn set_rates(&self, job: &str, rates: &[Rate]) -> Result<(), StoreError> {
        let write = || -> rusqlite::Result<()> {
            self.connection().execute("DELETE FROM rate_line WHERE job = ?1", [job])?;
            for (place, rate) in rates.iter().enumerate() {
                self.connection().execute(
                    "INSERT INTO rate_line (job, place, stage, unit, price, currency) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                    params![job, place as i64, rate.stage, <&str>::from(rate.unit), rate.price, rate.currency],
                )?;
            }
            Ok(())
        };
        write().map_err(|error| error_of(self.file(), &error))
    }
}
