//! Now: what is next at my wall, why, and one button to it.

use std::collections::BTreeSet;

use maud::{Markup, html};

use super::aside::asides;
use super::clocks::{clock, pressing};
use super::frame::{Tab, page};
use super::reading::due as reading_due;
use super::seal_plan::planning;
use super::view::{View, someone};
use crate::building::SubjectIx;
use crate::day::{Book, Group, Picking, State, Task, Urgency, WallWork, may_release, on_words, the, wall_words};
use crate::plain::visible;
use crate::sequence::{CautionIx, HoldIx};
use crate::serve::context::PageContext;

/// How many things are listed after the first.
const THEN: usize = 4;

/// What is next.
pub fn now(book: &Book, context: &PageContext) -> Markup {
    let view = View::new(book, context);
    let (state, skipped) = (view.state(), BTreeSet::new());
    let picking = Picking::new(state, context.now, &skipped);
    let tasks = picking.list(context.wall, &view.actions, THEN + 1);
    let elsewhere: Vec<WallWork> =
        picking.walls_with_work(&view.actions).into_iter().filter(|work| Some(work.wall) != context.wall).collect();
    let main = html! {
        (walls(&view))
        div id="now" data-part {
            @for (hold, subject) in asked_of(&view) { (asked(&view, hold, subject)) }
            @for stoppage in state.open_stoppages() { (stopped(&view, stoppage)) }
            @for run in pressing(&view) { (clock(&view, &run)) }
            @match tasks.first() {
                Some(task) => (first(&view, task)),
                None => (nothing(&view)),
            }
            @if tasks.len() > 1 {
                section aria-labelledby="then" {
                    h2 id="then" { "Then" }
                    ul class="rows" { @for task in &tasks[1..] { li { (row(&view, task)) } } }
                }
            }
            @if !elsewhere.is_empty() {
                section aria-labelledby="elsewhere" {
                    h2 id="elsewhere" { @if context.wall.is_some() { "Elsewhere" } @else { "Where" } }
                    ul class="rows" {
                        @for work in &elsewhere {
                            li { a href=(view.link("/", &[("on", &state.subjects.get(work.wall).to_string())])) { "Wall " (wall_words(state, *work)) } }
                        }
                    }
                }
            }
        }
        (asides(&view, &view.at().unwrap_or_else(|| "job".to_owned())))
    };
    let title = match view.at() {
        Some(wall) => format!("Now at {wall}"),
        None => "Now".to_owned(),
    };
    page(&view, &title, Some(Tab::Now), &main)
}

/// The walls, to stand at one.
fn walls(view: &View<'_>) -> Markup {
    let here = view.at();
    html! {
        @if view.state().job.walls.len() > 1 {
            nav class="pick" aria-label="Wall" {
                @for wall in &view.state().job.walls {
                    a href=(view.link("/", &[("on", &wall.key)])) aria-current=[(here.as_ref() == Some(&wall.key)).then_some("true")] { span class="hear" { "Wall " } (wall.key) }
                }
            }
        }
    }
}

/// The hold points whose release was requested and that whoever holds the phone may release.
fn asked_of(view: &View<'_>) -> Vec<(HoldIx, SubjectIx)> {
    let (state, context) = (view.state(), view.context);
    let is_asked = |(hold, subject): &(HoldIx, SubjectIx)| {
        state.hold(*hold, *subject).asked_at.is_some()
            && may_release(state, *hold, *subject, &context.person, context.now).is_ok()
    };
    state.hold_points().filter(is_asked).collect()
}

fn asked(view: &View<'_>, hold: HoldIx, subject: SubjectIx) -> Markup {
    let (state, hold) = (view.state(), &view.state().sequence().holds[hold]);
    let on = state.subjects.get(subject).to_string();
    html! {
        div class="box" {
            p { strong { "Your release was requested: " } (hold.title) ", " (the(&on)) "." }
            a class="go" href=(format!("{}#hold-{}", view.link("/holds", &[]), hold.key)) { "See the hold point" }
        }
    }
}

fn stopped(view: &View<'_>, stoppage: &crate::day::Stoppage) -> Markup {
    html! {
        div class="box stop" {
            p { strong { (visible(&stoppage.standing(view.context.now))) "." } }
            (view.form("/stoppage", &html! {
                input type="hidden" name="what" value="end";
                input type="hidden" name="stoppage" value=(stoppage.entry);
                button class="quiet" { "Work has resumed" }
            }))
        }
    }
}

