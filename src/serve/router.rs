//! Every path, and what all answers have in common.

use std::sync::Arc;

use axum::Router;
use axum::extract::{DefaultBodyLimit, Request};
use axum::http::header::{self, HeaderName, HeaderValue};
use axum::middleware::{Next, from_fn};
use axum::response::Response;
use axum::routing::{get, post};
use strum::VariantArray;

use super::app::App;
use super::handlers::{api, assets, changes, forms, keys, pages, pair, photo, seal_plan};
use super::http_error::{HttpError, wants_json};
use super::limits::MOST_UPLOAD;
use super::place::Screen;

/// What every answer says of how it may be used. The server's own style and scripts only; no other page may show it, and
/// no other server hears where its links lead from. With no referrer at all, browsers send forms with the origin `null`.
const HEADERS: [(HeaderName, &str); 7] = [
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; object-src 'none'",
    ),
    (header::REFERRER_POLICY, "same-origin"),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    (header::CACHE_CONTROL, "no-store"),
];

/// The table of contents.
pub fn router(app: Arc<App>) -> Router {
    let screens = Screen::VARIANTS.iter().fold(Router::new(), |router, screen| {
        let page = if *screen == Screen::SealPlan { get(seal_plan::look) } else { pages::screen(*screen) };
        router.route(screen.path(), page)
    });
    screens
        .route("/wall/{key}", get(pages::wall))
        .route("/on/{*subject}", get(pages::on))
        .route("/step/{key}", get(pages::step))
        .route("/stock", post(forms::stock))
        .route("/extra", post(forms::extra))
        .route("/sealplan", post(seal_plan::plan))
        .route("/record", post(forms::record_step))
        .route("/reading", post(forms::reading))
        .route("/caution", post(forms::caution))
        .route("/hold", post(forms::hold))
        .route("/defect", post(forms::defect))
        .route("/photo", post(forms::photo))
        .route("/photo/{sha256}", get(photo::photo))
        .route("/undo", post(forms::undo))
        .route("/stoppage", post(forms::stoppage))
        .route("/note", post(forms::note))
        .route("/day", post(forms::day))
        .route("/key", post(keys::key))
        .route("/saying", post(keys::saying))
        .route("/api/token", get(api::token))
        .route("/api/next", get(api::next))
        .route("/api/windows", get(api::windows))
        .route("/api/holds", get(api::holds))
        .route("/api/head", get(api::head))
        .route("/api/record", post(api::record))
        .route("/api/changes", get(changes::changes))
        .route("/pair/{code}", get(pair::page).post(pair::pair))
        .route("/style.css", get(assets::style))
        .route("/script.js", get(assets::script))
        .route("/worker.js", get(assets::worker))
        .route("/icon.svg", get(assets::icon))
        .fallback(pages::none)
        .method_not_allowed_fallback(pages::other_method)
        .layer(from_fn(dress))
        .layer(DefaultBodyLimit::max(MOST_UPLOAD))
        .with_state(app)
}

/// Gives an answer its headers, and an error its page or its JSON.
async fn dress(request: Request, next: Next) -> Response {
    let (path, as_json) = (request.uri().path().to_owned(), wants_json(&request));
    let mut response = next.run(request).await;
    if let Some(error) = response.extensions_mut().remove::<HttpError>() {
        response = error.answer(&path, as_json);
    }
    for (name, value) in HEADERS {
        response.headers_mut().entry(name).or_insert(HeaderValue::from_static(value));
    }
    response
}
