//! From pages and model to bytes: HTML, PDF, CSV and SVG.

mod drawings;
mod html;
#[cfg(feature = "pdf")]
mod pdf;
mod tables;

pub mod elevation;

pub use drawings::drawings;
pub use html::{evening as evening_html, page as html};
#[cfg(feature = "pdf")]
pub use pdf::{PdfError, evening as evening_pdf, pdf, pdf_a1b, typesetting};
pub use tables::tables;
