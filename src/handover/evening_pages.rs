//! The evening report as a page: the same words as its text, under headings.

use super::evening::Evening;
use super::sheets::{Block, Section};
use super::text::when;
use crate::plain::visible;

impl Evening {
    /// The report as one HTML page: no script, no network.
    pub fn html(&self) -> String {
        super::html::evening(self, &sections(self))
    }

    /// The report as a PDF of one page.
    ///
    /// # Errors
    /// [`PackError::Pdf`](super::PackError::Pdf).
    #[cfg(feature = "pdf")]
    pub fn pdf(&self) -> Result<Vec<u8>, super::PackError> {
        super::pdf::evening(self, &sections(self))
    }
}

/// What stands under the date.
pub(super) fn about(evening: &Evening) -> Vec<String> {
    let mut about = vec![visible(&evening.job)];
    about.extend(evening.address.as_ref().map(|address| visible(address)));
    if evening.open {
        about.push(format!("The day is not closed yet: as of {}", when(&evening.as_of)));
    }
    about
}

/// The day's facts, then a section for each list that has something in it.
pub(super) fn sections(evening: &Evening) -> Vec<Section> {
    let fact = |word: &str, said: String| (word.to_owned(), visible(&said));
    let mut facts = vec![fact("On site", evening.crew_in_words())];
    facts.extend(evening.talk.iter().map(|talk| fact("Talk", talk.clone())));
    if !evening.hazards.is_empty() {
        facts.push(fact("Hazards", evening.hazards.join("; ")));
    }
    facts.extend(evening.remarks.iter().map(|remark| fact("Remark", remark.clone())));
    facts.push(fact("Pace", evening.pace.clone()));
    let mut sections =
        vec![Section { id: "day".to_owned(), title: "The day".to_owned(), blocks: vec![Block::Facts { facts }] }];
    for (heading, list) in evening.lists() {
        let items: Vec<String> = list.iter().map(|line| visible(line)).collect();
        if !items.is_empty() {
            let id = heading.to_lowercase().replace(' ', "-");
            sections.push(Section { id, title: heading.to_owned(), blocks: vec![Block::List { items }] });
        }
    }
    sections
}
