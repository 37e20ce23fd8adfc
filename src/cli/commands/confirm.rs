//! `cladlog confirm`: what was typed in the name of others, and their own word for it.

use std::path::{Path, PathBuf};

use clap::{ArgGroup, Args, Subcommand};

use crate::cli::failure::Failure;
use crate::cli::filters::CsvTo;
use crate::cli::input::read_text;
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::digest::{copy_hashed, hex};
use crate::handover::{check_signature, confirmations};
use crate::record::{ConfirmSaying, Confirmed, EntryId};

/// More bytes than a signature has.
const MOST_SIGNATURE: u64 = 64;

/// List what was typed in the name of others; add their own word for it
#[derive(Debug, Subcommand)]
pub enum ConfirmCommand {
    /// List every release, refusal, closing and concession that somebody else typed, and who confirmed it how
    List(CsvTo),
    /// Add a person's own word for an entry in their name: a reply, signed paper, or a signature with their own key
    #[command(after_help = SIGNING)]
    Add(AddArgs),
}

const SIGNING: &str = "A key of their own is made and used on their own machine, never on the crew's (OpenSSL 3):\n  \
    openssl genpkey -algorithm ed25519 -out own.key\n  \
    openssl pkey -in own.key -pubout -out own.pub\n  \
    printf %s HASH >entry.txt        (HASH: 64 digits, from cladlog confirm list)\n  \
    openssl pkeyutl -sign -rawin -inkey own.key -in entry.txt -out entry.sig\n\
    Then, here:  cladlog confirm add ENTRY --signature entry.sig --public own.pub";

#[derive(Debug, Args)]
#[command(group(ArgGroup::new("how").required(true).args(["text", "signed", "signature"])))]
pub struct AddArgs {
    /// The entry: see cladlog confirm list
    entry: EntryId,
    /// Their reply, word for word
    #[arg(long, value_name = "REPLY")]
    text: Option<String>,
    /// A scan of the paper that they signed; put the file itself into the pack with cladlog attach
    #[arg(long, value_name = "FILE")]
    signed: Option<PathBuf>,
    /// Their signature over the hash of the entry
    #[arg(long, value_name = "FILE", requires = "public")]
    signature: Option<PathBuf>,
    /// Their public key (PEM, Ed25519)
    #[arg(long, value_name = "FILE", requires = "signature")]
    public: Option<PathBuf>,
}

pub fn run(command: &ConfirmCommand, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    match command {
        ConfirmCommand::List(csv) => {
            let opened = site.open()?;
            let all = confirmations(&opened.book);
            if csv.list("confirmations", &all, out)? {
                return Ok(());
            }
            if all.is_empty() {
                return out.line("Nothing was typed in the name of others.");
            }
            for one in &all {
                out.wrapped(&format!("{}  {}", one.saying.entry, one.saying.in_words()), 2)?;
                out.wrapped(&format!("  {}", one.in_words()), 4)?;
            }
            Ok(())
        }
        ConfirmCommand::Add(args) => add(args, site, out),
    }
}

fn add(args: &AddArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let how = match (&args.text, &args.signed, &args.signature, &args.public) {
        (Some(text), ..) => Confirmed::Reply(text.clone()),
        (_, Some(file), ..) => scan(file)?,
        (.., Some(signature), Some(public)) => own_key(&args.entry, signature, public, site)?,
        _ => return Err(Failure::input("give --text, --signed, or --signature with --public")),
    };
    site.record_and_print(&ConfirmSaying { entry: args.entry.clone(), how }, out)
}

fn scan(file: &Path) -> Result<Confirmed, Failure> {
    let unread = |error: std::io::Error| Failure::input(format!("{}: can't be read: {error}", file.display()));
    let name = file.file_name().and_then(|name| name.to_str()).filter(|name| !name.chars().any(char::is_control));
    let Some(name) = name.filter(|_| file.is_file()) else {
        return Err(Failure::input(format!("{}: there is no such file", file.display())));
    };
    let mut scan = std::fs::File::open(file).map_err(unread)?;
    let (_, sha256) = copy_hashed(&mut scan, &mut std::io::sink()).map_err(unread)?;
    Ok(Confirmed::SignedPaper { file: name.to_owned(), sha256 })
}

/// Checks a signature over the hash of an entry before it is recorded.
fn own_key(id: &EntryId, signature: &Path, public: &Path, site: &Site<'_>) -> Result<Confirmed, Failure> {
    let opened = site.open()?;
    let entry = opened.book.entry(id);
    let Some(entry) = entry else { return Err(Failure::input(format!("there is no entry {id}"))) };
    let unread = |error: std::io::Error| Failure::input(format!("{}: can't be read: {error}", signature.display()));
    let data = std::fs::metadata(signature).map_err(unread)?;
    if !data.is_file() || data.len() != MOST_SIGNATURE {
        let what = format!("{}: is not an Ed25519 signature, which has {MOST_SIGNATURE} bytes", signature.display());
        return Err(Failure::input(what));
    }
    let bytes = std::fs::read(signature).map_err(unread)?;
    let public = read_text(public)?;
    check_signature(entry.hash.as_bytes(), &bytes, public.as_bytes()).map_err(|_| {
        Failure::input_hint(
            format!("{}: is not a signature of entry {id} by that key", signature.display()),
            "what is signed is the entry's hash, its 64 digits and nothing else: see cladlog help confirm add",
        )
    })?;
    Ok(Confirmed::OwnKey { public, signature: hex(&bytes) })
}
