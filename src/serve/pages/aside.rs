//! What can be recorded at any time, whatever is next: a photo, a note, a reading, that work stopped.

use maud::{Markup, html};

use super::reading;
use super::view::View;
use crate::day::the;

/// The forms for what happens beside the work, on a subject.
pub(super) fn asides(view: &View<'_>, on: &str) -> Markup {
    let state = view.state();
    let subject = state.subjects.index(on);
    let walls = subject.map(|subject| state.subjects.exposed_walls(subject)).unwrap_or_default();
    let walls = if on == "job" { &[] } else { walls };
    html! {
        section aria-labelledby="also" {
            h2 id="also" { "Also, on " (the(on)) }
            details {
                summary { "Photo" }
                (photo(view, on, None))
            }
            details {
                summary { "Note" }
                (view.form("/note", &html! {
                    input type="hidden" name="on" value=(on);
                    label { "Note" textarea name="text" rows="3" required {} }
                    button class="go" { "Keep the note" }
                }))
            }
            details id="reading" {
                summary { "Reading: rain, wind, temperatures" }
                (reading::any(view, walls))
            }
            details {
                summary { "Work has stopped" }
                (view.form("/stoppage", &html! {
                    input type="hidden" name="what" value="start";
                    fieldset {
                        legend { "Where" }
                        div class="either" {
                            label class="tick" { input type="radio" name="on" value="job" checked; span { "The whole job" } }
                            @if on != "job" { label class="tick" { input type="radio" name="on" value=(on); span { (on) } } }
                        }
                    }
                    label class="tick" { input type="checkbox" name="rain" value="yes"; span { "Rain stopped it: it also ends what rain may not fall on" } }
                    label { "What stopped it" input name="reason" required autocomplete="off" placeholder="rain, wind, no access"; }
                    label { "Who was notified, separated by commas" input name="told" autocomplete="off"; }
                    button class="go" { "Work has stopped" }
                }))
            }
        }
    }
}

/// A photo, straight from the camera; of a step where it shows one.
pub(super) fn photo(view: &View<'_>, on: &str, step: Option<&str>) -> Markup {
    view.photo_form("/photo", &html! {
        input type="hidden" name="on" value=(on);
        @if let Some(step) = step { input type="hidden" name="step" value=(step); }
        label class="camera" { "Take a photo" input type="file" name="file" accept="image/*" capture="environment" required; }
        label { "What it shows, if that is not plain" input name="text" autocomplete="off"; }
        button class="go" { "Keep the photo" }
    })
}
