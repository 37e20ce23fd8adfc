//! For whoever accepts the work: what was built, what to know before signing, who vouches for it, what can't be seen any
//! more, and where to sign.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use rust_decimal::Decimal;

use super::link;
use crate::building::{Particulars, SubjectIx, Unit};
use crate::day::{Grade, HoldStatus, Saying, SayingKind, State, noted};
use crate::handover::model::{self, Covered, Document, Number, covers_work, when};
use crate::handover::page::{
    Block, Section, lines, paper, screen, section, some, split_hash, table, table_or, text, tick,
};
use crate::handover::signature::is_rehearsal_key;
use crate::plain::{count, visible};
use crate::record::{Body, Entry};
use crate::table::grouped;

/// What was built, by whom, under what and with what.
pub fn built(document: &Document<'_>) -> Section {
    let (state, job) = (document.state(), &document.state().job);
    let mut facts = vec![("System".to_owned(), state.sequence().title.clone())];
    let area = area_m2(document);
    let sizes = [
        (area > Decimal::ZERO).then(|| format!("{} m² of wall", area.round_dp(1).normalize())),
        Some(count(job.walls.len(), "wall")),
        (!job.corners.is_empty()).then(|| count(job.corners.len(), "corner")),
        Some(count(job.walls.iter().map(|wall| wall.openings.len()).sum::<usize>(), "opening")),
    ];
    facts.push(("Size".to_owned(), sizes.into_iter().flatten().collect::<Vec<_>>().join(", ")));
    let dates: BTreeSet<NaiveDate> = state.days.iter().map(|day| day.date).collect();
    if let (Some(first), Some(last)) = (dates.first(), dates.last()) {
        let days = count(dates.len(), "day");
        let from = first.format("%-d %b %Y");
        let span = if first == last { format!("{from}") } else { format!("{from} to {}", last.format("%-d %b %Y")) };
        facts.push(("On site".to_owned(), format!("{span}, {days}")));
    }
    let crew: BTreeSet<&str> = state.days.iter().flat_map(|day| day.people().map(|one| one.name)).collect();
    if !crew.is_empty() {
        let each = crew.iter().map(|name| lines([(*name).to_owned(), roles(state, name)]).replace('\n', " "));
        facts.push(("Crew".to_owned(), each.collect::<Vec<_>>().join(", ")));
    }
    let stamp = document.stamps.iter().max_by_key(|stamp| stamp.at);
    let stamp =
        stamp.map(|stamp| format!("{} (certificate {})", stamp.in_words(), &stamp.stamp.certificate_sha256[..16]));
    facts.push((
        "Time stamp".to_owned(),
        stamp.unwrap_or_else(|| "none: only the crew's own clocks say when entries were recorded".to_owned()),
    ));
    let accepted = document.holds.iter().filter(|hold| covers_work(state.sequence(), hold).is_none());
    let accepted = accepted.filter(|hold| hold.is_released() && hold.dropped_by.is_none()).map(|hold| {
        let (person, at) = (some(hold.person.as_ref()), some(hold.at.as_ref().map(when)));
        let word = noted(hold.noted_by.as_deref(), hold.grade);
        // What somebody else typed is not yet accepted.
        let heading = if hold.grade == Some(Grade::Typed) { "Not confirmed" } else { "Accepted" };
        (heading, format!("{}: {person}, {at}{word}", hold.title))
    });
    facts.extend(grouped(accepted).into_iter().map(|(heading, lines)| (heading.to_owned(), lines.join("\n"))));
    let none = Particulars::default();
    let particulars = job.particulars.as_ref().unwrap_or(&none).all();
    for line in particulars.chunk_by(|(one, ..), (other, ..)| one == other) {
        // "Company" is not said twice.
        let named = |(heading, name, text): &(&str, &str, Option<&str>)| {
            text.map(
                |text| if name.eq_ignore_ascii_case(heading) { text.to_owned() } else { format!("{name}: {text}") },
            )
        };
        let given: Vec<String> = line.iter().filter_map(named).collect();
        if let ([(heading, ..), ..], false) = (line, given.is_empty()) {
            facts.push(((*heading).to_owned(), given.join("; ")));
        }
    }
    let lacking: Vec<&str> = particulars.iter().filter(|(.., text)| text.is_none()).map(|(_, name, _)| *name).collect();
    if !lacking.is_empty() {
        facts.push(("Not stated".to_owned(), lacking.join(", ")));
    }
    let facts = facts.into_iter().map(|(name, text)| (name, visible(&text))).collect();
    section("built", "What was built", vec![Block::Facts { facts }])
}

