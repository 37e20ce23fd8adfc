//! Forms as phones send them: read within limits, with the token of their session, their photos streamed to files that go
//! away by themselves.

use std::io::Write;
use std::sync::Arc;
use std::time::Instant;

use axum::RequestPartsExt;
use axum::body::{Body, HttpBody, to_bytes};
use axum::extract::multipart::Field;
use axum::extract::{FromRequest, Multipart, Request};
use axum::http::header::{CONTENT_LENGTH, CONTENT_TYPE};
use axum::http::{HeaderMap, StatusCode};
use tempfile::NamedTempFile;
use tokio::time::timeout;

use super::app::App;
use super::context::Typed;
use super::http_error::{HttpError, wants_json};
use super::limits::{FORM, MOST_FIELDS, MOST_FORM, MOST_PHOTO, MOST_PHOTOS, MOST_UPLOAD, PIECE, UPLOAD};
use super::phones::FormToken;
use super::session::{Session, check_origin};
use crate::day::Photo;
use crate::digest::sha256_hex;
use crate::plain::is_hidden;

/// Fields whose text may have lines: what people write in sentences, and a public key.
const PROSE: [&str; 6] = ["why", "text", "note", "reason", "talk", "public"];

/// The longest id of a request.
const MOST_ID: usize = 100;

/// A form that was sent by a page of its session.
pub struct Form {
    /// Who sent it.
    pub session: Session,
    /// Its fields.
    pub typed: Typed,
    /// Its photos, each with the name of its field.
    pub photos: Vec<(String, Upload)>,
    /// Whether a script sent it, which takes JSON.
    pub as_json: bool,
    /// Its id.
    pub request_id: String,
    /// What tells it from another of the same id: SHA-256 of all that it says.
    pub sha256: String,
}

/// A photo that was sent: looked over, in a file that goes away with this.
pub struct Upload {
    /// What is known of it.
    pub photo: Photo,
    _file: NamedTempFile,
}

impl FromRequest<Arc<App>> for Form {
    type Rejection = HttpError;

    async fn from_request(request: Request, app: &Arc<App>) -> Result<Self, HttpError> {
        let (path, as_json) = (request.uri().path().to_owned(), wants_json(&request));
        let (mut parts, body) = request.into_parts();
        let session: Session = parts.extract_with_state(app).await?;
        may_record(&session, &parts.headers, app)?;
        let in_header = token_in_header(&parts.headers, &session.token)?;
        let (typed, photos) = if is_of(&parts.headers, "multipart/form-data") {
            check_length(&parts.headers, MOST_UPLOAD)?;
            let multipart = Multipart::from_request(Request::from_parts(parts, body), app).await;
            let multipart = multipart.map_err(|_| HttpError::wrong("this form can't be read"))?;
            let _turn = app.uploads.acquire().await;
            timeout(UPLOAD, with_photos(multipart, &session, in_header)).await.map_err(|_| HttpError::TooSlow)??
        } else if !parts.headers.contains_key(CONTENT_TYPE)
            || is_of(&parts.headers, "application/x-www-form-urlencoded")
        {
            (fields(&read(&parts.headers, body).await?)?, Vec::new())
        } else {
            return Err(HttpError::Type);
        };
        check_fields(&typed)?;
        if !in_header && !typed.get("token").is_some_and(|token| session.token.is(token)) {
            return Err(WITHOUT_TOKEN);
        }
        let request_id = id_of_request(typed.get("request_id"))?;
        let photos = looked_over(photos, &session, app).await?;
        let sha256 = digest(&path, &typed, &photos);
        Ok(Self { session, typed, photos, as_json, request_id, sha256 })
    }
}

/// A form was sent without the token of its session.
const WITHOUT_TOKEN: HttpError =
    HttpError::Forbidden("This form is out of date. Load the page again. Nothing was recorded.");

