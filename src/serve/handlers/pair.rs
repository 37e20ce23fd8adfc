//! `/pair/CODE`: the only page for strangers. Whoever has the code says who they are.

use std::sync::Arc;
use std::time::Instant;

use axum::Extension;
use axum::extract::{Path, Request, State};
use axum::http::header::{LOCATION, SET_COOKIE};
use axum::http::{HeaderMap, StatusCode};

use axum::response::{IntoResponse, Response};

use crate::day;
use crate::digest::sha256_hex;
use crate::record::{ForgetPhone, PairPhone};
use crate::serve::app::{App, Peer};
use crate::serve::form::{fields, read};
use crate::serve::http_error::{self, HttpError, phones_failed, wants_json};
use crate::serve::pages;
use crate::serve::phones::{Phone, PlainToken, new_id};
use crate::serve::session::{check_origin, of_cookie, request_id};

/// How long a browser keeps the cookie: as long as any does, 400 days.
const KEPT_S: u32 = 400 * 24 * 60 * 60;

/// `GET /pair/CODE`
pub async fn page(
    State(app): State<Arc<App>>,
    Extension(peer): Extension<Peer>,
    Path(code): Path<String>,
    headers: HeaderMap,
) -> Result<Response, HttpError> {
    let code = PlainToken::received(&code);
    check_code(&app, peer, &code)?;
    let before = of_cookie(&headers, &app)?.map(|session| session.phone.person);
    let job = &app.recorder.book().state.job;
    let (action, token) = (format!("/pair/{}", code.reveal()), code.form_token());
    let page = pages::pair(&job.name, &job.people, before.as_deref(), &action, token.as_str(), &request_id(&app)?);
    Ok(http_error::page(StatusCode::OK, page))
}

/// `POST /pair/CODE`
pub async fn pair(
    State(app): State<Arc<App>>,
    Extension(peer): Extension<Peer>,
    Path(code): Path<String>,
    request: Request,
) -> Result<Response, HttpError> {
    let as_json = wants_json(&request);
    let (parts, body) = request.into_parts();
    check_origin(&parts.headers, app.plain)?;
    let code = PlainToken::received(&code);
    let typed = fields(&read(&parts.headers, body).await?)?;
    // Sent twice, by a double tap or over a poor network: the second waits for the first, and has the same answer.
    let mut pairings = app.pairings.lock().await;
    let form = sha256_hex(serde_json::json!([code.reveal(), typed.0]).to_string().as_bytes());
    let token = match pairings.made(&form) {
        Some(token) => token,
        None => {
            check_code(&app, peer, &code)?;
            if !typed.get("token").is_some_and(|token| code.form_token().is(token)) {
                return Err(HttpError::Forbidden("This form is out of date. Open the pairing page again."));
            }
            let person = typed.get("person").ok_or_else(|| HttpError::in_field("person", "say who you are"))?;
            if app.recorder.book().state.person(person).is_none() {
                return Err(HttpError::in_field("person", "pick one of the people of the job"));
            }
            let before = of_cookie(&parts.headers, &app)?.map(|session| session.phone);
            let token = paired(&app, peer, &code, person, before).await?;
            // Only the page that was shown knows the id of its form; without one, the next is another.
            if typed.get("request_id").is_some() {
                pairings.keep(form, token.clone());
            }
            token
        }
    };
    let secure = if app.plain { "" } else { "; Secure" };
    let cookie =
        format!("{}={}; Path=/; Max-Age={KEPT_S}; HttpOnly; SameSite=Strict{secure}", app.cookie(), token.reveal());
    Ok(if as_json {
        ([(SET_COOKIE, cookie)], axum::Json(serde_json::json!({ "person": typed.get("person") }))).into_response()
    } else {
        (StatusCode::SEE_OTHER, [(SET_COOKIE, cookie), (LOCATION, "/".to_owned())]).into_response()
    })
}

/// Whether a code is good. Wrong ones are slowed down, and then good ones of the same address as well.
fn check_code(app: &App, Peer(from): Peer, code: &PlainToken) -> Result<(), HttpError> {
    let now = Instant::now();
    app.wrong_codes.peek(&from, now).map_err(HttpError::TooOften)?;
    if app.phones.is_code(code).map_err(phones_failed(|error| app.log(error)))? {
        return Ok(());
    }
    app.wrong_codes.take(&from, now).map_err(HttpError::TooOften)?;
    Err(HttpError::WrongCode)
}

/// Pairs a phone: the code is taken, the entry recorded, the phone kept, in this order. Whatever fails, no phone is paired
/// without an entry. What the same browser was paired as before is forgotten: it has no token for it any more.
async fn paired(
    app: &Arc<App>,
    Peer(from): Peer,
    code: &PlainToken,
    person: &str,
    before: Option<Phone>,
) -> Result<PlainToken, HttpError> {
    let failed = |error: &dyn std::fmt::Display| {
        app.log(error);
        HttpError::Failed
    };
    let token = PlainToken::for_phone().map_err(|error| failed(&error))?;
    let id = new_id().map_err(|error| failed(&error))?;
    let taken = app.phones.take_code(code).map_err(|error| failed(&error))?;
    let Some(taken) = taken else {
        // Somebody was faster.
        app.wrong_codes.take(&from, Instant::now()).map_err(HttpError::TooOften)?;
        return Err(HttpError::WrongCode);
    };
    let request = PairPhone { phone: id.clone(), person: person.to_owned() };
    let now = app.now(&app.recorder.book());
    let forgotten = before.as_ref().map(|old| ForgetPhone { phone: old.id.clone(), person: old.person.clone() });
    let recorded = app.recorder.ask(move |journal| {
        let by = request.person.clone();
        let forgotten = forgotten.as_ref().map(|request| request as &dyn day::Request);
        let requests: Vec<&dyn day::Request> = [&request as &dyn day::Request].into_iter().chain(forgotten).collect();
        journal.record_all(&requests, &by, now, now)
    });
    if let Err(error) = recorded.await {
        app.phones.put_back(&taken).map_err(|error| failed(&error))?;
        return Err(error.into());
    }
    app.phones.add(&app.job, &id, person, &token.hashed(), now).map_err(|error| failed(&error))?;
    if let Some(old) = before {
        app.phones.forget(&app.job, &old.id).map_err(|error| failed(&error))?;
    }
    Ok(token)
}
