//! What all that is recorded has in common: once for one id, by the phone's own person, answered as it was asked.

use std::sync::Arc;

use axum::http::StatusCode;
use axum::http::header::{CONTENT_TYPE, LOCATION};
use axum::response::{IntoResponse, Response};
use chrono_tz::Tz;

use crate::day::Request;
use crate::journal::{Answer, Sent};
use crate::moment::Moment;
use crate::serve::app::App;
use crate::serve::context::{Notice, Typed};
use crate::serve::form::Form;
use crate::serve::http_error::{self, HttpError};
use crate::serve::place::Place;
use crate::serve::session::Session;
use crate::serve::wanted::Wanted;

/// Where a form leads.
pub struct Then {
    /// Once it is recorded.
    pub done: Place,
    /// Where it is not: the page that says why not.
    pub refused: Place,
}

impl<P: Into<Place>> From<P> for Then {
    fn from(place: P) -> Self {
        let done: Place = place.into();
        Self { refused: done.clone(), done }
    }
}

/// Records what a form asks for, and answers with the page that it leads to.
pub async fn record(app: &Arc<App>, form: Form, then: impl Into<Then>, wanted: Result<Wanted, HttpError>) -> Response {
    let then = then.into();
    let done = match wanted {
        Ok(wanted) => match happened_at(app, &form) {
            Ok(at) => recorded(app, &form.session, sent(&form), wanted, at).await,
            Err(error) => Err(error),
        },
        Err(error) => Err(error),
    };
    answered(app, form, &then, done)
}

/// What a form is known by when it is sent again.
pub fn sent(form: &Form) -> Sent {
    Sent { phone: form.session.phone.id.clone(), request: form.request_id.clone(), sha256: form.sha256.clone() }
}

/// Records by the phone's own person.
pub async fn recorded(
    app: &App,
    session: &Session,
    sent: Sent,
    wanted: Wanted,
    at: Option<Moment>,
) -> Result<Answer, HttpError> {
    let (by, now) = (session.phone.person.clone(), app.now(&session.book));
    let done = app.recorder.ask(move |journal| {
        let timed = wanted.iter().map(|(request, own)| (&**request as &dyn Request, own.or(at).unwrap_or(now)));
        journal.record_sent(&sent, &timed.collect::<Vec<_>>(), &by, now)
    });
    Ok(done.await?)
}

/// When something happened, where the form says so: `happened_at` is typed, `pressed_at` is since when it waited on the
/// phone. What waited is judged by when it happened.
///
/// # Errors
/// [`HttpError::Wrong`].
pub fn happened_at(app: &App, form: &Form) -> Result<Option<Moment>, HttpError> {
    let now = app.now(&form.session.book);
    let zone = form.session.book.state.job.time_zone;
    let time = |field: &str, on: Moment| form.typed.get(field).map(|text| time_of(text, field, on, zone)).transpose();
    // Nothing is pressed later than now: a phone may only be a little ahead of the laptop.
    let pressed = time("pressed_at", now)?.map(|at| at.min(now));
    Ok(time("happened_at", pressed.unwrap_or(now))?.or(pressed))
}

/// A time by the clocks of the site; one without a date is of the day of `on`.
///
/// # Errors
/// [`HttpError::Wrong`].
pub fn time_of(text: &str, field: &str, on: Moment, zone: Tz) -> Result<Moment, HttpError> {
    crate::moment::parse(text, on.date(), zone).map_err(|error| HttpError::in_field(field, error.to_string()))
}

/// The answer to a form: JSON for a script; for a browser the way on, or the page again with why not.
pub fn answered(app: &App, form: Form, then: &Then, done: Result<Answer, HttpError>) -> Response {
    let on = form.typed.get("on").map(str::to_owned);
    match done {
        Ok(answer) if form.as_json => json(answer.json),
        Ok(answer) => {
            let to = then.done.url(on.as_deref(), answer.entries.as_ref());
            (StatusCode::SEE_OTHER, [(LOCATION, to)]).into_response()
        }
        Err(error) if form.as_json => error.into_response(),
        Err(error) => {
            let status = error.status();
            let notice = match Notice::of(error) {
                Ok(notice) => notice,
                Err(other) => return other.into_response(),
            };
            let typed: Typed = form.typed;
            match then.refused.page(&form.session, app, on.as_deref(), Some(notice), typed) {
                Ok(page) => http_error::page(status, page),
                // What was asked for is on no page: the sentence alone.
                Err(_) => HttpError::wrong("this form names what is not on the job").into_response(),
            }
        }
    }
}

/// A JSON document that is written already.
pub fn json(text: String) -> Response {
    ([(CONTENT_TYPE, "application/json")], text).into_response()
}
