//! Every question to a person, in one place. Each has a flag that answers it instead; without a terminal
//! none is asked. The end of the input leaves, and writes nothing.

pub mod day;
pub mod job;
pub mod words;

use std::fmt::Write;

use console::Term;
use dialoguer::Input;
use dialoguer::theme::Theme;

use super::{COLUMNS, Failure};

/// The look of a question: what Enter takes in brackets, and a mark where to type.
struct Plain;

impl Theme for Plain {
    fn format_input_prompt(&self, f: &mut dyn Write, prompt: &str, usual: Option<&str>) -> std::fmt::Result {
        match usual {
            Some(usual) => write!(f, "{prompt} [{usual}] > "),
            None => write!(f, "{prompt} > "),
        }
    }

    fn format_input_prompt_selection(&self, f: &mut dyn Write, prompt: &str, given: &str) -> std::fmt::Result {
        let colon = if prompt.ends_with('?') { "" } else { ":" };
        write!(f, "{prompt}{colon} {given}")
    }
}

/// Asks for a line of text; Enter takes `usual` when there is one.
///
/// # Errors
/// [`Failure`] when the terminal is gone.
pub fn line(question: &str, usual: Option<&str>) -> Result<String, Failure> {
    let mut input: Input<'_, String> = Input::with_theme(&Plain).with_prompt(question).allow_empty(true);
    if let Some(usual) = usual {
        input = input.default(usual.to_owned());
    }
    input.interact_text().map(|text| text.trim().to_owned()).map_err(left)
}

/// Asks until `read` takes the answer; says each time why it did not.
///
/// # Errors
/// [`Failure`] when the terminal is gone.
pub fn until<T>(
    question: &str,
    usual: Option<&str>,
    read: impl FnMut(&str) -> Result<T, String>,
) -> Result<T, Failure> {
    until_by(&mut line, question, usual, read)
}

/// Whoever puts a question: its text, what Enter takes, and the answer.
pub type Ask<'a, E> = dyn FnMut(&str, Option<&str>) -> Result<String, E> + 'a;

/// As [`until`], where `ask` puts the question: the walk listens for its own words as well.
///
/// # Errors
/// Whatever `ask` gives.
pub fn until_by<T, E>(
    ask: &mut Ask<'_, E>,
    question: &str,
    usual: Option<&str>,
    mut read: impl FnMut(&str) -> Result<T, String>,
) -> Result<T, E> {
    loop {
        let text = ask(question, usual)?;
        match read(&text) {
            Ok(value) => return Ok(value),
            Err(why) => say(&format!("  {why}")),
        }
    }
}

/// Asks yes or no; Enter is no.
///
/// # Errors
/// [`Failure`] when the terminal is gone.
pub fn sure(question: &str) -> Result<bool, Failure> {
    until(question, Some("no"), yes_or_no)
}

/// Reads yes or no; on a phone's number keys 1 and 2.
///
/// # Errors
/// What to type instead.
pub fn yes_or_no(text: &str) -> Result<bool, String> {
    match text.to_lowercase().as_str() {
        "y" | "yes" | "1" => Ok(true),
        "n" | "no" | "2" => Ok(false),
        _ => Err("1 yes, 2 no".to_owned()),
    }
}

/// Picks one of a list by its number; Enter takes the first.
///
/// # Errors
/// [`Failure`] when the terminal is gone.
pub fn choose(question: &str, choices: &[String]) -> Result<usize, Failure> {
    for (place, choice) in choices.iter().enumerate() {
        say(&format!("  {} {choice}", place + 1));
    }
    until(question, Some("1"), |text| match text.parse::<usize>() {
        Ok(number) if number >= 1 && number <= choices.len() => Ok(number - 1),
        _ => Err(format!("a number from 1 to {}", choices.len())),
    })
}

/// A bar for work that takes a while; shown only where a person is looking.
pub fn progress(what: &str) -> indicatif::ProgressBar {
    let style = indicatif::ProgressStyle::with_template("{msg} {wide_bar} {pos}/{len}");
    let bar = indicatif::ProgressBar::new(0).with_message(what.to_owned());
    match style {
        Ok(style) => bar.with_style(style.progress_chars("=> ")),
        Err(_) => bar,
    }
}

/// Says something between questions.
pub fn say(text: &str) {
    // If the terminal is gone, the next question finds out.
    let _ = Term::stderr().write_line(&super::visible(text));
}

/// Says something at more length, broken at words; every line after the first stands in as far as `indent` says.
pub fn say_wrapped(text: &str, indent: usize) {
    for line in to_width(text, indent) {
        say(&line);
    }
}

/// As [`say_wrapped`], to catch the eye; the words say all that the colour says.
pub fn say_loud(text: &str, colour: bool) {
    for line in to_width(&super::visible(text), 2) {
        let line = console::style(line).bold().for_stderr().force_styling(colour);
        // If the terminal is gone, the next question finds out.
        let _ = Term::stderr().write_line(&line.to_string());
    }
}

/// Breaks a text at words for the terminal, which may be narrower than a page.
pub fn to_width(text: &str, indent: usize) -> Vec<String> {
    super::out::wrapped(text, indent, width() - 1)
}

/// Columns that may be written to.
pub fn width() -> usize {
    usize::from(Term::stderr().size().1).clamp(20, COLUMNS)
}

/// Leaving at a question is not a error of the machine: nothing was written.
fn left(error: dialoguer::Error) -> Failure {
    let dialoguer::Error::IO(error) = error;
    match error.kind() {
        std::io::ErrorKind::UnexpectedEof | std::io::ErrorKind::Interrupted => Failure::Cancelled,
        _ => Failure::machine(format!("the terminal can't be read: {error}")),
    }
}
