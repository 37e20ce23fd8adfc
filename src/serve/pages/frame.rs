//! The frame of all pages: head, notice, the bar between them.

use maud::{DOCTYPE, Markup, html};

use super::notice::notice;
use super::view::{View, segment};
use crate::plain::visible;

/// A page of the bar.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tab {
    Now,
    Clocks,
    Wall,
    Cautions,
    Holds,
    Evening,
}

/// A page for a paired phone; `tab` is where it stands in the bar, if it stands there.
pub(super) fn page(view: &View<'_>, title: &str, tab: Option<Tab>, main: &Markup) -> Markup {
    let (state, context) = (view.state(), view.context);
    let unread = view.due_cautions().into_iter().filter(|caution| view.is_unread(*caution)).count();
    let wall = view.at().or_else(|| state.job.walls.first().map(|wall| wall.key.clone())).unwrap_or_default();
    let wall = format!("/wall/{}", segment(&wall));
    let tabs = [
        (Tab::Now, "/", "Now", 0),
        (Tab::Clocks, "/clocks", "Clocks", 0),
        (Tab::Wall, wall.as_str(), "Wall", 0),
        (Tab::Cautions, "/cautions", "Cautions", unread),
        (Tab::Holds, "/holds", "Holds", 0),
        (Tab::Evening, "/evening", "Evening", 0),
    ];
    let body = html! {
        header {
            p class="job" { bdi { (visible(&state.job.name)) } }
            p { bdi { (visible(&context.person)) } ", " time datetime=(context.now) data-clock { (context.now.clock(context.now.date())) } }
            @if context.plain { p { "Not encrypted: anybody on this network can read what is sent." } }
            @if state.rehearsal { p { "Rehearsal: the clock was set by hand." } }
        }
        main id="main" tabindex="-1" {
            h1 { (title) }
            (notice(view))
            (main)
        }
        nav class="bar" aria-label="Pages" {
            @for (here, path, word, count) in tabs {
                a href=(view.link(path, &[])) aria-current=[(tab == Some(here)).then_some("page")] {
                    (word)
                    @if count > 0 { span class="badge" { (count) span class="hear" { " to read" } } }
                }
            }
        }
    };
    let now = context.now.instant().timestamp_millis();
    let paired = Paired { now, token: &context.token, person: &context.person };
    document(&format!("{title}, {}", visible(&state.job.name)), Some(paired), &body)
}

/// What the page of a paired phone carries for the script.
pub(super) struct Paired<'a> {
    /// The clock, in milliseconds since 1970.
    now: i64,
    /// The token of its forms.
    token: &'a str,
    /// Whose it is.
    person: &'a str,
}

/// A page whole.
pub(super) fn document(title: &str, paired: Option<Paired<'_>>, body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1, viewport-fit=cover";
                meta name="color-scheme" content="light dark";
                title { (title) }
                link rel="stylesheet" href="/style.css";
                // A stranger may have the style and the script, and nothing else.
                @if paired.is_some() { link rel="icon" href="/icon.svg" type="image/svg+xml"; }
                script src="/script.js" defer {}
            }
            body data-now=[paired.as_ref().map(|own| own.now)] data-token=[paired.as_ref().map(|own| own.token)] data-person=[paired.as_ref().map(|own| own.person)] {
                a class="skip" href="#main" { "Skip to content" }
                (body)
            }
        }
    }
}
