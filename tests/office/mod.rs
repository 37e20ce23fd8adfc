//! The office: a real PostgreSQL, crews with the real program, and psql trying what it may not.

mod board;
mod crews;
mod faults;
mod forks;
mod objects;
mod postgres;
mod roles;
mod said;
mod tls;
mod work;

use std::path::Path;

use serde_json::Value;

use crate::harness::site::Site;
use postgres::Office;

const MONDAY: &str = "2026-03-02T07:00:00+13:00";

/// A site of one wall, set up, with a day open.
fn small(key: &str) -> Site {
    let job = crate::rules::site::FULL.replace("key = \"test\"", &format!("key = \"{key}\""));
    let site = Site::set_up(MONDAY, &job, "tests/rules/full.toml").beside("job", "Lea");
    site.open_day(&["Lea", "Ivo"]);
    site
}

/// `office …` as the owner on this site's file.
#[track_caller]
fn office(site: &Site, office: &Office, words: &[&str]) -> Value {
    office_as(site, office, "postgres", words)
}

/// The same as a login.
#[track_caller]
fn office_as(site: &Site, office: &Office, login: &str, words: &[&str]) -> Value {
    let url = office.url_of(login);
    site.ok(&[&["office", "--server", &url][..], words].concat()[..])
}

/// What `export` writes of a site.
fn exported(site: &Site) -> String {
    let name = "exported.jsonl";
    let _ = std::fs::remove_file(site.path(name));
    site.ok(["export", name].as_slice());
    site.read(name)
}

/// What `office pull` writes.
fn pulled(site: &Site, of: &Office, login: &str, job: &str) -> String {
    let name = "pulled.jsonl";
    let _ = std::fs::remove_file(site.path(name));
    office_as(site, of, login, &["pull", "--job", job, name]);
    std::fs::read_to_string(Path::new(&site.path(name))).unwrap()
}