/// "(lead, installer)"; nothing for somebody who is not on the job.
fn roles(state: &State, name: &str) -> String {
    let roles = state.person(name).map(|person| person.roles.join(", "));
    some(roles.filter(|roles| !roles.is_empty()).map(|roles| format!("({roles})")))
}

/// Square metres of wall, net of openings, as they are counted for the claim.
fn area_m2(document: &Document<'_>) -> Decimal {
    let mut parts: BTreeMap<&str, Decimal> = BTreeMap::new();
    for line in document.quantities.iter().filter(|line| line.unit == Unit::M2) {
        let area = parts.entry(&line.part).or_default();
        *area = line.whole.max(*area);
    }
    parts.values().sum()
}

/// What to know before signing, each with its page and room for an answer.
pub fn reservations(document: &Document<'_>) -> Option<Section> {
    let table = table(
        "Reservations, those first that would cost you most",
        &document.reservations,
        &[
            ("No.", 2, &|one| one.number.to_string()),
            ("Where", 5, &|one| match one.subject.as_deref() {
                None | Some("job") => "whole job".to_owned(),
                Some(subject) => subject.to_owned(),
            }),
            ("What to know", 24, &|one| format!("{}.", one.what)),
            ("Accept", 3, &|_| BOX.to_owned()),
            ("Ask", 2, &|_| BOX.to_owned()),
        ],
    )?;
    let links = document.reservations.iter().map(|one| link(&one.more));
    let numbers = document.reservations.iter().map(|one| one.number);
    let table = table.with_links(links).with_anchors(numbers).by_hand(2);
    Some(section("reservations", "Before you sign", vec![table.into()]))
}

/// A box to tick in a cell.
const BOX: &str = "[  ]";

/// Who is said to have released, refused, conceded or accepted what, and who typed it.
pub fn vouch(document: &Document<'_>) -> Section {
    let state = document.state();
    let alike = grouped(document.confirmations.iter().map(|one| {
        let it = &one.saying;
        ((&it.person, it.kind, &it.of, &it.how, it.at, one.in_words()), it)
    }));
    let on = |sayings: &[&Saying]| state.subjects.ids_shortly(sayings.iter().map(|saying| saying.subject.as_str()));
    let did = |kind: SayingKind| match kind {
        SayingKind::Released => "released",
        SayingKind::Refused => "REFUSED",
        SayingKind::Conceded => "let stand",
        SayingKind::Accepted => "accepted as put right",
    };
    let said = table_or(
        "Nobody is said to have released, refused or accepted anything.",
        "Releases, refusals, concessions and acceptances, as recorded",
        alike,
        &[
            ("Who", 5, &|((person, ..), _)| lines([(*person).clone(), roles(state, person)])),
            ("What", 7, &|((_, kind, of, ..), _)| format!("{}: {of}", did(*kind))),
            ("On", 3, &|(_, sayings)| on(sayings)),
            ("When, how", 11, &|((.., how, at, _), _)| lines([when(at), (*how).clone()])),
            ("Confirmed", 11, &|((.., confirmed), _)| confirmed.clone()),
        ],
    );
    let held: Vec<&HoldStatus> = document
        .holds
        .iter()
        .filter(|hold| !hold.is_released() || hold.after_work || hold.dropped_by.is_some())
        .collect();
    let stands = |hold: &&HoldStatus| match (&hold.dropped_by, hold.after_work) {
        (Some(by), _) => format!("DROPPED from the sequence by entry {by}"),
        (None, true) => {
            format!(
                "released; recorded {}, after the work it should have come before",
                some(hold.recorded_at.as_ref().map(when))
            )
        }
        (None, false) => {
            format!("{}; to be released by {}", hold.state.word().to_uppercase(), hold.roles.join(" or "))
        }
    };
    let mut blocks = vec![said];
    let held = table(
        "Hold points that are not plainly released",
        held,
        &[
            ("Hold point", 10, &|hold| hold.title.clone()),
            ("On", 4, &|hold| hold.subject.clone()),
            ("How it stands", 14, &stands),
        ],
    );
    blocks.extend(held.map(Block::from));
    section("vouch", "Who vouches for what", blocks)
}

