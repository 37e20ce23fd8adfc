//! Steps, measurements, readings, windows, joints, defects, cautions and photos.

use super::{numbered, words};
use crate::day::Reading;
use crate::handover::model::{
    Document, JointRun, Locations, NearestReading, Number, Photo, Picture, WindowRun, dew_point_c, tenth,
};
use crate::table::{Cell, CsvColumn, csv_of};

pub fn steps(document: &Document<'_>) -> Vec<u8> {
    csv_of(
        &document.steps,
        &[
            ("entry", &|it| Cell::text(it.entry.id().to_string())),
            ("happened_at", &|it| it.entry.happened_at.into()),
            ("by", &|it| (&it.entry.by).into()),
            ("subject", &|it| (&it.done.subject).into()),
            ("step", &|it| (&it.done.step).into()),
            ("title", &|it| it.title.into()),
            ("late", &|it| it.entry.is_late().into()),
            ("anyway", &|it| it.done.anyway.as_ref().into()),
        ],
    )
}

/// Every answer, measured or not.
pub fn measurements(document: &Document<'_>) -> Vec<u8> {
    let answers =
        document.steps.iter().flat_map(|step| step.answers.iter().map(move |judged| (step.entry, step.done, judged)));
    csv_of(
        answers,
        &[
            ("entry", &|(entry, ..)| Cell::text(entry.id().to_string())),
            ("happened_at", &|(entry, ..)| entry.happened_at.into()),
            ("subject", &|(_, done, _)| (&done.subject).into()),
            ("step", &|(_, done, _)| (&done.step).into()),
            ("ask", &|(.., it)| (&it.ask.key).into()),
            ("question", &|(.., it)| (&it.ask.prompt).into()),
            ("value", &|(.., it)| it.value().into()),
            ("unit", &|(.., it)| it.value().map(|_| it.ask.unit()).into()),
            ("answer", &|(.., it)| it.in_words().into()),
            ("allowed", &|(.., it)| it.allowed().into()),
            ("within_tolerance", &|(.., it)| it.held.into()),
            ("basis", &|(.., it)| words(it.ask.basis.as_ref())),
            ("defect", &|(.., it)| words(it.defect.as_ref().and_then(|id| document.defect_in_words(id)))),
            ("file_sha256", &|(.., it)| it.sha256().into()),
        ],
    )
}

pub fn readings(document: &Document<'_>) -> Vec<u8> {
    let state = document.state();
    csv_of(
        // What counts for every wall is listed once, as it was recorded.
        state.all_readings(),
        &[
            ("entry", &|it| Cell::text(it.entry.to_string())),
            ("happened_at", &|it| it.at.into()),
            ("wall", &|it| (&it.subject).into()),
            ("air_c", &|it| it.air_c.into()),
            ("humidity_pct", &|it| it.humidity_pct.into()),
            ("surface_c", &|it| it.surface_c.into()),
            ("dew_point_c", &|it| dew_point_c(it).map(tenth).into()),
            ("wind_kmh", &|it: &&Reading| it.wind_kmh.into()),
            ("rain", &|it| it.rain.into()),
        ],
    )
}

pub fn windows(document: &Document<'_>) -> Vec<u8> {
    csv_of(
        &document.windows,
        &[
            ("window", &|it| (&it.run.window.key).into()),
            ("title", &|it| (&it.run.window.title).into()),
            ("subject", &|it| (&it.subject).into()),
            ("from_entry", &|it| Cell::text(it.run.from.entry.to_string())),
            ("began_at", &|it| it.run.began.into()),
            ("opens_at", &|it| it.run.opens_at.into()),
            ("closes_at", &|it| it.run.closes_at.into()),
            ("answered_at", &|it| it.run.answered.map(|done| done.at).into()),
            ("to_entry", &|it| words(it.run.answered.map(|done| &done.entry))),
            ("spoiled_at", &|it| it.run.spoiled.map(|spoiled| spoiled.at).into()),
            ("state", &|it| it.outcome.word().into()),
            ("says", &|it| (&it.says).into()),
            ("basis", &|it| Cell::text(it.run.window.basis.to_string())),
        ],
    )
}

