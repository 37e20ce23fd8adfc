//! The pages by their paths: what a phone asks for, and where a form leads back to.

use maud::Markup;

use super::app::App;
use super::context::{Notice, PageContext, Typed};
use super::http_error::HttpError;
use super::pages::{self, segment};
use super::session::Session;
use crate::building::SubjectIx;
use crate::day::{Book, State};
use crate::record::EntryRun;
use crate::sequence::StepIx;

/// A page that is found by its path alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, strum::VariantArray)]
pub enum Screen {
    /// What is next.
    Now,
    /// Every window.
    Clocks,
    /// Cautions to read.
    Cautions,
    /// Hold points.
    Holds,
    /// The report of the day.
    Evening,
    /// Every defect.
    Defects,
    /// What was delivered and what is left.
    Stock,
    /// Extra work.
    Extra,
    /// The seal plan.
    SealPlan,
}

impl Screen {
    /// Its path, and what writes it.
    fn parts(self) -> (&'static str, fn(&Book, &PageContext) -> Markup) {
        match self {
            Self::Now => ("/", pages::now),
            Self::Clocks => ("/clocks", pages::clocks),
            Self::Cautions => ("/cautions", pages::cautions),
            Self::Holds => ("/holds", pages::holds),
            Self::Evening => ("/evening", pages::evening),
            Self::Defects => ("/defects", pages::defects),
            Self::Stock => ("/stock", pages::stock),
            Self::Extra => ("/extra", pages::extra),
            Self::SealPlan => ("/sealplan", pages::seal_plan),
        }
    }

    /// Its path.
    pub fn path(self) -> &'static str {
        self.parts().0
    }
}

/// A page for a paired phone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    /// One that is there on every job.
    Screen(Screen),
    /// A wall, by its key.
    Wall(String),
    /// A subject, by its id.
    On(String),
    /// A step, by its key, on what `on` says.
    Step(String),
}

impl From<Screen> for Place {
    fn from(screen: Screen) -> Self {
        Self::Screen(screen)
    }
}

impl Place {
    /// The page as HTML. `on` is what the phone is at: it stands in the page's links.
    ///
    /// # Errors
    /// [`HttpError::NoPage`] where the job has no such wall, subject or step.
    pub fn page(
        &self,
        session: &Session,
        app: &App,
        on: Option<&str>,
        notice: Option<Notice>,
        typed: Typed,
    ) -> Result<Markup, HttpError> {
        let (book, state) = (&*session.book, &session.book.state);
        let on = match self {
            Self::Wall(key) | Self::On(key) => Some(key.as_str()),
            Self::Screen(_) | Self::Step(_) => on,
        };
        let context = session.context(app, on, notice, typed)?;
        Ok(match self {
            Self::Screen(screen) => screen.parts().1(book, &context),
            Self::Wall(key) => {
                let wall = state.subjects.index(key).filter(|wall| state.subjects.walls_of(*wall) == [*wall]);
                pages::wall(book, wall.ok_or(HttpError::NoPage)?, &context)
            }
            Self::On(id) => pages::on(book, state.subjects.index(id).ok_or(HttpError::NoPage)?, &context),
            Self::Step(key) => {
                let (step, on) = step_on(state, key, on).ok_or(HttpError::NoPage)?;
                pages::step(book, step, &on, &context)
            }
        })
    }

    /// Its path, and what is to stand on it: what the phone is at, and what was recorded.
    pub fn url(&self, on: Option<&str>, done: Option<&EntryRun>) -> String {
        let path = match self {
            Self::Screen(screen) => screen.path().to_owned(),
            Self::Wall(key) => format!("/wall/{}", segment(key)),
            Self::On(id) => format!("/on/{}", segment(id)),
            Self::Step(key) => format!("/step/{}", segment(key)),
        };
        let mut fields = form_urlencoded::Serializer::new(String::new());
        fields.extend_pairs(on.map(|on| ("on", on)));
        fields.extend_pairs(done.map(|entries| ("done", entries.to_string())));
        let fields = fields.finish();
        if fields.is_empty() { path } else { format!("{path}?{fields}") }
    }
}

/// The step of this key, and what it is to be done on, where that is something it can be done on.
fn step_on(state: &State, key: &str, on: Option<&str>) -> Option<(StepIx, Vec<SubjectIx>)> {
    let step = state.sequence().step(key)?;
    let on = state.subjects.parse(on?).ok()?;
    let may =
        |subject: &SubjectIx| state.sequence().steps[step].may_be_done_on(state.subjects.get(*subject), &state.job);
    (!on.is_empty() && on.iter().all(may)).then_some((step, on))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_says_what_it_is_about_and_nothing_leads_out_of_it() {
        assert_eq!(Place::from(Screen::Now).url(None, None), "/");
        assert_eq!(Place::On("N/J2".to_owned()).url(None, None), "/on/N/J2");
        let odd = Place::Step("a?b#c d\u{e9}".to_owned()).url(Some("N/J1,N/J4 & x"), None);
        assert_eq!(odd, "/step/a%3Fb%23c%20d%C3%A9?on=N%2FJ1%2CN%2FJ4+%26+x");
    }
}