/// What is behind the cladding now, and what shows how it was: wall by wall, for every hold point that has to be released
/// before work is covered.
pub fn covered(document: &Document<'_>) -> Section {
    let state = document.state();
    let photos = |one: &Covered<'_>| {
        let listed = |numbers: &BTreeSet<Number>| numbers.iter().map(Number::to_string).collect::<Vec<_>>().join(", ");
        match (one.photos.is_empty(), one.flagged.is_empty()) {
            (true, true) => "NO PHOTO".to_owned(),
            (true, false) => format!("NO PHOTO but {}, which can't show it", listed(&one.flagged)),
            (false, _) => listed(&one.photos),
        }
    };
    let covering = model::covered(state, &document.holds, &document.photos).map(|one| {
        let status = one.status;
        let person = status.person.clone().unwrap_or_else(|| "nobody".to_owned());
        let when = status.at.as_ref().map(|at| format!(", {}", when(at)));
        let whom = lines([person + &some(when), some(status.grade.map(Grade::in_words))]);
        ((one.hold, whom, some(status.evidence.as_ref().or(status.how.as_ref()))), (one.on, photos(&one)))
    });
    let rows = grouped(covering);
    let on = |places: &[(SubjectIx, String)]| places.iter().map(|(on, _)| *on).collect::<Vec<_>>();
    let table = table_or(
        "This sequence has no hold point before work is covered.",
        "What was looked at before it was covered",
        rows,
        &[
            ("On", 3, &|(_, places)| state.subjects.shortly(&on(places))),
            ("What was looked at", 8, &|((hold, ..), _)| state.sequence().holds[*hold].title.clone()),
            ("By whom, when", 10, &|((_, whom, _), _)| whom.clone()),
            ("Evidence named", 5, &|((.., evidence), _)| evidence.clone()),
            ("Photos", 9, &|(_, places)| match places.as_slice() {
                [(_, photos)] => photos.clone(),
                many => {
                    let each = many.iter().map(|(on, photos)| format!("{}: {photos}", state.subjects.get(*on)));
                    each.collect::<Vec<_>>().join("; ")
                }
            }),
        ],
    );
    section("covered", "What can no longer be seen", vec![table])
}

/// What is declared and where to sign; the codes that tie the record down.
pub fn signatures(document: &Document<'_>) -> Section {
    let mut blocks = vec![
        screen("The work is accepted on paper: printed, these pages have boxes to tick and room to sign."),
        paper(
            "Whoever takes the work over looks at it, reads this pack, ticks one of these and signs below. Everybody else \
             signs for what stands in their own name above, and for nothing more.",
        ),
        tick("I accept the work."),
        tick(
            "I accept the work, except for the reservations marked Ask above and these numbers: ________________________",
        ),
        tick("I do not accept the work yet."),
    ];
    // Those who record and those who release: one line each, and one to spare.
    let releasing: BTreeSet<&String> = document.holds.iter().flat_map(|hold| &hold.roles).collect();
    let signs = |roles: &[String]| roles.iter().any(|role| role == "lead" || releasing.contains(role));
    let people = document.state().job.people.iter().filter(|person| signs(&person.roles));
    let signing = people.map(|person| (person.name.clone(), person.roles.join(", ")));
    let signing = table(
        "To be signed by hand",
        signing.chain([(ROOM.to_owned(), ROOM.to_owned())]),
        &[
            ("Name", 4, &|(name, _)| name.clone()),
            ("Role", 4, &|(_, role)| role.clone()),
            ("Signature", 6, &|_| ROOM.to_owned()),
            ("Date", 3, &|_| ROOM.to_owned()),
        ],
    );
    blocks.extend(signing.map(|table| table.by_hand(2).into()));
    let closing = document.book.in_time().into_iter().filter(|entry| matches!(entry.body, Body::DayClosed(_)));
    let codes = table(
        "Check codes at the close of each site day; compare them with those that you were sent",
        closing,
        &[("Site day closed", 4, &|entry| when(&entry.happened_at)), ("Check", 8, &|entry| Entry::head_code(entry))],
    );
    blocks.extend(codes.map(Block::from));
    match &document.key {
        None => {}
        Some(key) if is_rehearsal_key(key) => {
            blocks.push(text("The files are signed with the public rehearsal key: the signature is not evidence."))
        }
        Some(key) => blocks.push(text(format!("Fingerprint of the crew's key: {}", split_hash(key)))),
    }
    section("signatures", "Signatures", blocks)
}

/// Room to write by hand.
const ROOM: &str = "\u{a0}\n";
