//! What forms record: `POST`, a path for each kind.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Response;

use super::record::{Wanted, answered, record, sent};
use crate::day::{AddPhotos, Value};
use crate::serve::app::App;
use crate::serve::form::Form;
use crate::serve::http_error::HttpError;
use crate::serve::place::Place;
use crate::serve::wanted::{self, Day, Hold, Stoppage};

type Shared = State<Arc<App>>;

/// The page of what a form is about; *Now* where it says nothing.
fn back_to_subject(form: &Form) -> Place {
    form.typed.get("on").map_or(Place::Now, |on| Place::On(on.to_owned()))
}

/// `POST /record`
pub async fn record_step(State(app): Shared, form: Form) -> Response {
    // Done, the next thing is what counts; not done, this one.
    let step = form.typed.get("step").map_or(Place::Now, |step| Place::Step(step.to_owned()));
    let wanted = wanted::step(&form.typed).map(|mut step| {
        for (field, upload) in &form.photos {
            let name = field.strip_prefix("answer:").unwrap_or(field);
            step.answers.push(wanted::given(name, Value::File(Box::new(upload.photo.clone()))));
        }
        Box::new(step) as Wanted
    });
    record(&app, form, [Place::Now, step], wanted).await
}

/// `POST /reading`
pub async fn reading(State(app): Shared, form: Form) -> Response {
    let wanted = wanted::reading(&form.typed).map(|request| Box::new(request) as Wanted);
    record(&app, form, [Place::Now, Place::Now], wanted).await
}

/// `POST /caution`
pub async fn caution(State(app): Shared, form: Form) -> Response {
    let wanted = wanted::caution(&form.typed, &form.session.phone.person).map(|request| Box::new(request) as Wanted);
    record(&app, form, [Place::Cautions, Place::Cautions], wanted).await
}

/// `POST /hold`
pub async fn hold(State(app): Shared, form: Form) -> Response {
    let wanted = wanted::hold(&form.typed, &form.session.phone.person).map(|hold| match hold {
        Hold::Ask(request) => Box::new(request) as Wanted,
        Hold::Release(request) => Box::new(request),
        Hold::Refuse(request) => Box::new(request),
    });
    record(&app, form, [Place::Holds, Place::Holds], wanted).await
}

/// `POST /photo`
pub async fn photo(State(app): Shared, form: Form) -> Response {
    let photos: Vec<_> = form.photos.iter().map(|(_, upload)| upload.photo.clone()).collect();
    let back = back_to_subject(&form);
    let wanted = match form.typed.get("on") {
        _ if photos.is_empty() => Err(HttpError::in_field("file", "no photo was sent")),
        None => Err(HttpError::in_field("on", "on is missing")),
        Some(on) => {
            let (step, note) = (form.typed.get("step").map(str::to_owned), form.typed.get("text").map(str::to_owned));
            Ok(Box::new(AddPhotos { subject: on.to_owned(), step, note, photos }) as Wanted)
        }
    };
    record(&app, form, [back.clone(), back], wanted).await
}

/// `POST /stoppage`
pub async fn stoppage(State(app): Shared, form: Form) -> Response {
    let wanted = wanted::stoppage(&form.typed).map(|stoppage| match stoppage {
        Stoppage::Start(request) => Box::new(request) as Wanted,
        Stoppage::End(request) => Box::new(request),
    });
    record(&app, form, [Place::Now, Place::Now], wanted).await
}

/// `POST /note`
pub async fn note(State(app): Shared, form: Form) -> Response {
    let back = back_to_subject(&form);
    let wanted = wanted::note(&form.typed).map(|request| Box::new(request) as Wanted);
    record(&app, form, [back.clone(), back], wanted).await
}

/// `POST /day`
pub async fn day(State(app): Shared, form: Form) -> Response {
    let wanted = wanted::day(&form.typed, &form.session.phone.person).map(|day| match day {
        Day::Open(request) => Box::new(request) as Wanted,
        Day::Close(request) => Box::new(request),
        Day::Join(request) => Box::new(request),
    });
    record(&app, form, [Place::Now, Place::Now], wanted).await
}

/// `POST /undo`: what this person recorded last.
pub async fn undo(State(app): Shared, form: Form) -> Response {
    const WHY: &str = "taken back on the phone";
    let (sent, by) = (sent(&form), form.session.phone.person.clone());
    let why = form.typed.get("why").unwrap_or(WHY).to_owned();
    let (anyway, now) = (form.typed.get("anyway").is_some(), app.now(&form.session.book));
    let done = app.recorder.ask(move |journal| journal.undo_sent(&sent, &why, anyway, &by, now));
    let done = done.await.map_err(HttpError::from);
    answered(&app, form, &[Place::Now, Place::Now], done)
}
