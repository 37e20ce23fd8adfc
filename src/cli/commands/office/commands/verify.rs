//! `cladlog office verify`.

use clap::Args;

use crate::cli::commands::verify::print;
use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::handover::{Failed, Verified};
use crate::office::{Server, jobs, verify};

/// Check every entry and every chain in the office
#[derive(Debug, Args)]
pub struct VerifyArgs {}

pub fn run(_: &VerifyArgs, mut server: Server, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let mut verified = Verified::default();
    for job in jobs(&mut server, site.global.job.as_deref())? {
        let found = verify(&mut server, &job)?;
        verified.checked.entries += found.entries;
        verified.failures.extend(found.failures.into_iter().map(|failure| Failed {
            entry: Some(failure.id),
            ..Failed::whole(format!("job {}: {}", job.key, failure.what))
        }));
    }
    print(&verified, "the office", out)
}
