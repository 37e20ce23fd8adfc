//! A key that is made on the phone and never leaves it: with it its person signs what was recorded in their name.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Response;

use super::record::{json, record};
use crate::digest::from_hex;
use crate::handover::{SignatureError, check_signature};
use crate::record::{ConfirmSaying, Confirmed, EntryId};
use crate::serve::app::App;
use crate::serve::form::Form;
use crate::serve::http_error::{HttpError, phones_failed};
use crate::serve::place::Screen;
use crate::serve::wanted::{Wanted, alone};

/// The longest public key, PEM.
const MOST_KEY: usize = 1000;

/// `POST /key`: the public key of the phone (`public`, PEM, Ed25519). It is kept beside the phone, and stands in the record
/// with each signature.
pub async fn key(State(app): State<Arc<App>>, form: Form) -> Result<Response, HttpError> {
    let public = form.typed.get("public").ok_or_else(|| HttpError::in_field("public", "public is missing"))?;
    let public = pem(public).ok_or_else(|| HttpError::in_field("public", "public is no Ed25519 public key (PEM)"))?;
    app.phones.set_key(&form.session.phone.id, &public).map_err(phones_failed(|error| app.log(error)))?;
    Ok(json("{}".to_owned()))
}

/// `POST /saying`: a signature (`signature`, hex) over the hash of an `entry` that is in this person's name.
pub async fn saying(State(app): State<Arc<App>>, form: Form) -> Response {
    let wanted = signed(&form);
    record(&app, form, Screen::Holds, wanted).await
}

fn signed(form: &Form) -> Result<Wanted, HttpError> {
    let wrong = |field: &str, why: &str| HttpError::in_field(field, why);
    let id = form.typed.get("entry").and_then(|id| id.parse::<EntryId>().ok());
    let entry = id.as_ref().and_then(|id| form.session.book.entry(id));
    let entry = entry.ok_or_else(|| wrong("entry", "there is no such entry"))?;
    if entry.body.in_the_name_of() != Some(form.session.phone.person.as_str()) {
        return Err(wrong("entry", "this entry is not a release or a refusal in your name"));
    }
    let public = form.session.phone.public_key.clone();
    let public = public.ok_or_else(|| wrong("signature", "this phone has no key yet"))?;
    let signature = form.typed.get("signature").unwrap_or_default().to_lowercase();
    let fits = from_hex(&signature)
        .is_some_and(|bytes| check_signature(entry.hash.as_bytes(), &bytes, public.as_bytes()).is_ok());
    if !fits {
        return Err(wrong("signature", "this is not a signature of that entry by this phone's key"));
    }
    Ok(alone(ConfirmSaying { entry: entry.id(), how: Confirmed::OwnKey { public, signature } }))
}

/// A public key as PEM with lines as they should be; browsers send it in one field.
fn pem(given: &str) -> Option<String> {
    const HEAD: &str = "-----BEGIN PUBLIC KEY-----";
    const FOOT: &str = "-----END PUBLIC KEY-----";
    let inside = given.trim().strip_prefix(HEAD)?.strip_suffix(FOOT)?;
    let inside: String = inside.chars().filter(|c| !c.is_whitespace()).collect();
    let pem = format!("{HEAD}\n{inside}\n{FOOT}\n");
    // Only what is a key at all is kept: a signature that fits nothing is refused as such, a wrong key as a key.
    let is_key = check_signature(b"", &[0; 64], pem.as_bytes()) == Err(SignatureError::Signature);
    (given.len() <= MOST_KEY && is_key).then_some(pem)
}
