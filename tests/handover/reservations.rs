//! What the pack tells whoever accepts the work before they sign: each rule by a record that breaks it.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

use cladlog::day::Book;
use cladlog::handover::{Album, Document, Locations, PackOptions, Reservation, ReservationKind, Signer, pack};
use cladlog::moment::Moment;
use cladlog::photos::Kept;
use cladlog::record::{Body, Entry, Store};
use serde_json::Value;

use super::story::{Story, copy};
use crate::harness::root;
use crate::harness::site::Site;

/// What packing the demonstration answers, its page and its measurements. Packed once, from the database that is kept.
struct Packed {
    reservations: Vec<Value>,
    html: String,
    measurements: String,
}

fn demo() -> &'static Packed {
    static DEMO: OnceLock<Packed> = OnceLock::new();
    DEMO.get_or_init(|| {
        let site = Site::folder("2026-03-06T14:30:00+13:00", "");
        copy(&root().join("demo-db"), &site.path("demo"));
        let site = site.beside("demo/demo", "Mere Tahana");
        let packed = site.ok("pack pack");
        Packed {
            reservations: packed["reservations"].as_array().unwrap().clone(),
            html: site.read("pack/handover.html"),
            measurements: site.read("pack/tables/measurements.csv"),
        }
    })
}

fn of_kind<'r>(all: &'r [Value], kind: &str) -> Vec<&'r Value> {
    all.iter().filter(|one| one["sort"] == kind).collect()
}

/// The demonstration's entries, but for those that are left out.
fn without(left_out: impl Fn(&Entry) -> bool) -> Vec<Entry> {
    let store = Store::read(&root().join("demo-db/demo.db")).unwrap();
    store.entries("fernside").unwrap().into_iter().filter(|entry| !left_out(entry)).collect()
}

/// The photos beside the demonstration's database.
fn photos() -> Kept {
    Kept::beside(&root().join("demo-db/demo.db"))
}

/// The reservations of a kind at the end of a record: on what, and what they say.
fn at_the_end(entries: Vec<Entry>, kind: ReservationKind) -> Vec<(Option<String>, String)> {
    let book = Book::open(entries).unwrap();
    let all = of(&book, book.state.last_recorded().unwrap());
    all.into_iter().filter(|one| one.kind == kind).map(|one| (one.subject, one.what)).collect()
}

#[test]
fn what_became_of_the_rain_is_no_reservation_where_all_of_it_was_done_again() {
    assert!(of_kind(&demo().reservations, "redo").is_empty());
    let after_rain = |entry: &Entry| {
        let at = entry.recorded_at.to_string();
        let rained = |on: &str| {
            on == "N/J3" && at.as_str() > "2026-03-03T14:36"
                || on.starts_with("W/J") && at.as_str() > "2026-03-05T09:16"
        };
        matches!(&entry.body, Body::StepDone(done) if done.step == "mask" && rained(&done.subject))
    };
    let redo = at_the_end(without(after_rain), ReservationKind::Redo);
    let on: Vec<&str> = redo.iter().filter_map(|(on, _)| on.as_deref()).collect();
    assert_eq!(on, ["N/J3", "W/J1..2"], "{redo:?}");
}

#[test]
fn what_was_never_delivered_is_named() {
    assert!(of_kind(&demo().reservations, "product").is_empty());
    let wrap = |entry: &Entry| matches!(&entry.body, Body::BatchDelivered(batch) if batch.product == "wrap");
    let lacking = at_the_end(without(wrap), ReservationKind::Product);
    assert!(lacking.len() == 1 && lacking[0].1.contains("wrap"), "{lacking:?}");
}

#[test]
fn steps_that_were_all_recorded_within_one_minute_are_counted() {
    assert!(of_kind(&demo().reservations, "at-once").is_empty());
    // The frames of four walls, measured over an hour and a half, written down at its end.
    let at = Moment::parse_from_rfc3339("2026-02-23T10:40:00+13:00").unwrap();
    let mut entries = without(|_| false);
    for entry in entries
        .iter_mut()
        .filter(|entry| entry.recorded_at < at && at - entry.recorded_at < chrono::TimeDelta::minutes(75))
    {
        entry.recorded_at = at;
    }
    let at_once = at_the_end(entries, ReservationKind::AtOnce);
    assert!(at_once.len() == 1 && at_once[0].1.starts_with("12 steps"), "{at_once:?}");
}

