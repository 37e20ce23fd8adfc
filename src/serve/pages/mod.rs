//! The pages: a job's book and who looks at it → HTML. Nothing here reads, writes or asks the time, and no rule stands
//! here: what is next, what is asked and how it is judged come from `day`, as the walk has them.

mod frame;

use maud::{Markup, html};

use self::frame::{document, page};
use super::context::PageContext;
use crate::building::Person;
use crate::day::{Book, next};

/// What is next, and why.
pub fn now(book: &Book, context: &PageContext) -> Markup {
    let actions = next(&book.state, context.now);
    let first = actions
        .iter()
        .find(|action| context.wall.is_none_or(|wall| book.state.subjects.walls_of(action.subject).contains(&wall)));
    page(
        "Now",
        book,
        context,
        &html! {
            @match first {
                Some(action) => p { (book.state.sequence().steps[action.step].title) ", " (action.why) }
                None => p { "Nothing is left to do." }
            }
        },
    )
}

/// Every window.
pub fn clocks(book: &Book, context: &PageContext) -> Markup {
    page("Clocks", book, context, &html! {})
}

/// A wall as built.
pub fn wall(book: &Book, wall: usize, context: &PageContext) -> Markup {
    page(&format!("Wall {}", book.state.subjects.get(wall)), book, context, &html! {})
}

/// What can be done on a subject.
pub fn on(book: &Book, subject: usize, context: &PageContext) -> Markup {
    page(&book.state.subjects.get(subject).to_string(), book, context, &html! {})
}

/// A step on subjects, with its asks.
pub fn step(book: &Book, step: usize, on: &[usize], context: &PageContext) -> Markup {
    let title = &book.state.sequence().steps[step].title;
    page(title, book, context, &html! { p { (book.state.subjects.shortly(on)) } })
}

/// The cautions that the person has to read.
pub fn cautions(book: &Book, context: &PageContext) -> Markup {
    page("Cautions", book, context, &html! {})
}

/// The hold points.
pub fn holds(book: &Book, context: &PageContext) -> Markup {
    page("Hold points", book, context, &html! {})
}

/// The report of the day, and its text for the builder.
pub fn evening(book: &Book, context: &PageContext) -> Markup {
    page("Evening", book, context, &html! {})
}

/// Where a stranger says who they are. `action` is the path that the form is sent to; `people` are those of the job.
pub fn pair(job: &str, people: &[Person], action: &str, token: &str, request_id: &str) -> Markup {
    document(
        "Pair this phone",
        &html! {
            h1 { "Pair this phone" }
            p { (job) }
            form method="post" action=(action) {
                input type="hidden" name="token" value=(token);
                input type="hidden" name="request_id" value=(request_id);
                fieldset {
                    legend { "Who are you?" }
                    @for person in people {
                        label { input type="radio" name="person" value=(person.name) required; " " (person.name) }
                    }
                }
                button { "Pair" }
            }
        },
    )
}

/// For a phone that is not paired: how to pair it.
pub fn unpaired() -> Markup {
    document(
        "Not paired",
        &html! {
            h1 { "This phone is not paired" }
            p { "Scan the code on the laptop's screen. For another code, there: cladlog serve pair" }
        },
    )
}

/// Why a request is not answered as it hoped for.
pub fn fault(sentence: &str) -> Markup {
    document("Not done", &html! { h1 { "Not done" } p { (sentence) } p { a href="/" { "Back" } } })
}
