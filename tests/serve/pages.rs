//! The pages, made from the demonstration's record as it was at several moments.

use std::sync::LazyLock;

use cladlog::building::SubjectIx;
use cladlog::day::Book;
use cladlog::moment::Moment;
use cladlog::record::{Entry, EntryRun, Store};
use cladlog::refusal::{Clears, Refusal, Remedy, Rule};
use cladlog::serve::{Notice, PageContext, Typed, pages};

use super::server::plain;
use crate::harness::pictures::photo;
use crate::harness::root;
use crate::rules::site::with_frame;

/// What the demonstration's record holds.
static ENTRIES: LazyLock<Vec<Entry>> =
    LazyLock::new(|| Store::read(&root().join("demo-db/demo.db")).unwrap().entries("fernside").unwrap());

/// Moments at which much, little and nothing can be done.
const MOMENTS: [&str; 6] = [
    "2026-02-23T06:30:00+13:00",
    "2026-02-23T07:30:00+13:00",
    "2026-02-23T14:25:00+13:00",
    "2026-02-27T11:00:00+13:00",
    "2026-03-05T10:00:00+13:00",
    "2026-03-06T17:30:00+13:00",
];

/// What the paths of one part are.
const PAGES: [&str; 11] =
    ["", "clocks", "cautions", "holds", "evening", "defects", "stock", "extra", "sealplan", "style.css", "icon.svg"];

fn moment(text: &str) -> Moment {
    Moment::parse_from_rfc3339(text).unwrap()
}

/// The job as it was recorded by then.
fn book(at: &str) -> Book {
    let at = moment(at);
    let mut entries: Vec<Entry> = ENTRIES.iter().filter(|entry| entry.recorded_at <= at).cloned().collect();
    if entries.is_empty() {
        entries.push(ENTRIES[0].clone());
    }
    let device = entries[0].device.to_string();
    Book::open_by(&device, entries).unwrap()
}

fn context(person: &str, at: &str) -> PageContext {
    PageContext {
        person: person.to_owned(),
        roles: Vec::new(),
        token: "t0ken".to_owned(),
        request_id: "r1".to_owned(),
        now: moment(at),
        wall: None,
        notice: None,
        typed: Typed::default(),
        plain: false,
        planning: false,
    }
}

fn wall(book: &Book, key: &str) -> SubjectIx {
    book.state.subjects.index(key).unwrap()
}

/// Every page of a job at a moment, for a person at a wall, by its path.
fn all(at: &str, person: &str, key: &str) -> Vec<(String, String)> {
    let book = book(at);
    let context = PageContext { wall: Some(wall(&book, key)), ..context(person, at) };
    let mut all = vec![
        ("/".to_owned(), pages::now(&book, &context)),
        ("/clocks".to_owned(), pages::clocks(&book, &context)),
        ("/cautions".to_owned(), pages::cautions(&book, &context)),
        ("/holds".to_owned(), pages::holds(&book, &context)),
        ("/evening".to_owned(), pages::evening(&book, &context)),
        ("/defects".to_owned(), pages::defects(&book, &context)),
        ("/stock".to_owned(), pages::stock(&book, &context)),
        ("/extra".to_owned(), pages::extra(&book, &context)),
        ("/sealplan".to_owned(), pages::seal_plan(&book, &context)),
        (format!("/wall/{key}"), pages::wall(&book, wall(&book, key), &context)),
    ];
    let subjects = book.state.subjects.all().indexed();
    for (index, subject) in subjects.filter(|(_, is)| is.wall().is_none_or(|wall| wall == key)) {
        all.push((format!("/on/{subject}"), pages::on(&book, index, &context)));
    }
    let mut seen = Vec::new();
    for (step, subject) in book.state.work() {
        if !seen.contains(&step) {
            seen.push(step);
            all.push((
                format!("/step/{}", book.state.sequence().steps[step].key),
                pages::step(&book, step, &[subject], &context),
            ));
        }
    }
    all.into_iter().map(|(path, page)| (path, page.into_string())).collect()
}

/// The values of an attribute, as they are written.
fn values<'p>(page: &'p str, attribute: &str) -> Vec<&'p str> {
    let begin = format!(" {attribute}=\"");
    page.split(&begin).skip(1).map(|rest| rest.split('"').next().unwrap()).collect()
}

fn decoded(text: &str) -> String {
    let mut bytes = Vec::new();
    let mut rest = text.bytes();
    while let Some(byte) = rest.next() {
        let mut digit = || char::from(rest.next().unwrap()).to_digit(16).unwrap() as u8;
        bytes.push(if byte == b'%' { digit() * 16 + digit() } else { byte });
    }
    String::from_utf8(bytes).unwrap()
}