#[test]
fn one_photo_of_two_walls_is_a_camera_that_did_not_move() {
    let story = Story::nearly_done();
    let packed = story.json(["pack", "pack", "--interim"]);
    let all = packed["reservations"].as_array().unwrap();
    let position = of_kind(all, "photo-position")[0]["what"].as_str().unwrap();
    assert!(position.contains("of 2 parts"), "{position}");
    assert!(of_kind(&demo().reservations, "photo-position").is_empty());
}

#[test]
fn rain_on_what_was_just_sealed_and_a_concession_are_said_whatever_was_done_about_them() {
    let all = &demo().reservations;
    // One shower on two joints is one reservation, with what was found of each afterwards.
    let [rain] = of_kind(all, "rain")[..] else { panic!("{all:#?}") };
    assert_eq!(rain["subject"], "N/J1..2");
    let what = rain["what"].as_str().unwrap();
    let notes = ["N/J1, noted by", "looked at with Ruth Tarn", "N/J2, noted by", "cut and pulled"];
    assert!(notes.iter().all(|note| what.contains(note)), "{what}");
    assert!(of_kind(all, "concession")[0]["entry"].is_string());
}

#[test]
fn the_pack_says_how_many_there_are_and_lists_each() {
    let Packed { reservations: all, html, .. } = demo();
    assert!(html.contains(&format!("COMPLETE, WITH {} RESERVATIONS", all.len())));
    for one in all {
        let what = one["what"].as_str().unwrap().split('\'').next().unwrap();
        assert!(html.contains(what), "{what}");
    }
}

fn of(book: &Book, made_at: Moment) -> Vec<Reservation> {
    Document::of(book, made_at, &Album::default(), None).reservations.clone()
}

#[test]
fn what_is_said_for_others_becomes_a_reservation_after_two_evenings() {
    // As if nobody had confirmed anything.
    let book = Book::open(without(|entry| matches!(entry.body, Body::SayingConfirmed(_)))).unwrap();
    let subjects = |made_at: Moment| -> Vec<String> {
        let all = of(&book, made_at);
        let said = all.iter().filter(|one| one.kind == ReservationKind::NotConfirmed);
        said.map(|one| one.subject.clone().unwrap_or_default()).collect()
    };
    let last = book.state.last_recorded().unwrap();
    assert_eq!(subjects(last), ["N, E, S, W", "W"]);
    // No site day has ended since the cladding was accepted but that day itself.
    assert_eq!(subjects(last + chrono::TimeDelta::days(2)), ["N, E, S, W", "W"]);
    // The concession is a reservation from the first, and says that it is not confirmed.
    let conceded = of(&book, last).into_iter().find(|one| one.kind == ReservationKind::Concession).unwrap();
    assert!(conceded.what.ends_with("as noted by Mere Tahana, not confirmed"), "{}", conceded.what);
    // All but one release was confirmed on the phones.
    let left: Vec<&str> =
        of_kind(&demo().reservations, "not-confirmed").iter().filter_map(|one| one["subject"].as_str()).collect();
    assert_eq!(left, ["E"]);
}

#[test]
fn a_job_just_begun_has_no_reservations_but_its_papers_and_its_open_day() {
    let story = Story::begun();
    let book = Book::open(Store::read(&story.path("job.db")).unwrap().entries("shed").unwrap()).unwrap();
    let all = of(&book, book.state.last_recorded().unwrap());
    let kinds: Vec<ReservationKind> = all.iter().map(|one| one.kind).collect();
    assert_eq!(kinds, [ReservationKind::Papers, ReservationKind::Day], "{all:#?}");
}

/// The pages of a pack, section by section: each by its id.
fn sections(html: &str) -> BTreeMap<&str, &str> {
    let sections = html.split("<section aria-labelledby=\"").skip(1);
    sections.map(|section| section.split_once('"').unwrap()).collect()
}

/// The numbers of the reservations and defects that a section lists as bearing on it.
fn listed(section: &str) -> Vec<String> {
    let cells = section.split("data-head=\"No.\">").skip(1);
    cells.flat_map(|cell| cell.split_once('<').unwrap().0.split(", ").map(str::to_owned)).collect()
}

