//! `cladlog office work`.

use std::time::Duration;

use clap::Args;

use crate::cli::ctrl_c::CtrlC;
use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::office::{OfficeError, Server, Worker};
use crate::plain::count;

/// The server is asked at least so often, should no notice of new entries come through.
const PATIENCE: Duration = Duration::from_secs(5);

/// A server that went away is looked for again after so long.
const AGAIN: Duration = Duration::from_secs(2);

/// Follow what the crews send, and keep the board, traces and hours up to date
///
/// Runs until Ctrl-C, with a login of the role worker. It may be stopped at
/// any moment and started twice.
#[derive(Debug, Args)]
pub struct WorkArgs {
    /// Catch up with what is there and exit
    #[arg(long)]
    once: bool,
}

pub fn run(
    args: &WorkArgs,
    connect: &dyn Fn() -> Result<Server, OfficeError>,
    site: &Site<'_>,
    out: &mut Out,
) -> Result<(), Failure> {
    let mut worker = Worker::start(connect()?)?;
    if args.once {
        let jobs = worker.catch_up(site.clock.now())?;
        if out.is_json() {
            return out.json(&serde_json::json!({ "jobs": jobs }));
        }
        return out.line(format!("Brought {} up to date.", count(jobs, "job")));
    }
    let ctrl_c = CtrlC::listen()?;
    out.say("Following what the crews send. Ctrl-C to stop.");
    while !ctrl_c.pressed() {
        let round = worker.catch_up(site.clock.now()).and_then(|_| worker.wait(PATIENCE));
        let Err(error) = round else { continue };
        if !matches!(error, OfficeError::Unreachable { .. }) {
            return Err(error.into());
        }
        out.message(&format!("cladlog: {error}; trying again"));
        worker = loop {
            if ctrl_c.within(AGAIN) {
                return Ok(());
            }
            match connect().and_then(Worker::start) {
                Ok(worker) => break worker,
                Err(OfficeError::Unreachable { .. }) => {}
                Err(error) => return Err(error.into()),
            }
        };
    }
    Ok(())
}
