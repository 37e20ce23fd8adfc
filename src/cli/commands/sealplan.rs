//! `cladlog sealplan`: the sealing day of the job, planned, shown, drawn and kept.

use std::path::PathBuf;

use clap::Args;
use serde::Serialize;
use serde_json::json;

use crate::building::{SubjectIx, SubjectKind};
use crate::cli::failure::Failure;
use crate::cli::files::Overwrite;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::day::{LeftRow, SealAsk, SealError, State, Timetable, planned};
use crate::journal::Recorded;
use crate::moment::{self, Moment};
use crate::sealing::plan::{Day, Plan, Stint, drawing};

/// Plan the sealing day: who masks, primes, guns and untapes which joint, and when
#[derive(Debug, Args)]
#[command(after_help = "\
The joints are those that are ready, masked or primed already; the crew is that of the open day. Sun comes from the \
job's place and bearings, rain and cold from the forecast, rates and window from the sequence. A joint that can't be \
sealed in its time is left unprimed and named. A kept plan is followed by walk, watch and next.")]
pub struct SealplanArgs {
    /// Plan the joints of this wall; may be given again
    #[arg(long, value_name = "WALL", conflicts_with = "on")]
    wall: Vec<String>,
    /// Plan these joints [default: all that are ready]
    #[arg(long, value_name = "SUBJECT")]
    on: Option<String>,
    /// Earliest start: 10:40 today, or an RFC 3339 time [default: now]
    #[arg(long, value_name = "TIME")]
    from: Option<String>,
    /// Latest finish [default: last light]
    #[arg(long, value_name = "TIME")]
    until: Option<String>,
    /// Who works [default: the crew of the open day]
    #[arg(long, num_args = 1.., value_name = "NAME")]
    crew: Vec<String>,
    /// Keep the plan in the record: the last one kept is followed
    #[arg(long)]
    keep: bool,
    /// Also draw the timetable into this SVG file
    #[arg(long, value_name = "FILE.svg")]
    pub drawing: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) over: Overwrite,
}

impl SealplanArgs {
    /// The wall, where exactly one is planned: the plan is kept on it.
    fn kept_on(&self) -> &str {
        match (&self.wall[..], &self.on) {
            ([only], None) => only,
            _ => "job",
        }
    }

    fn read(&self, state: &State, now: Moment) -> Result<SealAsk, Failure> {
        let time = |option: &str, text: &Option<String>| {
            let read = |text: &String| moment::parse(text, now.date(), state.job.time_zone);
            text.as_ref().map(read).transpose().map_err(|error| Failure::input(format!("{option}: {error}")))
        };
        let person = |name: &String| {
            let names = || state.job.people.iter().map(|person| person.name.as_str()).collect::<Vec<_>>().join(", ");
            let unknown = || {
                let name = crate::units::number::shortened(name);
                Failure::input(format!("--crew: {name} is not a person of the job: {}", names()))
            };
            state.job.person_meant(name).map(|person| person.name.clone()).ok_or_else(unknown)
        };
        let crew = self.crew.iter().map(person).collect::<Result<Vec<String>, Failure>>()?;
        Ok(SealAsk {
            on: self.joints(state, now)?,
            from: time("--from", &self.from)?,
            until: time("--until", &self.until)?,
            crew,
        })
    }

    fn joints(&self, state: &State, now: Moment) -> Result<Option<Vec<SubjectIx>>, Failure> {
        let parse = |text: &str| state.subjects.parse(text).map_err(Failure::input);
        let gun = state.sequence().sealing.as_ref().map(|sealing| sealing.gun);
        let is_sealed = |index: SubjectIx| gun.is_some_and(|gun| state.asked_of(gun, index));
        if let Some(on) = &self.on {
            let joints = parse(on)?;
            return match joints.iter().find(|index| !is_sealed(**index)) {
                None => Ok(Some(joints)),
                Some(index) => {
                    let (is, kinds) = (state.subjects.get(*index), sealed_on(state));
                    Err(Failure::input(format!("{is} is {}: what is sealed is {kinds}", is.kind().a_word())))
                }
            };
        }
        if self.wall.is_empty() {
            return Ok(None);
        }
        let mut joints = Vec::new();
        for key in &self.wall {
            for index in parse(key)? {
                let is = state.subjects.get(index);
                if is.kind() != SubjectKind::Wall {
                    return Err(Failure::input(format!("--wall {is}: it is {}; give a wall", is.kind().a_word())));
                }
                let kinds = [SubjectKind::Joint, SubjectKind::Opening, SubjectKind::Corner];
                let on_wall = kinds.iter().flat_map(|kind| state.subjects.related(index, *kind));
                joints.extend(on_wall.copied().filter(|index| is_sealed(*index)));
            }
        }
        if joints.is_empty() {
            return Err(Failure::input(format!("wall {} has nothing to seal", self.wall.join(", "))));
        }
        joints.sort_unstable();
        joints.dedup();
        // Of a wall, what is sealed already is not asked for.
        if let Some(sealing) = &state.sequence().sealing {
            joints.retain(|joint| !state.complete(sealing.gun, *joint, now));
        }
        Ok(Some(joints))
    }
}

