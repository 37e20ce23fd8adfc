//! From pages and model to bytes: HTML, PDF, CSV and SVG.

mod drawings;
mod html;
#[cfg(feature = "pdf")]
mod pdf;
mod tables;
#[cfg(feature = "pdf")]
mod typeset;

/// How to check and read a pack without the program, and what every column of its tables means.
pub const README: &str = include_str!("README.txt");

pub use drawings::{PhoneDrawing, drawings, wall_with_links};
pub use html::{evening as evening_html, lists as lists_html, pack as pack_html};
#[cfg(feature = "pdf")]
pub use pdf::{evening as evening_pdf, pack as pack_pdf, pdf_a1b, typesetting};
pub use tables::tables;
#[cfg(feature = "pdf")]
pub use typeset::PdfError;
