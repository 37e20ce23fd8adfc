//! `cladlog hold`: hold points.

use clap::{Args, Subcommand};
use serde::Serialize;

use crate::cli::filters::{CsvTo, Filters};
use crate::cli::site::Site;
use crate::cli::{Failure, Out};
use crate::day::{Request, State, release_waits_for};
use crate::moment::Moment;

/// List hold points, ask for a release, release, refuse
#[derive(Debug, Subcommand)]
pub enum HoldCommand {
    /// List every hold point and where it stands
    List(ListArgs),
    /// Note that a release was asked for
    Ask(SubjectArgs),
    /// Note who released it and how
    Release(ReleaseArgs),
    /// Note who refused it and why
    Refuse(RefuseArgs),
}

/// Arguments of `hold list`
#[derive(Debug, Args)]
pub struct ListArgs {
    #[command(flatten)]
    filters: Filters,
    #[command(flatten)]
    csv: CsvTo,
}

/// A hold point on a subject
#[derive(Debug, Args)]
pub struct SubjectArgs {
    /// Key of the hold point
    pub key: String,
    /// The wall or walls, or job
    #[arg(long, value_name = "SUBJECT")]
    pub on: String,
}

/// Arguments of `hold release`
#[derive(Debug, Args)]
pub struct ReleaseArgs {
    #[command(flatten)]
    hold: SubjectArgs,
    /// Who releases it
    #[arg(long, value_name = "NAME")]
    person: String,
    /// How: on site, by phone, in writing
    #[arg(long, value_name = "TEXT")]
    how: String,
    /// What shows it: a message, a photo, a paper
    #[arg(long, value_name = "TEXT")]
    evidence: Option<String>,
}

/// Arguments of `hold refuse`
#[derive(Debug, Args)]
pub struct RefuseArgs {
    #[command(flatten)]
    hold: SubjectArgs,
    /// Who refuses it
    #[arg(long, value_name = "NAME")]
    person: String,
    /// Why
    #[arg(long, value_name = "TEXT")]
    why: String,
}

/// A hold point, as it is listed.
#[derive(Debug, Serialize)]
pub struct Listed {
    /// Key.
    pub key: String,
    /// Subject.
    pub subject: String,
    /// held, released, refused.
    pub state: &'static str,
    /// Roles that may release it.
    pub roles: Vec<String>,
    /// Who released it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub released_by: Option<String>,
    /// When.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub released_at: Option<Moment>,
    /// How.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub how: Option<String>,
    /// When a release was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub asked_at: Option<Moment>,
    /// Who refused it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub refused_by: Option<String>,
    /// When.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub refused_at: Option<Moment>,
    /// Why.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
}

/// Every hold point of a job.
pub fn listed(state: &State) -> Vec<Listed> {
    state
        .holds()
        .into_iter()
        .map(|(hold, subject, life)| {
            let hold = &state.sequence().holds[hold];
            let released = life.state == crate::day::HoldState::Released;
            let refused = life.state == crate::day::HoldState::Refused;
            Listed {
                key: hold.key.clone(),
                subject: state.subjects.get(subject).to_string(),
                state: life.state.word(),
                roles: hold.roles.clone(),
                released_by: life.person.clone().filter(|_| released),
                released_at: life.at.filter(|_| released),
                how: life.how.clone().filter(|_| released),
                asked_at: life.asked_at,
                refused_by: life.person.filter(|_| refused),
                refused_at: life.at.filter(|_| refused),
                why: life.how.filter(|_| refused),
            }
        })
        .collect()
}

