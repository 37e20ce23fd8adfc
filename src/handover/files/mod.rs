//! The files of a pack: manifest and the zip of them.

mod attached;
mod beside;
mod contents;
mod manifest;
mod unzip;
mod zip;

pub use attached::{AttachedError, attached, is_pdf};
pub use beside::{Attached, MOST_ATTACHED_LIST, attached_csv, attached_list};
pub use contents::{Contents, Failed, ZipPlace};
pub use manifest::{FileLine, Manifest, ManifestError};
pub use unzip::{MOST_BYTES, ZipError, is_zip, most_in_memory, open_zip, unzip};
pub use zip::zip_into;
