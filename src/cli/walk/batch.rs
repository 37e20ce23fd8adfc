//! Batches in the walk: what is on site is offered, and what it does to the wall is said before it is recorded.

use super::{Away, Walk};
use crate::cli::commands::stock::expiry;
use crate::cli::prompts::{say, say_loud, say_wrapped};
use crate::day::{Book, Choice, Delivered, Request, answer_from_text};
use crate::materials::product::{Amount, counted, known_or_plain};
use crate::sequence::{Ask, Step};

/// As many batches as a screen takes.
const MOST_OFFERED: usize = 8;

impl Walk<'_> {
    /// The batch of what a step is done with; nothing where it may be left out, or nothing of it was delivered.
    pub(super) fn batch(&mut self, book: &Book, step: &Step, ask: &Ask, subjects: &[usize]) -> Result<Named, Away> {
        let Some(product) = ask.product.as_deref() else { return Ok(Named::AskPlainly) };
        let state = &book.state;
        let at = self.at.unwrap_or_else(|| self.now());
        let wall = subjects.first().and_then(|first| state.subjects.walls_of(*first).first().copied());
        let mut choices = state.choices(product, wall, at);
        if choices.is_empty() {
            if step.on == crate::building::SubjectKind::Job {
                say_wrapped("  'delivery' counts what came: product, batch, count, use-by.", 4);
            }
            return Ok(Named::AskPlainly);
        }
        choices.truncate(MOST_OFFERED);
        say_wrapped(&ask.prompt, 2);
        let today = at.date();
        for (place, choice) in choices.iter().enumerate() {
            say_wrapped(&format!("  {} {}", place + 1, offered(choice, today)), 4);
        }
        let good = choices.iter().find(|one| one.left > Amount::NONE && one.expires.is_none_or(|last| last >= today));
        let question = if ask.optional { "Number or label ('none': not named)" } else { "Number or label" };
        loop {
            let text = self.line(question, good.map(|choice| choice.batch.as_str()), false)?;
            if ask.optional && (text.is_empty() || text.eq_ignore_ascii_case("none")) {
                return Ok(Named::Nothing);
            }
            // A label goes before a number: there are labels that are numbers.
            let by_label = choices.iter().find(|choice| choice.batch.eq_ignore_ascii_case(text.trim()));
            let by_number = || text.trim().parse::<usize>().ok().and_then(|n| choices.get(n.wrapping_sub(1)));
            let label = by_label.or_else(by_number).map_or(text.trim().to_owned(), |choice| choice.batch.clone());
            if let Err(error) = answer_from_text(ask, &label) {
                say(&format!("  {error}"));
                continue;
            }
            if step.on == crate::building::SubjectKind::Job || self.settled(book, product, &label, subjects)? {
                return Ok(Named::Label(label));
            }
        }
    }

    /// Says what using a batch on these subjects does; whether it is to be used.
    fn settled(&mut self, book: &Book, product: &str, label: &str, subjects: &[usize]) -> Result<bool, Away> {
        let state = &book.state;
        let at = self.at.unwrap_or_else(|| self.now());
        if let Some(breach) = state.past_its_day(product, label, at) {
            say_loud(&format!("  {}.", breach.why), self.out.colour());
            say_wrapped(&format!("  Clears it: {}.", breach.clears), 4);
            return self.yes("  Used all the same?", false);
        }
        let others = state.other_batches(product, label, subjects);
        if !others.is_empty() {
            say_loud(&format!("  Another batch is on this wall: {}.", others.join(", ")), self.out.colour());
            say_wrapped("  Batches may differ in colour: hold them side by side in daylight first.", 4);
            return self.yes("  Use this one beside it?", true);
        }
        if let Some((takes, left)) = state.would_take(product, label, subjects)
            && takes > left.max(Amount::NONE)
        {
            let (on, left) = (state.subjects.shortly(subjects), left.max(Amount::NONE));
            say_wrapped(&format!("  {on} takes {takes}; of {label} {left} is left by the count."), 4);
            say_wrapped("  'only' and some of them records those first, the others with another batch.", 4);
            return self.yes("  All of this batch all the same?", true);
        }
        Ok(true)
    }

    /// Something came: what, of which batch, how many, until when it may be used.
    pub(super) fn delivery(&mut self) -> Result<(), Away> {
        let book = self.book.clone();
        let state = &book.state;
        say("");
        say_loud("Delivery", self.out.colour());
        let mut products: Vec<String> = Vec::new();
        for product in state.sequence().products() {
            if !products.iter().any(|known| known == product) {
                products.push(product.to_owned());
            }
        }
        products.push("something else".to_owned());
        let picked = self.pick("Number", &products, None)?;
        let product = match products.get(picked) {
            Some(product) if picked + 1 < products.len() => product.clone(),
            _ => self.line("  What (tape, clip, starter, …)", None, true)?,
        };
        let batch = self.line("  Batch on the label", None, true)?;
        let unit = state.stock.unit(&product).unwrap_or(known_or_plain(&product).unit).to_owned();
        let count = self.until(&format!("  How many {unit}"), None, |text| {
            Amount::typed(text).map(|_| text.to_owned()).map_err(|error| error.to_string())
        })?;
        let some = |text: String| Some(text).filter(|text| !text.trim().is_empty());
        let wet = !known_or_plain(&product).solid;
        let expires =
            if wet { some(self.line("  Use by, as in 2026-11-30 (Enter: not said)", None, true)?) } else { None };
        let colour = if wet { None } else { some(self.line("  Colour (Enter: not said)", None, true)?) };
        let condition = some(self.line("  Damaged or wet? How (Enter: no)", None, true)?);
        let what = format!("delivery of {product} {batch}");
        let unit = Some(unit);
        let asked = Delivered { product, batch, colour, count, unit, expires, condition, note: None };
        self.record(&Request::Deliver(asked), &what)?;
        Ok(())
    }
}

/// What came of asking for a batch.
pub(super) enum Named {
    /// This one.
    Label(String),
    /// It was left out.
    Nothing,
    /// There is nothing to offer.
    AskPlainly,
}

/// A batch on offer: "SL-417: 12 cartridges left, use by 30 Nov 2026, in use here".
fn offered(choice: &Choice, today: chrono::NaiveDate) -> String {
    let mut about = Vec::new();
    about.extend(choice.colour.clone());
    about.push(if choice.left > Amount::NONE {
        format!("{} left", counted(choice.left, &choice.unit))
    } else {
        "none left by the count".to_owned()
    });
    about.extend(choice.expires.map(|last| match last < today {
        true => format!("EXPIRED {}", expiry(last)),
        false => format!("use by {}", expiry(last)),
    }));
    if choice.in_use {
        about.push("in use on this wall".to_owned());
    }
    format!("{}: {}", choice.batch, about.join(", "))
}
