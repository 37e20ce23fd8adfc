//! Deliveries and what was taken, as asked for: what the record takes, and what it sends back.

use super::context::{Context, DecideError, Decision, Request, in_field, input, require_text};
use crate::building::{SubjectIx, SubjectKind};
use crate::day::facts::plain_label;
use crate::day::rules::{Breach, expired};
use crate::day::state::State;
use crate::form::nearest;
use crate::materials::product::{KNOWN, known_or_plain};
use crate::moment::dated;
use crate::record::{Body, DeliverBatch, StockUse, StoppedBy, TakeStock};
use crate::units::number::shortened;

/// Longest label, colour or unit.
const MOST_LABEL: usize = 60;
/// Longest remark.
const MOST_NOTE: usize = 2000;

impl Request for DeliverBatch {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        let (state, today) = (context.state, context.at.date());
        let product = product_of(state, &self.product)?;
        let unit = match (self.unit.as_str(), state.stock.unit(&product)) {
            ("", usual) => usual.unwrap_or(known_or_plain(&product).unit).to_owned(),
            (typed, usual) => {
                let unit = label("unit", typed)?;
                if let Some(usual) = usual.filter(|usual| plain_label(usual) != plain_label(&unit)) {
                    return in_field(
                        "unit",
                        format!(" {unit}: {product} is counted in {usual} on this job; give the count in {usual}"),
                    );
                }
                unit
            }
        };
        // A day before the delivery is a slip, or goods to send back.
        if let Some(expires) = self.expires.filter(|expires| *expires < today) {
            let (expires, today) = (dated(expires), dated(today));
            return in_field(
                "expires",
                format!(
                    " {expires}: that is before the delivery, on {today}; if the label really says so, don't take \
                 it: send it back, and record that in a note"
                ),
            );
        }
        Ok(Body::BatchDelivered(Self {
            batch: label("batch", &self.batch)?,
            colour: text_or_none("colour", self.colour.as_ref(), MOST_LABEL)?,
            count: self.count,
            unit,
            expires: self.expires,
            condition: text_or_none("condition", self.condition.as_ref(), MOST_NOTE)?,
            note: text_or_none("note", self.note.as_ref(), MOST_NOTE)?,
            product,
        })
        .into())
    }
}

impl Request for TakeStock {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        if let Some(why) = &self.anyway {
            require_text("why", why)?;
        }
        let state = context.state;
        let batch = label("BATCH", &self.batch)?;
        let product = match self.product.as_str() {
            "" => product_with(state, &batch)?,
            product => product_of(state, product)?,
        };
        let subjects = state.subjects.parse(&self.subject)?;
        let whole_job = subjects.iter().any(|subject| state.subjects.get(*subject).kind() == SubjectKind::Job);
        if self.how.is_on_the_wall() && whole_job {
            return in_field(
                "on",
                ": say what it went to: a wall (N), a joint (N/J2), a course (N/C3), an opening, a corner",
            );
        }
        if self.how != StockUse::Used && self.count.is_none() {
            return in_field("count", format!(": say how many were {}", self.how.word().replace('-', " ")));
        }
        let known = state.stock.of_batch(&product, &batch).next();
        let batch = known.map_or(batch, |came| came.batch.clone());
        let breach = self.how.is_on_the_wall().then(|| expired(state, "batch", &product, &batch, context.at)).flatten();
        if let (Some(breach), None) = (&breach, &self.anyway) {
            let what = format!("use {product} {batch} on {}", state.subjects.shortly(&subjects));
            return Err(breach.refusal(what).into());
        }
        let stopped_by: Vec<StoppedBy> = breach.into_iter().map(Breach::stopped_by).collect();
        let note = text_or_none("note", self.note.as_ref(), MOST_NOTE)?;
        let body = |subject: SubjectIx| {
            let subject = state.subjects.get(subject).to_string();
            let (product, batch, note) = (product.clone(), batch.clone(), note.clone());
            let stopped_by = stopped_by.clone();
            Body::StockTaken(Self { product, batch, subject, note, stopped_by, ..self.clone() })
        };
        Ok(subjects.into_iter().map(body).collect::<Vec<_>>().into())
    }
}

/// A product that the trade knows, or that the sequence asks batches of.
fn product_of(state: &State, typed: &str) -> Result<String, DecideError> {
    let typed = typed.trim();
    let mut words: Vec<&str> = KNOWN.iter().map(|product| product.key).collect();
    for own in state.sequence().products() {
        if !words.contains(&own) {
            words.push(own);
        }
    }
    if let Some(word) = words.iter().find(|word| word.eq_ignore_ascii_case(typed)) {
        return Ok((*word).to_owned());
    }
    let near = nearest(typed, &words).map(|near| format!("did you mean {near}?"));
    let near = near.unwrap_or_else(|| format!("the products are {}", words.join(", ")));
    input(format!("there is no product '{}': {near}", shortened(typed)))
}

/// The product of a label, where it was delivered for one product only.
fn product_with(state: &State, label: &str) -> Result<String, DecideError> {
    let wanted = plain_label(label);
    let deliveries = &state.stock.deliveries;
    let of_label = deliveries.iter().filter(|came| plain_label(&came.batch) == wanted);
    let mut found: Vec<&str> = of_label.map(|came| came.product.as_str()).collect();
    found.sort_unstable();
    found.dedup();
    match found.as_slice() {
        [only] => Ok((*only).to_owned()),
        [] => {
            let labels: Vec<&str> = deliveries.iter().map(|came| came.batch.as_str()).collect();
            let near = nearest(label, &labels).map_or(".".to_owned(), |near| format!("; did you mean {near}?"));
            input(format!(
                "no delivery of a batch '{}' is recorded{near} If it is on site anyway, say which product it is",
                shortened(label)
            ))
        }
        several => input(format!("batch {label} is of {}: say which product", several.join(" and of "))),
    }
}

fn label(field: &'static str, text: &str) -> Result<String, DecideError> {
    let label = checked_text(field, text, MOST_LABEL)?;
    if label.chars().any(char::is_control) { in_field(field, " has a control character in it") } else { Ok(label) }
}

fn text_or_none(field: &'static str, text: Option<&String>, most: usize) -> Result<Option<String>, DecideError> {
    text.map(|text| checked_text(field, text, most)).transpose()
}

fn checked_text(field: &'static str, text: &str, most: usize) -> Result<String, DecideError> {
    let text = text.trim();
    let length = text.chars().count();
    if text.is_empty() {
        in_field(field, " is empty")
    } else if length > most {
        in_field(field, format!(" is {length} characters long, at most {most}"))
    } else {
        Ok(text.to_owned())
    }
}
