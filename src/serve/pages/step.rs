//! A step: what is asked, one record for every subject of the group. Without scripts it is one form with all questions;
//! with them it is gone through one question at a time.

use maud::{Markup, html};

use super::aside::{camera, photo};
use super::frame::page;
use super::notice::way_out;
use super::times::{done_in_one_go, earlier};
use super::view::View;
use crate::building::{SubjectIx, SubjectKind};
use crate::day::{
    Book, Choice, answer_typed, judge, judged_words, limit_line, offer_words, on_words, planned_ask, the,
};
use crate::plain::visible;
use crate::sequence::{Ask, AskKind, StepIx};
use crate::serve::context::{Notice, PageContext, Typed};
use crate::units::number::{show, with_point};

/// As many batches as a screen takes.
const MOST_OFFERED: usize = 8;

/// A step on some subjects.
pub fn step(book: &Book, index: StepIx, subjects: &[SubjectIx], context: &PageContext) -> Markup {
    let view = View::new(book, context);
    let state = view.state();
    let step = &state.sequence().steps[index];
    let on = state.subjects.shortly(subjects);
    let first = subjects.first().copied().unwrap_or_default();
    let mut breaches = subjects.iter().flat_map(|subject| judge(state, index, *subject, context.now, subjects));
    let breach = breaches.next();
    let held_up = breach.is_some() || matches!(context.notice, Some(Notice::Refused(_)));
    let form = form(&view, index, subjects, &on, held_up);
    let done: Vec<SubjectIx> = subjects.iter().copied().filter(|subject| is_recorded(&view, index, *subject)).collect();
    let sent_back = context.typed.get("step").is_some();
    let main = html! {
        div id="stands" data-part {
            @for stoppage in state.open_stoppages().filter(|one| state.is_stopped_by(one, first)) {
                p class="box stop" { strong { (visible(&stoppage.standing(context.now))) "." } }
            }
            @if !done.is_empty() && !sent_back { (recorded_already(&view, index, &done)) }
        }
        @if let Some(how) = &step.how { details { summary { "How it is done" } p { (how) } } }
        @for (what, line) in state.shown_before(index, first) { p { strong { (what) ": " } (visible(&line)) } }
        @if let Some(plan) = state.active_plan(context.now) {
            @if let Some(planned) = plan.of(index, first) { p { strong { "By the seal plan: " } (visible(&planned.in_words(context.now.date()))) "." } }
        }
        (up_to_which(&view, index, subjects))
        @match &breach {
            Some(breach) => {
                div class="box stop" {
                    p { strong { "Not yet: " } (visible(&breach.why)) "." }
                    p { strong { "To do: " } (way_out(&view, breach.rule, &breach.clears)) }
                }
                details open[sent_back] {
                    summary { "It has happened all the same" }
                    p { "What happened can always be recorded. It opens a defect." }
                    (form)
                }
            }
            None if done.len() == subjects.len() => details open[sent_back] { summary { "It was done once more" } (form) },
            None => (form),
        }
        section aria-labelledby="also" {
            h2 id="also" { "Also, of this step" }
            details { summary { "Photo" } (photo(&view, &on, Some(&step.key))) }
            p { a href=(view.link(&format!("/on/{}", state.subjects.get(first)), &[])) { "All of " (the(&state.subjects.get(first).to_string())) } }
        }
    };
    page(&view, &format!("{}{}", step.title, on_words(&state.subjects, subjects)), None, &main)
}

/// Whether a step is recorded on a subject and stands.
fn is_recorded(view: &View<'_>, step: StepIx, subject: SubjectIx) -> bool {
    let state = view.state();
    !state.done(step, subject).is_empty() && state.complete(step, subject, view.context.now)
}

/// What is recorded already, so that nobody records it twice: by whom, and when the last of it was done.
fn recorded_already(view: &View<'_>, step: StepIx, done: &[SubjectIx]) -> Markup {
    let (state, today) = (view.state(), view.context.now.date());
    let last = done.iter().filter_map(|subject| state.done(step, *subject).last()).max_by_key(|done| done.at);
    html! {
        @if let Some(last) = last {
            p class="box done" {
                strong { "Recorded already" (on_words(&state.subjects, done)) ": " }
                (last.at.clock(today)) ", by " bdi { (visible(&last.by)) } "."
            }
        }
    }
}