/// What comes first, whole.
fn first(view: &View<'_>, task: &Task) -> Markup {
    let state = view.state();
    html! {
        section class="next" aria-labelledby="next" {
            @match task {
                Task::Step(group) => {
                    h2 id="next" { (title_of(view, group)) }
                    @if group.urgency != Urgency::InOrder { p { "Why now: " (visible(&group.why)) "." } }
                    a class="go" href=(to_step(view, group)) { "Start" }
                }
                Task::Hold { hold, subject } => {
                    @let (hold, on) = (&state.sequence().holds[*hold], state.subjects.get(*subject).to_string());
                    h2 id="next" { "Hold point on " (the(&on)) ": " (hold.title) }
                    p { "The work before it is done. Later work waits for its release by " (someone(&hold.roles)) "." }
                    a class="go" href=(format!("{}#hold-{}", view.link("/holds", &[]), hold.key)) { "See the hold point" }
                }
                Task::Cautions { cautions, step } => {
                    @let found = &state.sequence().cautions[cautions[0]];
                    h2 id="next" { (caution_titles(state, cautions)) }
                    p { "Everyone confirms this once a day, before '" (state.sequence().steps[*step].title) "'." }
                    @if view.is_unread(cautions[0]) {
                        a class="go" href=(view.link("/cautions", &[])) { "Read it" }
                    } @else {
                        p { "Still to be read by " (state.has_not_read(&found.key, view.context.now).join(", ")) ", each on their own phone or at the laptop." }
                    }
                }
                Task::Reading { limit, why, walls } => (reading_due(view, *limit, why, walls)),
                Task::OpenDay => (open_day(view)),
                Task::CloseOldDay => (super::evening::close_day(view, "It was left open: close it first.")),
                Task::SealPlan { why, .. } => {
                    h2 id="next" { "Plan the sealing" }
                    p { "Why now: " (visible(why)) "." }
                    (planning(view))
                }
            }
        }
    }
}

/// "Caution: Work at height"; of several, all their titles.
fn caution_titles(state: &State, cautions: &[CautionIx]) -> String {
    let titles: Vec<&str> = cautions.iter().map(|caution| state.sequence().cautions[*caution].title.as_str()).collect();
    format!("Caution{}: {}", if titles.len() == 1 { "" } else { "s" }, titles.join(", "))
}

/// What comes later, in a line.
fn row(view: &View<'_>, task: &Task) -> Markup {
    let state = view.state();
    let (to, words) = match task {
        Task::Step(group) => (to_step(view, group), title_of(view, group)),
        Task::Hold { hold, subject } => {
            let on = state.subjects.get(*subject).to_string();
            (view.link("/holds", &[]), format!("Hold point on {}: {}", the(&on), state.sequence().holds[*hold].title))
        }
        Task::Cautions { cautions, .. } => (view.link("/cautions", &[]), caution_titles(state, cautions)),
        Task::Reading { walls, .. } => {
            let on = state.subjects.shortly(walls);
            (format!("{}#reading", view.link(&format!("/on/{on}"), &[])), format!("Reading on {on}"))
        }
        Task::OpenDay => (view.link("/", &[]), "Open the day".to_owned()),
        Task::CloseOldDay => (view.link("/evening", &[]), "Close the day that was left open".to_owned()),
        Task::SealPlan { .. } => (view.link("/sealplan", &[]), "Plan the sealing".to_owned()),
    };
    html! { a href=(to) { (words) } }
}

fn nothing(view: &View<'_>) -> Markup {
    let (state, now) = (view.state(), view.context.now);
    let here = |subject: SubjectIx| view.context.wall.is_none_or(|wall| crate::day::is_at(state, subject, wall));
    let waiting = view.actions.iter().filter(|action| here(action.subject) && action.stopped.is_none());
    let waiting = waiting.min_by_key(|action| (action.opens_at.is_none(), action.opens_at));
    html! {
        section class="next" aria-labelledby="next" {
            @if view.actions.is_empty() {
                h2 id="next" { "Every step is done" }
                p { "The handover pack is made at the laptop: cladlog pack FOLDER" }
            } @else {
                h2 id="next" { "Nothing more can be done here right now" }
                @if let Some(action) = waiting {
                    @let title = &state.sequence().steps[action.step].title;
                    p { (title) (on_words(&state.subjects, &[action.subject])) " waits: " (visible(&action.why)) "." }
                    @if let (Some(rule), Some(clears)) = (action.rule, &action.clears) { p { "To do: " (super::notice::way_out(view, rule, clears)) } }
                    @if let Some(opens) = action.opens_at.filter(|opens| *opens > now) {
                        p class="big" { "Not before " (opens.clock(now.date())) }
                    }
                }
            }
        }
    }
}

fn title_of(view: &View<'_>, group: &Group) -> String {
    let state = view.state();
    format!("{}{}", state.sequence().steps[group.step].title, on_words(&state.subjects, &group.subjects))
}

fn to_step(view: &View<'_>, group: &Group) -> String {
    let state = view.state();
    let step = &state.sequence().steps[group.step];
    // Of courses that go up in turn, those up to the next that is checked.
    let last = if step.in_turn { crate::day::next_checked(state, group.step, &group.subjects) + 1 } else { usize::MAX };
    let subjects = &group.subjects[..last.min(group.subjects.len())];
    view.link(&format!("/step/{}", step.key), &[("on", &state.subjects.shortly(subjects))])
}

/// R12: who is on site, what the talk was about, a hazard.
fn open_day(view: &View<'_>) -> Markup {
    let state = view.state();
    html! {
        h2 id="next" { "Open the site day" }
        (view.form("/day", &html! {
            input type="hidden" name="what" value="open";
            fieldset {
                legend { "Who is on site?" }
                @for person in &state.job.people {
                    label class="tick" {
                        input type="checkbox" name="crew" value=(person.name) checked[state.is_usually_on_site(person)];
                        span { bdi { (visible(&person.name)) } " (" (person.roles.join(", ")) ")" }
                    }
                }
            }
            label { "Topic of the pre-start talk" input name="talk" value="the day's work" autocomplete="off"; }
            @for line in state.exposure_lines(view.context.now) { p { (line) } }
            label { "A hazard today, if there is one" input name="hazard" autocomplete="off"; }
            button class="go" { "Open the day" }
        }))
    }
}
