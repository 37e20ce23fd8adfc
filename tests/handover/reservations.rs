//! What is taken over with a job all the same: each rule finds its case in the demonstration's record, where people who
//! read its pack had found it, and is silent where there is nothing to find.

use cladlog::day::Book;
use cladlog::handover::{Album, Document, Reservation};
use cladlog::moment::Moment;
use cladlog::record::Store;

use super::story::Story;
use crate::harness::root;

fn of(book: &Book, made_at: Moment) -> Vec<Reservation> {
    Document::of(book, made_at, &Album::default(), None).reservations.clone()
}

fn demo() -> (Book, Moment) {
    let store = Store::read(&root().join("demo-db/demo.db")).unwrap();
    let book = Book::open(store.entries(&store.jobs().unwrap()[0].key).unwrap()).unwrap();
    let last = book.state.last_recorded().unwrap();
    (book, last)
}

fn story_book(story: &Story) -> Book {
    Book::open(Store::read(&story.path("job.db")).unwrap().entries("shed").unwrap()).unwrap()
}

/// Those whose words begin so.
fn begin<'r>(all: &'r [Reservation], words: &str) -> Vec<&'r Reservation> {
    all.iter().filter(|one| one.what.starts_with(words)).collect()
}

#[test]
fn each_rule_finds_what_readers_found_in_the_demonstration() {
    let (book, last) = demo();
    let all = of(&book, last);
    let subject = |words: &str| -> Vec<String> {
        begin(&all, words).iter().map(|one| one.subject.clone().unwrap_or_default()).collect()
    };
    assert_eq!(begin(&all, "Defect 2 was accepted as it is").len(), 1, "{all:#?}");
    assert!(begin(&all, "Defect 2 was accepted as it is")[0].entry.is_some());
    assert_eq!(subject("Primed again").len(), 3, "W/J1, W/J2 and N/J3: {all:#?}");
    assert_eq!(subject("Rain 13 min after it was gunned"), ["N/J1..2"], "{all:#?}");
    assert_eq!(begin(&all, "Neither delivery nor use is recorded of").len(), 1, "{all:#?}");
    assert_eq!(begin(&all, "Extra work is on no drawing").len(), 1, "{all:#?}");
    assert!(all.iter().any(|one| one.what.contains("not judged by a figure of the maker")), "{all:#?}");
    assert!(all.iter().any(|one| one.what.starts_with("20 steps or more were recorded within one minute")), "{all:#?}");
    assert!(all.iter().filter(|one| one.what.contains(".jpg: ")).count() >= 2, "flagged photos: {all:#?}");
    assert!(all.iter().any(|one| one.what.contains("side by side in daylight")), "two batches on a wall: {all:#?}");
}

#[test]
fn what_is_said_for_others_becomes_a_reservation_after_two_evenings() {
    let (book, last) = demo();
    let unconfirmed = |made_at: Moment| {
        let all = of(&book, made_at);
        all.iter().filter(|one| one.what.starts_with("Not confirmed by")).count()
    };
    let (first, later) = (unconfirmed(last), unconfirmed(last + chrono::TimeDelta::days(2)));
    assert!(first < later, "{first} {later}");
    // Five releases, a concession and what was closed: all are by others than the lead who typed them.
    let said = of(&book, last + chrono::TimeDelta::days(2));
    assert!(said.iter().filter(|one| one.what.contains("released by")).count() >= 5, "{said:#?}");
    assert!(said.iter().any(|one| one.what.contains("conceded by")), "{said:#?}");
}

#[test]
fn a_job_just_begun_has_no_reservations_but_its_papers() {
    let story = Story::begun();
    let book = story_book(&story);
    let all = of(&book, book.state.last_recorded().unwrap());
    assert!(all.iter().all(|one| one.what.starts_with("The job lists no copy of")), "{all:#?}");
    assert_eq!(all.len(), 1);
}

#[test]
fn pack_gives_them_and_the_first_page_says_how_many() {
    let story = Story::done();
    let made = story.json(["pack", "pack"]);
    let reservations = made["reservations"].as_array().unwrap();
    assert!(!reservations.is_empty() && reservations[0]["what"].is_string(), "{made}");
    let page = std::fs::read_to_string(story.path("pack/handover.html")).unwrap();
    let verdict = page.find(&format!("COMPLETE, WITH {} RESERVATION", reservations.len())).unwrap();
    assert!(verdict < page.find("id=\"reservations\"").unwrap());
    assert!(page.find("id=\"reservations\"").unwrap() < page.find("id=\"glance\"").unwrap());
    story.run(["verify", "pack"]).exits(0);
}