/// What the sequence seals, in words.
fn sealed_on(state: &State) -> String {
    let sealing = state.sequence().sealing.as_ref();
    sealing.map_or_else(|| "a joint".to_owned(), |sealing| state.sequence().steps[sealing.gun].on_words())
}

impl From<SealError> for Failure {
    fn from(error: SealError) -> Self {
        let hint = match error {
            SealError::NoPlace | SealError::PolarNight(_) | SealError::KnockOff { .. } | SealError::Dark { .. } => {
                "--until TIME says when work ends, --from TIME when it begins"
            }
            SealError::NoCrew => "cladlog day open, or --crew NAME…",
            _ => return Self::input(error),
        };
        Self::input_hint(error, hint)
    }
}

#[derive(Serialize)]
struct Answer<'a> {
    #[serde(flatten)]
    timetable: &'a Timetable,
    #[serde(flatten)]
    recorded: Option<&'a Recorded>,
}

pub fn run(args: &SealplanArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let opened = site.open()?;
    let ask = args.read(&opened.book.state, opened.now)?;
    let planned = match planned(&opened.book.state, &ask, opened.now) {
        // What is done, or waits for other work, was asked for rightly: the answer is no.
        Err(error @ SealError::NoJoints(_)) => return none_ready(&error, out),
        planned => planned?,
    };
    if let Some(file) = &args.drawing {
        args.over.write(file, drawing(&planned.day, &planned.plan, &planned.timetable.people).as_bytes())?;
    }
    let recorded = match args.keep {
        true => Some(site.record(&planned.kept_on(args.kept_on()).map_err(Failure::machine)?)?.0),
        false => None,
    };
    if out.is_json() {
        return out.json(&Answer { timetable: &planned.timetable, recorded: recorded.as_ref() });
    }
    print(&planned.day, &planned.plan, &planned.timetable, out)?;
    match recorded.as_ref().and_then(|recorded| recorded.entries.first()) {
        Some(entry) => out.line(format!("Kept as entry {}: walk, watch and next follow it.", entry.id)),
        None => out.line("Not kept: --keep puts it into the record, to be followed."),
    }
}

fn none_ready(error: &SealError, out: &mut Out) -> Result<(), Failure> {
    match error {
        SealError::NoJoints(left_out) if out.is_json() => out.json(&json!({ "joints": [], "left_out": left_out }))?,
        _ => out.wrapped(&format!("Nothing to plan: {error}."), 2)?,
    }
    Err(Failure::AnswerNo)
}

/// Prints a timetable by person, then what is left out and what a lead should know.
pub fn print(day: &Day, plan: &Plan, timetable: &Timetable, out: &mut Out) -> Result<(), Failure> {
    let today = day.origin.date();
    let clock = |minute: i32| day.moment(minute).clock(today);
    let id = |joint: usize| day.joints.get(joint).map_or("", |joint| joint.id.as_str()).to_owned();
    for person in 1..=day.crew {
        let stints = plan.stints(day, person);
        if stints.is_empty() {
            continue;
        }
        match timetable.people.get(person - 1) {
            Some(name) => out.line(name)?,
            None => out.line(format!("Person {person}"))?,
        }
        let row = |stint: &Stint| {
            let Stint { from, to, task, joint } = *stint;
            [clock(from), clock(to), task.word().to_owned(), id(joint)]
        };
        // Masking that is done already takes no time and needs no row.
        let rows = stints.iter().filter(|stint| stint.from < stint.to || timetable.people.is_empty()).map(row);
        out.table(["from", "to", "task", "joint"], rows)?;
        out.line("")?;
    }
    let (sealed, all) = (timetable.joints.len(), timetable.joints.len() + timetable.left_out.len());
    match plan.finish() {
        Some(finish) => out.line(format!("{sealed} of {all} joints sealed, finished at {}.", clock(finish)))?,
        None => out.line(format!("0 of {all} joints sealed: nothing can be planned."))?,
    }
    if !timetable.left_out.is_empty() {
        out.line("")?;
        out.line("Left out: do not prime these")?;
        let row = |left: &LeftRow| [left.id.clone(), left.why.clone()];
        out.table(["joint", "why"], timetable.left_out.iter().map(row))?;
    }
    timetable.remarks.iter().try_for_each(|remark| out.wrapped(remark, 2))
}
