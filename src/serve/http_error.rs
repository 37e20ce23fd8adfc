//! Why a request is not answered as it hoped for: a status and a fixed sentence. Causes go to the log, never to a phone.

use std::time::Duration;

use axum::extract::Request;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde_json::{Value, json};

use super::pages;
use super::phones::PhonesError;
use super::recorder::RecordError;
use crate::day::{AnswerError, DecideError};
use crate::refusal::Refusal;

/// Why a request is not answered as it hoped for.
#[derive(Debug, Clone)]
pub enum HttpError {
    /// No paired phone sent it.
    Unpaired,
    /// It comes from another page than ours, or lacks the token of its session.
    Forbidden(&'static str),
    /// The pairing code is none, or none any more.
    WrongCode,
    /// Too often; how long to wait.
    TooOften(Duration),
    /// Too much.
    TooLarge,
    /// It came too slowly.
    TooSlow,
    /// Something in it is wrong.
    Wrong {
        /// The field, where that is known.
        field: Option<String>,
        /// Why.
        why: String,
    },
    /// There is no such page.
    NoPage,
    /// There is such a page, but not for this method.
    Method,
    /// Its body is no form.
    Type,
    /// A rule stops it.
    Refused(Box<Refusal>),
    /// Its id was used before, for something else.
    Reused,
    /// Too many ask at once.
    Busy,
    /// The machine failed.
    Failed,
}

impl HttpError {
    /// Something is wrong in a request.
    pub fn wrong(why: impl Into<String>) -> Self {
        Self::Wrong { field: None, why: why.into() }
    }

    /// Something is wrong in a field of a form.
    pub fn in_field(field: &str, why: impl Into<String>) -> Self {
        Self::Wrong { field: Some(field.to_owned()), why: why.into() }
    }

    /// Its status.
    pub fn status(&self) -> StatusCode {
        match self {
            Self::Unpaired => StatusCode::UNAUTHORIZED,
            Self::Forbidden(_) | Self::WrongCode => StatusCode::FORBIDDEN,
            Self::TooOften(_) => StatusCode::TOO_MANY_REQUESTS,
            Self::TooLarge => StatusCode::PAYLOAD_TOO_LARGE,
            Self::TooSlow => StatusCode::REQUEST_TIMEOUT,
            Self::Wrong { .. } => StatusCode::BAD_REQUEST,
            Self::NoPage => StatusCode::NOT_FOUND,
            Self::Method => StatusCode::METHOD_NOT_ALLOWED,
            Self::Type => StatusCode::UNSUPPORTED_MEDIA_TYPE,
            Self::Refused(_) | Self::Reused => StatusCode::CONFLICT,
            Self::Busy | Self::Failed => StatusCode::SERVICE_UNAVAILABLE,
        }
    }

    /// What the phone is told.
    fn sentence(&self) -> String {
        match self {
            Self::Unpaired => "This phone is not paired.".to_owned(),
            Self::Forbidden(why) => (*why).to_owned(),
            Self::WrongCode => "This pairing code is wrong, has been used, or is more than ten minutes old. \
                                On the laptop, get another: cladlog serve pair"
                .to_owned(),
            Self::TooOften(wait) => {
                let wait = wait.as_secs() + 1;
                format!("Too many attempts. Try again in {}.", crate::plain::count(wait, "second"))
            }
            Self::TooLarge => "This is too large. Nothing was recorded.".to_owned(),
            Self::TooSlow => "This took too long to arrive. Nothing was recorded.".to_owned(),
            Self::Wrong { why, .. } => why.clone(),
            Self::NoPage => "There is no such page.".to_owned(),
            Self::Method => "This page does not take that.".to_owned(),
            Self::Type => "This is not a form as browsers send them. Nothing was recorded.".to_owned(),
            Self::Refused(refusal) => refusal.to_string(),
            Self::Reused => "Something else was recorded under the same request_id. Load the page again.".to_owned(),
            Self::Busy => "Too much is being recorded at once. Nothing was recorded; try again.".to_owned(),
            Self::Failed => "The laptop can't do this now. Nothing was recorded; its screen says why.".to_owned(),
        }
    }

