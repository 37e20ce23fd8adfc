//! The handover pack: from a job's record to the files that a builder keeps, and back again to check them.
//!
//! [`Document::of`] gathers what the record says into one value; the pages, tables and drawings are written
//! from that value alone. So the same record at the same moment gives the same bytes, and [`verify`] can
//! write them again and compare.
//!
//! The rooms, each knowing only those above it: `signature` (the key that signs), `model` (the document, its values, names of
//! files), `gather` (record → model), `page` (blocks, tables, sections), `sections` (model → sections), `render` (page or
//! model → HTML, PDF, CSV, SVG), `files` (manifest, zip), and what people ask for: `pack`, `report`, `reading_copy`,
//! `verify`.

mod files;
mod gather;
mod model;
mod pack;
mod page;
mod reading_copy;
mod render;
mod report;
mod sections;
mod signature;
mod verify;

pub use files::{
    Attached, AttachedError, Contents, Failed, FileLine, MOST_BYTES, Manifest, ManifestError, ZipError, ZipPlace,
    attached, attached_csv, attached_list, is_pdf, is_zip, most_in_memory, open_zip, unzip, zip_into,
};
pub use gather::{NoOriginals, Originals, confirmations, grade_defects, graded_holds, missing};
pub use model::paths::{ATTACHED, ATTACHED_LIST, MANIFEST, RECORD};
pub use model::{
    Acknowledged, Ahead, Album, Blob, Confirmation, Document, Edition, Evening, ForBuilder, HoldOfDay, JointRun,
    Locations, Materials, Measured, Missing, MissingKind, NearestReading, Outcome, Paper, Part, Photo, PhotoState,
    Picture, PlanOfDay, Reader, Reservation, ReservationKind, Step, StepOfDay, Trace, Weather, WindowRun, Worked,
};
#[cfg(feature = "pdf")]
pub use pack::typesetting;
pub use pack::{Pack, PackError, PackOptions, Progress, has_pdf, pack};
pub use reading_copy::{ReadingCopy, Withheld, WithheldError};
#[cfg(feature = "pdf")]
pub use render::PdfError;
pub use render::{PhoneDrawing, wall_with_links};
pub use report::Lists;
pub use signature::{PUBLIC_KEY, SIGNATURE, SignatureError, Signer, check_signature, is_rehearsal_key};
pub use verify::{Checked, Verified, verify, verify_pdf};
