//! What forms record: `POST`, a path for each kind.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Response;

use super::record::{Then, answered, happened_at, record, sent};
use crate::day::{AddPhotos, Value};
use crate::journal::Journal;
use crate::record::{DefectId, EntryRun};
use crate::serve::app::App;
use crate::serve::form::Form;
use crate::serve::http_error::HttpError;
use crate::serve::place::{Place, Screen};
use crate::serve::wanted::{self, Defect, alone};

type Shared = State<Arc<App>>;

/// The page of what a form is about; *Now* where it says nothing.
fn back_to_subject(form: &Form) -> Place {
    form.typed.get("on").map_or(Screen::Now.into(), |on| Place::On(on.to_owned()))
}

/// `POST /record`
pub async fn record_step(State(app): Shared, form: Form) -> Response {
    // Done, the next thing is what counts; not done, this one.
    let step = form.typed.get("step").map_or(Screen::Now.into(), |step| Place::Step(step.to_owned()));
    let at = happened_at(&app, &form);
    let at = at.map(|at| at.unwrap_or_else(|| app.now(&form.session.book)));
    let wanted = at.and_then(|at| {
        let mut done = wanted::in_one_go(&form.typed, &form.session.book.state, at)?;
        for (field, upload) in &form.photos {
            let name = field.strip_prefix("answer:").unwrap_or(field);
            done[0].0.answers.push(wanted::given(name, Value::File(Box::new(upload.photo.clone()))));
        }
        Ok(done.into_iter().map(|(step, at)| (Box::new(step) as _, Some(at))).collect())
    });
    record(&app, form, Then { done: Screen::Now.into(), refused: step }, wanted).await
}

/// `POST /reading`
pub async fn reading(State(app): Shared, form: Form) -> Response {
    let wanted = wanted::reading(&form.typed);
    let wanted = wanted.map(|all| all.into_iter().flat_map(alone).collect());
    record(&app, form, Screen::Now, wanted).await
}

/// `POST /caution`
pub async fn caution(State(app): Shared, form: Form) -> Response {
    let wanted = wanted::caution(&form.typed, &form.session.phone.person).map(alone);
    record(&app, form, Screen::Cautions, wanted).await
}

/// `POST /hold`
pub async fn hold(State(app): Shared, form: Form) -> Response {
    let wanted = wanted::hold(&form.typed, &form.session.phone.person);
    record(&app, form, Screen::Holds, wanted).await
}

/// The photos of a form, put on a subject.
fn photos(form: &Form, on: &str, step: Option<&str>, note: Option<String>) -> AddPhotos {
    let photos = form.photos.iter().map(|(_, upload)| upload.photo.clone()).collect();
    AddPhotos { subject: on.to_owned(), step: step.map(str::to_owned), note, photos }
}

/// `POST /photo`
pub async fn photo(State(app): Shared, form: Form) -> Response {
    let back = back_to_subject(&form);
    let wanted = match form.typed.get("on") {
        _ if form.photos.is_empty() => Err(HttpError::in_field("file", "no photo was sent")),
        None => Err(HttpError::in_field("on", "on is missing")),
        Some(on) => {
            let note = form.typed.get("text").map(str::to_owned);
            Ok(alone(photos(&form, on, form.typed.get("step"), note)))
        }
    };
    record(&app, form, back, wanted).await
}

/// `POST /defect`, with a photo where there is one: of what is wrong, or of how it is put right.
pub async fn defect(State(app): Shared, form: Form) -> Response {
    let state = &form.session.book.state;
    let subject_of = |id: &DefectId| state.defect(id).map(|defect| defect.subject.clone());
    let defect = wanted::defect(&form.typed, &form.session.phone.person, subject_of);
    let wanted = defect.map(|Defect { mut wanted, on, note }| {
        if let Some(on) = on.filter(|_| !form.photos.is_empty()) {
            wanted.extend(alone(photos(&form, &on, None, Some(note))));
        }
        wanted
    });
    record(&app, form, Screen::Defects, wanted).await
}

/// `POST /stock`
pub async fn stock(State(app): Shared, form: Form) -> Response {
    let wanted = wanted::stock(&form.typed);
    record(&app, form, Screen::Stock, wanted).await
}

/// `POST /extra`
pub async fn extra(State(app): Shared, form: Form) -> Response {
    let wanted = wanted::extra(&form.typed).map(alone);
    record(&app, form, Screen::Extra, wanted).await
}

/// `POST /stoppage`
pub async fn stoppage(State(app): Shared, form: Form) -> Response {
    let wanted = wanted::stoppage(&form.typed);
    record(&app, form, Screen::Now, wanted).await
}

/// `POST /note`
pub async fn note(State(app): Shared, form: Form) -> Response {
    let back = back_to_subject(&form);
    let wanted = wanted::note(&form.typed).map(alone);
    record(&app, form, back, wanted).await
}

/// `POST /day`
pub async fn day(State(app): Shared, form: Form) -> Response {
    let wanted = wanted::day(&form.typed, &form.session.phone.person);
    record(&app, form, Screen::Now, wanted).await
}

/// `POST /undo`: what the page says was recorded, or what this person recorded last.
pub async fn undo(State(app): Shared, form: Form) -> Response {
    const WHY: &str = "taken back on the phone";
    let (sent, by) = (sent(&form), form.session.phone.person.clone());
    let why = form.typed.get("why").unwrap_or(WHY).to_owned();
    let (anyway, now) = (form.typed.get("anyway").is_some(), app.now(&form.session.book));
    let done = match form.typed.get("entries").map(str::parse::<EntryRun>).transpose() {
        Ok(these) => {
            let undo = move |journal: &mut Journal| journal.undo_sent(&sent, these.as_ref(), &why, anyway, &by, now);
            app.recorder.ask(undo).await.map_err(HttpError::from)
        }
        Err(why) => Err(HttpError::in_field("entries", why)),
    };
    answered(&app, form, &Screen::Now.into(), done)
}
