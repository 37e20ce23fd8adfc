//! What a day holds for the builder, in words to them: what waits for their release, their word or their papers.

use crate::building::{SubjectIx, on_words};
use crate::day::{ExtraWork, HoldState, Saying, SayingKind, State, release_waits_for};
use crate::handover::model::ForBuilder;
use crate::moment::Moment;
use crate::plain::count;
use crate::sequence::HoldIx;
use crate::table::grouped;

/// The role of whoever the text is sent to, as job files give it.
const BUILDER: &str = "builder";

impl ForBuilder {
    /// What waits for the builder at a moment: `extras` were asked for on that day, `sayings` stand unconfirmed.
    pub fn of(state: &State, extras: &[ExtraWork], sayings: &[Saying], now: Moment) -> Self {
        let mut to_do = releases(state, now);
        to_do.extend(extras.iter().map(|extra| agreed(state, extra)));
        to_do.extend(confirmed(state, sayings));
        let lacking: Vec<&str> = state.sequence().papers_lacking(&state.job).collect();
        // Titles of papers are long: the report has them.
        to_do.extend(match lacking.as_slice() {
            [] => None,
            [paper] => Some(format!("send us: {paper}")),
            papers => Some(format!("send us the {} that the job lacks", count(papers.len(), "paper"))),
        });
        let open: Vec<&str> = state.open_defects().map(|defect| defect.subject.as_str()).collect();
        let ours = (!open.is_empty()).then(|| {
            let (many, on) = (count(open.len(), "defect"), state.subjects.ids_shortly(open));
            format!("{many} that we put right ({on})")
        });
        Self { to_do, ours }
    }
}

fn is_builder(state: &State, name: &str) -> bool {
    state.person(name).is_some_and(|person| person.roles.iter().any(|role| role == BUILDER))
}

/// Hold points that can be looked at now: by the builder, or by whom else.
fn releases(state: &State, now: Moment) -> Vec<String> {
    let ready = state.holds().into_iter().filter(|(hold, subject, found)| {
        found.state == HoldState::Held && release_waits_for(state, *hold, *subject, now).is_empty()
    });
    let line = |(hold, subjects): (HoldIx, Vec<SubjectIx>)| {
        let hold = &state.sequence().holds[hold];
        let looked_at = format!("'{}'{}", hold.title, on_words(&state.subjects.shortly(&subjects)));
        if hold.roles.iter().any(|role| role == BUILDER) {
            format!("look at and release {looked_at}")
        } else {
            format!("{looked_at} is ready for the {}", hold.roles.join(" or "))
        }
    };
    grouped(ready.map(|(hold, subject, _)| (hold, subject))).into_iter().map(line).collect()
}

/// Extra work, which whoever asked for it is to agree to.
fn agreed(state: &State, extra: &ExtraWork) -> String {
    let (size, what) = (extra.size(), extra.what.trim_end_matches('.'));
    // Where and how much come before what: where room ends, they stand.
    let size = if size.is_empty() { size } else { format!(" ({size})") };
    let who = if is_builder(state, &extra.asked_by) { "you" } else { extra.asked_by.as_str() };
    format!("confirm the extra work that {who} asked for{}{size}: {what}", on_words(&extra.subject))
}

/// What waits for the word of those who are said to have said it: one line for each of them.
fn confirmed(state: &State, sayings: &[Saying]) -> Vec<String> {
    let line = |(person, did): (&str, Vec<String>)| match (is_builder(state, person), did.as_slice()) {
        (true, [did]) => format!("confirm that you {did}"),
        (false, [did]) => format!("have {person} confirm: {did}"),
        (is_builder, _) => {
            let many = count(sayings.iter().filter(|saying| saying.person == person).count(), "entry");
            let of = if is_builder { "confirm".to_owned() } else { format!("have {person} confirm") };
            format!("{of} {many} in {} name", if is_builder { "your" } else { "their" })
        }
    };
    grouped(said(state, sayings)).into_iter().map(line).collect()
}

/// What people are said to have said, those alike together: who, and "released 'Frame checked' on N, E".
pub fn said<'s>(state: &State, sayings: &'s [Saying]) -> Vec<(&'s str, String)> {
    let alike = grouped(sayings.iter().map(|it| ((it.person.as_str(), it.kind, &it.of), it.subject.as_str())));
    let line = |((person, kind, of), on): ((&'s str, SayingKind, &String), Vec<&str>)| {
        let on = on_words(&state.subjects.ids_shortly(on));
        let did = match kind {
            SayingKind::Released => format!("released '{of}'{on}"),
            SayingKind::Refused => format!("refused '{of}'{on}"),
            SayingKind::Conceded => format!("let a defect stand{on}"),
            SayingKind::Accepted => format!("accepted a repair{on}"),
        };
        (person, did)
    };
    alike.into_iter().map(line).collect()
}
