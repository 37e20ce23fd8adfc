//! Hours and quantities.

use crate::handover::model::Document;
use crate::table::{Cell, csv_of};

pub fn hours(document: &Document<'_>) -> Vec<u8> {
    let days = document.state().days.iter();
    csv_of(
        days.flat_map(|day| day.people().map(move |one| (day.date, one))),
        &[
            ("date", &|(date, _)| Cell::text(date.to_string())),
            ("person", &|(_, one)| one.name.into()),
            ("since", &|(_, one)| one.since.into()),
            ("hours", &|(_, one)| one.hours.into()),
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
