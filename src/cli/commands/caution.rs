//! `cladlog caution`: who acknowledged which hazard.

use clap::Subcommand;

use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::site::{Site, print};
use crate::day::State;
use crate::moment::Moment;
use crate::record::AcknowledgeCaution;
use crate::sequence::Caution;

/// Show the cautions; record who acknowledged one
#[derive(Debug, Subcommand)]
pub enum CautionCommand {
    /// Show every caution of the sequence
    List,
    /// Record that people acknowledged a caution today
    Acknowledge(AcknowledgeCaution),
}

pub fn run(command: &CautionCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match command {
        CautionCommand::Acknowledge(request) => {
            let (recorded, book) = site.record(request)?;
            print(&recorded, &book, out)?;
            if out.is_json() { Ok(()) } else { text(&book.state, request, site.now(&book), out) }
        }
        CautionCommand::List => {
            let opened = site.open()?;
            let cautions = &opened.book.state.sequence().cautions;
            if out.is_json() {
                let list: Vec<_> = cautions
                    .iter()
                    .map(|c| serde_json::json!({ "key": c.key, "title": c.title, "text": c.text, "defers_to": c.defers_to }))
                    .collect();
                return out.json(&serde_json::json!({ "cautions": list }));
            }
            for caution in cautions {
                out.line(format!("{}: {}", caution.key, caution.title))?;
                what_to_do(caution, out)?;
            }
            Ok(())
        }
    }
}

/// What was acknowledged, and who on site has not read it.
fn text(state: &State, request: &AcknowledgeCaution, now: Moment, out: &mut Out) -> Result<(), Failure> {
    let sequence = state.sequence();
    if let Some(caution) = sequence.caution(&request.caution).map(|caution| &sequence.cautions[caution]) {
        what_to_do(caution, out)?;
    }
    match state.has_not_read(&request.caution, now).join(", ") {
        left if left.is_empty() => Ok(()),
        left => out.wrapped(&format!("  Still to be read by {left}."), 4),
    }
}

fn what_to_do(caution: &Caution, out: &mut Out) -> Result<(), Failure> {
    out.wrapped(&format!("  {}", caution.text), 2)?;
    out.wrapped(&format!("  Takes precedence: {}.", caution.defers_to), 4)
}
