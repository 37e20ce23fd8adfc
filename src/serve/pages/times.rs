//! When something was done: how much of what is done in one go, since when, and whether it was earlier than now.

use maud::{Markup, html};

use super::view::View;
use crate::building::SubjectIx;
use crate::day::InOneGo;
use crate::sequence::StepIx;

/// So many minutes ago something may have been begun by one press.
const MINUTES_AGO: [u32; 4] = [5, 10, 15, 20];

/// What is asked of a step and those that follow it at once: how many of them are done; when it was begun, where a window
/// counts from there.
pub(super) fn done_in_one_go(view: &View<'_>, step: StepIx, subjects: &[SubjectIx]) -> Vec<Markup> {
    let go = InOneGo::from(view.state(), step, subjects);
    let asked = [(!go.following().is_empty()).then(|| so_far(view, step, &go)), begun(view, &go)];
    asked.into_iter().flatten().collect()
}

fn so_far(view: &View<'_>, step: StepIx, go: &InOneGo<'_>) -> Markup {
    let typed = view.context.typed.get("so_far");
    let last = std::iter::once(&step).chain(go.following()).map(|step| &view.state().sequence().steps[*step].key);
    html! {
        fieldset class="ask" {
            legend { "Done so far" }
            @for (last, words) in last.zip(go.done_so_far()) {
                label class="tick" {
                    input type="radio" name="so_far" value=(last) required checked[typed == Some(last)] data-on;
                    span { (words) }
                }
            }
        }
    }
}

fn begun(view: &View<'_>, go: &InOneGo<'_>) -> Option<Markup> {
    if !go.counts_from_its_beginning() {
        return None;
    }
    let typed = &view.context.typed;
    let ago = std::iter::once((0, "Just now".to_owned()));
    let ago = ago.chain(MINUTES_AGO.map(|minutes| (minutes, format!("{minutes} min ago"))));
    let chosen = typed.get("began");
    Some(html! {
        fieldset class="ask" {
            legend { "When was it begun?" }
            p class="limit" { "The first metre counts." }
            div class="either" {
                @for (minutes, words) in ago {
                    @let value = minutes.to_string();
                    label class="tick" {
                        input type="radio" name="began" value=(value) checked[chosen == Some(&value)] data-on;
                        span { (words) }
                    }
                }
            }
            (clock("began_at", "Or at", typed.get("began_at")))
            @if !go.following().is_empty() {
                details {
                    summary { "What followed was not done just now" }
                    @for step in go.following() {
                        @let step = &view.state().sequence().steps[*step];
                        @let name = format!("time:{}", step.key);
                        (clock(&name, &format!("{}, at", step.title), typed.get(&name)))
                    }
                }
            }
        }
    })
}

/// For what was done earlier: the time that counts.
pub(super) fn earlier(view: &View<'_>) -> Markup {
    let typed = view.context.typed.get("happened_at");
    html! {
        details open[typed.is_some()] data-last {
            summary { "It was done earlier than now" }
            (clock("happened_at", "Done at", typed))
        }
    }
}

fn clock(name: &str, label: &str, typed: Option<&str>) -> Markup {
    html! { label { (label) input type="time" name=(name) value=[typed]; } }
}
