//! `cladlog office push`.

use clap::Args;
use serde::Serialize;

use super::photos::OfficePhotos;
use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::photos::{Named, named};
use crate::cli::site::Site;
use crate::office::{OfficeError, Pushed, Server, push};
use crate::photos::Kept;
use crate::plain::count;
use crate::record::{EntryId, Store};

/// Send the office what it does not have yet
#[derive(Debug, Args)]
pub struct PushArgs {
    /// Copy the photos too, to this folder or object store of the office
    #[arg(long, value_name = "FOLDER|s3://BUCKET")]
    photos: Option<String>,
}

#[derive(Debug, Default, Serialize)]
struct Answer {
    sent: u64,
    already: u64,
    jobs: usize,
    #[serde(skip_serializing_if = "is_none")]
    left_to_others: u64,
    /// How many photos are new in the folder.
    #[serde(skip_serializing_if = "Option::is_none")]
    photos: Option<usize>,
    /// The entries whose photos are in neither folder.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    photos_missing: Vec<EntryId>,
}

fn is_none(count: &u64) -> bool {
    *count == 0
}

pub fn run(args: &PushArgs, mut server: Server, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let path = site.database()?;
    let store = Store::read(&path)?;
    let jobs = match &site.global.job {
        Some(_) => vec![site.pick(store.jobs()?)?],
        None => store.jobs()?,
    };
    let (mut answer, mut refused) = (Answer::default(), None);
    // The photos first: what names them is in the office only when they are.
    let mut note = None;
    if let Some(place) = &args.photos {
        let mut photos = Named::new();
        for job in &jobs {
            photos.append(&mut named(&store.entries(&job.key)?));
        }
        let copied = OfficePhotos::open(place)?.take(&Kept::beside(&path), &photos)?;
        note = copied.note(&path);
        (answer.photos, answer.photos_missing) = (Some(copied.new), copied.missing);
    }
    for job in &jobs {
        match push(&mut server, &store, job) {
            Ok(Pushed { sent, already, left }) => {
                answer.sent += sent;
                answer.already += already;
                answer.left_to_others += left;
                answer.jobs += 1;
            }
            // One job that is refused does not hold up the others.
            Err(error @ (OfficeError::Refused { .. } | OfficeError::Store(_))) => {
                if refused.is_some() {
                    out.message(&format!("job {}: {error}", job.key));
                }
                refused.get_or_insert(error);
            }
            Err(error) => return Err(error.into()),
        }
    }
    if let Some(error) = refused {
        if answer.jobs > 0 {
            out.message(&answer.line());
        }
        return Err(error.into());
    }
    if out.is_json() {
        return out.json(&answer);
    }
    out.wrapped(&answer.line(), 2)?;
    note.map_or(Ok(()), |note| out.wrapped(&format!("Note: {note}"), 2))
}

impl Answer {
    fn line(&self) -> String {
        let Self { sent, already, jobs, left_to_others, photos, .. } = self;
        let left = match left_to_others {
            0 => String::new(),
            left => format!(" Left to the crews that began their books: {}.", count(*left, "entry")),
        };
        let photos = photos.map(|photos| format!(" Copied {}.", count(photos, "photo"))).unwrap_or_default();
        let (sent, jobs) = (count(*sent, "entry"), count(*jobs, "job"));
        format!("Sent {sent} ({jobs}); already there: {already}.{left}{photos}")
    }
}

#[cfg(test)]
mod tests {
    use super::Answer;

    #[test]
    fn what_was_sent_is_said_of_none_one_and_two() {
        let line = |sent, already, jobs, left_to_others| {
            Answer { sent, already, jobs, left_to_others, ..Answer::default() }.line()
        };
        assert_eq!(line(0, 0, 0, 0), "Sent 0 entries (0 jobs); already there: 0.");
        assert_eq!(
            line(1, 1, 1, 1),
            "Sent 1 entry (1 job); already there: 1. Left to the crews that began their books: 1 entry."
        );
        assert_eq!(
            line(2, 300, 2, 2),
            "Sent 2 entries (2 jobs); already there: 300. Left to the crews that began their books: 2 entries."
        );
    }
}
