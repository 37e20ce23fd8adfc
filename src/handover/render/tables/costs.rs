//! Hours and quantities.

use crate::handover::model::Document;
use crate::table::{Cell, csv_of};

pub fn hours(document: &Document<'_>) -> Vec<u8> {
    let days = document.state().days.iter();
    csv_of(
        days.flat_map(|day| day.people().map(move |(name, since, hours)| (day.date, name, since, hours))),
        &[
            ("date", &|(date, ..)| Cell::text(date.to_string())),
            ("person", &|(_, name, ..)| (*name).into()),
            ("since", &|(_, _, since, _)| (*since).into()),
            ("hours", &|(.., hours)| (*hours).into()),
        ],
    )
}

pub fn quantities(document: &Document<'_>) -> Vec<u8> {
    csv_of(
        &document.quantities,
        &[
            ("part", &|it| (&it.part).into()),
            ("stage", &|it| (&it.stage).into()),
            ("title", &|it| (&it.title).into()),
            ("unit", &|it| Cell::text(it.unit.to_string())),
            ("whole", &|it| Cell::text(it.whole.to_string())),
            ("complete", &|it| Cell::text(it.so_far.to_string())),
        ],
    )
}
