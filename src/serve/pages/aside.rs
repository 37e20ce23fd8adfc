//! What can be recorded at any time, whatever is next: a photo, a note, a defect, a reading, that work stopped.

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
    let open = state.open_defects().count();
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
            details {
                summary { "Defect" }
                (view.photo_form("/defect", &html! {
                    input type="hidden" name="what" value="open";
                    input type="hidden" name="on" value=(on);
                    label { "What is wrong" textarea name="text" rows="2" required {} }
                    (camera("file", "Take a photo", false))
                    button class="go" { "Record the defect" }
                }))
            }
            details id="reading" {
                summary { "Reading: rain, temperatures, humidity" }
                (reading::any(view, walls))
            }
            details {
                summary { "Wind on the site" }
                (reading::wind(view))
            }
            details {
                summary { "Work has stopped" }
                (stopped(view, on))
            }
            ul class="rows" {
                li { a href=(view.link("/defects", &[])) { "Defects" span { @if open == 0 { "none open" } @else { (open) " open" } } } }
                li { a href=(view.link("/stock", &[])) { "Deliveries and what is left" } }
                li { a href=(view.link("/extra", &[])) { "Extra work" } }
                @if state.sequence().sealing.is_some() { li { a href=(view.link("/sealplan", &[])) { "Seal plan" } } }
            }
        }
    }
}

fn stopped(view: &View<'_>, on: &str) -> Markup {
    view.form("/stoppage", &html! {
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
    })
}

/// A photo, straight from the camera; of a step where it shows one.
pub(super) fn photo(view: &View<'_>, on: &str, step: Option<&str>) -> Markup {
    view.photo_form(
        "/photo",
        &html! {
            input type="hidden" name="on" value=(on);
            @if let Some(step) = step { input type="hidden" name="step" value=(step); }
            (camera("file", "Take a photo", true))
            label { "What it shows, if that is not plain" input name="text" autocomplete="off"; }
            button class="go" { "Keep the photo" }
        },
    )
}

/// The camera of the phone, as a field of a form.
pub(super) fn camera(name: &str, label: &str, required: bool) -> Markup {
    html! { label class="camera" { (label) input type="file" name=(name) accept="image/*" capture="environment" required[required]; } }
}
