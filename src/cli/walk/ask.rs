//! Questions of the walk: each listens for the words as well.

use super::alarm::Alarm;
use super::{Away, Walk};
use crate::cli::Failure;
use crate::cli::prompts::words::{WORDS, Word};
use crate::cli::prompts::{line, say, say_wrapped, until_by, width, yes_or_no};
use crate::day::Request;
use crate::moment::parse;

/// Room for an answer behind its question; without it the question stands on a line of its own.
const ROOM: usize = 6;

impl Walk<'_> {
    /// Asks for a line; Enter takes `usual`. The answer may be text of any sort where it is `free`.
    pub(super) fn line(&mut self, question: &str, usual: Option<&str>, free: bool) -> Result<String, Away> {
        loop {
            if self.interrupt.pressed() {
                return Err(Away::Leave);
            }
            self.speak_up();
            let mut short = question;
            let usual_width = usual.map_or(0, |usual| console::measure_text_width(usual) + 3);
            if console::measure_text_width(question) + usual_width + ROOM > width() {
                say_wrapped(question, 2);
                short = "  Answer";
            }
            let alarm: Option<Alarm> = self.set_alarm();
            let typed = line(short, usual)?;
            drop(alarm);
            match Word::of(&typed, free) {
                Some(word) => self.word(word)?,
                None => return Ok(typed),
            }
        }
    }

    /// Asks until `read` takes the answer.
    pub(super) fn until<T>(
        &mut self,
        question: &str,
        usual: Option<&str>,
        read: impl FnMut(&str) -> Result<T, String>,
    ) -> Result<T, Away> {
        until_by(&mut |question, usual| self.line(question, usual, false), question, usual, read)
    }

    /// Asks yes or no; Enter is `usual`.
    pub(super) fn yes(&mut self, question: &str, usual: bool) -> Result<bool, Away> {
        let usual = if usual { "yes" } else { "no" };
        self.until(question, Some(usual), yes_or_no)
    }

    /// Asks yes or no where the answer vouches for something: it has to be typed, Enter alone asks again.
    pub(super) fn vouched(&mut self, question: &str) -> Result<bool, Away> {
        self.until(&format!("{question} (y/n)"), None, |text| match text {
            "" => Err("y or n: Enter alone is no answer to this".to_owned()),
            text => yes_or_no(text),
        })
    }

    /// Picks one of a list by its number.
    pub(super) fn pick(&mut self, question: &str, list: &[String], usual: Option<usize>) -> Result<usize, Away> {
        for (place, item) in list.iter().enumerate() {
            say_wrapped(&format!("  {} {item}", place + 1), 4);
        }
        let usual = usual.map(|place| (place + 1).to_string());
        self.until(question, usual.as_deref(), |text| match text.parse::<usize>() {
            Ok(number) if (1..=list.len()).contains(&number) => Ok(number - 1),
            _ => list
                .iter()
                .position(|item| item.eq_ignore_ascii_case(text))
                .ok_or_else(|| format!("a number from 1 to {}", list.len())),
        })
    }

    /// Does what a word says; the question is asked again then.
    fn word(&mut self, word: Word) -> Result<(), Away> {
        match word {
            Word::Help => {
                say("Instead of an answer you can type:");
                for (word, what) in WORDS {
                    say(&format!("  {word:<12} {what}"));
                }
                say("Yes or no: y, n, 1 (yes) or 2 (no). Enter takes what stands in square brackets.");
                Ok(())
            }
            Word::Skip => Err(Away::PutOff),
            Word::Stop => Err(Away::Leave),
            Word::Note(text) => {
                let text = self.words_for(text, "  Remark (Enter: none)")?;
                let on = self.about();
                self.aside(text.map(|text| Request::Note { on: on.clone(), text }), &format!("note on {on}"))
            }
            Word::Defect(text) => {
                let what = self.words_for(text, "  What is wrong (Enter: nothing)")?;
                let on = self.about();
                self.aside(what.map(|what| Request::OpenDefect { on: on.clone(), what }), &format!("defect on {on}"))
            }
            Word::Stopped(text) => {
                let cause = self.words_for(text, "  What stopped it: rain, wind, no access, … (Enter: nothing)")?;
                self.stopped(cause)
            }
            Word::Again => self.again(),
            Word::Extra(text) => {
                let what = self.words_for(text, "  What is asked for (Enter: nothing)")?;
                self.extra(what)
            }
            Word::Reading => {
                let walls = self.walls_about();
                let group = std::mem::take(&mut self.group);
                let taken = self.reading(&walls, None);
                self.group = group;
                match taken {
                    // Only the reading is put off, not what it was taken at.
                    Ok(_) | Err(Away::PutOff) => Ok(()),
                    Err(other) => Err(other),
                }
            }
            Word::Defects => {
                let group = std::mem::take(&mut self.group);
                let gone_through = self.settle_defects();
                self.group = group;
                match gone_through {
                    // What was asked for may be settled now: look again.
                    Ok(()) | Err(Away::PutOff) => Err(Away::LookAgain),
                    Err(other) => Err(other),
                }
            }
            Word::Delivery => {
                let group = std::mem::take(&mut self.group);
                let came = self.delivery();
                self.group = group;
                match came {
                    // What is on site may be offered as an answer now: look again.
                    Ok(()) => Err(Away::LookAgain),
                    Err(Away::PutOff) => Ok(()),
                    Err(other) => Err(other),
                }
            }
            Word::Join => match self.join() {
                Ok(_) | Err(Away::PutOff) => Ok(()),
                Err(other) => Err(other),
            },
            Word::At(text) => {
                self.earlier(&text);
                Ok(())
            }
            Word::Only(text) => self.only(&text),
        }
    }

    /// Records something beside what is being asked for: it happens now.
    pub(super) fn aside(&mut self, request: Option<Request>, what: &str) -> Result<(), Away> {
        let at = self.at.take();
        let done = request.map(|request| self.record(&request, what)).transpose();
        self.at = at;
        done.map(|_| ()).map_err(Away::from)
    }

    fn words_for(&mut self, text: String, question: &str) -> Result<Option<String>, Failure> {
        let text = if text.is_empty() { line(question, None)? } else { text };
        Ok(Some(text).filter(|text| !text.is_empty()))
    }

    fn earlier(&mut self, text: &str) {
        let now = self.now();
        if text == "now" {
            self.at = None;
            return say("  As of now.");
        }
        match parse(text, now.date(), self.book.state.job.time_zone) {
            Ok(at) if at > now => say(&format!("  {text} is still to come; it is {}", now.clock(now.date()))),
            Ok(at) => {
                self.at = Some(at);
                say(&format!("  Will be recorded as of {}; 'at now' takes it back.", at.clock(now.date())));
            }
            Err(error) => say(&format!("  {error}")),
        }
    }

    /// Some of the subjects that are being asked for: `N/C1..3`, or `C1..3` for short.
    fn only(&mut self, text: &str) -> Result<(), Away> {
        let book = self.book.clone();
        let subjects = &book.state.subjects;
        let wall = self.group.first().and_then(|first| subjects.get(*first).wall()).unwrap_or_default();
        let found = subjects.parse(text).or_else(|error| subjects.parse(&format!("{wall}/{text}")).map_err(|_| error));
        match found {
            Ok(found) if !found.is_empty() && found.iter().all(|subject| self.group.contains(subject)) => {
                Err(Away::Only(found))
            }
            Ok(_) if self.group.is_empty() => {
                say("  There is nothing to choose from here.");
                Ok(())
            }
            Ok(_) => {
                say(&format!("  Choose from {}", subjects.shortly(&self.group)));
                Ok(())
            }
            Err(error) => {
                say(&format!("  {error}"));
                Ok(())
            }
        }
    }

    /// What a remark is about: the wall or walls of the step, or the job.
    pub(super) fn about(&self) -> String {
        let state = &self.book.state;
        match self.group.as_slice() {
            [only] => state.subjects.get(*only).to_string(),
            [first, ..] if !state.subjects.walls_of(*first).is_empty() => {
                state.subjects.shortly(state.subjects.walls_of(*first))
            }
            _ => "job".to_owned(),
        }
    }

    /// The walls that a reading is about.
    fn walls_about(&self) -> Vec<usize> {
        let state = &self.book.state;
        let walls = self.group.first().map(|first| state.subjects.walls_of(*first).to_vec()).unwrap_or_default();
        if walls.is_empty() { state.walls() } else { walls }
    }
}
