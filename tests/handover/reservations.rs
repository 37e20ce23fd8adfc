//! What the pack tells whoever accepts the work before they sign: each rule by a record that breaks it.

use cladlog::day::Book;
use cladlog::handover::{Album, Document, Reservation};
use cladlog::moment::Moment;
use cladlog::record::Store;
use serde_json::Value;

use super::story::Story;
use crate::harness::root;
use crate::harness::site::Site;

/// The demonstration's pack as JSON gives it.
fn reservations(site: &Site) -> Vec<Value> {
    site.ok("pack pack --interim --replace")["reservations"].as_array().unwrap().clone()
}

fn of_kind<'r>(all: &'r [Value], kind: &str) -> Vec<&'r Value> {
    all.iter().filter(|one| one["sort"] == kind).collect()
}

/// The invented job at the end of its last day.
fn demo() -> Site {
    let site = Site::folder("2026-03-05T17:00:00+13:00", "");
    site.bare(["demo", "out"]).exits(0);
    site.beside("out/demo", "Mere Tahana")
}

#[test]
fn the_demonstration_has_one_of_nearly_every_kind() {
    let site = demo();
    let all = reservations(&site);
    for kind in [
        "concession",
        "not-confirmed",
        "redo",
        "rain",
        "second-batch",
        "photo",
        "photo-position",
        "basis",
        "product",
        "extra",
        "at-once",
        "late",
    ] {
        assert!(!of_kind(&all, kind).is_empty(), "{kind}: {all:#?}");
    }
    let redo: Vec<&str> = of_kind(&all, "redo").iter().filter_map(|one| one["subject"].as_str()).collect();
    assert_eq!(redo, ["N/J3", "W/J1..2"]);
    let rain: Vec<&str> = of_kind(&all, "rain").iter().filter_map(|one| one["subject"].as_str()).collect();
    assert_eq!(rain, ["N/J1..2"]);
    assert!(of_kind(&all, "concession")[0]["entry"].is_string());
    // The camera of the demonstration gives seven of its eight photos one position, on all four walls.
    let position = of_kind(&all, "photo-position")[0]["what"].as_str().unwrap();
    assert!(position.starts_with("7 photos of 4 parts"), "{position}");
}

#[test]
fn the_pack_says_how_many_there_are_and_lists_each() {
    let site = demo();
    let all = reservations(&site);
    let html = site.read("pack/handover.html");
    assert!(html.contains(&format!("COMPLETE, WITH {} RESERVATIONS", all.len())));
    for one in &all {
        let what = one["what"].as_str().unwrap().split('\'').next().unwrap();
        assert!(html.contains(what), "{what}");
    }
}

fn of(book: &Book, made_at: Moment) -> Vec<Reservation> {
    Document::of(book, made_at, &Album::default(), None).reservations.clone()
}

#[test]
fn what_is_said_for_others_becomes_a_reservation_after_two_evenings() {
    let store = Store::read(&root().join("demo-db/demo.db")).unwrap();
    let book = Book::open(store.entries("fernside").unwrap()).unwrap();
    let subjects = |made_at: Moment| -> Vec<String> {
        let all = of(&book, made_at);
        let said = all.iter().filter(|one| one.kind == "not-confirmed");
        said.map(|one| one.subject.clone().unwrap_or_default()).collect()
    };
    let last = book.state.last_recorded().unwrap();
    assert_eq!(subjects(last), ["NW", "N, E, S, W", "W"]);
    // No site day has ended since the cladding was accepted but that day itself.
    assert_eq!(subjects(last + chrono::TimeDelta::days(2)), ["NW", "N, E, S, W", "W"]);
}

#[test]
fn a_job_just_begun_has_no_reservations_but_its_papers_and_its_open_day() {
    let story = Story::begun();
    let book = Book::open(Store::read(&story.path("job.db")).unwrap().entries("shed").unwrap()).unwrap();
    let all = of(&book, book.state.last_recorded().unwrap());
    let kinds: Vec<&str> = all.iter().map(|one| one.kind).collect();
    assert_eq!(kinds, ["papers", "day"], "{all:#?}");
}