#[test]
fn no_page_carries_a_script_or_a_style_of_its_own() {
    // The policy that the server sends lets none pass.
    for (path, page) in all(MOMENTS[3], "Mere Tahana", "N") {
        assert_eq!(page.matches("<script").count(), 1, "{path}");
        assert!(page.contains("<script src=\"/script.js\" defer></script>"), "{path}");
        for own in ["<style", " style=", " onclick=", " onload=", "javascript:", "data:"] {
            assert!(!page.contains(own), "{own} in {path}");
        }
    }
}

#[test]
fn every_link_leads_to_a_page_that_there_is() {
    for at in MOMENTS {
        let book = book(at);
        let (subjects, sequence) = (&book.state.subjects, book.state.sequence());
        for (path, page) in all(at, "Jonah Fisk", "E") {
            for link in values(&page, "href") {
                let link = link.replace("&amp;", "&");
                let (target, query) = link.split_once('?').unwrap_or((&link, ""));
                let target = target.split('#').next().unwrap();
                let on = query.split('#').next().unwrap().split('&').find_map(|field| field.strip_prefix("on="));
                if let Some(on) = on {
                    subjects.parse(&decoded(on)).unwrap_or_else(|error| panic!("{link} of {path}: {error}"));
                }
                let known = match target.trim_start_matches('/').split_once('/') {
                    None => PAGES.contains(&target.trim_start_matches('/')),
                    Some(("wall" | "on", id)) => subjects.index(&decoded(id)).is_some(),
                    Some(("step", key)) => sequence.step(key).is_some() && on.is_some(),
                    Some(("photo", sha256)) => sha256.len() == 64,
                    Some(_) => false,
                };
                assert!(known || link.starts_with('#'), "{link} of {path} at {at}");
            }
        }
    }
}

#[test]
fn every_form_is_sent_by_post_with_its_token_and_its_id() {
    let takes = [
        "/record",
        "/reading",
        "/caution",
        "/hold",
        "/photo",
        "/undo",
        "/stoppage",
        "/note",
        "/day",
        "/defect",
        "/stock",
        "/extra",
        "/sealplan",
    ];
    let mut found = 0;
    for at in MOMENTS {
        for (path, page) in all(at, "Jonah Fisk", "N") {
            for form in page.split("<form ").skip(1).map(|form| form.split("</form>").next().unwrap()) {
                found += 1;
                let tag = form.split('>').next().unwrap();
                assert!(tag.contains("method=\"post\""), "{tag} of {path}");
                assert!(takes.iter().any(|path| tag.contains(&format!("action=\"{path}\""))), "{tag} of {path}");
                assert!(
                    form.contains("name=\"token\" value=\"t0ken\"") && form.contains("name=\"request_id\""),
                    "{path}"
                );
                assert!(form.contains("<button"), "{tag} of {path}");
                let files = form.contains("type=\"file\"");
                assert_eq!(files, tag.contains("multipart/form-data"), "{tag} of {path}");
            }
        }
    }
    assert!(found > 100, "{found}");
}

#[test]
fn now_leads_to_what_is_next_at_the_wall() {
    // The day is open, nobody has looked at the frame: the walk turns to the same.
    let book = book(MOMENTS[1]);
    let at_n = PageContext { wall: Some(wall(&book, "N")), ..context("Mere Tahana", MOMENTS[1]) };
    let page = pages::now(&book, &at_n).into_string();
    let first = page.split("class=\"next\"").nth(1).unwrap();
    assert!(first.contains("Start") && values(first, "href")[0].starts_with("/step/"), "{first}");
    // Before it, the day is opened, by whoever opens it.
    let early = pages::now(&self::book(MOMENTS[0]), &context("Mere Tahana", MOMENTS[0])).into_string();
    assert!(
        early.contains("name=\"what\" value=\"open\"") && early.contains("value=\"Jonah Fisk\" checked"),
        "{early}"
    );
}

#[test]
fn a_measurement_comes_back_with_how_it_is_judged() {
    let book = book(MOMENTS[2]);
    let step = book.state.sequence().step("frame-flat").unwrap();
    let north = wall(&book, "N");
    let typed = |value: &str| Typed(vec![("answer:flat".to_owned(), value.to_owned())]);
    let page = |value: &str| {
        let context = PageContext { typed: typed(value), ..context("Mere Tahana", MOMENTS[2]) };
        pages::step(&book, step, &[north], &context).into_string()
    };
    let most = book.state.asks(step, north)[0].tolerance.most.unwrap();
    assert!(page(&most.to_string()).contains("In tolerance."));
    let out = page(&(most + 2.5).to_string());
    assert!(out.contains("Out by 2.5 mm; required: ") && out.contains("This opens a defect."), "{out}");
    let none = page("about three");
    assert!(none.contains("value=\"about three\"") && none.contains("class=\"flag\""), "{none}");
}

