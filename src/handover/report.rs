//! The evening report as files, and lists as one page.

use super::model::Evening;
use super::page::{Column, section, table_or};
use super::{render, sections};

/// Lists on one page in the look of the pack, no script, no network: for a screen that somebody leaves on.
#[derive(Debug, Default)]
pub struct Lists {
    title: String,
    about: Vec<String>,
    sections: Vec<super::page::Section>,
}

impl Lists {
    /// A page of this heading, with lines below it.
    pub fn new(title: impl Into<String>, about: Vec<String>) -> Self {
        Self { title: title.into(), about, sections: Vec::new() }
    }

    /// Adds a list of rows; where there are none, `none` says so.
    pub fn add<R>(&mut self, title: &str, none: &str, rows: impl IntoIterator<Item = R>, columns: &[Column<'_, R>]) {
        let id = format!("list-{}", self.sections.len() + 1);
        // The heading says what the table is.
        self.sections.push(section(id, title, vec![table_or(none, "", rows, columns)]));
    }

    /// The page; where `every_s` says so, a browser reads it anew every so many seconds.
    pub fn html(&self, every_s: Option<u32>) -> String {
        render::lists_html(&self.title, &self.about, &self.sections, every_s)
    }
}

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