/// Insists that a request that is to record something comes from a page of ours, and not too often.
///
/// # Errors
/// [`HttpError::Forbidden`], [`HttpError::TooOften`].
pub fn may_record(session: &Session, headers: &HeaderMap, app: &App) -> Result<(), HttpError> {
    check_origin(headers, app.plain)?;
    app.recording.take(&session.phone.id, Instant::now()).map_err(HttpError::TooOften)
}

/// Whether the token of a session is in the header for it.
///
/// # Errors
/// [`HttpError::Forbidden`] where it is another.
fn token_in_header(headers: &HeaderMap, token: &FormToken) -> Result<bool, HttpError> {
    match headers.get("x-form-token") {
        None => Ok(false),
        Some(given) if given.to_str().is_ok_and(|given| token.is(given)) => Ok(true),
        Some(_) => Err(WITHOUT_TOKEN),
    }
}

/// Insists on the token of a session in the header for it.
///
/// # Errors
/// [`HttpError::Forbidden`].
pub fn need_token_in_header(headers: &HeaderMap, token: &FormToken) -> Result<(), HttpError> {
    if token_in_header(headers, token)? { Ok(()) } else { Err(WITHOUT_TOKEN) }
}

/// The id of a request as it is taken.
///
/// # Errors
/// [`HttpError::Wrong`] where there is none, or an endless one.
pub fn id_of_request(given: Option<&str>) -> Result<String, HttpError> {
    match given {
        Some(id) if id.len() <= MOST_ID && !id.chars().any(is_hidden) => Ok(id.to_owned()),
        Some(_) => Err(HttpError::wrong(format!("request_id is longer than {MOST_ID} bytes or can't be read"))),
        None => Err(HttpError::wrong("request_id is missing")),
    }
}

/// Whether a body is said to be of this type.
fn is_of(headers: &HeaderMap, wanted: &str) -> bool {
    let kind = headers.get(CONTENT_TYPE).and_then(|value| value.to_str().ok());
    let kind = kind.map(|kind| kind.split(';').next().unwrap_or_default().trim());
    kind.is_some_and(|kind| kind.eq_ignore_ascii_case(wanted))
}

fn check_length(headers: &HeaderMap, most: usize) -> Result<(), HttpError> {
    let length = headers.get(CONTENT_LENGTH).and_then(|value| value.to_str().ok()?.parse::<u64>().ok());
    if length.is_some_and(|length| length > most as u64) { Err(HttpError::TooLarge) } else { Ok(()) }
}

/// Reads a small body.
///
/// # Errors
/// [`HttpError::TooLarge`], [`HttpError::TooSlow`].
pub async fn read(headers: &HeaderMap, body: Body) -> Result<Vec<u8>, HttpError> {
    check_length(headers, MOST_FORM)?;
    let is_known = body.size_hint().exact().is_some();
    match timeout(FORM, to_bytes(body, MOST_FORM)).await {
        Err(_) => Err(HttpError::TooSlow),
        Ok(Ok(bytes)) => Ok(bytes.into()),
        // What was announced and fits was broken off; what was not announced may have been too long.
        Ok(Err(_)) if is_known => Err(HttpError::wrong("this form was broken off")),
        Ok(Err(_)) => Err(HttpError::TooLarge),
    }
}

/// The fields of a form as browsers write them.
///
/// # Errors
/// [`HttpError::TooLarge`] where there are too many.
pub fn fields(bytes: &[u8]) -> Result<Typed, HttpError> {
    let fields: Vec<(String, String)> =
        form_urlencoded::parse(bytes).take(MOST_FIELDS + 1).map(|(name, text)| (name.into(), plain(&text))).collect();
    if fields.len() > MOST_FIELDS { Err(HttpError::TooLarge) } else { Ok(Typed(fields)) }
}

/// Browsers end lines with two characters.
fn plain(text: &str) -> String {
    text.replace("\r\n", "\n")
}