#[test]
fn the_diagonals_of_a_frame_have_a_field_each() {
    let book = book(MOMENTS[2]);
    let step = book.state.sequence().step("frame-square").unwrap();
    let north = wall(&book, "N");
    let page = |typed: &[(&str, &str)]| {
        let typed = Typed(typed.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect());
        let context = PageContext { typed, ..context("Mere Tahana", MOMENTS[2]) };
        pages::step(&book, step, &[north], &context).into_string()
    };
    let empty = page(&[]);
    let length = book.state.asks(step, north)[0].frame_mm.unwrap();
    assert_eq!(values(&empty, "name").iter().filter(|name| **name == "beside:out").count(), 2, "{empty}");
    assert!(empty.contains(&format!("value=\"{length}\"")) && !empty.contains("In tolerance"), "{empty}");
    let out = page(&[("answer:out", "6552"), ("beside:out", "6566"), ("beside:out", "6000")]);
    assert!(out.contains("6.93 mm in 2400 mm of height, on a frame 2650 mm high. Out by 1.93 mm"), "{out}");
    assert!(out.contains("value=\"6552\"") && out.contains("value=\"6566\""), "{out}");
}

#[test]
fn what_stands_in_the_way_of_a_step_is_said_before_it_is_asked() {
    let book = book(MOMENTS[1]);
    let step = book.state.sequence().step("wrap").unwrap();
    let page = pages::step(&book, step, &[wall(&book, "N")], &context("Mere Tahana", MOMENTS[1])).into_string();
    assert!(page.contains("Not yet: ") && page.contains("It has happened all the same"), "{page}");
    assert!(page.contains("name=\"anyway\" value=\"yes\"") && page.contains("name=\"why\""), "{page}");
}

#[test]
fn a_refusal_says_what_why_and_what_clears_it() {
    let book = book(MOMENTS[1]);
    let remedy = Remedy::Record { step: "frame-square".to_owned(), on: "N".to_owned(), before: None };
    let clears = Clears::from("first").by(remedy);
    assert_eq!(clears.to_string(), "first: cladlog record frame-square --on N");
    let refusal = Refusal::new(Rule::Order, "'Wrap' on N", "'Frame square' is not done on N", clears);
    let context =
        PageContext { notice: Some(Notice::Refused(Box::new(refusal))), ..context("Mere Tahana", MOMENTS[1]) };
    let page = pages::now(&book, &context).into_string();
    assert!(page.contains("role=\"alert\"") && page.contains("'Frame square' is not done on N"), "{page}");
    // What the laptop would be told by a command, the phone does by a link.
    assert!(page.contains("href=\"/step/frame-square?on=N\"") && !page.contains("cladlog record"), "{page}");
}

#[test]
fn what_was_recorded_is_said_and_can_be_taken_back() {
    let book = book(MOMENTS[2]);
    let done = ENTRIES.iter().find(|entry| entry.body.kind() == "step-done").unwrap();
    let context = PageContext {
        notice: Some(Notice::Done(EntryRun { first: done.id(), last: done.seq })),
        ..context("Mere Tahana", MOMENTS[2])
    };
    let page = pages::now(&book, &context).into_string();
    assert!(page.contains("role=\"status\"") && page.contains("Recorded: "), "{page}");
    assert!(page.contains("action=\"/undo\""), "{page}");
}

#[test]
fn each_reads_their_own_cautions() {
    let book = book(MOMENTS[1]);
    // Jonah was told by the lead's laptop at the start; who is not on site is asked to come first.
    let stranger = pages::cautions(&book, &context("Ruth Tarn", MOMENTS[1])).into_string();
    assert!(stranger.contains("You are not on site"), "{stranger}");
    let unread = |name: &str| {
        let page = pages::cautions(&book, &context(name, MOMENTS[1])).into_string();
        page.matches("action=\"/caution\"").count()
    };
    let cautions = book.state.sequence().cautions.iter();
    let left =
        cautions.filter(|one| book.state.has_not_read(&one.key, moment(MOMENTS[1])).contains(&"Jonah Fisk".into()));
    assert_eq!(unread("Jonah Fisk"), left.count());
    assert!(unread("Jonah Fisk") > 0);
}

