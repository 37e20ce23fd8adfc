//! Hold points: what is to be looked at, with the readings and photos of it; who may release or refuse does it here.

use maud::{Markup, html};

use super::frame::{Tab, page};
use super::notice::way_out;
use super::subject::asked;
use super::view::{View, capital, someone};
use crate::building::SubjectIx;
use crate::day::{Book, Grade, HoldState, HoldStatus, may_release, photos, release_waits_for, text_to_send, the};
use crate::handover::confirmations;
use crate::plain::visible;
use crate::refusal::Rule;
use crate::sequence::{AskKind, HoldIx};
use crate::serve::context::PageContext;

/// Every hold point: first those that can be released now, then those that wait for work, then those released.
pub fn holds(book: &Book, context: &PageContext) -> Markup {
    let view = View::new(book, context);
    let state = view.state();
    let mut all: Vec<(u8, HoldIx, SubjectIx, HoldStatus)> = Vec::new();
    for (hold, subject, status) in state.holds() {
        let waits = release_waits_for(state, hold, subject, context.now).len();
        let class = match status.state {
            HoldState::Released => 3,
            _ if waits == 0 => 0,
            HoldState::Refused => 1,
            HoldState::Held => 2,
        };
        all.push((class, hold, subject, status));
    }
    all.sort_by_key(|(class, hold, subject, _)| (*class, *hold, *subject));
    let of = |classes: &'static [u8]| all.iter().filter(move |(class, ..)| classes.contains(class));
    let main = html! {
        @if all.is_empty() { p { "This sequence has no hold points." } }
        @if of(&[0]).next().is_none() && !all.is_empty() { p class="box" { "No hold point is ready to be looked at." } }
        @for (_, hold, subject, status) in of(&[0]) { (ready(&view, *hold, *subject, status)) }
        (said(&view))
        @if of(&[1, 2]).next().is_some() {
            h2 { "Waiting for work" }
            @for (_, hold, subject, status) in of(&[1, 2]) { (waiting(&view, *hold, *subject, status)) }
        }
        @if of(&[3]).next().is_some() {
            h2 { "Released" }
            ul class="rows plain" { @for (.., status) in of(&[3]) { li { (line(&view, status)) } } }
        }
    };
    page(&view, "Hold points", Some(Tab::Holds), &main)
}

/// What the record says that whoever holds the phone said, and how far they stand behind it (R16).
fn said(view: &View<'_>) -> Markup {
    let mut own = confirmations(view.book);
    own.retain(|one| one.saying.person == view.context.person);
    html! {
        @if !own.is_empty() {
            h2 { "In your name" }
            ul class="rows plain" {
                @for one in own.iter().rev() {
                    @let open = one.grade != Grade::OwnKey;
                    li data-entry=[open.then_some(&one.saying.entry)] data-hash=[open.then_some(&one.hash)] {
                        p { (capital(&visible(&one.saying.in_words()))) "; " (visible(&one.in_words())) "." }
                    }
                }
            }
        }
    }
}

/// Where one stands, in a line.
fn line(view: &View<'_>, status: &HoldStatus) -> String {
    let stands = stands(view, status).unwrap_or_else(|| format!("to be released by {}", someone(&status.roles)));
    format!("{}, {}: {stands}", status.title, the(&status.subject))
}

/// What came of it so far; nothing where nobody has been asked yet.
fn stands(view: &View<'_>, status: &HoldStatus) -> Option<String> {
    let today = view.context.now.date();
    match (status.state, &status.person, status.at, &status.how) {
        (HoldState::Released | HoldState::Refused, Some(who), Some(at), Some(how)) => {
            Some(visible(&format!("{} by {who}, {}, {how}", status.state.word(), at.clock(today))))
        }
        _ => status.asked_at.map(|asked| format!("release requested {}", asked.clock(today))),
    }
}

fn waiting(view: &View<'_>, hold: HoldIx, subject: SubjectIx, status: &HoldStatus) -> Markup {
    let state = view.state();
    let left = release_waits_for(state, hold, subject, view.context.now);
    html! {
        details id=(format!("hold-{}-{}", status.key, status.subject)) {
            summary { (line(view, status)) }
            p { "Before it is looked at:" }
            ul { @for (step, on) in left.iter().take(12) { li { (state.sequence().steps[*step].title) ", " (the(&state.subjects.get(*on).to_string())) } } }
            @if left.len() > 12 { p { "And " (left.len() - 12) " more." } }
        }
    }
}

