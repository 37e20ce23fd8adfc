//! `cladlog caution`: who acknowledged which hazard.

use clap::{Args, Subcommand};

use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::day::Request;

/// Show the cautions; note who acknowledged one
#[derive(Debug, Subcommand)]
pub enum CautionCommand {
    /// Show every caution of the sequence
    List,
    /// Note that people acknowledged a caution today
    Acknowledge(AcknowledgeArgs),
}

/// Arguments of `caution acknowledge`
#[derive(Debug, Args)]
pub struct AcknowledgeArgs {
    /// Key of the caution
    pub key: String,
    /// Who acknowledged it
    #[arg(long, num_args = 1.., required = true, value_name = "NAME")]
    pub person: Vec<String>,
}

/// Runs the command.
///
/// # Errors
/// [`Failure`].
pub fn run(command: &CautionCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match command {
        CautionCommand::Acknowledge(args) => {
            let request = Request::Caution { caution: args.key.clone(), people: args.person.clone() };
            site.record_and_tell(&request, out)
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
            let rows: Vec<Vec<String>> = cautions
                .iter()
                .map(|c| vec![c.key.clone(), c.title.clone(), format!("{} First: {}.", c.text, c.defers_to)])
                .collect();
            out.table(&["Key", "Hazard", "What to do"], &rows)
        }
    }
}
