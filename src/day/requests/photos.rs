//! Photos are put on subjects.

use clap::Args;

use super::context::{Context, DecideError, Decision, Request, input, require_text};
use super::photo::Photo;
use super::step::step_of;
use crate::building::SubjectIx;
use crate::record::{AddPhoto, Body};

/// Attach photos to a subject: the files are kept beside the database
#[derive(Debug, Clone, Args)]
pub struct AddPhotos {
    /// What they show: N, N/J1..6, N/C3, N/O1, NE, job, or a list
    #[arg(long = "on", value_name = "SUBJECT")]
    pub subject: String,
    /// Key of the step that they show
    #[arg(long, value_name = "STEP")]
    pub step: Option<String>,
    /// What they show, in words
    #[arg(long = "text", value_name = "TEXT")]
    pub note: Option<String>,
    /// The photos.
    #[arg(skip)]
    pub photos: Vec<Photo>,
}

impl Request for AddPhotos {
    /// One body for each photo on each subject.
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        if let Some(note) = &self.note {
            require_text("text", note)?;
        }
        let state = context.state;
        let subjects = state.subjects.parse(&self.subject)?;
        if let Some(key) = &self.step {
            let step = &state.sequence().steps[step_of(state, key)?];
            let shown = subjects.iter().map(|subject| state.subjects.get(*subject));
            if let Some(is) = shown.into_iter().find(|is| !step.may_be_done_on(is, &state.job)) {
                return input(format!("step {key} is not done on {is}: give the subject that it shows"));
            }
        }
        let body = |subject: SubjectIx, photo: &Photo| {
            Body::PhotoAdded(AddPhoto {
                subject: state.subjects.get(subject).to_string(),
                step: self.step.clone(),
                file: photo.file.clone(),
                sha256: photo.sha256.clone(),
                photo: photo.facts.clone(),
                note: self.note.clone(),
            })
        };
        let on = |subject: &SubjectIx| self.photos.iter().map(|photo| body(*subject, photo)).collect::<Vec<_>>();
        Ok(subjects.iter().flat_map(on).collect::<Vec<_>>().into())
    }

    fn photos(&self) -> Vec<&Photo> {
        self.photos.iter().collect()
    }
}