#[test]
fn each_is_listed_on_every_wall_that_it_bears_on_and_leads_to_what_it_is_about() {
    let Packed { reservations: all, html, .. } = demo();
    let numbers: Vec<String> = (1..=all.len()).map(|number| format!("R{number}")).collect();
    assert_eq!(all.iter().map(|one| one["number"].as_str().unwrap()).collect::<Vec<_>>(), numbers);
    let number = |kind: &str, on: &str| {
        let found = all.iter().find(|one| one["sort"] == kind && one["subject"] == on);
        found.unwrap_or_else(|| panic!("{kind} on {on}: {all:#?}"))["number"].as_str().unwrap().to_owned()
    };
    let pages = sections(html);
    let on = |part: &str| listed(pages[format!("part-{part}").as_str()]);
    // Through a corner: on both walls, and nowhere else.
    let corner = number("concession", "NW");
    assert_eq!(["N", "E", "S", "W"].map(|wall| on(wall).contains(&corner)), [true, false, false, true]);
    assert!(on("W").contains(&"D1".to_owned()) && on("W").contains(&"D2".to_owned()));
    // Through its extra work, its joints, its photos, an entry about it.
    assert!(on("S").contains(&number("late", "S")));
    assert!(on("N").contains(&number("extra", "N")) && on("N").contains(&number("rain", "N/J1..2")));
    assert!(on("E").contains(&number("photo", "E")));
    // What bears on all of them is one line on each, and no row. Two batches meet on S and at three corners.
    let batches = number("second-batch", "S, SE, SW, NW");
    let basis = all.iter().find(|one| one["sort"] == "basis").unwrap()["number"].as_str().unwrap().to_owned();
    for wall in ["N", "E", "S", "W"] {
        let page = pages[format!("part-{wall}").as_str()];
        assert!(!listed(page).contains(&basis), "{wall}");
        let line = page.split("On every wall, or on the whole job: ").nth(1).unwrap().split(';').next().unwrap();
        let line: Vec<&str> = line.split(", ").collect();
        assert!(line.contains(&basis.as_str()) && line.contains(&batches.as_str()), "{line:?}");
    }
    // No reservation is left out of the walls, and every link leads somewhere and says where.
    let walls: BTreeSet<String> = ["N", "E", "S", "W"].iter().flat_map(|wall| on(wall)).collect();
    let line = pages["part-N"].split("On every wall, or on the whole job: ").nth(1).unwrap().split(';').next().unwrap();
    let walls: BTreeSet<String> = walls.into_iter().chain(line.split(", ").map(str::to_owned)).collect();
    assert!(numbers.iter().all(|number| walls.contains(number)), "{walls:?}");
    let links: Vec<(&str, &str)> = html
        .split("<a href=\"#")
        .skip(1)
        .map(|link| link.split_once("\">").map(|(id, rest)| (id, rest.split('<').next().unwrap())).unwrap())
        .collect();
    for (id, name) in &links {
        assert_eq!(html.matches(&format!(" id=\"{id}\"")).count(), 1, "{id}");
        assert!(!name.trim().is_empty(), "{id}");
    }
    for (id, name) in [("D2", "defect D2"), ("P10", "photo P10"), ("limits", "C. Time limits")] {
        assert!(links.contains(&(id, name)), "{id}: {links:?}");
    }
}

#[test]
fn what_costs_the_signer_most_comes_first() {
    let all = &demo().reservations;
    let mut kinds: Vec<&str> = all.iter().filter_map(|one| one["sort"].as_str()).collect();
    kinds.dedup();
    let order = ["concession", "extra", "not-confirmed", "rain", "basis", "second-batch", "photo", "late"];
    assert_eq!(kinds, order);
}

#[test]
fn two_batches_are_compared_where_a_note_says_so_and_else_still_to_be_compared() {
    let entries = Store::read(&root().join("demo-db/demo.db")).unwrap().entries("fernside").unwrap();
    let second = |entries: Vec<Entry>| {
        let book = Book::open(entries).unwrap();
        let all = of(&book, book.state.last_recorded().unwrap());
        all.into_iter().find(|one| one.kind == ReservationKind::SecondBatch).unwrap().what
    };
    let noted = second(entries.clone());
    assert!(noted.contains("Noted by Mere Tahana 4 Mar 2026 09:10") && !noted.contains("compare them"), "{noted}");
    // Without the note that names both.
    let names_both =
        |entry: &Entry| matches!(&entry.body, Body::Noted(note) if note.text.contains("PF-2307 held beside"));
    let open = second(entries.into_iter().filter(|entry| !names_both(entry)).collect());
    assert!(open.contains("compare them in daylight") && !open.contains("Noted by"), "{open}");
}

