//! What came of the last form.

use maud::{Markup, html};

use super::view::View;
use crate::day::window_words;
use crate::journal::deed;
use crate::plain::visible;
use crate::record::{Entry, EntryId};
use crate::refusal::{Refusal, Rule};
use crate::serve::context::Notice;

/// What came of the last form; nothing where none was sent.
pub(super) fn notice(view: &View<'_>) -> Markup {
    match &view.context.notice {
        Some(Notice::Done(entry)) => recorded(view, entry),
        Some(Notice::Refused(refusal)) => html! {
            div class="box stop" role="alert" tabindex="-1" autofocus { (refused(view, refusal)) }
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
fn recorded(view: &View<'_>, first: &EntryId) -> Markup {
    let (state, now) = (view.state(), view.context.now);
    let ids = together(view, first);
    let Some(entry) = view.book.entry(first) else { return html! {} };
    let started = state.runs();
    let started = started.iter().filter(|run| ids.contains(&run.from.entry));
    let defects = state.defects.iter().filter(|defect| ids.contains(defect.opened_by()));
    let late = if entry.is_late() { ", recorded late" } else { "" };
    let struck = ids.iter().any(|id| state.struck.contains_key(id));
    html! {
        div class="box done" role="status" {
            p { strong { "Recorded: " } (visible(&deed(&ids, view.book))) ", " (entry.happened_at.clock(now.date())) (late) "." }
            @for run in started {
                p { (run.window.title) " on " (state.subjects.get(run.subject)) ": " (window_words(run, now)) "." }
            }
            @for defect in defects { p class="flag" { "Defect opened: " (visible(&defect.what)) "." } }
            @if !struck && !matches!(entry.body, crate::record::Body::JobAdded(_) | crate::record::Body::Struck(_)) {
                details {
                    summary { "Undo" }
                    @let ids: Vec<String> = ids.iter().map(ToString::to_string).collect();
                    (view.form("/undo", &html! {
                        input type="hidden" name="entries" value=(ids.join(","));
                        button class="quiet" { "Take it back" }
                    }))
                }
            }
        }
    }
}

/// The entries that were recorded together with one: those that follow it, of one kind and one time.
fn together(view: &View<'_>, first: &EntryId) -> Vec<EntryId> {
    let entries = view.book.entries.iter().skip_while(|entry| entry.id() != *first);
    let mut entries = entries.peekable();
    let Some(one) = entries.peek().copied() else { return Vec::new() };
    let goes_with = |entry: &&Entry| {
        entry.device == one.device
            && (entry.recorded_at, entry.happened_at, &entry.by) == (one.recorded_at, one.happened_at, &one.by)
            && entry.body.kind() == one.body.kind()
    };
    entries.take_while(goes_with).map(Entry::id).collect()
}

/// What is stopped, why, and what clears it.
pub(super) fn refused(view: &View<'_>, refusal: &Refusal) -> Markup {
    html! {
        p { strong { "Stopped: " } (visible(&refusal.what)) "." }
        p { strong { "Why: " } (visible(&refusal.why)) "." }
        p { strong { "To do: " } (way_out(view, refusal.rule, &refusal.clears)) }
    }
}

/// What clears something, as a link where a page does it. What is left is a command for the laptop.
pub(super) fn way_out(view: &View<'_>, rule: Rule, clears: &str) -> Markup {
    if let Some((step, on)) = step_in(view, clears) {
        let steps = &view.state().sequence().steps;
        return html! { "first " a href=(view.link(&format!("/step/{}", steps[step].key), &[("on", &on)])) { (steps[step].title) " on " (on) } };
    }
    let wall = view.at().or_else(|| view.state().job.walls.first().map(|wall| wall.key.clone())).unwrap_or_default();
    match rule {
        Rule::R5 => html! { a href=(view.link("/holds", &[])) { "see the hold points" } },
        Rule::R7 if clears.contains("cladlog reading") => {
            html! { a href=(view.link("/on/job", &[])) { "take a reading" } }
        }
        Rule::R9 => html! { a href=(view.link("/cautions", &[])) { "read the cautions" } },
        Rule::R12 => html! { a href=(view.link("/", &[("on", &wall)])) { "open the day" } },
        _ if clears.contains("cladlog ") => html! { "at the laptop: " (visible(clears)) },
        _ => html! { (visible(clears)) },
    }
}

/// The step that is to be recorded first, and on what, where that is what clears it.
fn step_in(view: &View<'_>, clears: &str) -> Option<(usize, String)> {
    let mut words = clears.split_once("cladlog record ")?.1.split_whitespace();
    let step = view.state().sequence().step(words.next()?)?;
    let on = words.skip_while(|word| *word != "--on").nth(1)?.trim_end_matches([';', ',', '.']);
    view.state().subjects.parse(on).ok()?;
    Some((step, on.to_owned()))
}
