//! What all pages share.

use maud::{DOCTYPE, Markup, html};

use crate::day::Book;
use crate::plain::visible;
use crate::serve::context::{Notice, PageContext};

/// A page for a paired phone.
pub(super) fn page(title: &str, book: &Book, context: &PageContext, main: &Markup) -> Markup {
    document(
        &format!("{title}, {}", book.state.job.name),
        &html! {
            header { p { (visible(&context.person)) } }
            main {
                h1 { (title) }
                @match &context.notice {
                    Some(Notice::Done(entry)) => {
                        p role="status" { "Recorded: " @if let Some(entry) = book.entry(entry) { (entry.body.in_words()) } }
                    }
                    Some(Notice::Refused(refusal)) => {
                        p role="alert" { (refusal.what) ": " (refusal.why) } p { (refusal.clears) }
                    }
                    Some(Notice::Wrong { why, .. }) => p role="alert" { (why) },
                    None => {}
                }
                (main)
            }
        },
    )
}

/// A page whole.
pub(super) fn document(title: &str, body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (visible(title)) }
                link rel="stylesheet" href="/style.css";
                script src="/script.js" defer {}
            }
            body { (body) }
        }
    }
}
