//! The handover pack: from a job's record to the files that a builder keeps, and back again to check them.
//!
//! [`Document::of`] gathers what the record says into one value; the pages, tables and drawings are written
//! from that value alone. So the same record at the same moment gives the same bytes, and [`verify`] can
//! write them again and compare.

mod document;
pub mod elevation;
mod gather;
mod html;
mod manifest;
mod missing;
mod pack;
#[cfg(feature = "pdf")]
mod pdf;
mod set_out;
mod sheets;
mod sheets_parts;
mod tables;
mod text;
mod verify;
mod zipped;

pub use document::{
    Acknowledged, Answered, DayWorked, DefectTold, Document, Edition, HeldPaper, HoldTold, JobFacts, LateTold, Logged,
    Missing, OnSite, Part, PersonTold, ReadingTold, StepTold, StruckTold, Summary, WindowTold,
};
pub use manifest::{FileLine, MANIFEST, Manifest, ManifestFault};
pub use pack::{Pack, PackFault, has_pdf, pack};
pub use tables::csv_text;
pub use verify::{Contents, Failed, Verified, verify};
pub use zipped::{ZipFault, is_zip, unzip, zip_of};
