//! What the lead may type at any question of the walk instead of the answer.

use std::path::Path;

use super::place::among;
use super::session::{Interrupt, Walk};
use crate::cli::failure::Failure;
use crate::cli::photos::take;
use crate::cli::prompts::question::{Asker, Prompt, Question, Terminal, paged, read_line};
use crate::cli::prompts::screen::{say, say_wrapped, width};
use crate::day::{AddPhotos, Photo, the};
use crate::moment::parse;
use crate::record::{AddExtra, AddNote, EndStoppage, EntryId, OpenDefect, StartStoppage};
use crate::units::number::{shortened, with_point};
use crate::units::parse_decimal;

/// What is typed instead of an answer: the words that give it, whether a text goes with it, how `?` lists it, and what it
/// does. What has no words there is not listed.
type SideCommand = (&'static [&'static str], Text, &'static str, &'static str, Does);

/// What a side command does with the text that was typed along with it.
#[derive(Clone, Copy)]
enum Does {
    /// Lists the side commands.
    Help,
    /// Something about what is being asked for.
    Here(fn(&mut Walk<'_>, String) -> Result<(), Interrupt>),
    /// Something that happens now and on subjects of its own, whatever is being asked for; it hears where that is.
    Aside(fn(&mut Walk<'_>, String, String) -> Result<(), Interrupt>),
}

/// Whether a text goes with a side command.
#[derive(Clone, Copy)]
enum Text {
    None,
    May,
    Must,
}

const SIDE_COMMANDS: [SideCommand; 25] = {
    use Does::{Aside, Help, Here};
    use Text::{May, Must, None};
    [
        (&["back"], None, "back", "the question before", Here(|walk, _| walk.back())),
        (&["undo"], None, "undo", "take back the last record", Aside(|walk, _, _| walk.undo())),
        (&["skip", "later"], None, "skip", "leave this for later", Here(|_, _| Err(Interrupt::Skip))),
        (&["quit", "pause", "exit"], None, "quit", "leave; all is saved", Here(|_, _| Err(Interrupt::Quit))),
        (&["at"], Must, "at 10:40", "done then, not now", Here(|walk, text| walk.happened_at(&text))),
        (&["only"], Must, "only J1..3", "these now, others later", Here(|walk, text| walk.only(&text))),
        (&["wall"], May, "wall E", "go to another wall", Here(|walk, text| walk.go_to_wall(&text))),
        (&["go", "g"], None, "go", "where a window closes", Here(|walk, _| walk.go_to_pressing())),
        (&["note"], May, "note TEXT", "a note about this step", Aside(|walk, text, here| walk.note(text, here))),
        (&["photo"], May, "photo FILE", "or a folder: its newest", Aside(|walk, text, here| walk.photo(&text, here))),
        (&["defect"], May, "defect TEXT", "a defect that you see", Aside(|walk, text, here| walk.defect(text, here))),
        (&["defects"], None, "defects", "the open ones: fixed, …", Here(|walk, _| walk.defects_from_here())),
        (&["reading"], None, "reading", "air, surface, wind, rain", Here(|walk, _| walk.reading_here())),
        (&["wind"], May, "wind 3", "force, or such as 18 km/h", Aside(|walk, text, _| walk.wind(&text))),
        // What rain lapses has to be done again.
        (&["rain"], None, "rain", "it is raining", Aside(|walk, _, _| walk.rain().and(Err(Interrupt::Refresh)))),
        (
            &["stopped", "stoppage"],
            May,
            "stopped RAIN",
            "work stopped, and why",
            Aside(|walk, text, _| walk.stopped(text)),
        ),
        // What waited for it can be done again.
        (
            &["resume", "again"],
            None,
            "resume",
            "work restarted",
            Aside(|walk, _, _| walk.resume().and(Err(Interrupt::Refresh))),
        ),
        (&["extra"], May, "extra TEXT", "extra work asked for", Aside(|walk, text, here| walk.extra(text, here))),
        // After it, what is being asked for may be done already.
        (
            &["delivery"],
            None,
            "delivery",
            "book in what came",
            Aside(|walk, _, _| walk.deliveries().and(Err(Interrupt::Refresh))),
        ),
        (&["damaged"], None, "damaged", "goods to throw away", Aside(|walk, _, _| walk.damaged())),
        (&["join"], None, "join", "who came onto site", Aside(|walk, _, _| walk.join().map(|_| ()))),
        (&["left"], May, "left NAME", "who left the site", Aside(|walk, text, _| walk.left(&text))),
        (&["release"], None, "release", "a hold point, or refused", Aside(|walk, _, _| walk.release())),
        // Leave, or work stopped: the lead says which.
        (&["stop"], None, "", "", Here(|walk, _| walk.stop())),
        (&["?", "help"], None, "?", "this list", Help),
    ]
};

/// How wide a column of the list is: two of them fit a terminal.
const COLUMN: usize = 39;

/// The side command in what was typed, if it is one, and the text that was typed along with it. Where any text is an
/// answer, only a word on its own counts.
fn side_command(typed: &str, any_text: bool) -> Option<(&'static SideCommand, String)> {
    let typed = typed.trim();
    let (first, rest) = typed.split_once(char::is_whitespace).unwrap_or((typed, ""));
    let (first, rest) = (first.to_lowercase(), rest.trim());
    let fits = |text: Text| match text {
        Text::None => rest.is_empty(),
        Text::May => rest.is_empty() || !any_text,
        Text::Must => !rest.is_empty() && !any_text,
    };
    let found = SIDE_COMMANDS.iter().find(|(words, text, ..)| words.contains(&first.as_str()) && fits(*text));
    found.map(|command| (command, rest.to_owned()))
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
        let Some(((.., does), text)) = side_command(&typed, prompt.any_text) else { return Ok(Some(typed)) };
        match does {
            Does::Help => {
                say("Instead of an answer you can type:");
                paged(&list_of_commands())?;
                prompt.help.iter().for_each(|help| say_wrapped(&format!("  {help}"), 4));
            }
            Does::Here(deed) => deed(self, text)?,
            Does::Aside(deed) => self.on_the_side(|walk, here| deed(walk, text, here))?,
        }
        // The question is put again.
        Ok(None)
    }

    fn answered(&mut self, prompt: &Prompt, fits: &dyn Fn(&str) -> bool) -> Option<String> {
        let typed = self.tape.next(fits)?;
        self.is_vouched_for |= is_more_than_enter(prompt, &typed);
        Some(typed)
    }

    fn note_answer(&mut self, prompt: &Prompt, typed: &str) {
        self.is_vouched_for |= is_more_than_enter(prompt, typed);
        self.tape.note(typed);
    }
}

impl Walk<'_> {
    fn back(&mut self) -> Result<(), Interrupt> {
        if self.tape.back() {
            return Err(Interrupt::Back);
        }
        say_wrapped("  There is no question before this one. What was recorded is taken back by 'undo'.", 4);
        Ok(())
    }

    fn stop(&mut self) -> Result<(), Interrupt> {
        let ways = ["leave the walk", "work has stopped"].map(str::to_owned);
        match Terminal.ask(Question::choice("  Leave, or has work stopped", &ways))? {
            0 => Err(Interrupt::Quit),
            _ => self.on_the_side(|walk, _| walk.stopped(String::new())),
        }
    }

    /// A reading of the walls of what is being asked for.
    fn reading_here(&mut self) -> Result<(), Interrupt> {
        let subjects = &self.book().state.subjects;
        let walls = self.group.first().map_or(subjects.all_walls(), |first| subjects.exposed_walls(*first)).to_vec();
        self.on_the_side(|walk, _| walk.reading(&walls))
    }

    /// The open defects, those of what is being asked for first.
    fn defects_from_here(&mut self) -> Result<(), Interrupt> {
        let here = self.group.clone();
        self.on_the_side(|walk, _| match walk.go_through_defects(&here) {
            Ok(()) | Err(Interrupt::Skip) => Err(Interrupt::Refresh),
            other => other,
        })
    }

    /// Does something that happens now and on subjects of its own, whatever is being asked for; it hears where that is.
    fn on_the_side(&mut self, deed: impl FnOnce(&mut Self, String) -> Result<(), Interrupt>) -> Result<(), Interrupt> {
        let here = self.here();
        let (at, group, tape) = (self.at.take(), std::mem::take(&mut self.group), std::mem::take(&mut self.tape));
        let done = deed(self, here);
        (self.at, self.group, self.tape) = (at, group, tape);
        match done {
            // Only what was begun on the side is skipped or gone back from, not what it interrupted.
            Err(Interrupt::Skip | Interrupt::Back) => Ok(()),
            other => other,
        }
    }

    fn note(&mut self, text: String, on: String) -> Result<(), Interrupt> {
        let Some(text) = given_or_asked(text, "  Note (Enter to cancel)")? else { return Ok(()) };
        self.record(&AddNote { subject: on, text }).map(|_| ())
    }

    fn defect(&mut self, what: String, on: String) -> Result<(), Interrupt> {
        let Some(what) = given_or_asked(what, "  What is wrong (Enter to cancel)")? else { return Ok(()) };
        self.record(&OpenDefect { subject: on, what }).map(|_| ())
    }

    /// A photo of what is being done; of a folder the newest one, and Enter takes the folder of the last.
    fn photo(&mut self, text: &str, on: String) -> Result<(), Interrupt> {
        let zone = self.book().state.job.time_zone;
        let file = |text: &str| {
            let path = Path::new(text.trim());
            match path.exists() {
                true => take(path, zone).map_err(|failure| failure.to_string()),
                false => Err(format!("'photo' takes a photo's file or a folder: there is no '{}'", shortened(text))),
            }
        };
        let photo = if text.is_empty() {
            let question = Question::of_any_text("  Photo (file or folder)", file);
            Terminal.ask(question.usual(self.photo_folder.clone()))?
        } else {
            match file(text) {
                Ok(photo) => photo,
                Err(why) => {
                    say_wrapped(&format!("  {why}"), 4);
                    return Ok(());
                }
            }
        };
        self.note_photo(&photo);
        self.record(&AddPhotos { subject: on, step: None, note: None, photos: vec![photo] })?;
        Ok(())
    }

    /// Says which photo was taken, and remembers its folder.
    pub(super) fn note_photo(&mut self, photo: &Photo) {
        say_wrapped(&format!("  Photo {}.", photo.file), 4);
        let folder = photo.source.parent().map(|folder| folder.to_string_lossy().into_owned());
        self.photo_folder = folder.map(|folder| if folder.is_empty() { ".".to_owned() } else { folder });
    }

    /// Work stopped: why, where, who was notified.
    pub(super) fn stopped(&mut self, cause: String) -> Result<(), Interrupt> {
        let question = "  What stopped it: rain, wind, no access, … (Enter to cancel)";
        let Some(cause) = given_or_asked(cause, question)? else { return Ok(()) };
        let on = self.ask_where("job")?;
        let notified =
            Terminal.ask(Question::optional("  Who was notified, separated by commas (Enter: nobody yet)"))?;
        let notified = notified.unwrap_or_default();
        let notified: Vec<String> =
            notified.split(',').map(str::trim).filter(|name| !name.is_empty()).map(str::to_owned).collect();
        // "No rain gear" is no rain, and what rain lapses has to be done again: where it does not say rain alone, it is asked.
        let rain = cause.eq_ignore_ascii_case("rain")
            || speaks_of_rain(&cause) && Terminal.ask(Question::yes_no("  Is it raining there?", true))?;
        self.record(&StartStoppage { subject: on, cause, notified, rain, people: None })?;
        // What is stopped is not asked for any longer.
        Err(Interrupt::Refresh)
    }

    /// Work restarted: the only open stoppage, or the one that is picked.
    pub(super) fn resume(&mut self) -> Result<(), Interrupt> {
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
        let request = EndStoppage { stoppage: Some(open[place].0.clone()), note: None };
        self.record(&request).map(|_| ())
    }

    /// Extra work: what, who asked, how long it takes.
    fn extra(&mut self, what: String, here: String) -> Result<(), Interrupt> {
        let Some(what) = given_or_asked(what, "  What was asked for (Enter to cancel)")? else { return Ok(()) };
        let on = self.ask_where(&here)?;
        let Some(asked_by) = given_or_asked(String::new(), "  Who asked for it (Enter to cancel)")? else {
            say("  Nothing was recorded.");
            return Ok(());
        };
        let hours = Question::new("  Crew-hours (Enter if not known yet)", |text| {
            parse_decimal(&with_point(text)).map_err(|error| error.to_string())
        });
        let hours = Terminal.ask(hours.or_none())?;
        let request = AddExtra { subject: on, what, asked_by, hours, ..AddExtra::default() };
        self.record(&request).map(|_| ())
    }

    /// Where something on the side was; Enter takes `usual`.
    fn ask_where(&mut self, usual: &str) -> Result<String, Failure> {
        let subjects = &self.book().state.subjects;
        let question = Question::new("  Where", |text| {
            subjects.parse(text).map(|_| text.to_owned()).map_err(|error| error.to_string())
        });
        Terminal.ask(question.usual(usual.to_owned()))
    }

    fn happened_at(&mut self, text: &str) -> Result<(), Interrupt> {
        let now = self.now();
        if text == "now" {
            self.at = None;
            say("  Back to the present.");
            return Ok(());
        }
        match parse(text, now.date(), self.book().state.job.time_zone) {
            Ok(at) if at > now => say(&format!("  {text} is still to come; it is {} now", now.clock(now.date()))),
            Ok(at) => {
                self.at = Some(at);
                let at = at.clock(now.date());
                say_wrapped(
                    &format!("  This will be recorded as of {at}, and what comes after it as of now again."),
                    4,
                );
            }
            Err(error) => say(&format!("  {error}")),
        }
        Ok(())
    }

    /// Some of the subjects that are being asked for.
    fn only(&mut self, text: &str) -> Result<(), Interrupt> {
        if self.group.is_empty() {
            say("  There is nothing to choose from here.");
            return Ok(());
        }
        match among(&self.book().state.subjects, &self.group, text) {
            Ok(found) => Err(Interrupt::Only(found)),
            Err(why) => {
                say_wrapped(&format!("  {why}"), 4);
                Ok(())
            }
        }
    }

    /// What a note is about: the wall or walls of the step, or the job.
    pub(super) fn here(&self) -> String {
        let subjects = &self.book().state.subjects;
        match self.group.as_slice() {
            [only] => subjects.get(*only).to_string(),
            [first, ..] if !subjects.walls_of(*first).is_empty() => subjects.shortly(subjects.walls_of(*first)),
            _ => "job".to_owned(),
        }
    }
}

/// Whether an answer is another than Enter gives.
fn is_more_than_enter(prompt: &Prompt, typed: &str) -> bool {
    !typed.is_empty() && prompt.usual.as_deref() != Some(typed)
}

/// What was typed along with a side command, or else what is asked for; nothing where that is cancelled.
fn given_or_asked(given: String, question: &str) -> Result<Option<String>, Failure> {
    if given.is_empty() { Terminal.ask(Question::optional(question)) } else { Ok(Some(given)) }
}

/// What can be typed instead of an answer, in as many columns as fit.
fn list_of_commands() -> Vec<String> {
    let listed = SIDE_COMMANDS.iter().filter(|(_, _, word, ..)| !word.is_empty());
    let cells: Vec<String> = listed.map(|(_, _, word, what, _)| format!("{word:<12} {what}")).collect();
    let columns = (width() / COLUMN).clamp(1, 2);
    let rows = cells.len().div_ceil(columns);
    let row = |row: usize| {
        let cells = cells.iter().skip(row).step_by(rows);
        format!("  {}", cells.map(|cell| format!("{cell:<COLUMN$}")).collect::<String>().trim_end())
    };
    (0..rows).map(row).collect()
}

/// Whether a text speaks of rain, in whatever way.
fn speaks_of_rain(text: &str) -> bool {
    let text = text.to_lowercase();
    let mut words = text.split(|c: char| !c.is_alphabetic());
    words.any(|word| ["rain", "shower", "drizzl"].iter().any(|stem| word.starts_with(stem)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_side_command_is_told_from_an_answer() {
        let of = |typed: &str, any_text| side_command(typed, any_text).map(|((words, ..), text)| (words[0], text));
        assert_eq!(of(" Note scaffold moved ", false), Some(("note", "scaffold moved".to_owned())));
        assert_eq!(of("at 10:40", false), Some(("at", "10:40".to_owned())));
        assert_eq!(of("QUIT", true), Some(("quit", String::new())));
        for answer in ["", "3", "yes", "B-12", "stopper", "at", "only", "quit it"] {
            assert_eq!(of(answer, false), None, "{answer}");
        }
        // Text that begins with a side command is text where text is asked for.
        assert_eq!(of("at the top left", true), None);
        assert_eq!(of("note from the maker", true), None);
    }

    #[test]
    fn no_word_gives_two_side_commands() {
        let words: Vec<&str> = SIDE_COMMANDS.iter().flat_map(|(words, ..)| words.iter().copied()).collect();
        let once: std::collections::BTreeSet<&str> = words.iter().copied().collect();
        assert_eq!(once.len(), words.len());
    }
}
