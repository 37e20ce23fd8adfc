//! From wall to wall: the walk stays at one until nothing more can be done there.

use std::sync::Arc;

use super::place::{Place, wall_named};
use super::session::{Interrupt, Walk};
use super::task::{is_at, walls_with_work};
use crate::cli::prompts::question::{Asker, Question};
use crate::cli::prompts::screen::say;
use crate::day::{Action, State, next};
use crate::plain::count;

impl Walk<'_> {
    /// Asks at which wall to begin; Enter takes the one with most that can be done.
    pub(super) fn choose_wall(&mut self) -> Result<(), Interrupt> {
        let book = Arc::clone(self.book());
        let (state, now) = (&book.state, self.now());
        let walls = walls_with_work(state, &next(state, now), now, &self.skipped);
        self.place = match walls.as_slice() {
            [] => Place::Anywhere,
            [(only, _)] => Place::Wall(*only),
            walls => {
                let list: Vec<String> = walls
                    .iter()
                    .map(|(wall, steps)| {
                        format!("{}: {} can be done", state.subjects.get(*wall), count(*steps, "step"))
                    })
                    .collect();
                let question = Question::choice("Which wall first", &list).usually(0);
                match self.ask(question) {
                    Ok(number) => Place::Wall(walls[number].0),
                    Err(Interrupt::Skip) => Place::Anywhere,
                    Err(other) => return Err(other),
                }
            }
        };
        Ok(())
    }

    /// The other walls on which something can be done now.
    pub(super) fn elsewhere(&self, actions: &[Action]) -> Vec<(usize, usize)> {
        let Some(here) = self.place.wall() else { return Vec::new() };
        let mut walls = walls_with_work(&self.book().state, actions, self.now(), &self.skipped);
        walls.retain(|(wall, _)| *wall != here);
        walls
    }

    /// Goes to the wall that was typed, or asks which.
    pub(super) fn go_to_wall(&mut self, key: &str) -> Result<(), Interrupt> {
        if key.is_empty() {
            self.choose_wall()?;
            return Err(Interrupt::Refresh);
        }
        match wall_named(&self.book().state.subjects, key) {
            Ok(wall) => {
                self.place = Place::Wall(wall);
                Err(Interrupt::Refresh)
            }
            Err(failure) => {
                say(&format!("  {failure}"));
                Ok(())
            }
        }
    }

    /// Goes to the wall on which a window presses most.
    pub(super) fn go_to_pressing(&mut self) -> Result<(), Interrupt> {
        let book = Arc::clone(self.book());
        let state = &book.state;
        let pressing = next(state, self.now())
            .into_iter()
            .find(|action| action.ready && action.closes_at.is_some() && !self.is_here(state, action.subject));
        match pressing.and_then(|action| state.subjects.walls_of(action.subject).first().copied()) {
            Some(wall) => {
                self.place = Place::Wall(wall);
                Err(Interrupt::Refresh)
            }
            None => {
                say("  No clock is running on another wall.");
                Ok(())
            }
        }
    }

    /// Whether a subject is where the lead stands.
    pub(super) fn is_here(&self, state: &State, subject: usize) -> bool {
        self.place.wall().is_none_or(|wall| is_at(state, subject, wall))
    }
}
