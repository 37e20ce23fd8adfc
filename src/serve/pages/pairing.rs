//! The pages that need no pairing: pairing itself, and what a stranger is told.

use maud::{Markup, html};

use super::frame::document;
use crate::building::Person;
use crate::plain::visible;

/// Pairing: whoever opened the code says who they are. `before` has whose phone it was until now. The form goes to
/// `action`, with its token and the id of the request.
pub fn pair(job: &str, people: &[Person], before: Option<&str>, action: &str, token: &str, request_id: &str) -> Markup {
    let body = html! {
        header { p class="job" { bdi { (visible(job)) } } }
        main id="main" tabindex="-1" {
            h1 { "Pair this phone" }
            p { "What this phone records is recorded as yours. It is written in the record that you paired it." }
            @if let Some(person) = before {
                p class="box" { "This phone is " bdi { (visible(person)) } "'s now. Pairing it again ends that; what still waits on it is not sent." }
            }
            form method="post" action=(action) {
                input type="hidden" name="token" value=(token);
                input type="hidden" name="request_id" value=(request_id);
                fieldset {
                    legend { "Who are you?" }
                    @for person in people {
                        label class="tick" {
                            input type="radio" name="person" value=(person.name) required;
                            span { bdi { (visible(&person.name)) } " (" (person.roles.join(", ")) ")" }
                        }
                    }
                }
                button class="go" { "That is me: pair this phone" }
            }
            p class="fine" { "Not on the list? Whoever leads the job adds you at the laptop: cladlog job person" }
        }
    };
    document("Pair this phone", None, &body)
}

/// What a phone that is not paired is told.
pub fn unpaired() -> Markup {
    let body = html! {
        main id="main" tabindex="-1" {
            h1 { "This phone is not paired" }
            p { "Ask whoever runs the laptop for a code:" }
            ol {
                li { "At the laptop: " code { "cladlog serve pair" } }
                li { "Point this phone's camera at the QR code, or type the address below it." }
                li { "Pick your name, and confirm. A code is good once, for ten minutes." }
            }
        }
    };
    document("This phone is not paired", None, &body)
}

/// A request that was not answered as it hoped for, in a sentence.
pub fn error_page(sentence: &str) -> Markup {
    let body = html! {
        main id="main" tabindex="-1" {
            h1 { "That did not work" }
            div class="box stop" role="alert" { p { (visible(sentence)) } }
            p { a class="go" href="/" { "To what is next" } }
        }
    };
    document("That did not work", None, &body)
}
