//! `cladlog stock`: what came, what was used, what is left, what is still needed.

use clap::Args;
use serde_json::{Value, json};

use crate::building::SubjectIx;
use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::day::{BatchLine, Delivery, Flag, FlagJson, Line, OrderedVsUsed, State};
use crate::materials::product::Amount;
use crate::moment::dated;
use crate::table::without_nulls;

/// Show what was delivered, used, is left, is needed and is short
///
/// What steps took is worked out from the job's geometry where nobody counted.
/// Where a take-off is kept (calc takeoff --keep), what it orders stands beside
/// what came and was used.
#[derive(Debug, Args)]
pub struct StockArgs {
    /// Only this product
    #[arg(long, value_name = "PRODUCT")]
    pub product: Option<String>,
}

/// A batch of a product, as JSON has it.
pub fn batch_json(line: &Line, batch: &BatchLine) -> Value {
    let delivery = |came: &Delivery| {
        json!({
            "entry": came.entry, "delivered_at": came.at, "count": came.count, "condition": came.condition,
            "note": came.note, "by": came.by,
        })
    };
    without_nulls(json!({
        "product": line.product, "batch": batch.batch, "colour": batch.colour, "expires": batch.expires,
        "unit": line.unit, "delivered": batch.sums.delivered, "used": batch.sums.used, "thrown_away": batch.sums.thrown_away,
        "sent_back": batch.sums.sent_back, "left": batch.sums.left(),
        "deliveries": batch.deliveries.iter().map(delivery).collect::<Vec<_>>(),
    }))
}

pub fn run(args: &StockArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let state = &opened.book.state;
    let ledger = state.ledger(opened.now);
    let lines: Vec<&Line> = ledger
        .lines
        .iter()
        .filter(|line| args.product.as_ref().is_none_or(|product| *product == line.product))
        .collect();
    let compared = state.ordered_vs_used(&ledger).into_iter();
    let compared: Vec<OrderedVsUsed> =
        compared.filter(|one| args.product.as_ref().is_none_or(|product| *product == one.product)).collect();
    let flags = state.flags_of(&ledger, opened.now);
    let flags: Vec<&Flag> = flags.iter().filter(|flag| lines.iter().any(|line| line.product == flag.product)).collect();
    if out.is_json() {
        let lines: Vec<Value> = lines.iter().map(|line| line_json(state, line)).collect();
        let flags: Vec<FlagJson<'_>> = flags.iter().map(|flag| FlagJson::of(state, flag)).collect();
        return out.json(&json!({ "stock": lines, "flags": flags, "compared": compared }));
    }
    if lines.is_empty() && compared.is_empty() {
        return out.line("Nothing is counted: cladlog batch add --product … --batch … --count …");
    }
    if !lines.is_empty() {
        table(&lines, out)?;
    }
    for line in &lines {
        for (subjects, what) in [
            (line.uncounted(), "not counted, the job's geometry does not say how much"),
            (line.need_not_known.clone(), "still to do, and how much is not known"),
            (line.subjects_not_named(), "done without the batch being named"),
        ] {
            if line.kept && !subjects.is_empty() {
                let text = format!("{}: {what}: {}.", line.product, state.subjects.shortly(&subjects));
                out.wrapped(&text, 2)?;
            }
        }
    }
    for flag in flags {
        out.wrapped(&format!("! {}.", flag.says), 2)?;
    }
    ordered_against_used(&compared, out)
}

/// What the kept take-off orders beside what came and was used; nothing where no take-off orders any of it.
fn ordered_against_used(compared: &[OrderedVsUsed], out: &mut Out) -> Result<(), Failure> {
    if compared.iter().all(|one| one.ordered_by.is_empty()) {
        return Ok(());
    }
    let amount = |amount: Option<Amount>, pct: Option<f64>| {
        let pct = pct.map(|pct| format!(" ({pct:.0} %)")).unwrap_or_default();
        amount.map(|amount| format!("{amount}{pct}")).unwrap_or_default()
    };
    let row = |one: &OrderedVsUsed| {
        let gone = one.thrown_away + one.sent_back;
        [
            one.product.clone(),
            amount(one.ordered, None),
            amount(one.delivered, one.delivered_pct),
            amount(one.used, one.used_pct),
            if one.delivered.is_none() && gone == Amount::NONE { String::new() } else { gone.to_string() },
            amount(one.left, one.left_pct),
            one.unit.clone(),
        ]
    };
    out.line("")?;
    out.line("Delivered is a share of ordered; used and left are shares of delivered.")?;
    out.line("Blank: not recorded. Used is worked out from the drawings where nobody")?;
    out.line("counted: a whole piece for each place, off-cuts or not.")?;
    out.line("")?;
    out.table(["", "Ordered", "Delivered", "Used", "Gone", "Left", ""], compared.iter().map(row))?;
    for one in compared.iter().filter(|one| !one.notes.is_empty()) {
        out.wrapped(&format!("{}: {}.", one.product, one.notes.join("; ")), 2)?;
    }
    Ok(())
}

fn line_json(state: &State, line: &Line) -> Value {
    let ids = |subjects: Vec<SubjectIx>| {
        let ids = subjects.iter().map(|subject| state.subjects.get(*subject).to_string());
        (!subjects.is_empty()).then(|| ids.collect::<Vec<_>>())
    };
    without_nulls(json!({
        "product": line.product, "unit": line.unit, "delivered": line.sums.delivered, "used": line.sums.used,
        "thrown_away": line.sums.thrown_away, "sent_back": line.sums.sent_back, "left": line.sums.left(),
        "needed": line.needed_in_all(),
        // Whole units to order; absent where nothing was ever delivered, so that no count is kept.
        "short": line.kept.then(|| line.short()),
        "batches": line.batches.iter().map(|batch| batch_json(line, batch)).collect::<Vec<_>>(),
        "not_counted": ids(line.uncounted()),
        "need_not_known": ids(line.need_not_known.clone()),
        "batch_not_named": ids(line.subjects_not_named()),
    }))
}

/// Product by product, its batches under it.
fn table(lines: &[&Line], out: &mut Out) -> Result<(), Failure> {
    let mut rows = Vec::new();
    for line in lines {
        let gone = line.sums.gone();
        let or_none = |many: Amount| if many == Amount::NONE { String::new() } else { many.to_string() };
        let used = line.sums.used.to_string();
        let [delivered, gone, left] = match line.kept {
            true => [line.sums.delivered, gone, line.sums.left()].map(|many| many.to_string()),
            false => Default::default(),
        };
        let (needed, short) = (line.needed_in_all().to_string(), or_none(line.short()));
        rows.push([line.product.clone(), delivered, used, gone, left, needed, short, line.unit.clone()]);
        for batch in &line.batches {
            let gone = batch.sums.gone();
            let expires = batch.expires.map(|day| format!("expires {}", dated(day)));
            let about: Vec<String> = batch.colour.clone().into_iter().chain(expires).collect();
            let [delivered, used, gone, left] =
                [batch.sums.delivered, batch.sums.used, gone, batch.sums.left()].map(|many| many.to_string());
            let (label, blank) = (format!("  {}", batch.batch), String::new);
            rows.push([label, delivered, used, gone, left, blank(), blank(), about.join(", ")]);
        }
    }
    out.table(["", "Delivered", "Used", "Gone", "Left", "Needed", "Short", ""], rows)
}
