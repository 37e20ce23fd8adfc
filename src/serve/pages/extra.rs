//! Extra work: what was asked for beyond what was agreed, and by whom.

use maud::{Markup, html};

use super::frame::page;
use super::view::View;
use crate::day::{Book, ExtraWork, the};
use crate::plain::visible;
use crate::serve::context::PageContext;

/// All extra work, the newest first, and the form for more.
pub fn extra(book: &Book, context: &PageContext) -> Markup {
    let view = View::new(book, context);
    let all = &view.state().extras;
    let main = html! {
        p { "Record it before it is done, with who asked for it. The builder reads it in the pack." }
        details open[all.is_empty() || context.typed.get("text").is_some()] {
            summary { "Something was asked for" }
            (asked(&view))
        }
        @if !all.is_empty() {
            h2 { "So far" }
            ul class="rows plain" { @for one in all.iter().rev() { li { (row(&view, one)) } } }
        }
    };
    page(&view, "Extra work", None, &main)
}

fn row(view: &View<'_>, one: &ExtraWork) -> Markup {
    let size = one.size();
    html! {
        strong { (visible(&one.what)) } ", " (the(&one.subject))
        @if !size.is_empty() { ", " (size) }
        br; "Asked for by " bdi { (visible(&one.asked_by)) } ", " (one.at.clock(view.context.now.date()))
        ", recorded by " bdi { (visible(&one.by)) } "."
    }
}

fn asked(view: &View<'_>) -> Markup {
    let typed = &view.context.typed;
    let field = |name: &str, label: &str, mode: &str, required: bool| {
        html! { label { (label) input name=(name) inputmode=(mode) autocomplete="off" required[required] value=[typed.get(name)]; } }
    };
    let on = typed.get("on").map(str::to_owned).or(view.at()).unwrap_or_else(|| "job".to_owned());
    view.form("/extra", &html! {
        label { "What was asked for" textarea name="text" rows="3" required { (typed.get("text").unwrap_or_default()) } }
        (field("asked_by", "Who asked for it", "text", true))
        (field("told", "Who else was notified, separated by commas", "text", false))
        label { "Where: a wall, an opening, or job for all of it" input name="on" autocomplete="off" autocapitalize="none" required value=(on); }
        (field("hours", "Hours, of each person", "decimal", false))
        (field("people", "How many people", "numeric", false))
        (field("quantity", "How much, if it is measured", "decimal", false))
        (field("unit", "In which unit: m2, m, each", "text", false))
        button class="go" { "Record the extra work" }
    })
}
