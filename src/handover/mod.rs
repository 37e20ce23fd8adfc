//! The handover pack: from a job's record to the files that a builder keeps, and back again to check them.
//!
//! [`Document::of`] gathers what the record says into one value; the pages, tables and drawings are written
//! from that value alone. So the same record at the same moment gives the same bytes, and [`verify`] can
//! write them again and compare.

mod ahead;
mod blob;
mod costs;
mod document;
pub mod elevation;
mod evening;
mod evening_pages;
mod gather;
mod html;
mod manifest;
mod materials;
mod missing;
mod ordered;
mod pack;
#[cfg(feature = "pdf")]
mod pdf;
mod photo_pages;
mod pictures;
mod sealing;
mod set_out;
mod sheets;
mod sheets_parts;
mod signature;
mod signing;
mod tables;
mod text;
mod verify;
mod withheld;
mod zipped;

pub use ahead::Ahead;
pub use blob::{Blob, Reader};
pub use costs::{Costs, ExtraTold, QuantityTold, StoppageTold};
pub use document::{
    Acknowledged, Answered, DayWorked, DefectTold, Document, Edition, HeldPaper, HoldTold, JobFacts, LateTold, Logged,
    Missing, OnSite, Part, PersonTold, PhotoTold, ReadingTold, StepTold, StruckTold, Summary, WindowTold,
};
pub use evening::{Evening, ExtraOfDay, HoldOfDay, Measured, StepOfDay, StoppageOfDay, Weather, Worked};
pub use manifest::{FileLine, MANIFEST, Manifest, ManifestError};
#[cfg(feature = "pdf")]
pub use pack::typesetting;
pub use pack::{Making, Pack, PackError, Told, has_pdf, pack, pdf_a1b};
pub use pictures::{Album, NoOriginals, Originals};
pub use signature::{PUBLIC_KEY, SIGNATURE, SignatureError, Signer, check_signature, is_rehearsal_key};
pub use tables::csv_text;
pub use verify::{Contents, Failed, Verified, ZipPlace, verify};
pub use withheld::{ReadingCopy, Withheld, WithheldError};
pub use zipped::{MOST_BYTES, ZipError, held, is_zip, open_zip, unzip, zip_into, zip_of};
