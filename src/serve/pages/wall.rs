//! A wall: the pack's drawing of it, each place a link; the same places as a list.

use maud::{Markup, PreEscaped, html};

use super::frame::{Tab, page};
use super::view::{View, segment};
use crate::building::{SubjectIx, SubjectKind};
use crate::day::{Book, Phase};
use crate::handover::wall_with_links;
use crate::serve::context::PageContext;

/// A wall, by its index.
pub fn wall(book: &Book, wall: SubjectIx, context: &PageContext) -> Markup {
    let view = View::new(book, context);
    let state = view.state();
    let key = state.subjects.get(wall).to_string();
    let link = |id: &str| format!("/on/{}", segment(id));
    let drawing = state.job.wall(&key).map(|found| wall_with_links(state, found, &link));
    let of_kind = |kind| state.subjects.related(wall, kind).to_vec();
    let kinds = [
        ("Courses, the top one first", of_kind(SubjectKind::Course).into_iter().rev().collect::<Vec<_>>()),
        ("Joints", of_kind(SubjectKind::Joint)),
        ("Openings", of_kind(SubjectKind::Opening)),
        ("Corners", of_kind(SubjectKind::Corner)),
    ];
    let main = html! {
        nav class="pick" aria-label="Wall" {
            @for other in &state.job.walls {
                a href=(format!("/wall/{}", segment(&other.key))) aria-current=[(other.key == key).then_some("true")] { span class="hear" { "Wall " } (other.key) }
            }
        }
        @if let Some(drawing) = drawing {
            // The list below says where each place stands, and is what a screen reader goes through.
            div class=(if drawing.is_wide { "drawing wide" } else { "drawing" }) role="group" aria-label=(drawing.described) tabindex="0" {
                div aria-hidden="true" { (PreEscaped(drawing.svg)) }
            }
            @if drawing.is_wide { p class="fine" { "Push the drawing sideways to see the rest of the wall." } }
        }
        div id="places" data-part {
            ul class="rows" {
                li { a href=(link(&key)) { strong { "The wall itself" } span { (stands(&view, wall)) } } }
            }
            @for (title, places) in &kinds {
                @if !places.is_empty() {
                    h2 { (title) }
                    ul class="rows" {
                        @for place in places {
                            @let id = state.subjects.get(*place).to_string();
                            li { a href=(link(&id)) { strong { (id) } span { (stands(&view, *place)) } } }
                        }
                    }
                }
            }
        }
    };
    page(&view, &format!("Wall {key}"), Some(Tab::Wall), &main)
}

/// Where a place stands, in a few words.
fn stands(view: &View<'_>, subject: SubjectIx) -> String {
    let (state, now) = (view.state(), view.context.now);
    let id = state.subjects.get(subject).to_string();
    let mut words = Vec::new();
    let open = state.open_defects().filter(|defect| defect.subject == id).count();
    if open > 0 {
        words.push(format!("{} OPEN", crate::plain::count(open, "defect")));
    }
    let runs = state.runs();
    for run in runs.iter().filter(|run| run.subject == subject) {
        match run.phase(now) {
            Phase::Closing => words.push(format!("{} CLOSING", run.window.title)),
            Phase::Lapsed => words.push(format!("{} LAPSED", run.window.title)),
            _ => {}
        }
    }
    let left: Vec<_> = view.actions.iter().filter(|action| action.subject == subject).collect();
    match left.iter().find(|action| action.ready && action.stopped.is_none()).or(left.first()) {
        None if state.work().all(|(_, on)| on != subject) => words.push("nothing is asked of it".to_owned()),
        None => words.push("done".to_owned()),
        Some(action) => {
            let title = &state.sequence().steps[action.step].title;
            let word = if action.ready { "ready" } else { "waits" };
            words.push(format!("{word}: {title}"));
        }
    }
    words.join("; ")
}
