//! Questions of the walk: whatever is asked, the lead may type a side command instead of the answer.

use super::session::{Interrupt, Walk};
use crate::cli::failure::Failure;
use crate::cli::prompts::question::{Asker, Prompt, Question, Terminal, read_line};
use crate::cli::prompts::screen::{say, say_wrapped};
use crate::cli::sentences::the;
use crate::moment::parse;
use crate::record::{AddExtra, AddNote, EndStoppage, EntryId, OpenDefect, StartStoppage};
use crate::units::parse_decimal;

/// What is typed instead of an answer; the text that goes with it where it was typed along.
#[derive(Debug, Clone, PartialEq, Eq)]
enum SideCommand {
    Help,
    Note(String),
    Defect(String),
    Defects,
    Stopped(String),
    Resume,
    Extra(String),
    Reading,
    Delivery,
    Join,
    /// What is recorded next happened at this time.
    At(String),
    /// What is recorded next was done on some of the subjects only.
    Only(String),
    /// Another wall, by its key where it was typed along.
    Wall(String),
    /// Where a clock presses.
    Go,
    Skip,
    Quit,
}

/// The side commands and what each does, for `?`.
const HELP: [(&str, &str); 16] = [
    ("note TEXT", "record a note on what you are at"),
    ("defect TEXT", "record a defect that you see"),
    ("defects", "go through the open defects: fixed, or a concession"),
    ("reading", "record a reading: air, humidity, surface, wind, rain"),
    ("stopped RAIN", "record that work stopped, why, and who was notified"),
    ("resume", "record that work restarted"),
    ("extra TEXT", "record extra work, and who asked for it"),
    ("delivery", "book in what came: its batch, count and use-by date"),
    ("join", "record who came onto site"),
    ("at 10:40", "it happened at 10:40: for the record that you are at"),
    ("only J1..3", "record these now, the others later"),
    ("wall E", "go to another wall"),
    ("go", "go where a clock presses"),
    ("skip", "leave this for later"),
    ("quit", "leave; Ctrl-C does the same. What is recorded stays"),
    ("?", "this list"),
];

impl SideCommand {
    /// The side command in what was typed, if it is one. Where any text is an answer, only a word on its own counts.
    fn of(typed: &str, any_text: bool) -> Option<Self> {
        let typed = typed.trim();
        let (first, rest) = typed.split_once(char::is_whitespace).unwrap_or((typed, ""));
        let rest = rest.trim().to_owned();
        if any_text && !rest.is_empty() {
            return None;
        }
        Some(match (first.to_lowercase().as_str(), rest.is_empty()) {
            ("?" | "help", true) => Self::Help,
            ("note", _) => Self::Note(rest),
            ("defect", _) => Self::Defect(rest),
            ("defects", true) => Self::Defects,
            ("stopped" | "stoppage", _) => Self::Stopped(rest),
            ("resume" | "again", true) => Self::Resume,
            ("extra", _) => Self::Extra(rest),
            ("reading", true) => Self::Reading,
            ("delivery", true) => Self::Delivery,
            ("join", true) => Self::Join,
            ("at", false) => Self::At(rest),
            ("only", false) => Self::Only(rest),
            ("wall", _) => Self::Wall(rest),
            ("go" | "g", true) => Self::Go,
            ("skip" | "later", true) => Self::Skip,
            ("quit" | "stop" | "pause" | "exit", true) => Self::Quit,
            _ => return None,
        })
    }
}

impl Asker for Walk<'_> {
    type Stop = Interrupt;

    fn read(&mut self, prompt: &Prompt) -> Result<Option<String>, Interrupt> {
        if self.ctrl_c.pressed() {
            return Err(Interrupt::Quit);
        }
        self.announce();
        let bell = self.set_bell();
        let typed = read_line(prompt)?;
        drop(bell);
        match SideCommand::of(&typed, prompt.any_text) {
            Some(command) => self.side_command(command).map(|()| None),
            None => Ok(Some(typed)),
        }
    }
}

