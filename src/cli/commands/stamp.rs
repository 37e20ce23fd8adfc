//! `cladlog stamp`: the record stamped by a time-stamping authority (RFC 3161).

use std::io::Read;
use std::path::{Path, PathBuf};

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use clap::{Args, Subcommand};

use crate::cli::failure::Failure;
use crate::cli::files::{Overwrite, exists};
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::record::TakeStamp;
use crate::stamp::{Query, Stamp};

/// More bytes than a query or an answer has.
const MOST_BYTES: u64 = 1 << 17;

/// Have the record stamped by a time-stamping authority, so that nobody can date it back
#[derive(Debug, Subcommand)]
pub enum StampCommand {
    /// Write the query for a time stamp over the newest entry; the authority sees its hash and nothing else
    #[command(after_help = SENDING)]
    Request(RequestArgs),
    /// Check the authority's answer and keep it in the record
    Take(TakeArgs),
}

const SENDING: &str = "Send the file to an authority (RFC 3161) from any machine that has a connection, and take its answer:\n  \
    curl -H 'Content-Type: application/timestamp-query' \\\n    \
        --data-binary @FILE.tsq URL -o FILE.tsr\n  \
    cladlog stamp take FILE.tsr\n\
    A stamp shows that the entry, and all before it in its book, was there by then. It does not show that it is true.";

#[derive(Debug, Args)]
pub struct RequestArgs {
    /// The file to write, FILE.tsq
    file: PathBuf,
    #[command(flatten)]
    over: Overwrite,
}

#[derive(Debug, Args)]
pub struct TakeArgs {
    /// The answer, FILE.tsr
    file: PathBuf,
    /// The query that it answers [default: FILE.tsq beside it, where there is one]
    #[arg(long, value_name = "FILE")]
    query: Option<PathBuf>,
}

pub fn run(command: &StampCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match command {
        StampCommand::Request(args) => request(args, site, out),
        StampCommand::Take(args) => take(args, site, out),
    }
}

fn request(args: &RequestArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    args.over.may_write(&args.file)?;
    let opened = site.open()?;
    let head = opened.book.head().ok_or_else(|| Failure::input("there is no entry to stamp yet"))?;
    let mut nonce = [0; 8];
    getrandom::fill(&mut nonce).map_err(|error| Failure::machine(format!("no random numbers: {error}")))?;
    let query = Query::write(&head.hash, nonce).ok_or_else(|| Failure::machine("the hash of the entry is damaged"))?;
    args.over.write(&args.file, &query)?;
    let file = args.file.display().to_string();
    if out.is_json() {
        return out.json(&serde_json::json!({
            "file": file,
            "entry": head.id().to_string(),
            "hash": head.hash,
            "head": head.head_code(),
        }));
    }
    out.line(format!("The query for a time stamp over {} is in {file}.", head.head_code()))?;
    out.line("How to send it: cladlog help stamp request")?;
    out.line("The answer, once it is here: cladlog stamp take FILE.tsr")
}

fn take(args: &TakeArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let flawed = |why: &dyn std::fmt::Display| Failure::input(format!("{}: {why}", args.file.display()));
    let answer = bytes_of(&args.file)?;
    let stamp = Stamp::read(&answer).map_err(|error| flawed(&error))?;
    let beside = args.file.with_extension("tsq");
    let query = args.query.as_deref().or_else(|| Some(beside.as_path()).filter(|file| exists(file)));
    if let Some(file) = query {
        let query = Query::read(&bytes_of(file)?)
            .ok_or_else(|| Failure::input(format!("{}: not the query for a time stamp", file.display())))?;
        if query.hash != stamp.hash || query.nonce.is_some() && query.nonce != stamp.nonce {
            let hint = "give the query that it does answer with --query FILE";
            return Err(Failure::input_hint(
                format!("{}: it is not the answer to {}", args.file.display(), file.display()),
                hint,
            ));
        }
    }
    let opened = site.open()?;
    let entry = opened.book.entries.iter().find(|entry| entry.hash == stamp.hash);
    let entry = entry.ok_or_else(|| flawed(&"no entry of this job has the hash that was stamped"))?.id();
    site.record_and_print(&TakeStamp { entry, answer: STANDARD.encode(&answer) }, out)
}

fn bytes_of(path: &Path) -> Result<Vec<u8>, Failure> {
    let unread = |why: &dyn std::fmt::Display| Failure::input(format!("{}: {why}", path.display()));
    if !path.is_file() {
        return Err(unread(&"there is no such file"));
    }
    let mut bytes = Vec::new();
    let read = std::fs::File::open(path).and_then(|file| file.take(MOST_BYTES + 1).read_to_end(&mut bytes));
    match read {
        Ok(read) if read as u64 > MOST_BYTES => Err(unread(&"larger than any query or answer")),
        Ok(_) => Ok(bytes),
        Err(error) => Err(unread(&format_args!("can't be read: {error}"))),
    }
}
