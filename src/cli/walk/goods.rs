//! Goods: what is delivered, what is spoilt on site.

use std::sync::Arc;

use super::session::{Interrupt, Walk};
use crate::cli::prompts::question::{Asker, Question};
use crate::cli::prompts::screen::say;
use crate::day::{Choice, decide, offer_words};
use crate::materials::product::{Amount, known_or_plain};
use crate::moment::{dated, parse_date};
use crate::record::{DeliverBatch, StockUse, TakeStock};

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

    /// Goods that were spoilt on site are thrown away: which, how many, what is wrong with them.
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
