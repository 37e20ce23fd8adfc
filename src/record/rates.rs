//! The rates of a job: beside the record, since what a crew is paid is no business of whoever gets its record.
//!
//! They are in no entry, no export and no pack, unless a pack is asked to show them.

use rusqlite::Error::FromSqlConversionFailure;
use rusqlite::params;
use rusqlite::types::Type;

use super::error::StoreError;
use super::store::Store;
use super::writing::Writing;
use crate::building::Rate;

impl Store {
    /// The rates of a job; none in a file that an older program wrote.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn rates(&self, job: &str) -> Result<Vec<Rate>, StoreError> {
        self.ask(|file| {
            if !file.table_exists(None, "rate_line")? {
                return Ok(Vec::new());
            }
            let rate = |row: &rusqlite::Row<'_>| {
                let unit = row.get::<_, String>(1)?.parse();
                let unit = unit.map_err(|error| FromSqlConversionFailure(1, Type::Text, Box::new(error)))?;
                Ok(Rate { stage: row.get(0)?, unit, price: row.get(2)?, currency: row.get(3)? })
            };
            file.prepare("SELECT stage, unit, price, currency FROM rate_line WHERE job = ?1 ORDER BY place")?
                .query_map([job], rate)?
                .collect()
        })
    }
}

impl Writing<'_> {
    /// Puts these rates in the place of those that a job had.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn set_rates(&self, job: &str, rates: &[Rate]) -> Result<(), StoreError> {
        self.ask(|file| {
            file.execute("DELETE FROM rate_line WHERE job = ?1", [job])?;
            for (place, rate) in rates.iter().enumerate() {
                file.execute(
                    "INSERT INTO rate_line (job, place, stage, unit, price, currency) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                    params![job, place as i64, rate.stage, <&str>::from(rate.unit), rate.price, rate.currency],
                )?;
            }
            Ok(())
        })
    }
}
