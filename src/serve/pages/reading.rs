//! R7: what a limit asks for is read, and no more; or whatever is at hand.

use maud::{Markup, html};

use super::view::View;
use crate::building::SubjectIx;
use crate::conditions::beaufort::{FORCES, OFFERED};
use crate::plain::visible;
use crate::sequence::LimitIx;
use crate::units::Quantity;

/// What a limit still asks for on some walls.
pub(super) fn due(view: &View<'_>, limit: LimitIx, why: &str, walls: &[SubjectIx]) -> Markup {
    let state = view.state();
    let limit = &state.sequence().limits[limit];
    let mut asked: Vec<Quantity> =
        walls.iter().flat_map(|wall| state.to_read(limit, *wall, view.context.now)).collect();
    asked.push(Quantity::Rain);
    // The wall that the phone is at comes first.
    let mut walls = walls.to_vec();
    walls.sort_by_key(|wall| Some(*wall) != view.context.wall);
    let with_wind = asked.contains(&Quantity::Wind);
    let on = state.subjects.shortly(&walls);
    html! {
        h2 id="next" { "Reading on " (on) }
        p { "Why now: " (visible(why)) "." }
        @if with_wind { p { "The wind, and whether it rains, then count for the whole site." } }
        (form(view, &walls, &asked, true))
    }
}

/// Whatever is at hand, on a subject's walls; on none it counts for the whole job.
pub(super) fn any(view: &View<'_>, walls: &[SubjectIx]) -> Markup {
    let all = [Quantity::Rain, Quantity::Air, Quantity::Humidity, Quantity::Surface];
    form(view, walls, &all, false)
}

/// The wind, which counts for the whole site, and so does whether it rains.
pub(super) fn wind(view: &View<'_>) -> Markup {
    form(view, &[], &[Quantity::Rain, Quantity::Wind], true)
}

fn form(view: &View<'_>, walls: &[SubjectIx], asked: &[Quantity], needed: bool) -> Markup {
    let (state, typed) = (view.state(), &view.context.typed);
    let on = if walls.is_empty() { "job".to_owned() } else { state.subjects.shortly(walls) };
    let is_asked = |quantity: Quantity| asked.contains(&quantity);
    let raining = typed.get("rain") == Some("yes");
    let number = |name: &str, label: &str, required: bool| {
        html! {
            label { (label) input name=(name) inputmode="decimal" autocomplete="off" required[required] value=[typed.get(name)]; }
        }
    };
    view.form("/reading", &html! {
        input type="hidden" name="on" value=(on);
        fieldset {
            legend { "Is it raining?" }
            div class="either" {
                label class="tick" { input type="radio" name="rain" value="no" checked[!raining]; span { "No" } }
                label class="tick" { input type="radio" name="rain" value="yes" checked[raining]; span { "Yes" } }
            }
        }
        @if is_asked(Quantity::Wind) {
            label { "Wind on the site, by what is seen"
                select name="beaufort" {
                    option value="" { @if needed { "choose, or measured below" } @else { "not read" } }
                    @for (force, it) in FORCES[..OFFERED].iter().enumerate() {
                        option value=(force) selected[typed.get("beaufort") == Some(&force.to_string())] { (force) ": " (it.seen) }
                    }
                }
            }
            label { "Wind as measured, km/h" input name="wind" inputmode="decimal" autocomplete="off" value=[typed.get("wind")]; }
        }
        @if is_asked(Quantity::Air) { (number("air", "Air in the shade, °C", needed)) }
        @if is_asked(Quantity::Humidity) { (number("humidity", "Humidity, %", needed)) }
        @if is_asked(Quantity::Surface) {
            @for (place, wall) in walls.iter().enumerate() {
                @let key = state.subjects.get(*wall).to_string();
                @let name = if walls.len() == 1 { "surface".to_owned() } else { format!("surface@{key}") };
                // Whoever stands at one wall reads that one.
                (number(&name, &format!("Surface of {key}, °C"), needed && place == 0))
            }
        }
        button class="go" { "Keep the reading" }
    })
}
