//! A photo of the record, as a small picture. It is found by its digest among those that the record names, and read by the
//! name that the digest gives: no path comes from the request.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};

use crate::day::photos;
use crate::photos::{Kept, SMALL_PX, small};
use crate::serve::app::App;
use crate::serve::http_error::HttpError;
use crate::serve::session::Session;

/// `GET /photo/SHA256`
pub async fn photo(
    State(app): State<Arc<App>>,
    session: Session,
    Path(sha256): Path<String>,
) -> Result<Response, HttpError> {
    let found = photos(&session.book).into_iter().find(|photo| photo.sha256 == sha256);
    let format = found.and_then(|photo| Some(photo.facts?.format)).ok_or(HttpError::NoPage)?;
    let kept = app.recorder.ask(|journal| Ok(Kept::beside(journal.store().path()))).await?;
    let place = kept.place(&sha256, format);
    let read = tokio::task::spawn_blocking(move || {
        let bytes = std::fs::read(&place).map_err(|error| format!("{}: {error}", place.display()))?;
        small(&bytes, SMALL_PX).map_err(|error| format!("{}: {error}", place.display()))
    });
    match read.await {
        Ok(Ok(Some(picture))) => {
            // The digest stands for these bytes and no others.
            let kept = [(CONTENT_TYPE, "image/jpeg"), (CACHE_CONTROL, "private, max-age=31536000, immutable")];
            Ok((kept, picture.jpeg.to_vec()).into_response())
        }
        Ok(Ok(None)) => Err(HttpError::NoPage),
        Ok(Err(why)) => {
            app.log(why);
            Err(HttpError::NoPage)
        }
        Err(error) => {
            app.log(error);
            Err(HttpError::Failed)
        }
    }
}
