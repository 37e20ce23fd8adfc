//! `cladlog sequence`: check a file, show one, adopt a newer one.

use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};

use crate::cli::failure::Failure;
use crate::cli::input;
use crate::cli::input::mistakes_in;
use crate::cli::job_files::find_sequence;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::plain::count;
use crate::record::AdoptSequence;
use crate::sequence::{self, AskKind, Sequence};

/// Check, show and adopt install sequences
#[derive(Debug, Subcommand)]
pub enum SequenceCommand {
    /// Check a sequence file: every mistake with its line and column
    Check(FileArgs),
    /// Show a shipped sequence, or that of the job
    Show(ShowArgs),
    /// Adopt a newer sequence on the job
    Adopt(AdoptArgs),
    /// Print the JSON Schema of sequence files, for editors
    Schema,
}

/// A sequence file
#[derive(Debug, Args)]
pub struct FileArgs {
    /// The file
    pub file: PathBuf,
}

#[derive(Debug, Args)]
pub struct ShowArgs {
    /// Key of a shipped sequence; that of the job when left out
    pub key: Option<String>,
    /// Print the file itself, to be copied and edited
    #[arg(long)]
    pub text: bool,
}

#[derive(Debug, Args)]
pub struct AdoptArgs {
    /// The file
    pub file: PathBuf,
    #[command(flatten)]
    adopt: AdoptSequence,
}

pub fn run(command: &SequenceCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match command {
        SequenceCommand::Check(args) => check(&args.file, out),
        SequenceCommand::Show(args) => show(args, site, out),
        SequenceCommand::Adopt(args) => {
            let sequence = input::read_text(&args.file)?;
            sequence::read(&sequence).map_err(|mistakes| mistakes_in(&args.file, &mistakes))?;
            site.record_and_print(&AdoptSequence { sequence, ..args.adopt.clone() }, out)
        }
        SequenceCommand::Schema => {
            let schema = serde_json::to_string_pretty(&sequence::json_schema()).map_err(Failure::machine)?;
            out.raw(format!("{schema}\n").as_bytes())
        }
    }
}

fn check(file: &Path, out: &mut Out) -> Result<(), Failure> {
    let text = input::read_text(file)?;
    match sequence::read(&text) {
        Ok(found) => {
            if out.is_json() {
                return out.json(&serde_json::json!({ "ok": true, "key": found.key, "sha256": found.sha256 }));
            }
            let counts = [
                count(found.stages.len(), "stage"),
                count(found.steps.len(), "step"),
                count(found.holds.len(), "hold point"),
                count(found.windows.len(), "window"),
            ];
            let (file, key) = (file.display(), &found.key);
            out.wrapped(&format!("{file}: sequence {key} is valid: {}.", counts.join(", ")), 2)
        }
        Err(mistakes) => {
            if out.is_json() {
                let list: Vec<_> = mistakes
                    .iter()
                    .map(|m| serde_json::json!({ "line": m.line, "column": m.column, "message": m.message }))
                    .collect();
                out.json(&serde_json::json!({ "ok": false, "mistakes": list }))?;
            }
            Err(mistakes_in(file, &mistakes))
        }
    }
}

fn show(args: &ShowArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened;
    let found;
    let sequence: &Sequence = match &args.key {
        Some(key) => {
            found = find_sequence(key, Path::new(""))?;
            &found
        }
        None => {
            opened = site.open()?;
            opened.book.state.sequence()
        }
    };
    if args.text {
        return out.raw(sequence.text.as_bytes());
    }
    if out.is_json() {
        let steps: Vec<_> = sequence
            .steps
            .iter()
            .map(|step| {
                serde_json::json!({
                    "key": step.key,
                    "title": step.title,
                    "stage": sequence.stages[step.stage].key,
                    "on": step.on.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "),
                    "asks": step.asks.iter().map(|ask| &ask.key).collect::<Vec<_>>(),
                })
            })
            .collect();
        return out.json(&serde_json::json!({
            "key": sequence.key, "title": sequence.title, "edition": sequence.edition,
            "sha256": sequence.sha256, "steps": steps,
        }));
    }
    words(sequence).iter().try_for_each(|line| {
        // A line that is broken goes on further in than it began.
        let lead = line.len() - line.trim_start().len();
        out.wrapped(line, if lead == 0 { 0 } else { lead + 4 })
    })
}

/// The sequence as a lead reads it through.
fn words(sequence: &Sequence) -> Vec<String> {
    let mut lines =
        vec![format!("{}, edition {}", sequence.title, sequence.edition), sequence.comes_first.clone(), String::new()];
    for (place, stage) in sequence.stages.indexed() {
        lines.push(stage.title.to_uppercase());
        for step in sequence.steps.iter().filter(|step| step.stage == place) {
            let on = step.on.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
            lines.push(format!("  {} (on {on}): {}", step.key, step.title));
            for ask in &step.asks {
                let wanted = ask.tolerance_words();
                // That yes is in order needs no saying.
                let yes_no = ask.kind == AskKind::YesNo;
                let wanted = if wanted.is_empty() || yes_no { String::new() } else { format!(": {wanted}") };
                let basis = ask.basis.as_ref().map(|basis| format!(" [{basis}]")).unwrap_or_default();
                lines.push(format!("      {} — {}{wanted}{basis}", ask.key, ask.prompt));
            }
        }
    }
    lines.push("HOLD POINTS".into());
    for hold in &sequence.holds {
        lines.push(format!("  {} (per {}): {}; {}", hold.key, hold.per, hold.title, hold.roles.join(" or ")));
    }
    lines.push("WINDOWS".into());
    for window in &sequence.windows {
        let bound = |word: &str, time: Option<chrono::TimeDelta>| {
            time.map(|time| format!(", {word} {}", crate::moment::span(time))).unwrap_or_default()
        };
        lines.push(format!(
            "  {}: {} to {}{}{} [{}]",
            window.key,
            sequence.steps[window.from].key,
            sequence.steps[window.to].key,
            bound("not before", window.earliest),
            bound("not after", window.latest),
            window.basis
        ));
    }
    lines
}