#[test]
fn only_whoever_may_release_a_hold_point_is_offered_it() {
    // The frame was asked for at 13:30 and released at 14:15.
    let at = "2026-02-23T13:40:00+13:00";
    let book = book(at);
    let page = |name: &str| pages::holds(&book, &context(name, at)).into_string();
    assert!(page("Sione Vea").contains("value=\"release\"") && page("Sione Vea").contains("value=\"refuse\""));
    for other in ["Mere Tahana", "Jonah Fisk"] {
        assert!(!page(other).contains("value=\"release\""), "{other}");
    }
    // With what was measured of it in front of them.
    assert!(page("Sione Vea").contains("What is recorded of it"));
}

#[test]
fn what_clears_a_refusal_is_a_link_to_it() {
    let book = book(MOMENTS[1]);
    let (step, on, before) = ("wrap".to_owned(), "N".to_owned(), Some("Let it dry.".to_owned()));
    let (hold, product) = ("frame".to_owned(), "sealant".to_owned());
    for (remedy, link) in [
        (Remedy::Record { step, on: on.clone(), before: before.clone() }, "/step/wrap?on=N"),
        (Remedy::Read { on: on.clone(), what: Vec::new(), before }, "/on/N#reading"),
        (Remedy::Release { hold, on }, "/holds#hold-frame"),
        (Remedy::Acknowledge { caution: "heights".to_owned(), people: Vec::new() }, "/cautions"),
        (Remedy::Deliver { product }, "/stock"),
        (Remedy::OpenDay, "/"),
        (Remedy::CloseDay { earlier: false }, "/evening"),
    ] {
        let refusal =
            Refusal::new(Rule::Order, "it", "so", Clears::from("do it").by(remedy).typed(" (cladlog something)"));
        let context =
            PageContext { notice: Some(Notice::Refused(Box::new(refusal))), ..context("Mere Tahana", MOMENTS[1]) };
        let page = pages::clocks(&book, &context).into_string();
        let notice = page.split("role=\"alert\"").nth(1).unwrap().split("</div>").next().unwrap();
        assert_eq!(values(notice, "href"), [link]);
        assert!(!notice.contains("cladlog"), "{notice}");
    }
}

#[test]
fn a_defect_is_ended_by_whoever_may_and_a_measured_one_by_measuring() {
    // At 14:10 on the fourth day the north-west corner stands out by its lean.
    let at = "2026-02-26T14:10:00+13:00";
    let book = book(at);
    let page = |name: &str| pages::defects(&book, &context(name, at)).into_string();
    let lead = page("Mere Tahana");
    assert!(lead.contains("/step/corner-metal?on=NW") && !lead.contains("value=\"close\""), "{lead}");
    assert!(!lead.contains("value=\"concede\"") && page("Ada Quill").contains("value=\"concede\""));
    // Later the concession stands in its place.
    let later = pages::defects(&self::book(MOMENTS[3]), &context("Mere Tahana", MOMENTS[3])).into_string();
    assert!(later.contains("No defect is open.") && later.contains("conceded by <bdi>Ada Quill</bdi>"), "{later}");
}

#[test]
fn deliveries_extra_work_and_the_seal_plan_stand_on_their_pages() {
    let (early, late) = (book(MOMENTS[1]), book("2026-03-05T09:00:00+13:00"));
    let at = |moment: &str| context("Jonah Fisk", moment);
    assert!(pages::seal_plan(&early, &at(MOMENTS[1])).into_string().contains("No seal plan is being followed."));
    let plan = pages::seal_plan(&late, &at("2026-03-05T09:00:00+13:00")).into_string();
    assert!(plan.contains("Plan again from now") && plan.contains("/step/gun?on=S/J1"), "{plan}");
    let stock = pages::stock(&late, &at("2026-03-05T09:00:00+13:00")).into_string();
    assert!(stock.contains("PF-2307: fog grey") && stock.contains("SL-390"), "{stock}");
    let extra = pages::extra(&book(MOMENTS[5]), &at(MOMENTS[5])).into_string();
    assert!(extra.contains("Panel the front of the bin store") && extra.contains("2 people, 0.4 h each"), "{extra}");
}

