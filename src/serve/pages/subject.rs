//! A subject: what can be done there, its clocks, its photos, its record.

use maud::{Markup, html};

use super::aside::asides;
use super::clocks::clock;
use super::frame::page;
use super::view::{View, segment};
use crate::building::SubjectIx;
use crate::day::{Action, Book, PhotoUse, gathered_windows, photos, the};
use crate::photos::PhotoSort;
use crate::plain::visible;
use crate::sequence::AskKind;
use crate::serve::context::PageContext;

/// A subject, by its index.
pub fn on(book: &Book, subject: SubjectIx, context: &PageContext) -> Markup {
    let view = View::new(book, context);
    let state = view.state();
    let (is, id) = (state.subjects.get(subject), state.subjects.get(subject).to_string());
    let actions: Vec<&Action> = view.actions.iter().filter(|action| action.subject == subject).collect();
    let clocks = gathered_windows(state, context.now).into_iter().filter(|one| one.subjects.contains(&subject));
    let photos: Vec<PhotoUse> = photos(book).into_iter().filter(|photo| photo.subject == id).collect();
    let main = html! {
        @if let Some(wall) = is.wall() {
            p { a href=(view.link(&format!("/wall/{}", segment(wall)), &[])) { "Wall " (wall) } }
        }
        div id="on" data-part {
            @for run in clocks { (clock(&view, &run)) }
            section aria-labelledby="todo" {
                h2 id="todo" { "To do" }
                @if actions.is_empty() { p { "Nothing is left to do on " (the(&id)) " itself." } }
                ul class="rows" { @for action in actions { li { (to_do(&view, action)) } } }
            }
        }
        (asides(&view, &id))
        (record(&view, subject, &id))
        @if !photos.is_empty() {
            section aria-labelledby="photos" { h2 id="photos" { "Photos" } (album(&photos)) }
        }
    };
    let kind = is.kind().a_word();
    page(&view, &if id == "job" { "The whole job".to_owned() } else { format!("{id}, {kind}") }, None, &main)
}

fn to_do(view: &View<'_>, action: &Action) -> Markup {
    let state = view.state();
    let step = &state.sequence().steps[action.step];
    let on = state.subjects.get(action.subject).to_string();
    let why = action.stopped.as_ref().unwrap_or(&action.why);
    html! {
        a href=(view.link(&format!("/step/{}", step.key), &[("on", &on)])) {
            strong { (step.title) }
            span { @if action.ready && action.stopped.is_none() { "Ready: " } @else { "Waits: " } (visible(why)) }
        }
    }
}

/// What was done, and what is not as it should be.
fn record(view: &View<'_>, subject: SubjectIx, id: &str) -> Markup {
    let (state, today) = (view.state(), view.context.now.date());
    let done = state
        .sequence()
        .steps
        .indexes()
        .flat_map(|step| state.done(step, subject).iter().map(move |done| (step, done)));
    let mut done: Vec<_> = done.collect();
    done.sort_by_key(|(_, done)| done.order);
    let defects: Vec<_> = state.defects.iter().filter(|defect| defect.subject == id).collect();
    html! {
        @if !defects.is_empty() {
            section aria-labelledby="defects" {
                h2 id="defects" { "Defects" }
                ul class="rows plain" {
                    @for defect in defects { li { strong { (defect.state.word()) ": " } (visible(&defect.what)) } }
                }
            }
        }
        @if !done.is_empty() {
            section aria-labelledby="record" {
                h2 id="record" { "Record" }
                ul class="rows plain" {
                    @for (step, done) in done {
                        li {
                            strong { (state.sequence().steps[step].title) } ", " (done.at.clock(today)) ", by " bdi { (visible(&done.by)) }
                            @for answer in done.answers.iter().filter(|answer| answer.ask.kind != AskKind::Photo) {
                                br; (asked(&answer.ask.prompt)) " " strong { (visible(&answer.in_words())) }
                                @if answer.held == Some(false) { strong { " OUT; required: " (answer.allowed()) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What was asked, before its answer: a question keeps its mark, anything else is set off.
pub(super) fn asked(prompt: &str) -> String {
    if prompt.ends_with('?') { prompt.to_owned() } else { format!("{prompt}:") }
}

/// Photos, newest first: what each shows, and what a reader should note about it.
pub(super) fn album(photos: &[PhotoUse]) -> Markup {
    html! {
        @if !photos.is_empty() {
            ul class="album" {
                @for photo in photos.iter().rev() {
                    li {
                        @if photo.facts.as_ref().is_some_and(|facts| facts.format != PhotoSort::Heic) {
                            img src=(format!("/photo/{}", photo.sha256)) alt=(visible(&photo.note.clone().unwrap_or_else(|| format!("Photo on {}", the(&photo.subject))))) loading="lazy";
                        }
                        p { (the(&photo.subject)) ", " (photo.at.format("%-d %b %H:%M").to_string()) @if let Some(note) = &photo.note { ": " (visible(note)) } }
                        @for flag in &photo.flags { p class="flag" { "Note: " (visible(flag)) "." } }
                    }
                }
            }
        }
    }
}
