//! The answers of the set-up: each is kept by its question, so that one can be taken back or given again and only what
//! follows from it is asked anew.

use std::collections::BTreeMap;

use crate::cli::failure::Failure;
use crate::cli::prompts::question::{Asker, Prompt, Terminal};
use crate::cli::prompts::screen::say_wrapped;

/// What `?` says of every question.
const KEYS: &str =
    "Enter takes what is in brackets; back goes to the question before; Ctrl-C leaves and writes nothing.";

/// Typed where Enter alone would take what was answered before, and there is to be nothing.
const NONE: &str = "-";
const FOR_NONE: &str = " (- for ";

/// A question that is asked again: Enter takes the answer of before, and what Enter took a dash does.
fn offering(prompt: &Prompt, before: String) -> Prompt {
    let text = prompt.text.replacen(" (Enter: ", FOR_NONE, 1);
    let usual = Some(before).filter(|before| !before.is_empty()).or_else(|| prompt.usual.clone());
    Prompt { text, usual, ..prompt.clone() }
}

/// Why a question has no answer.
pub enum Stop {
    /// The one before it is to be asked again.
    Back,
    /// The terminal is gone, or the person.
    Failure(Failure),
}

impl From<Failure> for Stop {
    fn from(failure: Failure) -> Self {
        Self::Failure(failure)
    }
}

/// What was answered, by question.
#[derive(Default)]
pub struct Answers {
    given: BTreeMap<String, String>,
    /// The questions of this run through them, in turn.
    asked: Vec<String>,
    /// What was answered before somebody went back: Enter takes it when its question is asked again.
    taken_back: BTreeMap<String, String>,
}

impl Answers {
    /// Begins again from the first question: what is answered is not asked.
    pub fn rewind(&mut self) {
        self.asked.clear();
    }

    /// Forgets the last answer.
    pub fn take_back(&mut self) {
        while let Some(question) = self.asked.pop() {
            if self.given.contains_key(&question) {
                self.ask_again(&question);
                break;
            }
        }
    }

    /// Forgets the answer to a question.
    pub fn forget(&mut self, question: &str) {
        self.given.remove(question);
    }

    /// Asks a question again: Enter takes what was answered before.
    pub fn ask_again(&mut self, question: &str) {
        if let Some((question, answer)) = self.given.remove_entry(question) {
            self.taken_back.insert(question, answer);
        }
    }

    /// Questions with their answers, in turn.
    pub fn list(&self) -> Vec<(&str, &str)> {
        self.asked
            .iter()
            .filter_map(|asked| self.given.get_key_value(asked))
            .map(|(q, a)| (q.as_str(), a.as_str()))
            .collect()
    }
}

impl Asker for Answers {
    type Stop = Stop;

    fn read(&mut self, prompt: &Prompt) -> Result<Option<String>, Stop> {
        let before = self.taken_back.remove(&prompt.text);
        let prompt = before.map_or_else(|| prompt.clone(), |before| offering(prompt, before));
        match Terminal.read(&prompt)? {
            Some(text) if text.eq_ignore_ascii_case("back") => Err(Stop::Back),
            Some(text) if text == "?" => {
                let help = prompt.help.iter().map(String::as_str).chain([KEYS]);
                help.for_each(|line| say_wrapped(&format!("  {line}"), 2));
                Ok(None)
            }
            Some(text) if text == NONE && prompt.text.contains(FOR_NONE) => Ok(Some(String::new())),
            text => Ok(text),
        }
    }

    fn answered(&mut self, asked: &Prompt, fits: &dyn Fn(&str) -> bool) -> Option<String> {
        self.asked.push(asked.text.clone());
        // What other answers have made impossible since is asked again.
        self.given.get(&asked.text).filter(|typed| fits(typed)).cloned()
    }

    fn note_answer(&mut self, asked: &Prompt, typed: &str) {
        self.given.insert(asked.text.clone(), typed.to_owned());
    }
}