/// Runs the command.
///
/// # Errors
/// [`Failure`].
pub fn run(command: &HoldCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let request = match command {
        HoldCommand::List(args) => return list(args, site, out),
        HoldCommand::Ask(args) => {
            let request = Request::AskHold { hold: args.key.clone(), on: args.on.clone() };
            let (recorded, book) = site.record(&request)?;
            recorded.tell(&book, out)?;
            if !out.is_json() {
                let now = site.clock.now().at_site(book.state.job.time_zone);
                let text = text_to_send(&book.state, &args.key, &args.on, now);
                out.line(text)?;
            }
            return Ok(());
        }
        HoldCommand::Release(args) => Request::ReleaseHold {
            hold: args.hold.key.clone(),
            on: args.hold.on.clone(),
            person: args.person.clone(),
            how: args.how.clone(),
            evidence: args.evidence.clone(),
        },
        HoldCommand::Refuse(args) => Request::RefuseHold {
            hold: args.hold.key.clone(),
            on: args.hold.on.clone(),
            person: args.person.clone(),
            why: args.why.clone(),
        },
    };
    site.record_and_tell(&request, out)
}

/// A short text for the phone of whoever may release it.
pub fn text_to_send(state: &State, key: &str, on: &str, now: Moment) -> String {
    let found = state.sequence().hold(key).map(|hold| &state.sequence().holds[hold]);
    let title = found.map_or(key, |hold| &hold.title);
    let look = found.and_then(|hold| hold.look_at.as_deref()).unwrap_or("");
    let subjects = state.subjects.parse(on).unwrap_or_default();
    let waits = state
        .sequence()
        .hold(key)
        .map_or(0, |hold| subjects.iter().map(|subject| release_waits_for(state, hold, *subject, now).len()).sum());
    // Whoever comes for nothing comes late the next time.
    let ready = match waits {
        0 => "is ready to be looked at".to_owned(),
        steps => format!("is to be looked at when what it covers is done ({steps} to go); we will say when"),
    };
    format!("Text to send: {}: {title} on {on} {ready}. {look}", state.job.name)
}

fn list(args: &ListArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open_as_of()?;
    let state = &opened.book.state;
    let wanted = args.filters.read(state)?;
    let mut holds = listed(state);
    holds.retain(|hold| {
        let moments = [&hold.asked_at, &hold.released_at, &hold.refused_at].into_iter().flatten();
        let people = [&hold.released_by, &hold.refused_by].into_iter().flatten();
        wanted.on(state, &hold.subject) && wanted.at_any(moments) && wanted.by(people.map(String::as_str))
    });
    if args.csv.write(&csv(&holds), out)? {
        return Ok(());
    }
    if out.is_json() {
        return out.json(&serde_json::json!({ "holds": holds }));
    }
    if holds.is_empty() {
        let none = if args.filters.any() { "No such hold points." } else { "This sequence has no hold points." };
        return out.line(none);
    }
    let today = opened.now.date();
    let rows: Vec<Vec<String>> = holds
        .into_iter()
        .map(|hold| {
            let who = hold.released_by.clone().or(hold.refused_by.clone());
            let detail = match (who, hold.released_at, hold.how.or(hold.why), hold.asked_at) {
                (Some(who), Some(at), Some(how), _) => format!("{who}, {}, {how}", at.clock(today)),
                (Some(who), None, Some(why), _) => format!("{who}: {why}"),
                (_, _, _, Some(asked)) => format!("asked for {}", asked.clock(today)),
                _ => format!("by {}", hold.roles.join(" or ")),
            };
            vec![hold.subject, hold.key, hold.state.to_owned(), detail]
        })
        .collect();
    out.table(&["On", "Hold point", "State", "Who, when, how"], &rows)
}

fn csv(holds: &[Listed]) -> Vec<Vec<String>> {
    let heading = [
        "key",
        "subject",
        "state",
        "roles",
        "asked_at",
        "released_by",
        "released_at",
        "how",
        "refused_by",
        "refused_at",
        "why",
    ];
    let time = |moment: &Option<Moment>| moment.as_ref().map(Moment::to_string).unwrap_or_default();
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    let mut rows = vec![heading.map(str::to_owned).to_vec()];
    rows.extend(holds.iter().map(|hold| {
        vec![
            hold.key.clone(),
            hold.subject.clone(),
            hold.state.to_owned(),
            hold.roles.join("; "),
            time(&hold.asked_at),
            text(&hold.released_by),
            time(&hold.released_at),
            text(&hold.how),
            text(&hold.refused_by),
            time(&hold.refused_at),
            text(&hold.why),
        ]
    }));
    rows
}
