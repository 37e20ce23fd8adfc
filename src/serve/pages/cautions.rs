//! Cautions: each reads them on their own phone, once a day (R9).

use maud::{Markup, html};

use super::frame::{Tab, page};
use super::view::View;
use crate::day::Book;
use crate::plain::visible;
use crate::sequence::CautionIx;
use crate::serve::context::PageContext;

/// The cautions of the day: those that whoever holds the phone has still to read, then the others.
pub fn cautions(book: &Book, context: &PageContext) -> Markup {
    let view = View::new(book, context);
    let state = view.state();
    let day = state.open_day();
    let on_site = day.is_some_and(|day| day.crew_at(context.now).any(|name| *name == *context.person));
    let due = view.due_cautions();
    let all = &state.sequence().cautions;
    let (unread, others): (Vec<CautionIx>, Vec<CautionIx>) =
        all.indexes().partition(|caution| view.is_unread(*caution));
    let (unread, later): (Vec<CautionIx>, Vec<CautionIx>) =
        unread.into_iter().partition(|caution| due.contains(caution));
    let main = html! {
        @if !on_site {
            p class="box" {
                @match day {
                    None => "No site day is open: cautions are read once it is.",
                    Some(_) => "You are not on site by today's record. Whoever leads the day books you in; then you read these here.",
                }
            }
            @if day.is_some() {
                (view.form("/day", &html! {
                    input type="hidden" name="what" value="join";
                    input type="hidden" name="crew" value=(context.person);
                    button class="go" { "I have come onto site" }
                }))
            }
        } @else if unread.is_empty() {
            p class="box done" { "You have read all that is due now." }
        }
        @for caution in unread { (one(&view, caution, true)) }
        @if !later.is_empty() {
            h2 { "For later steps" }
            @for caution in later { (one(&view, caution, false)) }
        }
        @if on_site && !others.is_empty() {
            h2 { "Read today" }
            @for caution in others { (one(&view, caution, false)) }
        }
    };
    page(&view, "Cautions", Some(Tab::Cautions), &main)
}

fn one(view: &View<'_>, index: CautionIx, open: bool) -> Markup {
    let (state, now) = (view.state(), view.context.now);
    let caution = &state.sequence().cautions[index];
    let left = state.has_not_read(&caution.key, now);
    let text = html! {
        p { (caution.text) }
        @for line in state.caution_lines(index, now) { p { (line) } }
        p class="fine" { "Takes precedence: " (caution.defers_to) "." }
        @if view.is_unread(index) {
            (view.form("/caution", &html! {
                input type="hidden" name="key" value=(caution.key);
                button class="go" { "I have read it" }
            }))
        }
        @let others: Vec<String> = left.into_iter().filter(|name| *name != view.context.person).collect();
        @if !others.is_empty() { p class="fine" { "Still to be read by " bdi { (visible(&others.join(", "))) } "." } }
    };
    html! {
        @if open {
            article class="box" { h2 { (caution.title) } (text) }
        } @else {
            details { summary { (caution.title) } (text) }
        }
    }
}
