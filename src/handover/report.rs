//! The evening report as files.

use super::model::Evening;
use super::{render, sections};

impl Evening {
    /// The report as one HTML page: no script, no network.
    pub fn html(&self) -> String {
        render::evening_html(self, &sections::evening(self))
    }

    /// The report as a PDF of one page.
    ///
    /// # Errors
    /// [`PdfError`](super::PdfError).
    #[cfg(feature = "pdf")]
    pub fn pdf(&self) -> Result<Vec<u8>, super::PdfError> {
        render::evening_pdf(self, &sections::evening(self))
    }
}