/// What can't be seen is taken into no record.
///
/// # Errors
/// [`HttpError::Wrong`], naming the field.
pub fn check_fields(typed: &Typed) -> Result<(), HttpError> {
    for (name, text) in &typed.0 {
        let prose = PROSE.contains(&name.as_str());
        let refused = |c: char| if prose { c.is_control() && !matches!(c, '\n' | '\t') } else { is_hidden(c) };
        if name.chars().any(is_hidden) || text.chars().any(refused) {
            let why = "a character that can't be seen is in it: nothing was recorded";
            return Err(HttpError::in_field(&crate::plain::visible(name), why));
        }
    }
    Ok(())
}

/// A photo as it came: the field, the name that the phone gives it, and the file.
type Received = (String, String, NamedTempFile);

async fn with_photos(
    mut multipart: Multipart,
    session: &Session,
    mut allowed: bool,
) -> Result<(Typed, Vec<Received>), HttpError> {
    let (mut typed, mut photos, mut bytes) = (Typed::default(), Vec::new(), 0);
    while let Some(field) = next(multipart.next_field()).await? {
        let name = field.name().unwrap_or_default().to_owned();
        if let Some(file) = field.file_name().map(name_of_file) {
            // Nothing is put on the disk for somebody who may not record anything.
            if !allowed {
                return Err(WITHOUT_TOKEN);
            }
            if photos.len() == MOST_PHOTOS {
                return Err(HttpError::wrong(format!("a form takes at most {MOST_PHOTOS} photos")));
            }
            // A field for a file in which none was chosen.
            if let Some(received) = received(field).await? {
                photos.push((name, file, received));
            }
        } else {
            let text = text(field, &mut bytes).await?;
            allowed |= name == "token" && session.token.is(&text);
            if typed.0.len() == MOST_FIELDS {
                return Err(HttpError::TooLarge);
            }
            typed.0.push((name, plain(&text)));
        }
    }
    Ok((typed, photos))
}

/// The next piece of a form, not waited for too long.
async fn next<T>(
    piece: impl Future<Output = Result<T, axum::extract::multipart::MultipartError>>,
) -> Result<T, HttpError> {
    let piece = timeout(PIECE, piece).await.map_err(|_| HttpError::TooSlow)?;
    piece.map_err(|error| match error.status() {
        StatusCode::PAYLOAD_TOO_LARGE => HttpError::TooLarge,
        _ => HttpError::wrong("this form was broken off, or can't be read"),
    })
}

async fn text(mut field: Field<'_>, bytes: &mut usize) -> Result<String, HttpError> {
    let mut text = Vec::new();
    while let Some(piece) = next(field.chunk()).await? {
        *bytes += piece.len();
        if *bytes > MOST_FORM {
            return Err(HttpError::TooLarge);
        }
        text.extend_from_slice(&piece);
    }
    Ok(String::from_utf8_lossy(&text).into_owned())
}

/// Streams a photo into a file of its own.
async fn received(mut field: Field<'_>) -> Result<Option<NamedTempFile>, HttpError> {
    let mut file = NamedTempFile::new().map_err(|_| HttpError::Failed)?;
    let mut bytes = 0;
    while let Some(piece) = next(field.chunk()).await? {
        bytes += piece.len() as u64;
        if bytes > MOST_PHOTO {
            return Err(HttpError::TooLarge);
        }
        file.write_all(&piece).map_err(|_| HttpError::Failed)?;
    }
    Ok((bytes > 0).then_some(file))
}

/// The name that a phone gives a file: for the record only, never a path.
fn name_of_file(given: &str) -> String {
    const MOST: usize = 120;
    let last = given.rsplit(['/', '\\']).next().unwrap_or_default();
    let name: String = last.chars().filter(|c| !is_hidden(*c)).take(MOST).collect();
    if name.trim().is_empty() { "photo".to_owned() } else { name }
}

