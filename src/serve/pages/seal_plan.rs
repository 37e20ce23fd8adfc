//! The seal plan: who masks, primes, guns and untapes what, and when; planned again from now.

use maud::{Markup, html};

use super::frame::page;
use super::view::View;
use crate::day::{ActivePlan, Book, PlannedTask};
use crate::plain::visible;
use crate::serve::context::PageContext;

/// The plan that is followed, and the button that makes another.
pub fn seal_plan(book: &Book, context: &PageContext) -> Markup {
    let view = View::new(book, context);
    let active = view.state().active_plan(context.now);
    let main = html! {
        @match &active {
            Some(active) => (followed(&view, active)),
            None => p { "No seal plan is being followed." },
        }
        section class="next" aria-labelledby="next" {
            h2 id="next" { @if active.is_some() { "Plan again from now" } @else { "Plan the sealing" } }
            (planning(&view))
        }
    };
    page(&view, "Seal plan", None, &main)
}

/// The form that plans the sealing.
pub(super) fn planning(view: &View<'_>) -> Markup {
    if view.context.planning {
        return html! {
            p class="big" role="status" data-again { "The plan is being worked out." }
            p { "It may take some seconds. This page then shows it." }
            a class="go" href=(view.link("/sealplan", &[])) { "Look now" }
        };
    }
    view.form("/sealplan", &html! {
        p { "Works out who primes and seals what is ready, and when, so that everything primed is sealed in its time. It may take some seconds. Everybody's phone then follows it." }
        button class="go" data-busy="Being worked out …" { "Plan it" }
    })
}

fn followed(view: &View<'_>, active: &ActivePlan<'_>) -> Markup {
    let (today, timetable) = (view.context.now.date(), &active.plan.timetable);
    let mut people: Vec<&str> = Vec::new();
    for task in &active.tasks {
        if !people.contains(&task.person.as_str()) {
            people.push(&task.person);
        }
    }
    html! {
        @if let Some((_, why)) = &active.slipped { p class="box stop" { strong { "The plan has slipped: " } (visible(why)) "." } }
        @if let Some(finish) = timetable.finish_at { p { "The last joint is done at " (finish.clock(today)) " by the plan of " (active.plan.at.clock(today)) "." } }
        @for person in people {
            section {
                h2 { bdi { (visible(person)) } }
                ul class="rows" { @for task in active.tasks.iter().filter(|task| task.person == person) { li { (row(view, task)) } } }
            }
        }
        @if !timetable.left_out.is_empty() {
            h2 { "Left out: don't prime these" }
            ul { @for left in &timetable.left_out { li { strong { (left.id) } ": " (visible(&left.why)) } } }
        }
        @for remark in &timetable.remarks { p class="fine" { (visible(remark)) } }
    }
}

fn row(view: &View<'_>, task: &PlannedTask) -> Markup {
    let step = &view.state().sequence().steps[task.step].key;
    html! {
        a href=(view.link(&format!("/step/{step}"), &[("on", &task.subject)])) {
            strong { (task.at.clock(view.context.now.date())) " " (task.task.word()) " " (task.subject) }
            @if task.done { span { "done" } }
        }
    }
}
