//! Goods: what is delivered, what a step is done with, what is damaged on site.

use std::sync::Arc;

use super::session::{Interrupt, Walk};
use crate::building::{SubjectIx, SubjectKind};
use crate::cli::prompts::question::{Asker, Question};
use crate::cli::prompts::screen::{say, say_wrapped};
use crate::day::{Book, Choice, State, answer_typed, decide, offer_words};
use crate::materials::product::{Amount, known_or_plain};
use crate::moment::{dated, parse_date};
use crate::record::{DeliverBatch, StockUse, TakeStock};
use crate::sequence::{Ask, StepIx};

/// As many batches as a screen takes.
const MOST_OFFERED: usize = 8;

impl Walk<'_> {
    /// What was delivered, one thing after the other.
    pub(super) fn deliveries(&mut self) -> Result<(), Interrupt> {
        loop {
            self.delivery()?;
            if !self.ask(Question::yes_no("  Did anything else come?", false))? {
                return Ok(());
            }
            self.tape.clear();
        }
    }

    /// Something was delivered: what, of which batch, how many, until when it may be used. Each answer is held to what
    /// the record takes as it is given.
    fn delivery(&mut self) -> Result<(), Interrupt> {
        let (book, now) = (Arc::clone(self.book()), self.now());
        let state = &book.state;
        self.head("Delivery");
        let mut products: Vec<String> = Vec::new();
        for product in state.sequence().products() {
            if !products.iter().any(|known| known == product) {
                products.push(product.to_owned());
            }
        }
        products.push("something else".to_owned());
        let by = self.by.clone();
        let check = |request: &DeliverBatch| {
            decide(&book, request, &by, now, now).map(|_| ()).map_err(|error| error.to_string())
        };
        let mut it = DeliverBatch { batch: "?".to_owned(), count: Amount::whole(1), ..DeliverBatch::default() };
        let picked = self.ask(Question::choice("Number", &products))?;
        it.product = match products.get(picked) {
            Some(product) if picked + 1 < products.len() => product.clone(),
            _ => self.ask(Question::new("  What (tape, clip, starter, …)", |text| {
                check(&DeliverBatch { product: text.to_owned(), ..it.clone() }).map(|()| text.to_owned())
            }))?,
        };
        it.batch = self.ask(Question::new("  Batch number on the label", |text| {
            check(&DeliverBatch { batch: text.to_owned(), ..it.clone() }).map(|()| text.to_owned())
        }))?;
        let unit = state.stock.unit(&it.product).unwrap_or(known_or_plain(&it.product).unit).to_owned();
        it.count = self.ask(Question::new(format!("  How many {unit}"), |text| {
            Amount::typed(text).map_err(|error| error.to_string())
        }))?;
        it.unit = unit;
        if known_or_plain(&it.product).solid {
            it.colour = self.ask(Question::optional("  Colour (Enter if not given)"))?;
        } else {
            let question = Question::new("  Use by, as on the label: 11/2027, 30/11/27 (Enter if not given)", |text| {
                let date = parse_date(text).map_err(|error| error.to_string())?;
                check(&DeliverBatch { expires: Some(date), ..it.clone() }).map(|()| date)
            });
            it.expires = self.ask(question.or_none())?;
            it.expires.iter().for_each(|last| say(&format!("  Use by {}.", dated(*last))));
        }
        it.condition = self.ask(Question::optional("  Damaged or wet? How (Enter for no)"))?;
        drop(book);
        self.record(&it)?;
        Ok(())
    }

    /// The batches on site that a step may be done with; nothing where none of the product was delivered.
    pub(super) fn offered(&self, book: &Book, step: StepIx, ask: &Ask, subjects: &[SubjectIx]) -> Option<Vec<Choice>> {
        let state = &book.state;
        let wall = subjects.first().and_then(|first| state.subjects.walls_of(*first).first().copied());
        let offered = state.choices(ask.product.as_deref()?, wall, self.time());
        if offered.is_empty() {
            if state.sequence().steps[step].is_on(SubjectKind::Job) {
                say_wrapped("  Type 'delivery' to book in what came: product, batch, count, use-by date.", 4);
            }
            return None;
        }
        Some(offered)
    }

    /// The batch of what a step is done with; nothing where it may be left out.
    pub(super) fn batch(
        &mut self,
        book: &Book,
        step: StepIx,
        ask: &Ask,
        subjects: &[SubjectIx],
        offered: &[Choice],
    ) -> Result<Option<String>, Interrupt> {
        let (product, today) = (ask.product.as_deref().unwrap_or_default(), self.time().date());
        let shown = &offered[..offered.len().min(MOST_OFFERED)];
        // What the count has used up may still be there: who goes on with it says so.
        let in_date = |one: &&Choice| one.in_use && one.expires.is_none_or(|last| last >= today);
        let good = shown.iter().find(|one| one.is_good(today)).or_else(|| shown.iter().find(in_date));
        let on_job = book.state.sequence().steps[step].is_on(SubjectKind::Job);
        loop {
            let text = if ask.optional { "Number or label ('none' to leave it out)" } else { "Number or label" };
            let question = Question::new(text, |text| {
                if ask.optional && (text.is_empty() || text.eq_ignore_ascii_case("none")) {
                    return Ok(None);
                }
                // A label goes before a number: there are labels that are numbers.
                let by_label = offered.iter().find(|choice| choice.batch.eq_ignore_ascii_case(text));
                let by_number = || text.parse::<usize>().ok().and_then(|n| shown.get(n.wrapping_sub(1)));
                let label = by_label.or_else(by_number).map_or(text, |choice| &choice.batch);
                answer_typed(ask, label).map(|_| Some(label.to_owned())).map_err(|error| error.to_string())
            });
            let list = shown.iter().enumerate();
            let list = list.map(|(place, choice)| format!("  {} {}", place + 1, offer_words(choice, today)));
            let question = list.fold(self.with_limit(question, ask).above(&ask.prompt), Question::above);
            let question = question.usual(good.map(|choice| choice.batch.clone()));
            let Some(label) = self.ask(question)? else { return Ok(None) };
            let came = offered.iter().any(|choice| choice.batch == label);
            let is_meant = "  No delivery has that label. Take it anyway?";
            if !came && !self.ask(Question::yes_no(is_meant, false))? {
                continue;
            }
            if on_job || self.batch_is_meant(&book.state, product, &label, subjects)? {
                return Ok(Some(label));
            }
        }
    }

    /// Says what using a batch on these subjects means; whether it is to be used.
    fn batch_is_meant(
        &mut self,
        state: &State,
        product: &str,
        label: &str,
        subjects: &[SubjectIx],
    ) -> Result<bool, Interrupt> {
        if let Some(breach) = state.past_its_day(product, label, self.time()) {
            self.bold(&format!("  {}.", breach.why));
            say_wrapped(&format!("  To do: {}.", breach.clears), 4);
            return self.ask(Question::yes_no("  Use it anyway?", false));
        }
        let others = state.other_batches(product, label, subjects);
        let walls = subjects.first().map_or(&[][..], |first| state.subjects.walls_of(*first)).to_vec();
        let mixed = (label.to_owned(), walls);
        if !others.is_empty() && !self.mixed_batches.contains(&mixed) {
            self.bold(&format!("  Another batch is on this wall: {}.", others.join(", ")));
            say_wrapped("  Batches may differ in colour: compare them in daylight first.", 4);
            let is_meant = self.ask(Question::yes_no("  Use this batch next to it?", true))?;
            if is_meant {
                self.mixed_batches.insert(mixed);
            }
            return Ok(is_meant);
        }
        if let Some((takes, left)) = state.would_take(product, label, subjects)
            && takes > left.max(Amount::NONE)
        {
            let (on, left) = (state.subjects.shortly(subjects), left.max(Amount::NONE));
            say_wrapped(&format!("  {on} needs {takes}, but only {left} of {label} should be left."), 4);
            say_wrapped("  Type 'only' and some of them to record those first, the rest with another batch.", 4);
            return self.ask(Question::yes_no("  Use this batch for all of them anyway?", true));
        }
        Ok(true)
    }

    /// Goods that were damaged on site are thrown away: which, how many, what is wrong with them.
    pub(super) fn damaged(&mut self) -> Result<(), Interrupt> {
        let (book, now) = (Arc::clone(self.book()), self.now());
        let state = &book.state;
        let mut products: Vec<&str> = state.stock.deliveries.iter().map(|came| came.product.as_str()).collect();
        products.sort_unstable();
        products.dedup();
        let batches = products.iter().flat_map(|product| {
            state.choices(product, None, now).into_iter().map(|batch| ((*product).to_owned(), batch))
        });
        let batches: Vec<_> = batches.collect();
        if batches.is_empty() {
            say("  No delivery is recorded: book it in by 'delivery' first.");
            return Ok(());
        }
        let words = |(product, batch): &(String, Choice)| format!("{product} {}", offer_words(batch, now.date()));
        let list: Vec<String> = batches.iter().map(words).collect();
        let (product, batch) = &batches[self.ask(Question::choice("  What is damaged", &list))?];
        let count = self.ask(Question::new(format!("  How many {} are thrown away", batch.unit), |text| {
            Amount::typed(text).map_err(|error| error.to_string())
        }))?;
        let note = self.ask(Question::optional("  What happened to it (Enter to leave it at that)"))?;
        let request = TakeStock {
            product: product.clone(),
            batch: batch.batch.clone(),
            subject: "job".to_owned(),
            how: StockUse::ThrownAway,
            count: Some(count),
            note,
            ..TakeStock::default()
        };
        drop(book);
        self.record(&request).map(|_| ())
    }
}
