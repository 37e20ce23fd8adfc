//! Deliveries: what came, what is left of each batch, what is short.

use maud::{Markup, html};

use super::frame::page;
use super::view::{View, capital};
use crate::day::{Book, Line, offer_words};
use crate::materials::product::{KNOWN, counted};
use crate::plain::visible;
use crate::record::StockUse;
use crate::serve::context::PageContext;

/// What becomes of stock otherwise than by a step, as a phone offers it.
const BECOMES: [(StockUse, &str); 3] =
    [(StockUse::Used, "Used"), (StockUse::ThrownAway, "Thrown away"), (StockUse::SentBack, "Sent back")];

/// Every product that is counted, and what came of it.
pub fn stock(book: &Book, context: &PageContext) -> Markup {
    let view = View::new(book, context);
    let state = view.state();
    let ledger = state.ledger(context.now);
    let kept: Vec<&Line> = ledger.lines.iter().filter(|line| line.kept).collect();
    let main = html! {
        @for flag in state.flags_of(&ledger, context.now) { p class="box" { strong { "Note: " } (visible(&flag.says)) "." } }
        details open[kept.is_empty() || context.typed.get("what") == Some("deliver")] {
            summary { "Something was delivered" }
            (delivered(&view))
        }
        @if !kept.is_empty() {
            details open[context.typed.get("what") == Some("take")] {
                summary { "Something was used, thrown away or sent back" }
                (taken(&view, &kept))
            }
        }
        @for line in &kept { (product(&view, line)) }
    };
    page(&view, "Deliveries", None, &main)
}

fn product(view: &View<'_>, line: &Line) -> Markup {
    let (state, now) = (view.state(), view.context.now);
    html! {
        section {
            h2 { (capital(&line.product)) }
            p {
                (counted(line.sums.left().max(crate::materials::product::Amount::NONE), &line.unit)) " left of " (line.sums.delivered.to_string())
                @if line.short() > crate::materials::product::Amount::NONE { "; " strong class="flag" { (counted(line.short(), &line.unit)) " short" } }
            }
            ul class="rows plain" {
                @for choice in state.choices(&line.product, None, now) { li { (visible(&offer_words(&choice, now.date()))) } }
            }
        }
    }
}

fn delivered(view: &View<'_>) -> Markup {
    let (own, typed) = (view.state().sequence(), &view.context.typed);
    let mut products: Vec<&str> = Vec::new();
    // Those that the job asks batches of come first.
    for product in own.products().chain(KNOWN.iter().map(|known| known.key)) {
        if !products.contains(&product) {
            products.push(product);
        }
    }
    view.form("/stock", &html! {
        input type="hidden" name="what" value="deliver";
        label { "What" select name="product" required {
            option value="" { "choose" }
            @for product in products { option value=(product) selected[typed.get("product") == Some(product)] { (product) } }
        } }
        (text(view, "batch", "Batch number on the label", true))
        label { "How many" input name="count" inputmode="decimal" autocomplete="off" required value=[typed.get("count")]; }
        (text(view, "colour", "Colour, of boards and corners", false))
        (text(view, "expires", "Use by, such as 11/2027 or 30/11/2027", false))
        (text(view, "condition", "Damaged or wet? How", false))
        button class="go" { "Record the delivery" }
    })
}

fn taken(view: &View<'_>, kept: &[&Line]) -> Markup {
    let typed = &view.context.typed;
    view.form("/stock", &html! {
        input type="hidden" name="what" value="take";
        label { "What" select name="product" required {
            option value="" { "choose" }
            @for line in kept { option value=(line.product) selected[typed.get("product") == Some(&line.product)] { (line.product) } }
        } }
        (text(view, "batch", "Batch number on the label", true))
        label { "How many" input name="count" inputmode="decimal" autocomplete="off" required value=[typed.get("count")]; }
        fieldset {
            legend { "What became of it" }
            @for (how, word) in BECOMES {
                label class="tick" { input type="radio" name="how" value=(how.word()) required checked[typed.get("how") == Some(how.word())]; span { (word) } }
            }
        }
        label { "Where, if it was used: a wall, a joint, a course"
            input name="on" autocomplete="off" autocapitalize="characters" value=[typed.get("on").map(str::to_owned).or(view.at())];
        }
        (text(view, "note", "Remark", false))
        button class="go" { "Record it" }
    })
}

fn text(view: &View<'_>, name: &str, label: &str, required: bool) -> Markup {
    html! { label { (label) input name=(name) autocomplete="off" required[required] value=[view.context.typed.get(name)]; } }
}
