//! Files that a sum or a command reads.

use std::io::Read;
use std::path::Path;

use super::failure::Failure;
use crate::form::{self, Mistake, Number, Section};
use crate::units::bounds;

/// Files larger than this are not site data.
const MOST_BYTES: u64 = 16 * 1024 * 1024;

/// Lengths and heights in the inputs of a sum, in mm.
pub const MM: Number = Number::within(bounds::LENGTH);

/// Reads a text file: UTF-8, at most 16 MiB.
pub fn read_text(path: &Path) -> Result<String, Failure> {
    let about = |why: String| Failure::input(format!("{}: {why}", path.display()));
    let unreadable = |error: std::io::Error| {
        about(if error.kind() == std::io::ErrorKind::NotFound {
            "there is no such file".to_owned()
        } else {
            format!("can't be read: {error}")
        })
    };
    let data = std::fs::metadata(path).map_err(unreadable)?;
    if data.is_dir() {
        return Err(about("is a folder; expected a file".into()));
    }
    let mut bytes = Vec::new();
    // A pipe or a device does not say how long it is: no more is read than a file may have.
    if data.len() <= MOST_BYTES {
        let read = std::fs::File::open(path).and_then(|file| file.take(MOST_BYTES + 1).read_to_end(&mut bytes));
        read.map_err(unreadable)?;
    }
    if data.len().max(bytes.len() as u64) > MOST_BYTES {
        return Err(about(format!("is larger than {} MiB", MOST_BYTES / 1024 / 1024)));
    }
    let text = String::from_utf8(bytes).map_err(|_| about("is not text (UTF-8)".into()))?;
    // A byte-order mark is what spreadsheets put in front; it is not part of the first name.
    Ok(text.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(text))
}

/// Reads a TOML file through a form; `name` is what it is called in messages.
pub fn read_toml<T>(path: &Path, name: &'static str, form: impl FnOnce(&Section<'_>) -> T) -> Result<T, Failure> {
    form::read(&read_text(path)?, name, form).map_err(|mistakes| mistakes_in(path, &mistakes))
}

/// The mistakes of a file as one failure, a line each: `FILE:LINE:COLUMN: why`.
pub fn mistakes_in(file: &Path, mistakes: &[Mistake]) -> Failure {
    let file = file.display().to_string();
    let lines: Vec<String> = mistakes.iter().map(|mistake| mistake.in_file(&file)).collect();
    Failure::InFile(lines.join("\n"))
}
