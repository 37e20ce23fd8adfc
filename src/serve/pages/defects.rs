//! Defects: what is open, with its photos; who may close it or concede it does it here, on their own phone.

use maud::{Markup, html};

use super::aside::camera;
use super::frame::page;
use super::notice::to_step;
use super::subject::album;
use super::view::{View, segment, someone};
use crate::day::{Book, Defect, photos, the};
use crate::plain::visible;
use crate::record::{Body, Cause};
use crate::serve::context::PageContext;

/// Every defect: those that are open first, the newest of each above.
pub fn defects(book: &Book, context: &PageContext) -> Markup {
    let view = View::new(book, context);
    let (open, ended): (Vec<&Defect>, Vec<&Defect>) = view.state().defects.iter().rev().partition(|one| one.is_open());
    let main = html! {
        @if open.is_empty() { p class="box done" { "No defect is open." } }
        @for defect in open { (to_end(&view, defect)) }
        p class="fine" { "A defect is recorded where it is: on the page of the wall, the joint, the opening." }
        @if !ended.is_empty() {
            h2 { "No longer open" }
            @for defect in ended {
                details {
                    summary { (the(&defect.subject)) ": " (visible(&defect.what)) }
                    p {
                        (defect.state.word())
                        @if let Some(person) = &defect.person { " by " bdi { (visible(person)) } }
                        @if let Some(at) = defect.ended_at { ", " (at.clock(context.now.date())) }
                        @if let Some(how) = &defect.how { ": " (visible(how)) }
                    }
                    (pictures(&view, defect))
                }
            }
        }
    };
    page(&view, "Defects", None, &main)
}

fn to_end(view: &View<'_>, defect: &Defect) -> Markup {
    let (state, today) = (view.state(), view.context.now.date());
    let by = view.book.entry(defect.opened_by()).map(|entry| entry.by.clone()).unwrap_or_default();
    let measured = matches!(defect.id.cause, Cause::Measured(_)).then(|| step_of(view, defect)).flatten();
    let authority = &state.sequence().authority;
    let may = |roles: &[String]| state.person(&view.context.person).is_some_and(|person| person.has_any(roles));
    html! {
        article class="box stop" id=(format!("defect-{}", defect.id)) {
            h2 { (visible(&defect.what)) }
            p {
                a href=(view.link(&format!("/on/{}", segment(&defect.subject)), &[])) { (the(&defect.subject)) }
                ", " (defect.opened_at.clock(today)) ", recorded by " bdi { (visible(&by)) }
            }
            (pictures(view, defect))
            @match measured {
                Some(step) => p { strong { "To do: " } "put it right, then measure again: " (to_step(view, &step, &defect.subject)) }
                None if may(&authority.close) => (ending(view, defect, "close", "How was it put right?", "It is put right")),
                None => p { "It is closed by " (someone(&authority.close)) ", on their own phone or at the laptop." }
            }
            @if may(&authority.concede) {
                details {
                    summary { "Let it stand" }
                    (ending(view, defect, "concede", "Why may it stand?", "Give the concession"))
                }
            } @else {
                p class="fine" { "It may stand if " (someone(&authority.concede)) " gives a concession." }
            }
        }
    }
}

fn ending(view: &View<'_>, defect: &Defect, what: &str, question: &str, button: &str) -> Markup {
    let typed = &view.context.typed;
    let id = defect.id.to_string();
    let text = typed.get("text").filter(|_| typed.get("defect") == Some(&id) && typed.get("what") == Some(what));
    view.photo_form(
        "/defect",
        &html! {
            input type="hidden" name="what" value=(what);
            input type="hidden" name="defect" value=(id);
            label { (question) textarea name="text" rows="2" required { (text.unwrap_or_default()) } }
            (camera("file", "Take a photo", false))
            button class="go" { (button) }
        },
    )
}

/// The key of the step that opened a defect, where one did.
fn step_of(view: &View<'_>, defect: &Defect) -> Option<String> {
    match &view.book.entry(defect.opened_by())?.body {
        Body::StepDone(done) => Some(done.step.clone()),
        _ => None,
    }
}

/// What was photographed there since it was opened, until it ended.
fn pictures(view: &View<'_>, defect: &Defect) -> Markup {
    let mut those = photos(view.book);
    those.retain(|photo| {
        let since = photo.at >= defect.opened_at && defect.ended_at.is_none_or(|ended| photo.at <= ended);
        photo.subject == defect.subject && since
    });
    album(&those)
}
