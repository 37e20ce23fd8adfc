//! What a page is made for: the person who holds the phone, and what they last sent.

use super::http_error::HttpError;
use crate::building::SubjectIx;
use crate::moment::Moment;
use crate::record::EntryRun;
use crate::refusal::Refusal;

/// What a page is made for.
#[derive(Debug, Clone)]
pub struct PageContext {
    /// Who holds the phone.
    pub person: String,
    /// Their roles on the job.
    pub roles: Vec<String>,
    /// What every form of this session carries as `token`.
    pub token: String,
    /// A new id for the next request, for the field `request_id`.
    pub request_id: String,
    /// Now, by the site's clocks.
    pub now: Moment,
    /// The wall that the phone is at: index of the subject.
    pub wall: Option<SubjectIx>,
    /// What came of the last form.
    pub notice: Option<Notice>,
    /// What was typed into a form that was not taken; empty otherwise.
    pub typed: Typed,
    /// Whether the connection is HTTP, without TLS.
    pub plain: bool,
    /// Whether a seal plan is being worked out.
    pub planning: bool,
}

/// What came of a form.
#[derive(Debug, Clone)]
pub enum Notice {
    /// It was recorded: its entries.
    Done(EntryRun),
    /// A rule stops it.
    Refused(Box<Refusal>),
    /// Something in it is wrong: why, and the field where that is known.
    Wrong {
        /// The field of the form.
        field: Option<String>,
        /// Why.
        why: String,
    },
}

impl Notice {
    /// An error that a page says.
    ///
    /// # Errors
    /// The error, where it has an answer of its own.
    pub fn of(error: HttpError) -> Result<Self, Box<HttpError>> {
        match error {
            HttpError::Refused(refusal) => Ok(Self::Refused(refusal)),
            HttpError::Wrong { field, why } => Ok(Self::Wrong { field, why }),
            other => Err(Box::new(other)),
        }
    }
}

/// The fields of a form as they were typed, in order; one name may stand several times.
#[derive(Debug, Clone, Default)]
pub struct Typed(pub Vec<(String, String)>);

impl Typed {
    /// The first field of this name, where something but space stands in it.
    pub fn get(&self, name: &str) -> Option<&str> {
        let own = self.0.iter().filter(|(key, _)| key == name);
        own.map(|(_, value)| value.as_str()).find(|value| !value.trim().is_empty())
    }

    /// Every field of this name in which something but space stands.
    pub fn all<'t>(&'t self, name: &'t str) -> impl Iterator<Item = &'t str> {
        let own = self.0.iter().filter(move |(key, _)| key == name);
        own.map(|(_, value)| value.as_str()).filter(|value| !value.trim().is_empty())
    }
}