#[test]
fn text_from_outside_stays_text() {
    let hostile = "<img src=x onerror=alert(1)>\u{202e}";
    let book = book(MOMENTS[2]);
    let wrong = Notice::Wrong { field: None, why: hostile.to_owned() };
    let typed = Typed(vec![("answer:flat".to_owned(), hostile.to_owned()), ("why".to_owned(), hostile.to_owned())]);
    let context =
        PageContext { person: hostile.to_owned(), notice: Some(wrong), typed, ..context("Mere Tahana", MOMENTS[2]) };
    let step = book.state.sequence().step("frame-flat").unwrap();
    let shown = [
        pages::now(&book, &context),
        pages::step(&book, step, &[wall(&book, "N")], &context),
        pages::cautions(&book, &context),
        pages::holds(&book, &context),
        pages::pair(hostile, &book.state.job.people, Some(hostile), "/pair/x", "t", "r"),
        pages::error_page(hostile),
    ];
    for page in shown {
        let page = page.into_string();
        assert!(!page.contains("<img src=x") && page.contains("&lt;img src=x"), "{page}");
    }
}

#[test]
fn the_drawing_has_a_link_for_each_place_that_is_listed() {
    let book = book(MOMENTS[3]);
    let page = pages::wall(&book, wall(&book, "N"), &context("Mere Tahana", MOMENTS[3])).into_string();
    let (drawing, list) = page.split_once("</svg>").unwrap();
    let links = |part: &str| -> Vec<String> {
        let mut links: Vec<String> =
            values(part, "href").into_iter().filter(|href| href.starts_with("/on/N/")).map(str::to_owned).collect();
        links.sort();
        links
    };
    assert!(!links(drawing).is_empty());
    assert_eq!(links(drawing), links(list));
}

#[test]
fn answers_are_judged_on_the_page_and_nothing_is_recorded_by_it() {
    let site = with_frame("2026-03-02T08:00:00+13:00");
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let before = site.log().len();
    let page = phone.get("/step/frame?on=N&answer:flat=5,5").is(200).body;
    assert!(page.contains("Out by 2.5 mm; required: at most 3 mm. This opens a defect."), "{page}");
    assert!(phone.get("/step/frame?on=N&answer:flat=2").is(200).body.contains("In tolerance."));
    assert_eq!(site.log().len(), before);
}

#[test]
fn a_reading_says_dry_or_rain_and_a_day_is_closed_with_its_hours() {
    let site = with_frame("2026-03-02T08:00:00+13:00");
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    phone.send("/reading", "a", &[("on", "N"), ("air", "18,5"), ("rain", "no")]).is(303);
    phone.send("/reading", "b", &[("on", "job"), ("rain", "no")]).is(303);
    phone.send("/reading", "c", &[("on", "job"), ("rain", "yes")]).is(303);
    let log = site.log();
    let readings =
        log.iter().filter(|entry| entry["kind"] == "reading-taken").map(|entry| entry["what"].as_str().unwrap());
    let rains: Vec<bool> = readings.map(|what| what.contains("rain")).collect();
    assert!(rains.ends_with(&[false, false, true]), "{log:?}");
    let page = phone.get("/evening").is(200).body;
    let crew = values(&page, "name").into_iter().filter(|name| name.starts_with("hours:"));
    let fields: Vec<(&str, &str)> = crew.map(|name| (name, "7:30")).collect();
    assert!(!fields.is_empty(), "{page}");
    phone.send("/day", "d", &[&[("what", "close")][..], &fields].concat()).is(303);
    assert_eq!(site.log().last().unwrap()["kind"], "day-closed");
}

#[test]
fn a_photo_is_shown_to_those_who_are_paired_and_none_but_those_of_the_record() {
    let site = with_frame("2026-03-02T08:00:00+13:00");
    let server = plain(&site);
    let phone = server.first_phone("Ivo");
    let picture = photo(90, None);
    let fields = [("token", phone.token.as_str()), ("request_id", "a"), ("on", "N")];
    phone.upload("/photo", &fields, &[("file", "wall.jpg", &picture)]).is(303);
    let path = format!("/photo/{}", cladlog::digest::sha256_hex(&picture));
    assert_eq!(phone.get(&path).is(200).header("content-type"), Some("image/jpeg"));
    server.stranger().get(&path).is(401);
    for other in ["0".repeat(64), "..%2f..%2fjob.db".to_owned(), "job.db".to_owned()] {
        phone.get(&format!("/photo/{other}")).is(404);
    }
}

#[test]
fn a_plan_that_is_worked_out_says_so_and_the_page_looks_again() {
    let book = book(MOMENTS[2]);
    let context = PageContext { planning: true, ..context("Mere Tahana", MOMENTS[2]) };
    let page = pages::seal_plan(&book, &context).into_string();
    assert!(page.contains("The plan is being worked out.") && page.contains("data-again"), "{page}");
    // Nobody asks for a second one meanwhile.
    assert!(!page.contains("action=\"/sealplan\""), "{page}");
}
