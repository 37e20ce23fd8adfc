//! The pages for paired phones: `GET`, and nothing changes by it.

use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::Response;
use axum::routing::{MethodRouter, get};
use serde::Deserialize;

use crate::record::EntryRun;
use crate::serve::app::App;
use crate::serve::context::{Notice, Typed};
use crate::serve::http_error::{self, HttpError};
use crate::serve::place::{Place, Screen};
use crate::serve::session::Session;

/// What may stand behind the path of a page.
#[derive(Debug, Default, Deserialize)]
pub struct Asked {
    /// What the phone is at: a wall, or any subject.
    on: Option<String>,
    /// The entries that the last form recorded.
    done: Option<String>,
}

impl Asked {
    /// What the phone is at.
    pub fn on(&self) -> Option<&str> {
        self.on.as_deref()
    }

    /// Whether it says what was recorded.
    pub fn says_done(&self) -> bool {
        self.done.is_some()
    }
}

type Page = Result<Response, HttpError>;
type Shared = State<Arc<App>>;

/// A page, with what was recorded last.
///
/// # Errors
/// [`HttpError::NoPage`].
pub fn show(place: &Place, session: &Session, app: &App, asked: &Asked) -> Page {
    let done = asked.done.as_deref().and_then(|entries| entries.parse().ok());
    let notice = done.filter(|run: &EntryRun| session.book.entry(&run.first).is_some()).map(Notice::Done);
    let page = place.page(session, app, asked.on.as_deref(), notice, Typed::default())?;
    Ok(http_error::page(StatusCode::OK, page))
}

/// A page that is found by its path alone.
pub fn screen(screen: Screen) -> MethodRouter<Arc<App>> {
    get(async move |State(app): Shared, session: Session, Query(asked): Query<Asked>| {
        show(&screen.into(), &session, &app, &asked)
    })
}

/// `GET /wall/KEY`
pub async fn wall(State(app): Shared, session: Session, Path(key): Path<String>, Query(asked): Query<Asked>) -> Page {
    show(&Place::Wall(key), &session, &app, &asked)
}

/// `GET /on/SUBJECT`
pub async fn on(State(app): Shared, session: Session, Path(id): Path<String>, Query(asked): Query<Asked>) -> Page {
    show(&Place::On(id), &session, &app, &asked)
}

/// `GET /step/STEP`. Answers may come along as the form has them: the page then says how each is judged, and nothing is
/// recorded.
pub async fn step(
    State(app): Shared,
    session: Session,
    Path(key): Path<String>,
    Query(fields): Query<Vec<(String, String)>>,
) -> Page {
    let typed = Typed(fields);
    let on = typed.get("on").map(str::to_owned);
    let page = Place::Step(key).page(&session, &app, on.as_deref(), None, typed)?;
    Ok(http_error::page(StatusCode::OK, page))
}

/// A path of ours, asked otherwise. A stranger isn't told that it is one.
pub async fn other_method(_: Session) -> HttpError {
    HttpError::Method
}

/// Any other path. A stranger isn't told which there are.
pub async fn none(_: Session) -> HttpError {
    HttpError::NoPage
}
