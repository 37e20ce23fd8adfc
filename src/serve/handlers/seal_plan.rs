//! The seal plan is worked out beside the requests: a page says so, and looks again by itself until it is there.

use std::sync::Arc;
use std::time::Duration;

use axum::extract::{Query, State};
use axum::http::header::{HeaderName, LOCATION};
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use tokio::task::spawn_blocking;
use tokio::time::timeout;

use super::pages::{Asked, show};
use super::record::{answered, recorded, sent};
use crate::day::{Planned, SealAsk, planned};
use crate::journal::{Answer, Sent};
use crate::serve::app::App;
use crate::serve::context::{Notice, Typed};
use crate::serve::form::Form;
use crate::serve::http_error::{HttpError, page};
use crate::serve::place::{Place, Screen};
use crate::serve::session::Session;
use crate::serve::wanted::{Wanted, alone};

/// How long a form is kept waiting for the plan itself. After that a page says that it is being worked out.
const PATIENCE: Duration = Duration::from_millis(1500);

/// Browsers that run no script load the page again after so many seconds.
const AGAIN: HeaderValue = HeaderValue::from_static("2");

/// `POST /sealplan`: the sealing of what is ready is planned, and the plan kept.
pub async fn plan(State(app): State<Arc<App>>, form: Form) -> Response {
    let (owner, phone) = (Arc::clone(&app), form.session.phone.id.clone());
    let (session, sent) = (form.session.clone(), sent(&form));
    app.plans.begin(&phone);
    // It goes on where the phone is gone meanwhile.
    let mut work = tokio::spawn(async move {
        let done = planned_and_kept(&owner, &session, sent).await;
        owner.plans.end(&session.phone.id, done);
    });
    // A program takes no page for an answer.
    if form.as_json {
        let _ = work.await;
    } else if timeout(PATIENCE, &mut work).await.is_err() {
        let to = Place::from(Screen::SealPlan).url(form.typed.get("on"), None);
        return (StatusCode::SEE_OTHER, [(LOCATION, to)]).into_response();
    }
    let done = app.plans.made(&phone).unwrap_or(Err(HttpError::Failed));
    app.plans.told(&phone);
    answered(&app, form, &Screen::SealPlan.into(), done)
}

/// `GET /sealplan`: with what came of the plan that this phone asked for just now.
pub async fn look(
    State(app): State<Arc<App>>,
    session: Session,
    Query(asked): Query<Asked>,
) -> Result<Response, HttpError> {
    match app.plans.made(&session.phone.id) {
        Some(Ok(answer)) if !asked.says_done() => {
            let to = Place::from(Screen::SealPlan).url(asked.on(), answer.entries.as_ref());
            Ok((StatusCode::SEE_OTHER, [(LOCATION, to)]).into_response())
        }
        Some(Err(error)) => {
            let notice = Notice::of(error).map_err(|error| *error)?;
            let place = Place::from(Screen::SealPlan);
            Ok(page(StatusCode::OK, place.page(&session, &app, asked.on(), Some(notice), Typed::default())?))
        }
        _ => {
            let mut response = show(&Screen::SealPlan.into(), &session, &app, &asked)?;
            if app.plans.are_made() {
                response.headers_mut().insert(HeaderName::from_static("refresh"), AGAIN);
            }
            Ok(response)
        }
    }
}

async fn planned_and_kept(app: &Arc<App>, session: &Session, sent: Sent) -> Result<Answer, HttpError> {
    let (book, now) = (Arc::clone(&session.book), app.now(&session.book));
    // A plan takes a core for seconds: one at a time.
    let _turn = app.plans.turn().await;
    let made = spawn_blocking(move || planned(&book.state, &SealAsk::default(), now)).await;
    let wanted: Wanted = match made {
        Ok(Ok(made)) if made.timetable.joints.is_empty() => return Err(HttpError::wrong(none_planned(&made))),
        Ok(Ok(made)) => made.kept_on("job").map(alone).map_err(|error| failed(app, error))?,
        Ok(Err(error)) => return Err(HttpError::wrong(error.to_string())),
        Err(error) => return Err(failed(app, error)),
    };
    recorded(app, session, sent, wanted, None).await
}

fn none_planned(made: &Planned) -> String {
    let left: Vec<String> = made.timetable.left_out.iter().map(|left| format!("{}: {}", left.id, left.why)).collect();
    format!("nothing can be sealed in its time today: {}", left.join("; "))
}

fn failed(app: &App, error: impl std::fmt::Display) -> HttpError {
    app.log(error);
    HttpError::Failed
}
