//! Deliveries and what was taken, as asked for: what the record takes, and what it sends back.

use chrono::NaiveDate;

use super::{How, expired, plain, told};
use crate::building::SubjectKind;
use crate::day::State;
use crate::day::request::{DecideError, Delivered, TakenFrom};
use crate::form::nearest;
use crate::materials::product::{Amount, KNOWN, known_or_plain};
use crate::moment::Moment;
use crate::record::Body;
use crate::units::number::shortened;

/// Longest label, colour or unit.
const MOST_LABEL: usize = 60;
/// Longest remark.
const MOST_NOTE: usize = 2000;

fn input<T>(what: impl Into<String>) -> Result<T, DecideError> {
    Err(DecideError::Input(what.into()))
}

/// The body of a delivery.
///
/// # Errors
/// [`DecideError::Input`] for a product that nobody knows, a label, count or date that can't be.
pub(in crate::day) fn deliver(state: &State, asked: &Delivered, at: Moment) -> Result<Vec<Body>, DecideError> {
    let product = product_of(state, &asked.product)?;
    let label = label("--batch", &asked.batch)?;
    let count = amount("--count", &asked.count)?;
    let usual = state.stock.unit(&product).map(str::to_owned);
    let unit = match (&asked.unit, usual) {
        (Some(unit), usual) => {
            let unit = self::label("--unit", unit)?;
            if let Some(usual) = usual.filter(|usual| plain(usual) != plain(&unit)) {
                return input(format!(
                    "--unit {unit}: {product} is counted in {usual} on this job; give the count in {usual}"
                ));
            }
            unit
        }
        (None, Some(usual)) => usual,
        (None, None) => known_or_plain(&product).unit.to_owned(),
    };
    let expires = asked.expires.as_deref().map(|text| date(text, at)).transpose()?;
    let words =
        |option: &str, text: &Option<String>, most: usize| text.as_deref().map(|t| said(option, t, most)).transpose();
    Ok(vec![Body::BatchDelivered {
        batch: label,
        colour: words("--colour", &asked.colour, MOST_LABEL)?,
        count: count.units(),
        unit,
        expires,
        condition: words("--condition", &asked.condition, MOST_NOTE)?,
        note: words("--note", &asked.note, MOST_NOTE)?,
        product,
    }])
}

/// The bodies of what was taken, one for each subject.
///
/// # Errors
/// [`DecideError::Input`] for a batch or subject that is not there; [`DecideError::Refused`] by R7 for one that is past its last day.
pub(in crate::day) fn take(state: &State, asked: &TakenFrom, at: Moment) -> Result<Vec<Body>, DecideError> {
    let label = label("BATCH", &asked.batch)?;
    let product = match &asked.product {
        Some(product) => product_of(state, product)?,
        None => product_with(state, &label)?,
    };
    let Some(how) = How::of(&asked.how) else {
        let words: Vec<&str> = How::WORDS.iter().map(|(word, _)| *word).collect();
        return input(format!("--as '{}': it is one of {}", shortened(&asked.how), words.join(", ")));
    };
    let count = asked.count.as_deref().map(|text| amount("--count", text)).transpose()?;
    let subjects = state.subjects.parse(&asked.on)?;
    let whole_job = subjects.iter().any(|subject| state.subjects.get(*subject).kind() == SubjectKind::Job);
    match how {
        How::Used | How::OffCut if whole_job => {
            return input(
                "--on: say what it went to: a wall (N), a joint (N/J2), a course (N/C3), an opening, a corner",
            );
        }
        How::OffCut | How::CutUp | How::ThrownAway | How::SentBack if count.is_none() => {
            return input(format!("--count: say how many were {}", how.word().replace('-', " ")));
        }
        _ => {}
    }
    let known = state.stock.of_batch(&product, &label).next();
    let label = known.map_or(label, |came| came.batch.clone());
    if how.is_on_the_wall()
        && asked.anyway.is_none()
        && let Some(breach) = expired(state, "batch", &product, &label, at)
    {
        return Err(breach.refusal(format!("use {product} {label} on {}", state.subjects.shortly(&subjects))).into());
    }
    let note = asked.note.as_deref().map(|text| said("--note", text, MOST_NOTE)).transpose()?;
    let body = |subject: usize| Body::StockTaken {
        product: product.clone(),
        batch: label.clone(),
        subject: state.subjects.get(subject).to_string(),
        how: how.word().to_owned(),
        count: count.map(Amount::units),
        note: note.clone(),
        anyway: asked.anyway.clone(),
    };
    Ok(subjects.into_iter().map(body).collect())
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
    match words.iter().find(|word| word.eq_ignore_ascii_case(typed)) {
        Some(word) => Ok((*word).to_owned()),
        None => {
            let near = nearest(typed, &words).map(|near| format!("did you mean {near}?"));
            let near = near.unwrap_or_else(|| format!("the products are {}", words.join(", ")));
            input(format!("there is no product '{}': {near}", shortened(typed)))
        }
    }
}

/// The product of a label, where it was delivered for one product only.
fn product_with(state: &State, label: &str) -> Result<String, DecideError> {
    let wanted = plain(label);
    let deliveries = &state.stock.deliveries;
    let mut found: Vec<&str> =
        deliveries.iter().filter(|came| plain(&came.batch) == wanted).map(|came| came.product.as_str()).collect();
    found.sort_unstable();
    found.dedup();
    match found.as_slice() {
        [only] => Ok((*only).to_owned()),
        [] => {
            let labels: Vec<&str> = deliveries.iter().map(|came| came.batch.as_str()).collect();
            let near = nearest(label, &labels).map_or(".".to_owned(), |near| format!("; did you mean {near}?"));
            input(format!(
                "no delivery of a batch '{}' is recorded{near} If it is on site all the same, say of what it is: --product",
                shortened(label)
            ))
        }
        several => input(format!("batch {label} is of {}: say which with --product", several.join(" and of "))),
    }
}

fn amount(option: &str, text: &str) -> Result<Amount, DecideError> {
    Amount::typed(text).map_err(|error| DecideError::Input(format!("{option}: {error}")))
}

fn label(option: &str, text: &str) -> Result<String, DecideError> {
    let label = said(option, text, MOST_LABEL)?;
    if label.chars().any(char::is_control) {
        input(format!("{option} has a control character in it"))
    } else {
        Ok(label)
    }
}

fn said(option: &str, text: &str, most: usize) -> Result<String, DecideError> {
    let text = text.trim();
    let length = text.chars().count();
    if text.is_empty() {
        input(format!("{option} is empty"))
    } else if length > most {
        input(format!("{option} is {length} characters long, at most {most}"))
    } else {
        Ok(text.to_owned())
    }
}

/// The last day of use as typed; a day before the delivery is a slip, or goods to send back.
fn date(text: &str, at: Moment) -> Result<NaiveDate, DecideError> {
    let text = text.trim();
    let day = NaiveDate::parse_from_str(text, "%Y-%m-%d").ok().filter(|_| text.len() == 10);
    let Some(day) = day.filter(|day| (1970..9000).contains(&chrono::Datelike::year(day))) else {
        return input(format!(
            "--expires '{}' is not a date: write year, month and day, as in 2026-11-30; for a month alone its last day",
            shortened(text)
        ));
    };
    if day < at.date() {
        return input(format!(
            "--expires {}: that is before it came, on {}; if the label really says so, don't take it: send it back, and \
             note it: cladlog note --text …",
            told(day),
            told(at.date())
        ));
    }
    Ok(day)
}
