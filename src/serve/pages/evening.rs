//! Evening: the day in short, the text for the builder, closing the day.

use maud::{Markup, html};

use super::frame::{Tab, page};
use super::view::View;
use crate::day::{Book, USUAL_HOURS, hours_offered};
use crate::handover::{Ahead, Evening};
use crate::plain::visible;
use crate::serve::context::PageContext;

/// The day in short.
pub fn evening(book: &Book, context: &PageContext) -> Markup {
    let view = View::new(book, context);
    let state = view.state();
    let date = state.open_day().map_or(context.now.date(), |day| day.date);
    let evening = match Evening::of(book, date, context.now) {
        Ok(evening) => evening,
        Err(error) => {
            return page(&view, "Evening", Some(Tab::Evening), &html! { p { (visible(&error.to_string())) } });
        }
    };
    let (text, lines) = (evening.phone_text(), evening.lines());
    let main = html! {
        p { (date.format("%A %-d %B %Y").to_string()) }
        section aria-labelledby="text" {
            h2 id="text" { "For the builder's phone" }
            p class="text" data-share=(text) { (visible(&text)) }
            p class="fine" { "Press and hold to copy it." }
        }
        @if state.open_day().is_some() {
            section class="next" aria-labelledby="next" { (close_day(&view, "Ends the site day for everyone.")) }
            (leave(&view))
        }
        section aria-labelledby="report" {
            h2 id="report" { "The day in short" }
            // The first line is the job and the day.
            @for line in lines.iter().skip(1) {
                @let heading = !line.starts_with(' ') && line.ends_with(':');
                @if heading { h3 { (visible(line.trim_end_matches(':'))) } }
                @else if !line.is_empty() { p class="line" { (visible(line.trim())) } }
            }
        }
    };
    page(&view, "Evening", Some(Tab::Evening), &main)
}

/// For whoever goes home before the others.
fn leave(view: &View<'_>) -> Markup {
    let (state, now, person) = (view.state(), view.context.now, &view.context.person);
    let leaves = state.open_day().is_some_and(|day| day.is_on_site(person, now) && day.crew_at(now).nth(1).is_some());
    html! {
        @if leaves {
            (view.form("/day", &html! {
                input type="hidden" name="what" value="leave";
                button { "I am leaving the site" }
            }))
        }
    }
}

/// R12: hours, and what is left open overnight.
pub(super) fn close_day(view: &View<'_>, why: &str) -> Markup {
    let state = view.state();
    let Some(day) = state.open_day() else { return html! {} };
    html! {
        h2 id="next" { "Close the day of " (day.date.format("%A %-d %B").to_string()) }
        p { (why) }
        @for line in Ahead::of(state, view.context.now).lines() { p class="line" { (visible(line.trim())) } }
        (view.form("/day", &html! {
            input type="hidden" name="what" value="close";
            @for one in state.installers(day) {
                @let name = one.name;
                @let field = format!("hours:{name}");
                @let usual = hours_offered(day, name, view.context.now).unwrap_or_else(|| USUAL_HOURS.to_owned());
                label { "Hours of " (visible(name)) input name=(field) inputmode="decimal" autocomplete="off" required value=(view.context.typed.get(&field).unwrap_or(&usual)); }
            }
            button class="go" { "Close the day" }
        }))
    }
}
