//! `cladlog hold`: hold points.

use clap::Subcommand;

use crate::cli::failure::Failure;
use crate::cli::filters::ListArgs;
use crate::cli::out::Out;
use crate::cli::site::{Site, print};
use crate::day::{HoldState, HoldStatus, noted, still_open, text_to_send};
use crate::handover::graded_holds;
use crate::record::{AskRelease, RefuseHold, ReleaseHold};

/// List hold points; request, release or refuse one
#[derive(Debug, Subcommand)]
pub enum HoldCommand {
    /// List every hold point and its state
    List(ListArgs),
    /// Record that a release was requested
    Ask(AskRelease),
    /// Record who released it, and how
    Release(ReleaseHold),
    /// Record who refused it, and why
    Refuse(RefuseHold),
}

pub fn run(command: &HoldCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match command {
        HoldCommand::List(args) => list(args, site, out),
        HoldCommand::Ask(request) => {
            let (recorded, book) = site.record(request)?;
            print(&recorded, &book, out)?;
            if out.is_json() {
                return Ok(());
            }
            out.line(format!(
                "Text to send: {}",
                text_to_send(&book.state, &request.hold, &request.subject, site.now(&book))
            ))
        }
        HoldCommand::Release(request) => {
            let (recorded, book) = site.record(request)?;
            print(&recorded, &book, out)?;
            let open = request.subject.split(',').filter_map(|on| still_open(&book.state, on.trim()));
            open.for_each(|open| out.say(format!("Note: {open}.")));
            Ok(())
        }
        HoldCommand::Refuse(request) => site.record_and_print(request, out),
    }
}

fn list(args: &ListArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let state = &opened.book.state;
    let filter = args.filters.read(state)?;
    let mut holds = graded_holds(&opened.book);
    holds.retain(|hold| {
        filter.on(state, &hold.subject)
            && filter.at_any(hold.asked_at.iter().chain(&hold.at))
            && filter.by(hold.person.as_deref())
    });
    if args.csv.list("holds", &holds, out)? {
        return Ok(());
    }
    if holds.is_empty() {
        let none = if args.filters.any() { "No such hold points." } else { "This sequence has no hold points." };
        return out.line(none);
    }
    let today = opened.now.date();
    let detail = |hold: &HoldStatus| match (hold.state, &hold.person, hold.at, &hold.how) {
        (HoldState::Released | HoldState::Refused, Some(who), Some(at), Some(how)) => {
            format!("{who}, {}, {how}{}", at.clock(today), noted(hold.noted_by.as_deref(), hold.grade))
        }
        _ => match hold.asked_at {
            Some(asked) => format!("requested {}", asked.clock(today)),
            None => format!("by {}", hold.roles.join(" or ")),
        },
    };
    let row = |hold: &HoldStatus| {
        let dropped = hold.dropped_by.as_ref().map(|by| format!("; dropped from the sequence by entry {by}"));
        let detail = format!("{}{}", detail(hold), dropped.unwrap_or_default());
        [hold.subject.clone(), hold.key.clone(), hold.state.word().to_owned(), detail]
    };
    out.table(["On", "Hold point", "State", "Who, when, how"], holds.iter().map(row))
}
