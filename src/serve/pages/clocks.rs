//! Clocks: every window that runs, the most pressing first.

use maud::{Markup, html};

use super::frame::{Tab, page};
use super::view::View;
use crate::day::{Book, Phase, WindowsAlike, gathered_windows, is_at, window_words};
use crate::serve::context::PageContext;

/// Every window that runs, big, counting.
pub fn clocks(book: &Book, context: &PageContext) -> Markup {
    let view = View::new(book, context);
    let all = gathered_windows(view.state(), context.now);
    let main = html! {
        div id="clocks" data-part {
            @if all.is_empty() { p { "No window is running." } }
            @for run in &all { (clock(&view, run)) }
        }
        p class="fine" {
            "With scripts on, the phone sounds and vibrates before a window closes while this program is on its screen. "
            "When the screen is off it can't: set an alarm for what must not be missed."
        }
    };
    page(&view, "Clocks", Some(Tab::Clocks), &main)
}

/// What presses: windows that are closing anywhere, and those at this wall that are open and close today.
pub(super) fn pressing<'v>(view: &View<'v>) -> Vec<WindowsAlike<'v>> {
    let (state, now) = (view.state(), view.context.now);
    let mut all = gathered_windows(state, now);
    let here = |subject| view.context.wall.is_none_or(|wall| is_at(state, subject, wall));
    all.retain(|one| match one.run.phase(now) {
        Phase::Closing => true,
        Phase::Open => here(one.run.subject) && one.run.closes_at.is_some_and(|closes| closes.date() == now.date()),
        _ => false,
    });
    all
}

/// One window: what it is, where it stands in words, how long it still has.
pub(super) fn clock(view: &View<'_>, alike: &WindowsAlike<'_>) -> Markup {
    let (state, now, run) = (view.state(), view.context.now, &alike.run);
    let (phase, on) = (run.phase(now), state.subjects.shortly(&alike.subjects));
    let to = &state.sequence().steps[run.window.to];
    let until = match phase {
        Phase::Waiting => Some(run.opens_at),
        Phase::Open | Phase::Closing => run.closes_at,
        Phase::Lapsed | Phase::Met => None,
    };
    let millis = |at: crate::moment::Moment| at.instant().timestamp_millis();
    let begins = if phase == Phase::Waiting { run.began } else { run.opens_at };
    html! {
        section class={ "clock " (phase.word()) } data-key=(format!("{} {on} {}", run.window.key, run.from.entry))
            data-until=[until.map(millis)] data-warns=[run.warns_at.map(millis)] {
            h2 { (on) ": " (run.window.title) }
            p class="state" { strong { (word(phase)) } ", " (window_words(run, now)) }
            @if let Some(until) = until {
                p class="count" aria-hidden="true" data-count { (left(until - now)) }
                progress max=((until - begins).num_seconds().max(1)) value=((now - begins).num_seconds().clamp(0, (until - begins).num_seconds().max(1))) aria-label="How much of it has gone by" {}
            }
            @if matches!(phase, Phase::Open | Phase::Closing) {
                a class="go" href=(view.link(&format!("/step/{}", to.key), &[("on", &on)])) { (to.title) }
            } @else if phase == Phase::Lapsed {
                @let from = &state.sequence().steps[run.window.from];
                @if let Some(redo) = &run.window.redo { p { (redo) } }
                a class="go" href=(view.link(&format!("/step/{}", from.key), &[("on", &on)])) { "Again: " (from.title) }
            }
        }
    }
}

fn word(phase: Phase) -> &'static str {
    match phase {
        Phase::Waiting => "Not open yet",
        Phase::Open => "Open",
        Phase::Closing => "CLOSING",
        Phase::Lapsed => "LAPSED",
        Phase::Met => "Met",
    }
}

/// A length as a clock shows it: hours, minutes; minutes, seconds below an hour.
fn left(length: chrono::TimeDelta) -> String {
    let seconds = length.num_seconds().max(0);
    match seconds {
        86_400.. => format!("{} d {} h", seconds / 86_400, seconds % 86_400 / 3600),
        3600.. => format!("{}:{:02} h", seconds / 3600, seconds % 3600 / 60),
        _ => format!("{}:{:02}", seconds / 60, seconds % 60),
    }
}

#[cfg(test)]
mod tests {
    use super::left;
    use chrono::TimeDelta;

    #[test]
    fn lengths_are_shown_as_a_clock_does() {
        for (seconds, shown) in
            [(-5, "0:00"), (0, "0:00"), (59, "0:59"), (3599, "59:59"), (3600, "1:00 h"), (90_000, "1 d 1 h")]
        {
            assert_eq!(left(TimeDelta::seconds(seconds)), shown);
        }
    }
}
