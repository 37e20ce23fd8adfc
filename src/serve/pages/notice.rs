//! What came of the last form.

use maud::{Markup, html};

use super::view::{View, segment};
use crate::day::{on_words, window_words};
use crate::journal::deed;
use crate::plain::visible;
use crate::record::{Body, Entry, EntryId, EntryRun};
use crate::refusal::{Clears, Refusal, Remedy, Rule};
use crate::serve::context::Notice;

/// What came of the last form; nothing where none was sent.
pub(super) fn notice(view: &View<'_>) -> Markup {
    match &view.context.notice {
        Some(Notice::Done(entries)) => recorded(view, entries),
        Some(Notice::Refused(refusal)) => html! {
            div class="box stop" role="alert" tabindex="-1" autofocus {
                (refused(view, refusal))
                @if let Some(entries) = view.context.typed.get("entries").filter(|_| refusal.unless_anyway) {
                    details {
                        summary { "Take it back all the same" }
                        (view.form("/undo", &html! {
                            input type="hidden" name="entries" value=(entries);
                            input type="hidden" name="anyway" value="yes";
                            label { "Reason" textarea name="why" rows="2" required {} }
                            button class="quiet" { "Take it back" }
                        }))
                    }
                }
            }
        },
        Some(Notice::Wrong { why, .. }) => html! {
            div class="box stop" role="alert" tabindex="-1" autofocus {
                p { strong { "Not recorded." } }
                p { (visible(why)) }
            }
        },
        None => html! {},
    }
}

/// What was recorded, what it opened, and the way back.
fn recorded(view: &View<'_>, run: &EntryRun) -> Markup {
    let (state, now) = (view.state(), view.context.now);
    let entries: Vec<&Entry> = view.book.entries.iter().filter(|entry| run.contains(&entry.id())).collect();
    let Some(entry) = entries.last() else { return html! {} };
    // What a photo was recorded with says what it is of.
    let of_kind = entries.iter().filter(|one| one.body.kind() == entries[0].body.kind());
    let of_kind: Vec<EntryId> = of_kind.map(|entry| entry.id()).collect();
    let ids: Vec<EntryId> = entries.iter().map(|entry| entry.id()).collect();
    let started = state.runs();
    let started = started.iter().filter(|run| ids.contains(&run.from.entry));
    let defects = state.defects.iter().filter(|defect| ids.contains(defect.opened_by()));
    let late = if entry.is_late() { ", recorded late" } else { "" };
    let struck = ids.iter().any(|id| state.struck.contains_key(id));
    html! {
        div class="box done" role="status" {
            p { strong { "Recorded: " } (visible(&deed(&of_kind, view.book))) ", " (entry.happened_at.clock(now.date())) (late) "." }
            @for run in started {
                p { (run.window.title) " on " (state.subjects.get(run.subject)) ": " (window_words(run, now)) "." }
            }
            @for defect in defects { p class="flag" { "Defect opened: " (visible(&defect.what)) "." } }
            @if !struck && !matches!(entry.body, Body::JobAdded(_) | Body::Struck(_)) {
                details {
                    summary { "Undo" }
                    (view.form("/undo", &html! {
                        input type="hidden" name="entries" value=(run);
                        button class="quiet" { "Take it back" }
                    }))
                }
            }
        }
    }
}

/// What is stopped, why, and what clears it.
pub(super) fn refused(view: &View<'_>, refusal: &Refusal) -> Markup {
    html! {
        p { strong { "Stopped: " } (visible(&refusal.what)) "." }
        p { strong { "Why: " } (visible(&refusal.why)) "." }
        p { strong { "To do: " } (way_out(view, refusal.rule, &refusal.clears)) }
    }
}

/// What clears something, as a link where a page does it.
pub(super) fn way_out(view: &View<'_>, rule: Rule, clears: &Clears) -> Markup {
    let link = |path: &str, words: &str| html! { a href=(view.link(path, &[])) { (words) } };
    match &clears.remedy {
        Some(Remedy::Record { step, on, before: None }) => html! { "first " (to_step(view, step, on)) },
        Some(Remedy::Record { step, on, before: Some(before) }) => {
            html! { (visible(before)) " Then " (to_step(view, step, on)) " again" }
        }
        Some(Remedy::Read { on, before, .. }) => html! {
            @if let Some(before) = before { (visible(before)) "; then " }
            a href=(format!("{}#reading", view.link(&format!("/on/{}", segment(on)), &[]))) { "take a reading on " (on) }
        },
        Some(Remedy::Release { hold, .. }) => {
            html! { a href=(format!("{}#hold-{hold}", view.link("/holds", &[]))) { "see the hold point" } }
        }
        Some(Remedy::Acknowledge { .. }) => link("/cautions", "read the cautions"),
        Some(Remedy::Deliver { .. }) => html! { "use what is in date, or " (link("/stock", "record a delivery")) },
        Some(Remedy::OpenDay) => link("/", "open the day"),
        Some(Remedy::CloseDay { .. }) => link("/evening", "close the day"),
        // The clock is the laptop's.
        None if rule == Rule::Clock => html! { "at the laptop: " (visible(&clears.words)) },
        None => html! { (visible(&clears.words)) },
    }
}

/// A step on a subject, as a link.
pub(super) fn to_step(view: &View<'_>, step: &str, on: &str) -> Markup {
    let sequence = view.state().sequence();
    let title = sequence.step(step).map_or(step, |index| sequence.steps[index].title.as_str());
    let subjects = view.state().subjects.parse(on).unwrap_or_default();
    html! {
        a href=(view.link(&format!("/step/{}", segment(step)), &[("on", on)])) { (title) (on_words(&view.state().subjects, &subjects)) }
    }
}
