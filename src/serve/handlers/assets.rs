//! The style and the scripts: compiled in, so that no path leads from a request to the file system.

use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::IntoResponse;

use crate::serve::session::Session;

/// `GET /style.css`
pub async fn style() -> impl IntoResponse {
    file("text/css; charset=utf-8", include_str!("../assets/style.css"))
}

/// `GET /script.js`
pub async fn script() -> impl IntoResponse {
    file("text/javascript; charset=utf-8", include_str!("../assets/script.js"))
}

/// `GET /worker.js`
pub async fn worker() -> impl IntoResponse {
    file("text/javascript; charset=utf-8", include_str!("../assets/worker.js"))
}

/// `GET /icon.svg`. Only pages of paired phones name it.
pub async fn icon(_: Session) -> impl IntoResponse {
    file("image/svg+xml", include_str!("../assets/icon.svg"))
}

/// Asked for anew each time: another version of the program has another one.
fn file(kind: &'static str, text: &'static str) -> impl IntoResponse {
    ([(CONTENT_TYPE, kind), (CACHE_CONTROL, "no-cache")], text)
}