/// One that can be looked at now.
fn ready(view: &View<'_>, hold: HoldIx, subject: SubjectIx, status: &HoldStatus) -> Markup {
    let (state, context) = (view.state(), view.context);
    let found = &state.sequence().holds[hold];
    let may = may_release(state, hold, subject, &context.person, context.now);
    let about = html! {
        input type="hidden" name="key" value=(found.key);
        input type="hidden" name="on" value=(status.subject);
    };
    html! {
        article class="box" id=(format!("hold-{}", found.key)) {
            h2 { (found.title) ", " (the(&status.subject)) }
            @if let Some(stands) = stands(view, status) { p { (capital(&stands)) "." } }
            @if let Some(look_at) = &found.look_at { p { strong { "Check: " } (look_at) } }
            (evidence(view, hold, subject))
            @match may {
                Ok(()) => {
                    (view.form("/hold", &html! {
                        (about)
                        input type="hidden" name="what" value="release";
                        fieldset {
                            legend { "How did you look at it?" }
                            div class="either" {
                                label class="tick" { input type="radio" name="how" value="on site" checked; span { "On site" } }
                                label class="tick" { input type="radio" name="how" value="by photos" ; span { "By the photos" } }
                            }
                        }
                        label { "Evidence: a paper or a message, if there is one" input name="evidence" autocomplete="off"; }
                        button class="go" { "Release it" }
                    }))
                    details {
                        summary { "Refuse it" }
                        (view.form("/hold", &html! {
                            (about)
                            input type="hidden" name="what" value="refuse";
                            label { "What is wrong" textarea name="reason" rows="3" required {} }
                            button class="go" { "Refuse it" }
                        }))
                    }
                }
                Err(refusal) => {
                    @if refusal.rule == Rule::Authority {
                        p { "It is released by " (someone(&found.roles)) ", on their own phone or at the laptop." }
                    } @else { p { (visible(&refusal.why)) ". To do: " (way_out(view, refusal.rule, &refusal.clears)) "." } }
                    @if status.asked_at.is_none() {
                        (view.form("/hold", &html! {
                            (about)
                            input type="hidden" name="what" value="ask";
                            button class="go" { "Request the release" }
                        }))
                    } @else {
                        @let text = text_to_send(state, &found.key, &status.subject, context.now);
                        p class="text" data-share=(text) { (visible(&text)) }
                    }
                }
            }
        }
    }
}

/// What was measured, and the photos, of all that a hold point covers: what whoever releases it goes by.
fn evidence(view: &View<'_>, hold: HoldIx, subject: SubjectIx) -> Markup {
    let state = view.state();
    let after = &state.sequence().holds[hold].after;
    let on: Vec<SubjectIx> = state
        .subjects
        .indexes()
        .filter(|one| {
            *state.subjects.get(subject) == crate::building::Subject::Job
                || *one == subject
                || state.subjects.walls_of(*one).contains(&subject)
        })
        .collect();
    let done =
        || after.iter().flat_map(|step| on.iter().filter_map(|on| Some((*step, *on, state.done(*step, *on).last()?))));
    let ids: Vec<String> = on.iter().map(|on| state.subjects.get(*on).to_string()).collect();
    let keys: Vec<&str> = after.iter().map(|step| state.sequence().steps[*step].key.as_str()).collect();
    let shown = |photo: &crate::day::PhotoUse| {
        ids.contains(&photo.subject) && photo.step.as_deref().is_some_and(|step| keys.contains(&step))
    };
    let photos: Vec<_> = photos(view.book).into_iter().filter(shown).collect();
    html! {
        details {
            summary { "What is recorded of it" }
            ul class="rows plain" {
                @for (step, on, done) in done() {
                    @let title = &state.sequence().steps[step].title;
                    li {
                        strong { (title) ", " (the(&state.subjects.get(on).to_string())) } ", " (done.at.clock(view.context.now.date())) ", by " bdi { (visible(&done.by)) }
                        @for answer in done.answers.iter().filter(|answer| answer.ask.kind != AskKind::Photo) {
                            br; (asked(&answer.ask.prompt)) " " strong { (visible(&answer.in_words())) }
                            @if let Some(held) = answer.held {
                                @if answer.ask.kind != AskKind::YesNo { " (" @if held { "in tolerance" } @else { strong { "OUT" } } ": " (answer.allowed()) ")" }
                            }
                        }
                    }
                }
            }
            (super::subject::album(&photos))
        }
    }
}