/// Looks the photos over: each in turn, as a picture takes much memory while it is read.
async fn looked_over(
    received: Vec<Received>,
    session: &Session,
    app: &App,
) -> Result<Vec<(String, Upload)>, HttpError> {
    let zone = session.book.state.job.time_zone;
    let mut photos = Vec::with_capacity(received.len());
    for (field, name, file) in received {
        let looked = tokio::task::spawn_blocking(move || (Photo::looked_over(file.path(), name, zone), file)).await;
        let (looked, file) = looked.map_err(|error| {
            app.log(error);
            HttpError::Failed
        })?;
        let photo = looked.map_err(|error| HttpError::in_field(&field, error.to_string()))?;
        photos.push((field, Upload { photo, _file: file }));
    }
    Ok(photos)
}

/// SHA-256 of what a form says, without what is of the session or of this sending of it.
fn digest(path: &str, typed: &Typed, photos: &[(String, Upload)]) -> String {
    let said = typed.0.iter().filter(|(name, _)| !matches!(name.as_str(), "token" | "request_id" | "pressed_at"));
    let said: Vec<(&str, &str)> = said.map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let shown: Vec<(&str, &str)> =
        photos.iter().map(|(field, upload)| (field.as_str(), upload.photo.sha256.as_str())).collect();
    // As JSON, so that no two forms are written alike.
    sha256_hex(serde_json::json!([path, said, shown]).to_string().as_bytes())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_are_read_as_browsers_write_them() {
        let typed = fields(b"on=N%2FJ1..6&answer%3Alean=2+mm&why=one%0D%0Atwo&on=E&empty=+").unwrap();
        assert_eq!(typed.get("on"), Some("N/J1..6"));
        assert_eq!(typed.all("on").collect::<Vec<_>>(), ["N/J1..6", "E"]);
        assert_eq!(typed.get("answer:lean"), Some("2 mm"));
        assert_eq!(typed.get("why"), Some("one\ntwo"));
        assert_eq!(typed.get("empty"), None);
        assert!(fields("a=1&".repeat(MOST_FIELDS + 1).as_bytes()).is_err());
    }

    #[test]
    fn what_can_not_be_seen_is_taken_nowhere_and_lines_only_in_sentences() {
        let ok = |bytes: &[u8]| check_fields(&fields(bytes).unwrap()).is_ok();
        assert!(ok(b"why=one%0Atwo%09three&on=N") && ok("person=Zo\u{eb}".as_bytes()));
        for wrong in [&b"on=N%0A"[..], b"why=%1B[2J", b"on=N%E2%80%AE", b"a%00=1", b"person=%7F"] {
            assert!(!ok(wrong), "{wrong:?}");
        }
    }

    #[test]
    fn the_name_of_a_file_is_no_path() {
        assert_eq!(name_of_file("../../etc/passwd"), "passwd");
        assert_eq!(name_of_file("C:\\photos\\wall.jpg"), "wall.jpg");
        assert_eq!(name_of_file("a\u{202e}gpj.jpg\0"), "agpj.jpg");
        for none in ["", "/", "..\\", "\u{7f}"] {
            assert_eq!(name_of_file(none), "photo");
        }
        assert_eq!(name_of_file(&"x".repeat(1000)).len(), 120);
    }

    #[test]
    fn a_form_differs_by_what_it_says_alone() {
        let digest = |bytes: &[u8]| digest("/note", &fields(bytes).unwrap(), &[]);
        assert_eq!(digest(b"token=a&request_id=b&on=N&text=x"), digest(b"on=N&token=c&text=x"));
        // Sent again because no answer came, it says since when it waited.
        assert_eq!(digest(b"on=N&text=x"), digest(b"on=N&text=x&pressed_at=2026-03-02T08:00:00Z"));
        assert_ne!(digest(b"on=N&text=x"), digest(b"on=E&text=x"));
        assert_ne!(digest(b"a=b%2Cc"), digest(b"a=b&c="));
    }
}
