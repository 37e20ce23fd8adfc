//! The same for programs, as JSON: the page's own script, and whatever else holds a paired session.

use std::collections::BTreeMap;
use std::sync::Arc;

use axum::Json;
use axum::extract::{Query, Request, State};
use axum::response::Response;
use serde::{Deserialize, Serialize};
use serde_json::json;

use super::record::{json as json_text, recorded, time_of};
use crate::day::{self, RecordStep, Value, next_listed, windows_listed};
use crate::digest::sha256_hex;
use crate::handover::graded_holds;
use crate::journal::Sent;
use crate::plain::is_hidden;
use crate::record::Entry;
use crate::serve::app::App;
use crate::serve::form::{id_of_request, may_record, need_token_in_header, read};
use crate::serve::http_error::HttpError;
use crate::serve::session::Session;
use crate::serve::wanted::{alone, given};
use crate::table::Row;

type Shared = State<Arc<App>>;
type Answer = Result<Json<serde_json::Value>, HttpError>;

/// `GET /api/token`: what a request that changes something carries in its header `x-form-token`.
pub async fn token(session: Session) -> Json<serde_json::Value> {
    Json(json!({ "token": session.token.as_str() }))
}

/// `GET /api/head`: the head code of the book that this server writes, and the book's device.
pub async fn head(State(app): Shared, session: Session) -> Json<serde_json::Value> {
    let book = &session.book;
    let head = book.head().map(Entry::head_code);
    Json(json!({ "head": head, "device": book.state.device(), "now": app.now(book) }))
}

/// `GET /api/next?on=N`: what `next --json` gives.
pub async fn next(State(app): Shared, session: Session, Query(asked): Query<On>) -> Answer {
    let (state, now) = (&session.book.state, app.now(&session.book));
    let mut actions = day::next(state, now);
    if let Some(on) = &asked.on {
        let on = state.subjects.parse(on).map_err(|error| HttpError::in_field("on", error.to_string()))?;
        let on = state.subjects.with_parts(&on);
        actions.retain(|action| on.contains(&action.subject));
    }
    Ok(Json(next_listed(state, &actions, now)))
}

/// `GET /api/windows`: what `window list --json` gives.
pub async fn windows(State(app): Shared, session: Session) -> Answer {
    Ok(Json(windows_listed(&session.book.state, app.now(&session.book))))
}

/// `GET /api/holds`: what `hold list --json` gives.
pub async fn holds(session: Session) -> Answer {
    let holds = graded_holds(&session.book);
    Ok(Json(json!({ "holds": holds.iter().map(Row::json).collect::<Vec<_>>() })))
}

/// What the actions are wanted on.
#[derive(Deserialize)]
pub struct On {
    on: Option<String>,
}

/// What `POST /api/record` takes.
#[derive(Deserialize, Serialize)]
struct Record {
    request_id: String,
    step: String,
    on: String,
    #[serde(default)]
    answers: BTreeMap<String, String>,
    #[serde(default)]
    began: Option<String>,
    #[serde(default)]
    happened_at: Option<String>,
    #[serde(default)]
    anyway: Option<String>,
}

/// Its fields; those that have to be there come first.
const FIELDS: [&str; 7] = ["request_id", "step", "on", "answers", "began", "happened_at", "anyway"];

impl Record {
    /// Reads the document; what is wrong is named by its field.
    fn read(bytes: &[u8]) -> Result<Self, HttpError> {
        let document = serde_json::from_slice(bytes).map_err(|error| {
            let (line, column) = (error.line(), error.column());
            HttpError::wrong(format!("this is not JSON: look at line {line}, column {column}"))
        })?;
        let serde_json::Value::Object(fields) = &document else {
            return Err(HttpError::wrong(format!("send one JSON object with the fields {}", FIELDS.join(", "))));
        };
        for (name, value) in fields {
            let why = match (name.as_str(), value) {
                ("answers", value) if value.as_object().is_some_and(|all| all.values().all(|it| it.is_string())) => {
                    continue;
                }
                ("answers", _) => "answers is an object of texts, such as {\"lean\": \"2\"}".to_owned(),
                (known, value) if FIELDS.contains(&known) && value.is_string() => continue,
                // What may be left out may be null.
                (known, value) if FIELDS[4..].contains(&known) && value.is_null() => continue,
                (known, _) if FIELDS.contains(&known) => format!("{known} is text, in quotes"),
                (other, _) => format!("there is no field '{other}'; the fields are {}", FIELDS.join(", ")),
            };
            return Err(HttpError::in_field(name, why));
        }
        if let Some(missing) = FIELDS[..3].iter().find(|name| !fields.contains_key(**name)) {
            return Err(HttpError::in_field(missing, format!("{missing} is missing")));
        }
        serde_json::from_value(document).map_err(|error| HttpError::wrong(error.to_string()))
    }

    /// Refuses what can't be seen; only a reason has lines.
    fn check(&self) -> Result<(), HttpError> {
        let words = [&self.step, &self.on].into_iter().chain(&self.began).chain(&self.happened_at);
        let hidden = words.chain(self.answers.keys()).chain(self.answers.values()).any(|text| text.contains(is_hidden));
        let why = |c: char| c.is_control() && !matches!(c, '\n' | '\t');
        if hidden || self.anyway.as_ref().is_some_and(|text| text.contains(why)) {
            return Err(HttpError::wrong("a character that can't be seen is in it: nothing was recorded"));
        }
        Ok(())
    }
}

/// `POST /api/record`
pub async fn record(State(app): Shared, session: Session, request: Request) -> Result<Response, HttpError> {
    let (parts, body) = request.into_parts();
    may_record(&session, &parts.headers, &app)?;
    need_token_in_header(&parts.headers, &session.token)?;
    let bytes = read(&parts.headers, body).await?;
    let asked = Record::read(&bytes)?;
    asked.check()?;
    let request = id_of_request(Some(asked.request_id.as_str()).filter(|id| !id.is_empty()))?;
    let said = serde_json::to_vec(&asked).map_err(|error| HttpError::wrong(error.to_string()))?;
    let sent = Sent { phone: session.phone.id.clone(), request, sha256: sha256_hex(&said) };
    let (now, zone) = (app.now(&session.book), session.book.state.job.time_zone);
    let at = asked.happened_at.as_deref().map(|text| time_of(text, "happened_at", now, zone)).transpose()?;
    let answers = asked.answers.into_iter().map(|(name, text)| given(&name, Value::Typed(text))).collect();
    let step = RecordStep { step: asked.step, subject: asked.on, answers, began: asked.began, anyway: asked.anyway };
    let answer = recorded(&app, &session, sent, alone(step), at).await?;
    Ok(json_text(answer.json))
}