    fn json(&self, path: &str) -> Value {
        match self {
            // A program is told what the command says; the page's own script shows it to a person.
            Self::Refused(refusal) if path.starts_with("/api/") => json!({ "refused": refusal }),
            Self::Refused(refusal) => {
                let mut said = json!({ "refused": refusal });
                said["refused"]["clears"] = json!(refusal.clears.words);
                said
            }
            Self::Wrong { field: Some(field), why } => json!({ "error": why, "field": field }),
            other => json!({ "error": other.sentence() }),
        }
    }

    /// The answer to what was asked of a path, as a page or as JSON.
    pub fn answer(&self, path: &str, as_json: bool) -> Response {
        let status = self.status();
        let mut response = match self {
            _ if as_json => (status, axum::Json(self.json(path))).into_response(),
            Self::Unpaired => page(status, pages::unpaired()),
            other => page(status, pages::error_page(&other.sentence())),
        };
        if let Self::TooOften(wait) = self {
            response.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from(wait.as_secs() + 1));
        }
        response
    }
}

/// A page as an answer.
pub fn page(status: StatusCode, page: maud::Markup) -> Response {
    (status, axum::response::Html(page.into_string())).into_response()
}

/// Whoever dresses the answer knows whether a page or JSON is wanted.
impl IntoResponse for HttpError {
    fn into_response(self) -> Response {
        let mut response = self.status().into_response();
        response.extensions_mut().insert(self);
        response
    }
}

impl From<RecordError> for HttpError {
    fn from(error: RecordError) -> Self {
        match error {
            RecordError::Decide(error) => error.into(),
            RecordError::Reused => Self::Reused,
            RecordError::Busy => Self::Busy,
            RecordError::Failed => Self::Failed,
        }
    }
}

impl From<DecideError> for HttpError {
    fn from(error: DecideError) -> Self {
        match error {
            DecideError::Refused(refusal) => Self::Refused(refusal),
            DecideError::Input(why) => Self::wrong(why),
            error @ DecideError::NoHours(_) => Self::wrong(error.to_string()),
            DecideError::Field { field, why } => Self::in_field(field, format!("{}{why}", called(field))),
            DecideError::Answer(AnswerError::Missing { questions, .. }) => {
                let asks: Vec<&str> = questions.iter().map(|question| question.asks.as_str()).collect();
                let field = questions.first().map(|question| format!("answer:{}", question.key));
                Self::Wrong { field, why: format!("There is no answer yet to: {}", asks.join("; ")) }
            }
            DecideError::Answer(error) => Self::wrong(error.to_string()),
        }
    }
}

/// What the pages call a field of a request.
fn called(field: &str) -> &str {
    match field {
        "why" => "The reason",
        "how" => "How it was done",
        "what" | "text" => "What it is",
        "cause" => "What stopped it",
        "told" => "Who was notified",
        "asked-by" => "Who asked for it",
        "hours" => "The hours",
        "quantity" => "The quantity",
        "unit" => "The unit",
        "people" => "The number of people",
        "crew" => "Who is on site",
        "batch" | "BATCH" => "The batch number",
        "colour" => "The colour",
        "condition" => "What is damaged or wet",
        "note" => "The note",
        "expires" => "Use by",
        "count" => "How many",
        "on" => "Where it is",
        "began" => "When it was begun",
        other => other,
    }
}

/// The file of phones failed; its cause is for the log.
pub fn phones_failed(log: impl FnOnce(&PhonesError)) -> impl FnOnce(PhonesError) -> HttpError {
    move |error| {
        log(&error);
        HttpError::Failed
    }
}

/// Whether whoever asks is a program.
pub fn wants_json(request: &Request) -> bool {
    let accept = request.headers().get(header::ACCEPT).and_then(|value| value.to_str().ok());
    request.uri().path().starts_with("/api/") || accept.is_some_and(|accept| accept.contains("application/json"))
}