/// Of courses that go up in turn: up to which one was done.
fn up_to_which(view: &View<'_>, index: StepIx, subjects: &[SubjectIx]) -> Markup {
    let state = view.state();
    let step = &state.sequence().steps[index];
    let first = subjects.first().copied().unwrap_or_default();
    if !step.in_turn || state.subjects.get(first).number().is_none() {
        return html! {};
    }
    let mut row: Vec<SubjectIx> =
        state.work().filter(|(other, _)| *other == index).map(|(_, subject)| subject).collect();
    row.retain(|subject| {
        *subject >= first
            && state.subjects.walls_of(*subject) == state.subjects.walls_of(first)
            && !state.complete(index, *subject, view.context.now)
    });
    crate::day::keep_recordable(state, index, &mut row, view.context.now);
    html! {
        @if row.len() > 1 {
            nav class="pick" aria-label=(format!("Up to which {}", state.subjects.get(first).kind())) {
                span { "Up to" }
                @for (place, subject) in row.iter().enumerate() {
                    @let to = state.subjects.shortly(&row[..=place]);
                    a href=(view.link(&format!("/step/{}", step.key), &[("on", &to)])) aria-current=[(place + 1 == subjects.len()).then_some("true")] {
                        (short(&state.subjects.get(*subject).to_string()))
                    }
                }
            }
        }
    }
}

/// An id without its wall.
fn short(id: &str) -> &str {
    id.rsplit('/').next().unwrap_or(id)
}

/// The form: every question, then the button. Where something stands in the way it asks for the reason.
fn form(view: &View<'_>, index: StepIx, subjects: &[SubjectIx], on: &str, held_up: bool) -> Markup {
    let state = view.state();
    let step = &state.sequence().steps[index];
    let mut asked: Vec<Markup> = step.asks.iter().filter_map(|ask| question(view, index, ask, subjects)).collect();
    asked.extend(done_in_one_go(view, index, subjects));
    let with_photo = step.asks.iter().any(|ask| ask.kind == AskKind::Photo);
    let typed = &view.context.typed;
    let fields = html! {
        input type="hidden" name="step" value=(step.key);
        input type="hidden" name="on" value=(on);
        div data-asks { @for ask in &asked { (ask) } }
        @if held_up {
            div class="ask" {
                input type="hidden" name="anyway" value="yes";
                label { "Record it anyway? Reason" textarea name="why" rows="2" required { (typed.get("why").unwrap_or_default()) } }
            }
        }
        (earlier(view))
        button class="go" { @if asked.is_empty() { "Done: record it" } @else { "Record" } }
    };
    html! {
        div class="step" data-step=(step.key) {
            @if with_photo { (view.photo_form("/record", &fields)) } @else { (view.form("/record", &fields)) }
        }
    }
}