impl Walk<'_> {
    /// Does a side command; the question is put again then.
    fn side_command(&mut self, command: SideCommand) -> Result<(), Interrupt> {
        match command {
            SideCommand::Skip => return Err(Interrupt::Skip),
            SideCommand::Quit => return Err(Interrupt::Quit),
            SideCommand::Only(text) => return self.only(&text),
            SideCommand::Wall(key) => return self.go_to_wall(&key),
            SideCommand::Go => return self.go_to_pressing(),
            SideCommand::At(text) => {
                self.happened_at(&text);
                return Ok(());
            }
            SideCommand::Help => {
                help();
                return Ok(());
            }
            _ => {}
        }
        let (here, walls) = (self.here(), self.walls_here());
        // What is done on the side happens now, and on subjects of its own.
        let (at, group) = (self.at.take(), std::mem::take(&mut self.group));
        let done = match command {
            SideCommand::Note(text) => self.note(text, here),
            SideCommand::Defect(what) => self.defect(what, here),
            SideCommand::Stopped(cause) => self.stopped(cause),
            SideCommand::Resume => self.resume(),
            SideCommand::Extra(what) => self.extra(what, here),
            SideCommand::Reading => self.reading(&walls, None).map(|_| ()),
            SideCommand::Join => self.join().map(|_| ()),
            // After these, what is being asked for may be done already.
            SideCommand::Delivery => self.delivery().and(Err(Interrupt::Refresh)),
            SideCommand::Defects => match self.go_through_defects() {
                Ok(()) | Err(Interrupt::Skip) => Err(Interrupt::Refresh),
                other => other,
            },
            _ => Ok(()),
        };
        (self.at, self.group) = (at, group);
        match done {
            // Only what was begun on the side is skipped, not what it interrupted.
            Err(Interrupt::Skip) => Ok(()),
            other => other,
        }
    }

    fn note(&mut self, text: String, on: String) -> Result<(), Interrupt> {
        let Some(text) = given_or_asked(text, "  Note (Enter to cancel)")? else { return Ok(()) };
        let what = format!("note on {}", the(&on));
        Ok(self.record(&AddNote { subject: on, text }, &what).map(|_| ())?)
    }

    fn defect(&mut self, what: String, on: String) -> Result<(), Interrupt> {
        let Some(what) = given_or_asked(what, "  What is wrong (Enter to cancel)")? else { return Ok(()) };
        let recorded = format!("defect on {}", the(&on));
        Ok(self.record(&OpenDefect { subject: on, what }, &recorded).map(|_| ())?)
    }

    /// Work stopped: why, where, who was notified.
    fn stopped(&mut self, cause: String) -> Result<(), Interrupt> {
        let question = "  What stopped it: rain, wind, no access, … (Enter to cancel)";
        let Some(cause) = given_or_asked(cause, question)? else { return Ok(()) };
        let on = self.ask_where("job")?;
        let notified = Terminal.ask(Question::text("  Who was notified, separated by commas (Enter to cancel)"))?;
        let notified: Vec<String> =
            notified.split(',').map(str::trim).filter(|name| !name.is_empty()).map(str::to_owned).collect();
        if notified.is_empty() {
            say("  Nothing was recorded.");
            return Ok(());
        }
        let what = format!("work stopped on {}", the(&on));
        Ok(self.record(&StartStoppage { subject: on, cause, notified, people: None }, &what).map(|_| ())?)
    }

    /// Work restarted: the only open stoppage, or the one that is picked.
    fn resume(&mut self) -> Result<(), Interrupt> {
        let open: Vec<(EntryId, String, String)> = self
            .book()
            .state
            .open_stoppages()
            .map(|one| (one.entry.clone(), one.cause.clone(), one.subject.to_string()))
            .collect();
        let place = match open.len() {
            0 => {
                say("  No work is stopped.");
                return Ok(());
            }
            1 => 0,
            _ => {
                let list: Vec<String> = open.iter().map(|(_, cause, on)| format!("{cause} on {}", the(on))).collect();
                Terminal.ask(Question::choice("  Which one is over", &list).usually(0))?
            }
        };
        let (entry, _, on) = &open[place];
        let request = EndStoppage { stoppage: Some(entry.clone()), note: None };
        Ok(self.record(&request, &format!("work resumed on {}", the(on))).map(|_| ())?)
    }

    /// Extra work: what, who asked, how long it takes.
    fn extra(&mut self, what: String, here: String) -> Result<(), Interrupt> {
        let Some(what) = given_or_asked(what, "  What was asked for (Enter to cancel)")? else { return Ok(()) };
        let on = self.ask_where(&here)?;
        let Some(asked_by) = given_or_asked(String::new(), "  Who asked for it (Enter to cancel)")? else {
            say("  Nothing was recorded.");
            return Ok(());
        };
        let hours = Terminal.ask(Question::new("  Crew-hours (Enter if not known yet)", |text| match text {
            "" => Ok(None),
            text => parse_decimal(text).map(Some).map_err(|error| error.to_string()),
        }))?;
        let recorded = format!("extra work on {}", the(&on));
        let request = AddExtra { subject: on, what, asked_by, hours, ..AddExtra::default() };
        Ok(self.record(&request, &recorded).map(|_| ())?)
    }

    /// Where something on the side was; Enter takes `usual`.
    fn ask_where(&mut self, usual: &str) -> Result<String, Failure> {
        let subjects = &self.book().state.subjects;
        let question = Question::new("  Where", |text| {
            subjects.parse(text).map(|_| text.to_owned()).map_err(|error| error.to_string())
        });
        Terminal.ask(question.usual(usual.to_owned()))
    }

    fn happened_at(&mut self, text: &str) {
        let now = self.now();
        if text == "now" {
            self.at = None;
            return say("  Back to the present.");
        }
        match parse(text, now.date(), self.book().state.job.time_zone) {
            Ok(at) if at > now => say(&format!("  {text} is still to come; it is {} now", now.clock(now.date()))),
            Ok(at) => {
                self.at = Some(at);
                let at = at.clock(now.date());
                say(&format!("  It will be recorded as of {at}. Type 'at now' to go back to the present."));
            }
            Err(error) => say(&format!("  {error}")),
        }
    }

    /// Some of the subjects that are being asked for: `N/C1..3`, or `C1..3` for short.
    fn only(&mut self, text: &str) -> Result<(), Interrupt> {
        let subjects = &self.book().state.subjects;
        let wall = self.group.first().and_then(|first| subjects.get(*first).wall()).unwrap_or_default();
        let found = subjects.parse(text).or_else(|error| subjects.parse(&format!("{wall}/{text}")).map_err(|_| error));
        match found {
            Ok(found) if !found.is_empty() && found.iter().all(|subject| self.group.contains(subject)) => {
                return Err(Interrupt::Only(found));
            }
            Ok(_) if self.group.is_empty() => say("  There is nothing to choose from here."),
            Ok(_) => say_wrapped(&format!("  Choose from {}.", subjects.shortly(&self.group)), 4),
            Err(error) => say_wrapped(&format!("  {error}"), 4),
        }
        Ok(())
    }

    /// What a note is about: the wall or walls of the step, or the job.
    fn here(&self) -> String {
        let subjects = &self.book().state.subjects;
        match self.group.as_slice() {
            [only] => subjects.get(*only).to_string(),
            [first, ..] if !subjects.walls_of(*first).is_empty() => subjects.shortly(subjects.walls_of(*first)),
            _ => "job".to_owned(),
        }
    }

    /// The walls that a reading is about.
    fn walls_here(&self) -> Vec<usize> {
        let subjects = &self.book().state.subjects;
        self.group.first().map_or(subjects.all_walls(), |first| subjects.exposed_walls(*first)).to_vec()
    }
}

/// What was typed along with a side command, or else what is asked for; nothing where that is cancelled.
fn given_or_asked(given: String, question: &str) -> Result<Option<String>, Failure> {
    let text = if given.is_empty() { Terminal.ask(Question::text(question))? } else { given };
    Ok(Some(text).filter(|text| !text.is_empty()))
}

fn help() {
    say("Instead of an answer you can type:");
    for (word, what) in HELP {
        say(&format!("  {word:<12} {what}"));
    }
    say("Yes or no: y or n. Enter takes what is in square brackets.");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_side_command_is_told_from_an_answer() {
        assert_eq!(SideCommand::of(" Note scaffold moved ", false), Some(SideCommand::Note("scaffold moved".into())));
        assert_eq!(SideCommand::of("at 10:40", false), Some(SideCommand::At("10:40".into())));
        assert_eq!(SideCommand::of("STOP", true), Some(SideCommand::Quit));
        for answer in ["", "3", "yes", "B-12", "stopper", "at", "only"] {
            assert_eq!(SideCommand::of(answer, false), None, "{answer}");
        }
        // Text that begins with a side command is text where text is asked for.
        assert_eq!(SideCommand::of("at the top left", true), None);
        assert_eq!(SideCommand::of("note from the maker", true), None);
    }
}
