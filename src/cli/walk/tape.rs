//! What was answered since a task began, so that a question can be gone back to and nothing has to be typed twice.

use crate::day::TaskId;

/// The answers to the questions of one task, in their order.
#[derive(Debug, Default)]
pub struct Tape {
    /// Whose answers they are.
    task: Vec<TaskId>,
    typed: Vec<String>,
    /// How many of them were given again since the task was put.
    given: usize,
    /// Whether the last answer was one of those.
    replaying: bool,
}

impl Tape {
    /// A task is put: the same one again goes on with what was answered before.
    pub fn begin(&mut self, task: &[TaskId]) {
        if self.task != task {
            *self = Self { task: task.to_vec(), ..Self::default() };
        }
        self.given = 0;
    }

    /// What was answered to the next question, where it was and still fits.
    pub fn next(&mut self, fits: impl Fn(&str) -> bool) -> Option<String> {
        let next = self.typed.get(self.given).filter(|typed| fits(typed)).cloned();
        self.replaying = next.is_some();
        self.given += usize::from(self.replaying);
        next
    }

    /// A question was answered.
    pub fn note(&mut self, typed: &str) {
        self.replaying = false;
        // What comes after an answer that did not fit any longer was answered to another question.
        self.typed.truncate(self.given);
        self.typed.push(typed.to_owned());
        self.given = self.typed.len();
    }

    /// Takes the last answer back; whether there was one.
    pub fn back(&mut self) -> bool {
        // Of an answer that did not fit any longer, only those before it count.
        self.typed.truncate(self.given);
        self.typed.pop().is_some()
    }

    /// Forgets every answer.
    pub fn clear(&mut self) {
        self.typed.clear();
        self.given = 0;
    }

    /// Whether the last answer was given before.
    pub fn is_replaying(&self) -> bool {
        self.replaying
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(tape: &mut Tape) -> Vec<String> {
        std::iter::from_fn(|| tape.next(|_| true)).collect()
    }

    #[test]
    fn going_back_takes_one_answer_and_keeps_those_before_it() {
        let (one, other) = ([TaskId::OpenDay], [TaskId::CloseOldDay]);
        let mut tape = Tape::default();
        tape.begin(&one);
        assert!(!tape.back(), "nothing was answered yet");
        ["a", "b", "c"].iter().for_each(|typed| tape.note(typed));
        assert!(tape.back());
        tape.begin(&one);
        assert_eq!(all(&mut tape), ["a", "b"]);
        assert!(!tape.is_replaying());
        tape.note("d");
        // Put again, it goes on with all of them; another task does not.
        tape.begin(&one);
        assert_eq!(all(&mut tape), ["a", "b", "d"]);
        tape.begin(&other);
        assert_eq!(all(&mut tape), [""; 0]);
    }

    #[test]
    fn an_answer_that_does_not_fit_any_longer_takes_those_after_it_along() {
        let mut tape = Tape::default();
        tape.begin(&[]);
        ["a", "b", "c"].iter().for_each(|typed| tape.note(typed));
        tape.begin(&[]);
        assert_eq!(tape.next(|_| true).as_deref(), Some("a"));
        assert_eq!(tape.next(|_| false), None);
        tape.note("x");
        tape.begin(&[]);
        assert_eq!(all(&mut tape), ["a", "x"]);
    }
}