/// Every priming of every joint: its window, and the readings nearest to gunning and priming.
pub fn joints(document: &Document<'_>) -> Vec<u8> {
    type Joint<'d> = (&'d JointRun<'d>, &'d WindowRun<'d>);
    type Nearest<'d> = Option<NearestReading<'d>>;
    let entry = |nearest: &Nearest<'_>| words(nearest.map(|it| it.reading.entry.clone()));
    let age = |nearest: &Nearest<'_>| words(nearest.map(|it| it.age_min));
    let surface = |nearest: &Nearest<'_>| nearest.and_then(|it| it.reading.surface_c).into();
    let margin = |nearest: &Nearest<'_>| nearest.and_then(|it| it.dew_margin_c()).into();
    let rain = |nearest: &Nearest<'_>| nearest.map(|it| it.reading.rain).into();
    csv_of(
        document.joints.iter().map(|joint| (joint, &document.windows[joint.window])),
        &[
            ("joint", &|(_, window): &Joint| (&window.subject).into()),
            ("wall", &|(_, window)| window.part.into()),
            ("primed_at", &|(_, window)| window.run.from.at.into()),
            ("opens_at", &|(_, window)| window.run.opens_at.into()),
            ("closes_at", &|(_, window)| window.run.closes_at.into()),
            ("gunned_at", &|(_, window)| window.run.answered.map(|done| done.at).into()),
            ("state", &|(_, window)| window.outcome.word().into()),
            ("says", &|(_, window)| (&window.says).into()),
            ("reading", &|(joint, _)| entry(&joint.gunned_in)),
            ("reading_age_min", &|(joint, _)| age(&joint.gunned_in)),
            ("surface_c", &|(joint, _)| surface(&joint.gunned_in)),
            ("dew_margin_c", &|(joint, _)| margin(&joint.gunned_in)),
            ("rain", &|(joint, _)| rain(&joint.gunned_in)),
            ("in_sun", &|(joint, _)| joint.in_sun.into()),
            ("primed_reading", &|(joint, _)| entry(&joint.primed_in)),
            ("primed_reading_age_min", &|(joint, _)| age(&joint.primed_in)),
            ("primed_surface_c", &|(joint, _)| surface(&joint.primed_in)),
            ("primed_dew_margin_c", &|(joint, _)| margin(&joint.primed_in)),
            ("primed_rain", &|(joint, _)| rain(&joint.primed_in)),
        ],
    )
}

/// With the number that the drawings mark each by.
pub fn defects(document: &Document<'_>) -> Vec<u8> {
    let defects = document.defects.iter().map(|(number, defect)| (Number::Defect(*number), defect));
    numbered(&defects.collect::<Vec<_>>())
}

pub fn cautions(document: &Document<'_>) -> Vec<u8> {
    csv_of(
        document.acknowledged(),
        &[
            ("date", &|it| Cell::text(it.date.to_string())),
            ("caution", &|it| it.caution.into()),
            ("title", &|it| it.title.into()),
            ("person", &|it| it.person.into()),
            ("acknowledged_at", &|it| it.at.into()),
        ],
    )
}

/// The camera's location and direction are left out with the locations of the photos.
pub fn photos(document: &Document<'_>) -> Vec<u8> {
    let ids = |ids: Vec<String>| Cell::text(ids.join(" "));
    let columns: [CsvColumn<'_, &Photo<'_>>; 17] = [
        ("number", &|it| words(it.picture.map(Picture::label))),
        ("entries", &|it| ids(it.entries.iter().map(ToString::to_string).collect())),
        ("subjects", &|it| ids(it.subjects.clone())),
        ("step", &|it| it.photo.step.as_ref().into()),
        ("happened_at", &|it| it.photo.at.into()),
        ("taken_at", &|it| it.photo.facts.as_ref().and_then(|facts| facts.taken_at).into()),
        ("file", &|it| (&it.photo.file).into()),
        ("stands", &|it| it.state.word().into()),
        ("path", &|it| it.picture.filter(|picture| picture.file.is_some()).map(|picture| &picture.path).into()),
        ("sha256", &|it| (&it.photo.sha256).into()),
        ("copy_sha256", &|it| it.picture.and_then(|picture| picture.copy_sha256()).into()),
        ("flags", &|it| it.photo.flags.clone().into()),
        ("note", &|it| it.photo.note.as_ref().into()),
        ("lat_deg", &|it| it.picture.and_then(|picture| picture.place).map(|place| place.lat_deg).into()),
        ("lon_deg", &|it| it.picture.and_then(|picture| picture.place).map(|place| place.lon_deg).into()),
        ("direction_deg", &|it| it.picture.and_then(|picture| picture.direction).map(|it| it.deg).into()),
        ("north", &|it| {
            let direction = it.picture.and_then(|picture| picture.direction);
            direction.map(|it| if it.magnetic { "magnetic" } else { "true" }).into()
        }),
    ];
    let many = if document.locations == Locations::Withheld { columns.len() - 4 } else { columns.len() };
    csv_of(&document.photos, &columns[..many])
}