/// One question, of all subjects at once or of each where it is measured; none where none of them is asked it.
fn question(view: &View<'_>, index: StepIx, ask: &Ask, subjects: &[SubjectIx]) -> Option<Markup> {
    let state = view.state();
    let typed = &view.context.typed;
    let chosen = ask.by.as_ref().and_then(|by| typed.get(&format!("answer:{by}")));
    // Beside the answer that may make it needless nobody is made to give one.
    let optional = ask.optional || ask.unless.is_some();
    let put = |subject: &SubjectIx| {
        let ask = planned_ask(state, index, ask, *subject)?.where_chosen(chosen);
        Some((*subject, Ask { optional, ..Ask::clone(&ask) }))
    };
    let asked: Vec<(SubjectIx, Ask)> = subjects.iter().filter_map(put).collect();
    let (_, first) = asked.first()?;
    let name = format!("answer:{}", ask.key);
    let value = typed.get(&name);
    let limit = limit_line(first);
    Some(match ask.kind {
        AskKind::Measured(_) => {
            let many = subjects.len() > 1;
            let same = asked.iter().all(|(_, ask)| limit_line(ask) == limit);
            html! {
                fieldset class="ask" {
                    legend { (ask.prompt) }
                    @if let Some(limit) = limit.as_ref().filter(|_| same) { p class="limit" { (limit) } }
                    @for (subject, ask) in &asked {
                        @let id = state.subjects.get(*subject).to_string();
                        @let name = if many { format!("{name}@{id}") } else { name.clone() };
                        @if let Some(limit) = limit_line(ask).filter(|_| !same) { p class="limit" { (short(&id)) ": " (limit) } }
                        (measured(ask, &name, if many { short(&id) } else { "" }, typed))
                    }
                }
            }
        }
        AskKind::YesNo => html! {
            fieldset class="ask" {
                legend { (ask.prompt) }
                @if let Some(limit) = &limit { p class="limit" { (limit) } }
                div class="either" {
                    @for word in ["yes", "no"] {
                        label class="tick" {
                            input type="radio" name=(name) value=(word) required[!first.optional] checked[value == Some(word)] data-on[word == "yes"];
                            span { @if word == "yes" { "Yes" } @else { "No" } }
                        }
                    }
                }
                @if asked.len() > 1 {
                    details {
                        summary { "Yes, but not on all of them" }
                        div class="either" {
                            @for (subject, _) in &asked {
                                @let id = state.subjects.get(*subject).to_string();
                                @let own = format!("{name}@{id}");
                                label class="tick" {
                                    input type="checkbox" name=(own) value="no" checked[typed.get(&own) == Some("no")];
                                    span { "Not on " (short(&id)) }
                                }
                            }
                        }
                    }
                }
                (judged(first, &name, value))
            }
        },
        AskKind::Choice => html! {
            fieldset class="ask" {
                legend { (ask.prompt) }
                @if let Some(limit) = &limit { p class="limit" { (limit) } }
                @for choice in &ask.choices {
                    label class="tick" {
                        input type="radio" name=(name) value=(choice) required[!first.optional] checked[value == Some(choice)];
                        span { (choice) }
                    }
                }
                (judged(first, &name, value))
            }
        },
        AskKind::Batch => batch(view, index, first, &name, subjects),
        AskKind::Photo => html! {
            fieldset class="ask" {
                legend { (ask.prompt) }
                @if let Some(limit) = &limit { p class="limit" { (limit) } }
                (camera(&name, "Take the photo", !first.optional))
            }
        },
        AskKind::Text => html! {
            fieldset class="ask" {
                legend { (ask.prompt) }
                @if let Some(limit) = &limit { p class="limit" { (limit) } }
                label { "In words" textarea name=(name) rows="2" required[!first.optional] { (value.unwrap_or_default()) } }
                (error(first, value))
            }
        },
    })
}

/// A measurement, with how it is judged once it is typed.
fn measured(ask: &Ask, name: &str, of: &str, typed: &Typed) -> Markup {
    let value = typed.get(name).map(str::to_owned);
    // What was measured is typed, also where it is as usual.
    let hint_of = ask.usual.map(|usual| format!("usually {}", show(usual)));
    let unit = ask.unit();
    let label = match (of, unit) {
        ("", "") => "Answer".to_owned(),
        ("", unit) => format!("In {unit}"),
        (of, "") => of.to_owned(),
        (of, unit) => format!("{of}, {unit}"),
    };
    let hint = judged_id(name);
    if ask.square_over.is_some() {
        return frame(ask, name, of, typed);
    }
    html! {
        label { (label)
            // A keypad of digits may have no minus.
            input name=(name) inputmode=(if ask.may_be_negative() { "text" } else { "decimal" }) autocomplete="off"
                required[!ask.optional] value=[&value] placeholder=[hint_of] aria-describedby=(hint);
        }
        (judged(ask, name, value.as_deref()))
    }
}

