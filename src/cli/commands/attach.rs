//! `cladlog attach`: files put into a pack later.

use std::path::{Path, PathBuf};

use clap::Args;

use crate::atomic_file::{Access, AtomicFile, write};
use crate::cli::failure::Failure;
use crate::cli::files::{exists, unwritten};
use crate::cli::out::Out;
use crate::cli::site::Site;
use crate::digest::copy_hashed;
use crate::form::check_name;
use crate::handover::{ATTACHED, ATTACHED_LIST, Attached, MANIFEST, attached_csv, attached_list};
use crate::plain::count;

/// Put files into a pack that is made: a signed page, a photo of the inspector's own
#[derive(Debug, Args)]
pub struct AttachArgs {
    /// The folder of the pack
    pack: PathBuf,
    /// The files to put into its folder attached/
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// What they are, in words
    #[arg(long = "as", value_name = "WHAT")]
    what: String,
}

pub fn run(args: &AttachArgs, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
    let AttachArgs { pack, files, what } = args;
    check_name(what).map_err(|why| Failure::input(format!("--as {why}")))?;
    if !pack.join(MANIFEST).is_file() {
        let what = format!("{}: is not the folder of a pack: it has no {MANIFEST}", pack.display());
        return Err(Failure::input_hint(what, "unpack a zip first"));
    }
    let names = files.iter().map(|file| name_of(pack, file)).collect::<Result<Vec<_>, _>>()?;
    if let Some(twice) = (1..names.len()).find(|at| names[..*at].contains(&names[*at])) {
        return Err(Failure::input(format!("two of the files are called {}", names[twice])));
    }
    let list_file = pack.join(ATTACHED_LIST);
    let mut list = match std::fs::read(&list_file) {
        Ok(list) => attached_list(&list),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Vec::new(),
        Err(error) => return Err(Failure::machine(format!("{}: can't be read: {error}", list_file.display()))),
    };
    let folder = pack.join(ATTACHED);
    std::fs::create_dir_all(&folder).map_err(|error| unwritten(&folder, &error))?;
    let now = site.clock.now();
    for (file, name) in files.iter().zip(&names) {
        let sha256 = copy(file, &folder.join(name))?;
        list.push(Attached { file: name.clone(), sha256, what: what.clone(), attached_at: now });
    }
    write(&list_file, Access::Default, &attached_csv(&list)).map_err(|error| unwritten(&list_file, &error))?;
    if out.is_json() {
        let added = &list[list.len() - names.len()..];
        return out.json(&serde_json::json!({ "attached": added }));
    }
    out.line(format!("Attached to {}: {}.", pack.display(), count(names.len(), "file")))?;
    out.line("They are in attached/, outside what is signed. The zip of the pack does not have them.")
}

/// The name that a file gets in the pack.
fn name_of(pack: &Path, file: &Path) -> Result<String, Failure> {
    let name = file.file_name().and_then(|name| name.to_str());
    let plain = name.filter(|name| !name.contains(['\\', ':']) && !name.chars().any(char::is_control));
    let Some(name) = plain else {
        return Err(Failure::input(format!("{}: has no name that every system takes", file.display())));
    };
    if !file.is_file() {
        return Err(Failure::input(format!("{}: there is no such file", file.display())));
    }
    let target = pack.join(ATTACHED).join(name);
    if exists(&target) || Path::new(ATTACHED).join(name) == Path::new(ATTACHED_LIST) {
        let what = format!("{}: already exists", target.display());
        return Err(Failure::input_hint(what, "give the file another name"));
    }
    Ok(name.to_owned())
}

/// Copies a file; gives its SHA-256.
fn copy(from: &Path, to: &Path) -> Result<String, Failure> {
    let copied = || -> std::io::Result<String> {
        let mut target = AtomicFile::create(to, Access::Default)?;
        let (_, sha256) = copy_hashed(&mut std::fs::File::open(from)?, &mut target)?;
        target.commit_new()?;
        Ok(sha256)
    };
    copied().map_err(|error| unwritten(to, &error))
}