#[test]
fn a_photo_is_held_to_the_first_thing_that_it_cannot_show() {
    let all = &demo().reservations;
    let flagged = |on: &str| {
        let found = of_kind(all, "photo").into_iter().find(|one| one["subject"] == on).unwrap();
        found["what"].as_str().unwrap().to_owned()
    };
    // Taken two days before, when the frame was measured and not yet wrapped.
    assert!(flagged("E").contains("before 'Wrap fixed' on E (Tue 24 Feb 09:55)"), "{}", flagged("E"));
    assert!(flagged("S").contains("the camera gives no time"), "{}", flagged("S"));
}

#[test]
fn an_acceptance_that_nobody_confirmed_says_so_on_the_first_page_and_where_it_stands() {
    let typed = Book::open(without(|entry| matches!(entry.body, Body::SayingConfirmed(_)))).unwrap();
    let signer = Signer::rehearsal();
    let options = PackOptions { originals: &photos(), locations: Locations::Kept, signer: &signer, pdf_a1b: false };
    let made = pack(&typed, typed.state.last_recorded().unwrap(), &options, &mut |_, _, _| ()).unwrap();
    let (_, html) = made.files.iter().find(|(path, _)| path == "handover.html").unwrap();
    let html = String::from_utf8(html.read().unwrap().into_owned()).unwrap();
    let pages = sections(&html);
    let accepted = pages["built"].split("Finished cladding accepted: Ruth Tarn").nth(1).unwrap();
    assert!(accepted.split('<').next().unwrap().contains("not confirmed"), "{accepted}");
    assert!(pages["built"].contains("<dt>Not confirmed</dt>") && !pages["built"].contains("<dt>Accepted</dt>"));
    let verdict = html.split("class=\"verdict").nth(1).unwrap().split("</p>").next().unwrap();
    assert!(verdict.contains("11 are not confirmed by the people they name"), "{verdict}");
    assert!(pages["vouch"].contains("not confirmed by Ruth Tarn"));
    // Nothing is covered behind the last acceptance.
    assert!(!pages["covered"].contains("Finished cladding accepted"));
    // In the demonstration she confirmed it on her own phone.
    let built = sections(&demo().html)["built"];
    assert!(built.contains("<dt>Accepted</dt>") && built.contains("confirmed with their own key"), "{built}");
}

#[test]
fn what_was_out_is_named_with_what_became_of_it() {
    let pages = sections(&demo().html);
    let measured =
        |id: &str| pages[id].split("Measurements with a limit").nth(1).unwrap().split("Time").next().unwrap();
    assert!(measured("part-N").contains("1 out: D2, stands as conceded"), "{}", measured("part-N"));
    assert!(measured("part-E").contains("none out"), "{}", measured("part-E"));
    // A concession is no repair, and has no photo of one.
    assert!(pages["defects"].contains("STANDS AS CONCEDED") && !pages["defects"].contains("As put right: none"));
}

#[test]
fn the_care_table_keeps_the_interval_that_the_job_states() {
    // The job by the sea states six months; tests/handover/pack.txt has a job that states none.
    let care = sections(&demo().html)["care"];
    let due: Vec<&str> = care.split("data-head=\"Due\">").skip(1).map(|cell| cell.split('<').next().unwrap()).collect();
    assert_eq!((due[0], due[1], due[2]), ("September 2026", "March 2027", "September 2027"));
    assert!(care.contains("every 6 months") && !care.contains("year"), "{care}");
}

#[test]
fn boxes_to_tick_are_of_paper_alone() {
    let html = &demo().html;
    let style = html.split_once("</style>").unwrap().0;
    assert!(style.contains("@media screen { .by-hand, table .by-hand { display: none !important; } }"));
    for boxed in html.split("[  ]").collect::<Vec<_>>().split_last().unwrap().1 {
        assert!(boxed.rsplit('<').next().unwrap().contains("class=\"by-hand\""), "{boxed}");
    }
    assert_eq!(html.matches("☐").count(), html.matches("<p class=\"by-hand\">☐").count());
}