/// The diagonals of a frame, each in a field of its own: a keypad of digits has no space.
fn frame(ask: &Ask, name: &str, of: &str, typed: &Typed) -> Markup {
    let beside = name.replacen("answer:", "beside:", 1);
    let all: Vec<&str> = typed.all(name).chain(typed.all(&beside)).collect();
    let width = ask.frame_mm.map(show);
    let labels = ["One diagonal, mm", "The other, mm", "Width of the frame, mm"];
    let hint = judged_id(name);
    html! {
        @if !of.is_empty() { p { strong { (of) } } }
        @for (place, label) in labels.iter().enumerate() {
            @let usual = if place == 2 { width.as_deref() } else { None };
            label { (label)
                input name=(if place == 0 { name } else { &beside }) inputmode="decimal" autocomplete="off"
                    required[!ask.optional] value=[all.get(place).copied().or(usual)] aria-describedby=(hint);
            }
        }
        (judged(ask, name, (!all.is_empty()).then(|| all.join(" ")).as_deref()))
    }
}

/// The place for how an answer is judged.
fn judged(ask: &Ask, name: &str, typed: Option<&str>) -> Markup {
    html! { p id=(judged_id(name)) class="judged" { (error(ask, typed)) } }
}

fn judged_id(name: &str) -> String {
    format!("judged-{}", name.replace([':', '@', '/'], "-"))
}

/// How an answer is judged, or why it is no answer; nothing while there is none.
fn error(ask: &Ask, typed: Option<&str>) -> Markup {
    let Some(text) = typed else { return html! {} };
    let text = if ask.square_over.is_some() { text.to_owned() } else { with_point(text) };
    match answer_typed(ask, &text) {
        Err(error) => html! { strong class="flag" { (visible(&error.to_string())) } },
        Ok(answer) => match judged_words(ask, &answer) {
            Some((true, words)) => html! { span class="good" { (words) } },
            Some((false, words)) => html! { strong class="flag" data-out { (words) } },
            None => html! {},
        },
    }
}

/// The batch of what a step is done with: one of those on site, or another label.
fn batch(view: &View<'_>, index: StepIx, ask: &Ask, name: &str, subjects: &[SubjectIx]) -> Markup {
    let (state, now, typed) = (view.state(), view.context.now, &view.context.typed);
    let wall = subjects.first().and_then(|first| state.subjects.walls_of(*first).first().copied());
    let product = ask.product.as_deref();
    let mut offered: Vec<Choice> = product.map(|product| state.choices(product, wall, now)).unwrap_or_default();
    offered.truncate(MOST_OFFERED);
    let today = now.date();
    let value = typed.get(name);
    let usual = value.map(str::to_owned).or_else(|| {
        let on_job = state.sequence().steps[index].is_on(SubjectKind::Job);
        offered.iter().find(|one| !on_job && one.is_good(today)).map(|one| one.batch.clone())
    });
    let other = value.filter(|value| offered.iter().all(|one| one.batch != *value));
    let last = offered.is_empty().then(|| crate::day::last_label(state, ask)).flatten();
    html! {
        fieldset class="ask" {
            legend { (ask.prompt) }
            @if let Some(limit) = limit_line(ask) { p class="limit" { (limit) } }
            @for choice in &offered {
                label class="tick" {
                    input type="radio" name=(name) value=(choice.batch) checked[usual.as_deref() == Some(&choice.batch)];
                    span { (visible(&offer_words(choice, today))) }
                }
            }
            @if !offered.is_empty() {
                label class="tick" {
                    input type="radio" name=(name) value="" checked[usual.is_none() || other.is_some()];
                    span { @if ask.optional { "None of these, or none at all" } @else { "None of these" } }
                }
            }
            label class=[(!offered.is_empty()).then_some("other")] {
                @if offered.is_empty() { "Label" } @else { "Another label" }
                input name=(name) autocomplete="off" autocapitalize="characters" required[offered.is_empty() && !ask.optional] value=[other.map(str::to_owned).or(last)];
            }
            (error(ask, value))
            @if let (Some(product), Some(label)) = (product, usual.as_deref()) {
                @let others = state.other_batches(product, label, subjects);
                @if !others.is_empty() {
                    p class="flag" { "Another batch is on this wall: " (visible(&others.join(", "))) ". Batches may differ in colour: compare them in daylight first." }
                }
            }
        }
    }
}
