//! Who sends a request. A handler that has no [`Session`] in its signature has no person either.

use std::sync::Arc;
use std::time::Instant;

use axum::extract::FromRequestParts;
use axum::http::HeaderMap;
use axum::http::header::{COOKIE, HOST, ORIGIN};
use axum::http::request::Parts;

use super::app::{App, Peer};
use super::context::{Notice, PageContext, Typed};
use super::http_error::{HttpError, phones_failed};
use super::phones::{FormToken, Phone, PlainToken, random_bytes};
use crate::day::Book;
use crate::digest::hex;

/// A person with their paired phone, and the book as it was when they asked.
#[derive(Clone)]
pub struct Session {
    /// The phone.
    pub phone: Phone,
    /// The roles of its person.
    pub roles: Vec<String>,
    /// What its forms carry.
    pub token: FormToken,
    /// The book.
    pub book: Arc<Book>,
}

impl FromRequestParts<Arc<App>> for Session {
    type Rejection = HttpError;

    async fn from_request_parts(parts: &mut Parts, app: &Arc<App>) -> Result<Self, HttpError> {
        match of_cookie(&parts.headers, app)? {
            Some(session) => {
                app.note_seen(&session.phone, app.now(&session.book));
                Ok(session)
            }
            None => {
                if let Some(Peer(from)) = parts.extensions.get() {
                    app.strangers.take(from, Instant::now()).map_err(HttpError::TooOften)?;
                }
                Err(HttpError::Unpaired)
            }
        }
    }
}

/// The session of the phone whose cookie this is.
///
/// # Errors
/// [`HttpError::Failed`].
pub fn of_cookie(headers: &HeaderMap, app: &App) -> Result<Option<Session>, HttpError> {
    let Some(token) = cookie(headers, app.cookie()).map(PlainToken::received) else { return Ok(None) };
    let found = app.phones.find(&app.job, &token.hashed()).map_err(phones_failed(|error| app.log(error)))?;
    let Some(phone) = found else { return Ok(None) };
    let book = app.recorder.book();
    // Whoever is no longer on the job records nothing.
    let Some(roles) = book.state.person(&phone.person).map(|person| person.roles.clone()) else { return Ok(None) };
    Ok(Some(Session { phone, roles, token: token.form_token(), book }))
}

impl Session {
    /// What a page is made for.
    ///
    /// # Errors
    /// [`HttpError::Failed`] where the system gives no random numbers.
    pub fn context(
        &self,
        app: &App,
        on: Option<&str>,
        notice: Option<Notice>,
        typed: Typed,
    ) -> Result<PageContext, HttpError> {
        let subjects = &self.book.state.subjects;
        let given = on.and_then(|on| subjects.parse(on).ok());
        let wall = given.and_then(|on| on.iter().find_map(|on| subjects.walls_of(*on).first().copied()));
        Ok(PageContext {
            person: self.phone.person.clone(),
            roles: self.roles.clone(),
            token: self.token.as_str().to_owned(),
            request_id: request_id(app)?,
            now: app.now(&self.book),
            wall,
            notice,
            typed,
            plain: app.plain,
            planning: app.plans.are_made(),
        })
    }
}

/// A new id for a request.
///
/// # Errors
/// [`HttpError::Failed`].
pub fn request_id(app: &App) -> Result<String, HttpError> {
    let bytes = random_bytes::<12>().map_err(|error| {
        app.log(error);
        HttpError::Failed
    })?;
    Ok(hex(&bytes))
}

/// The value of a cookie.
fn cookie<'h>(headers: &'h HeaderMap, name: &str) -> Option<&'h str> {
    let all = headers.get_all(COOKIE).iter().filter_map(|line| line.to_str().ok());
    all.flat_map(|line| line.split(';')).find_map(|one| one.trim().strip_prefix(name)?.strip_prefix('='))
}

/// Insists that a request that changes something was sent by a page of ours: browsers say with every POST where it comes
/// from.
///
/// # Errors
/// [`HttpError::Forbidden`].
pub fn check_origin(headers: &HeaderMap, plain: bool) -> Result<(), HttpError> {
    let text = |name| headers.get(name).and_then(|value| value.to_str().ok());
    let scheme = if plain { "http" } else { "https" };
    let own = text(HOST).map(|host| format!("{scheme}://{host}"));
    let is_own = own.zip(text(ORIGIN)).is_some_and(|(own, origin)| own.eq_ignore_ascii_case(origin));
    let site = headers.get("sec-fetch-site").map(|value| value.as_bytes());
    if is_own && site.is_none_or(|site| matches!(site, b"same-origin" | b"none")) {
        Ok(())
    } else {
        Err(HttpError::Forbidden("This was not sent by a page of this server. Nothing was recorded."))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers(all: &[(&'static str, &str)]) -> HeaderMap {
        all.iter().map(|(name, value)| (name.parse().unwrap(), value.parse().unwrap())).collect()
    }

    #[test]
    fn only_our_own_pages_may_send() {
        let host = ("host", "192.0.2.7:4433");
        let own = ("origin", "https://192.0.2.7:4433");
        assert!(check_origin(&headers(&[host, own]), false).is_ok());
        assert!(check_origin(&headers(&[host, own, ("sec-fetch-site", "same-origin")]), false).is_ok());
        for wrong in [
            &[host][..],
            &[own],
            &[host, ("origin", "null")],
            &[host, ("origin", "http://192.0.2.7:4433")],
            &[host, ("origin", "https://192.0.2.7")],
            &[host, ("origin", "https://192.0.2.7:4433.evil.example")],
            &[host, own, ("sec-fetch-site", "cross-site")],
            &[host, own, ("sec-fetch-site", "same-site")],
        ] {
            assert!(check_origin(&headers(wrong), false).is_err(), "{wrong:?}");
        }
        assert!(check_origin(&headers(&[host, ("origin", "http://192.0.2.7:4433")]), true).is_ok());
    }

    #[test]
    fn a_cookie_is_found_by_its_whole_name() {
        let sent = headers(&[("cookie", "a=1; cladlogx=2; cladlog=3")]);
        assert_eq!(cookie(&sent, "cladlog"), Some("3"));
        assert_eq!(cookie(&headers(&[("cookie", "xcladlog=3")]), "cladlog"), None);
        assert_eq!(cookie(&headers(&[]), "cladlog"), None);
    }
}