#[test]
fn a_photo_that_can_not_show_what_was_covered_counts_for_none() {
    // In the demonstration the right photo of E's cavity followed the wrong one.
    assert!(of_kind(&demo().reservations, "no-photo").is_empty());
    let right = |entry: &Entry| matches!(&entry.body, Body::PhotoAdded(photo) if photo.subject == "E" && photo.step.as_deref() == Some("cavity"));
    let book = Book::open(without(right)).unwrap();
    let album = Album::of(&book, &photos(), Locations::Kept, &mut |_, _| ());
    let document = Document::of(&book, book.state.last_recorded().unwrap(), &album, None);
    let no_photo = document.reservations.iter().filter(|one| one.kind == ReservationKind::NoPhoto);
    assert_eq!(no_photo.filter_map(|one| one.subject.as_deref()).collect::<Vec<_>>(), ["E"]);
    let signer = Signer::rehearsal();
    let options = PackOptions { originals: &photos(), locations: Locations::Kept, signer: &signer, pdf_a1b: false };
    let made = pack(&book, document.made_at, &options, &mut |_, _, _| ()).unwrap();
    let (_, html) = made.files.iter().find(|(path, _)| path == "handover.html").unwrap();
    let html = String::from_utf8(html.read().unwrap().into_owned()).unwrap();
    assert!(sections(&html)["covered"].contains("NO PHOTO but P10"), "{}", sections(&html)["covered"]);
}

#[test]
fn what_is_common_practice_is_counted_as_the_pages_print_it() {
    let Packed { reservations: all, measurements, .. } = demo();
    let what = of_kind(all, "basis")[0]["what"].as_str().unwrap();
    let mut table = csv::Reader::from_reader(measurements.as_bytes());
    let rows: Vec<BTreeMap<String, String>> = table.deserialize().map(Result::unwrap).collect();
    let judged = || rows.iter().filter(|row| !row["value"].is_empty() && !row["within_tolerance"].is_empty());
    let common = judged().filter(|row| row["basis"].starts_with("common practice")).count();
    assert!(common > 0 && what.starts_with(&format!("{common} of {} measurements", judged().count())), "{what}");
}

#[test]
fn rain_that_work_stopped_for_is_rain_on_what_was_sealed_before() {
    let site = crate::stock::site::open("2026-03-03T08:30:00+13:00");
    site.ok("record gun --on N/J1 --answer sealant-batch=S1");
    site.clock("2026-03-03T08:50:00+13:00");
    site.ok("stoppage start --rain --on N");
    let packed = site.ok("pack pack --interim");
    let rain = of_kind(packed["reservations"].as_array().unwrap(), "rain")[0].clone();
    assert_eq!(rain["subject"], "N/J1");
    assert!(rain["what"].as_str().unwrap().contains("20 min later"), "{rain}");
}

#[test]
fn each_release_stands_with_its_own_time() {
    // As if S and W had been looked at two hours after N and E, and typed in the same words.
    let mut entries = without(|entry| matches!(entry.body, Body::SayingConfirmed(_)));
    for entry in &mut entries {
        let later = matches!(&entry.body, Body::HoldReleased(it) if it.hold == "frame" && ["S", "W"].contains(&it.subject.as_str()));
        if later {
            entry.happened_at += chrono::TimeDelta::hours(2);
        }
    }
    let book = Book::open(entries).unwrap();
    let signer = Signer::rehearsal();
    let options = PackOptions { originals: &photos(), locations: Locations::Kept, signer: &signer, pdf_a1b: false };
    let made = pack(&book, book.state.last_recorded().unwrap(), &options, &mut |_, _, _| ()).unwrap();
    let (_, html) = made.files.iter().find(|(path, _)| path == "handover.html").unwrap();
    let html = String::from_utf8(html.read().unwrap().into_owned()).unwrap();
    let vouch = sections(&html)["vouch"];
    let rows: Vec<&str> = vouch.split("<tr").filter(|row| row.contains("released: Frame before wrapping")).collect();
    let [early, late] = rows[..] else { panic!("{rows:#?}") };
    assert!(early.contains(">N, E<") && early.contains("23 Feb 2026 14:15"), "{early}");
    assert!(late.contains(">S, W<") && late.contains("23 Feb 2026 16:15"), "{late}");
}
