//! From wall to wall: the walk stays at one until nothing more can be done there.

use std::sync::Arc;

use super::place::wall_named;
use super::session::{Interrupt, Walk};
use crate::building::SubjectIx;
use crate::cli::prompts::question::{Asker, Question};
use crate::cli::prompts::screen::say;
use crate::day::{Action, State, WallWork, is_at, next, wall_words};

impl Walk<'_> {
    /// Asks at which wall to begin; Enter takes the one with most that can be done.
    pub(super) fn choose_wall(&mut self) -> Result<(), Interrupt> {
        let (state, now) = (&self.book().state, self.now());
        let walls = self.picking().walls_with_work(&next(state, now));
        let list: Vec<String> = walls.iter().map(|work| wall_words(state, *work)).collect();
        self.place = match walls.as_slice() {
            [] => None,
            [only] => Some(only.wall),
            walls => {
                // It is no question of the task that is under way.
                let tape = std::mem::take(&mut self.tape);
                let number = self.ask(Question::choice("Which wall first", &list).usually(0));
                self.tape = tape;
                match number {
                    Ok(number) => Some(walls[number].wall),
                    Err(Interrupt::Skip) => None,
                    Err(other) => return Err(other),
                }
            }
        };
        self.asks_for_wall = false;
        Ok(())
    }

    /// The other walls on which something can be done now.
    pub(super) fn elsewhere(&self, actions: &[Action]) -> Vec<WallWork> {
        let Some(here) = self.place else { return Vec::new() };
        let mut walls = self.picking().walls_with_work(actions);
        walls.retain(|work| work.wall != here);
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
                self.stand_at(wall);
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
            .find(|action| action.at_hand && action.closes_at.is_some() && !self.is_here(state, action.subject));
        match pressing.and_then(|action| state.subjects.walls_of(action.subject).first().copied()) {
            Some(wall) => {
                self.stand_at(wall);
                Err(Interrupt::Refresh)
            }
            None => {
                say("  No window is closing on another wall.");
                Ok(())
            }
        }
    }

    fn stand_at(&mut self, wall: SubjectIx) {
        (self.place, self.asks_for_wall) = (Some(wall), false);
    }

    /// Whether a subject is where the lead stands.
    pub(super) fn is_here(&self, state: &State, subject: SubjectIx) -> bool {
        self.place.is_none_or(|wall| is_at(state, subject, wall))
    }
}
