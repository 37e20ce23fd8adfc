//! A key that is made on the phone: with it a person stands behind what is recorded in their name.

use cladlog::digest::hex;
use cladlog::handover::Signer;
use serde_json::{Value, json};

use super::server::{Phone, plain};
use crate::harness::site::Site;
use crate::rules::site::with_frame;

const EIGHT: &str = "2026-03-02T08:00:00+13:00";

/// What a phone signs with such a key.
fn signed(key: &Signer, text: &str) -> String {
    hex(&key.sign(text.as_bytes()))
}

fn confirmations(site: &Site) -> Vec<Value> {
    site.ok("confirm list")["confirmations"].as_array().unwrap().clone()
}

/// Releases the hold point of N on the inspector's own phone; gives the entry.
fn released(phone: &Phone) -> (String, String) {
    let mut head = phone.own_head();
    head.push(("Accept".to_owned(), "application/json".to_owned()));
    let fields = [
        ("token", phone.token.as_str()),
        ("request_id", "release"),
        ("key", "cover"),
        ("on", "N"),
        ("what", "release"),
        ("how", "on site"),
    ];
    let done = phone.ask("POST", "/hold", &head, super::server::form(&fields).as_bytes()).is(200).json();
    let text = |key: &str| done["entries"][0][key].as_str().unwrap().to_owned();
    (text("id"), text("hash"))
}

#[test]
fn a_release_is_confirmed_by_the_key_of_the_phone_it_was_given_on() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let (inspector, installer) = (server.first_phone("Ines"), server.phone(&site, "Ivo"));
    let (entry, hash) = released(&inspector);
    // That it was her phone is not yet her word.
    assert_eq!(confirmations(&site)[0]["grade"], "typed");
    let [key, another, his] = [7, 8, 9].map(|seed| Signer::from_seed(&[seed; 32]));
    let saying =
        |signature: &str, id: &str| inspector.send("/saying", id, &[("entry", &entry), ("signature", signature)]);
    // No key yet.
    saying(&signed(&key, &hash), "a").is(400);
    inspector.send("/key", "b", &[("public", &key.public_pem())]).is(200);
    // Another key, another text, no signature at all.
    saying(&signed(&another, &hash), "c").is(400);
    saying(&signed(&key, "something else"), "d").is(400);
    saying("00", "e").is(400);
    // Somebody else's key over it is not her word.
    installer.send("/key", "f", &[("public", &his.public_pem())]).is(200);
    installer.send("/saying", "g", &[("entry", &entry), ("signature", &signed(&his, &hash))]).is(400);
    assert_eq!(confirmations(&site)[0]["grade"], "typed");
    saying(&signed(&key, &hash), "h").is(303);
    let confirmed = &confirmations(&site)[0];
    assert_eq!((&confirmed["grade"], &confirmed["person"]), (&json!("own-key"), &json!("Ines")));
    assert_eq!(site.log().last().unwrap()["by"], "Ines");
    site.ok("verify");
}

#[test]
fn a_key_that_is_none_is_not_kept() {
    let site = with_frame(EIGHT);
    let server = plain(&site);
    let phone = server.first_phone("Ines");
    let good = Signer::from_seed(&[7; 32]).public_pem();
    let long = format!("-----BEGIN PUBLIC KEY-----\n{}\n-----END PUBLIC KEY-----", "A".repeat(5000));
    for wrong in ["", "x", good.replace("PUBLIC", "PRIVATE").as_str(), &good[..60], &long] {
        phone.send("/key", "a", &[("public", wrong)]).is(400);
    }
    // As browsers send it: lines end with two characters.
    phone.send("/key", "b", &[("public", &good.replace('\n', "\r\n"))]).is(200);
}
