//! A question: what is asked, what Enter takes, what counts as an answer.

use std::fmt::Write;

use console::Term;
use dialoguer::Input;
use dialoguer::theme::Theme;

use super::screen::{say, say_wrapped, to_width, width};
use crate::cli::failure::Failure;
use crate::units::number::with_point;
use crate::units::{Bounds, parse_decimal};

/// A question whose answer is a `T`.
pub struct Question<'q, T> {
    /// Lines above it: the limit, what to choose from.
    above: Vec<String>,
    /// What is said with the first of them when the question is first put, and not when it is put again.
    once: Option<String>,
    prompt: Prompt,
    parse: Parse<'q, T>,
}

/// Makes an answer of what was typed, or says what to type instead.
type Parse<'q, T> = Box<dyn Fn(&str) -> Result<T, String> + 'q>;

/// The line of a question that the answer is typed on.
#[derive(Clone, Default)]
pub struct Prompt {
    /// What is asked.
    pub text: String,
    /// What Enter takes.
    pub usual: Option<String>,
    /// What is meant, for whoever asks with `?`.
    pub help: Option<String>,
    /// Any text is an answer, also one that begins like a command.
    pub any_text: bool,
}

impl<'q, T> Question<'q, T> {
    /// A question whose answer is what `parse` makes of it; its error says what to type instead.
    pub fn new(text: impl Into<String>, parse: impl Fn(&str) -> Result<T, String> + 'q) -> Self {
        let prompt = Prompt { text: text.into(), ..Prompt::default() };
        Self { above: Vec::new(), once: None, prompt, parse: Box::new(parse) }
    }

    /// As [`Question::new`], where an answer may begin like a side command.
    pub fn of_any_text(text: impl Into<String>, parse: impl Fn(&str) -> Result<T, String> + 'q) -> Self {
        let mut question = Self::new(text, parse);
        question.prompt.any_text = true;
        question
    }

    /// What Enter takes.
    pub fn usual(mut self, usual: impl Into<Option<String>>) -> Self {
        self.prompt.usual = usual.into();
        self
    }

    /// What is meant by it.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.prompt.help = Some(help.into());
        self
    }

    /// A line above the question, below those that are there.
    pub fn above(mut self, line: impl Into<String>) -> Self {
        self.above.push(line.into());
        self
    }

    /// What is said only when it is first put, with the first line above it.
    pub fn once(mut self, text: Option<String>) -> Self {
        self.once = text;
        self
    }

    /// A line above all others, such as the limit of a measurement.
    pub fn first(mut self, line: impl Into<String>) -> Self {
        self.above.insert(0, line.into());
        self
    }
}

impl<'q, T: 'q> Question<'q, T> {
    /// What an answer that was given along with something else comes to, or what to type instead.
    pub fn read(&self, typed: &str) -> Result<T, String> {
        (self.parse)(typed)
    }

    /// The same where Enter alone leaves the answer out.
    pub fn or_none(self) -> Question<'q, Option<T>> {
        let Self { above, once, prompt, parse } = self;
        let parse = move |text: &str| if text.is_empty() { Ok(None) } else { parse(text).map(Some) };
        Question { above, once, prompt, parse: Box::new(parse) }
    }
}

impl<'q> Question<'q, Option<String>> {
    /// Any text; Enter alone leaves it out.
    pub fn optional(text: impl Into<String>) -> Self {
        Question::text(text).or_none()
    }
}

impl Question<'_, String> {
    /// A question that any text answers, none included.
    pub fn text(text: impl Into<String>) -> Self {
        Question::of_any_text(text, |text| Ok(text.to_owned()))
    }
}

impl Question<'_, bool> {
    /// Yes or no; Enter is `usual`. A number is no answer: it was meant for another question.
    pub fn yes_no(text: impl Into<String>, usual: bool) -> Self {
        Self::new(text, yes_or_no).usual(if usual { "yes" } else { "no" }.to_owned())
    }

    /// Yes or no where the answer vouches for something: it has to be typed, Enter alone asks again.
    pub fn confirm(text: &str) -> Self {
        Self::new(format!("{text} (y/n)"), |text| match text {
            "" => Err("please type y or n".to_owned()),
            text => yes_or_no(text),
        })
    }
}

impl<'q> Question<'q, usize> {
    /// One of a list, by its number or its words.
    pub fn choice(text: impl Into<String>, list: &'q [String]) -> Self {
        let question =
            Self::new(text, |text| meant(list, text).ok_or_else(|| format!("type a number from 1 to {}", list.len())));
        numbered(list).fold(question, Self::above)
    }

    /// The same with the item that Enter takes.
    pub fn usually(self, item: usize) -> Self {
        self.usual((item + 1).to_string())
    }
}

impl<'q> Question<'q, Vec<usize>> {
    /// Some of a list, by their numbers or their words; none of it is an answer where `none` says so.
    pub fn some_of(text: impl Into<String>, list: &'q [String], none: bool) -> Self {
        let question = Self::new(text, move |text| {
            if text.eq_ignore_ascii_case("all") {
                return Ok((0..list.len()).collect());
            }
            // Numbers stand with or without commas between them, names have spaces in them.
            let by_comma = || text.split(',').map(str::trim).filter(|item| !item.is_empty());
            let by_space = || text.split([' ', ',']).filter(|item| !item.is_empty());
            let named: Option<Vec<Vec<usize>>> = by_comma().map(|item| run_meant(list, item)).collect();
            let picked = named.or_else(|| by_space().map(|item| run_meant(list, item)).collect());
            let wanted = || format!("type numbers from 1 to {}, such as 1 2 or 1-3, names, or all", list.len());
            let picked = picked.map(|picked| picked.concat());
            picked.filter(|picked| none || !picked.is_empty()).ok_or_else(wanted)
        });
        numbered(list).fold(question, Self::above)
    }
}

/// The items that a person means by a range of numbers, such as 1-3 or 1..3, or by one item.
fn run_meant(list: &[String], text: &str) -> Option<Vec<usize>> {
    let ends = text.split_once("..").or_else(|| text.split_once('-'));
    let numbers = ends.and_then(|(first, last)| Some((first.parse::<usize>().ok()?, last.parse::<usize>().ok()?)));
    match numbers {
        Some((first, last)) => {
            (1..=last).contains(&first).then(|| (first - 1..last).collect()).filter(|_| last <= list.len())
        }
        None => Some(vec![meant(list, text)?]),
    }
}

/// The item of a list that a person means: by its number, by its words in any case, or by how it alone begins. What stands
/// in brackets after it need not be typed.
fn meant(list: &[String], text: &str) -> Option<usize> {
    if let Ok(number) = text.parse::<usize>() {
        return number.checked_sub(1).filter(|place| *place < list.len());
    }
    let plain = |item: &str| item.split(" (").next().unwrap_or(item).to_lowercase();
    let text = text.to_lowercase();
    let begins: Vec<usize> = (0..list.len()).filter(|place| list[*place].to_lowercase().starts_with(&text)).collect();
    let whole = list.iter().position(|item| plain(item) == text || item.to_lowercase() == text);
    whole.or(if let ([only], false) = (begins.as_slice(), text.is_empty()) { Some(*only) } else { None })
}

fn numbered(list: &[String]) -> impl Iterator<Item = String> {
    list.iter().enumerate().map(|(place, item)| format!("  {} {item}", place + 1))
}

impl Question<'_, f64> {
    /// A number within bounds.
    pub fn number(text: impl Into<String>, bounds: Bounds) -> Self {
        Self::new(text, move |text| {
            let value = parse_decimal(&with_point(text)).map_err(|error| error.to_string())?;
            bounds.check(value).map_err(|error| error.to_string())
        })
    }
}

fn yes_or_no(text: &str) -> Result<bool, String> {
    match text.to_lowercase().as_str() {
        "y" | "yes" => Ok(true),
        "n" | "no" => Ok(false),
        _ => Err("type y for yes, n for no".to_owned()),
    }
}

/// Whoever puts questions.
pub trait Asker {
    /// Why there may be no answer.
    type Stop: From<Failure>;

    /// Reads the line that was typed at a prompt; `None` when something else was typed and dealt with, so that the
    /// question has to be put again.
    fn read(&mut self, prompt: &Prompt) -> Result<Option<String>, Self::Stop>;

    /// What was answered to this question before, where the questions are gone through again and it still `fits`.
    fn answered(&mut self, _asked: &Prompt, _fits: &dyn Fn(&str) -> bool) -> Option<String> {
        None
    }

    /// Hears what was taken as an answer.
    fn note_answer(&mut self, _asked: &Prompt, _typed: &str) {}

    /// Asks until the answer can be read.
    fn ask<T>(&mut self, question: Question<'_, T>) -> Result<T, Self::Stop> {
        let before = self.answered(&question.prompt, &|typed| (question.parse)(typed).is_ok());
        if let Some(Ok(answer)) = before.map(|typed| (question.parse)(&typed)) {
            return Ok(answer);
        }
        let mut above = question.above.clone();
        match (&question.once, above.first_mut()) {
            (Some(once), Some(first)) => first.push_str(&format!(" {once}")),
            (Some(once), None) => above.push(format!("  {once}")),
            (None, _) => {}
        }
        paged(&above)?;
        loop {
            match self.read(&question.prompt)?.map(|typed| ((question.parse)(&typed), typed)) {
                Some((Ok(answer), typed)) => {
                    self.note_answer(&question.prompt, &typed);
                    return Ok(answer);
                }
                Some((Err(why), _)) => say_wrapped(&format!("  {why}"), 4),
                None => paged(&question.above)?,
            }
        }
    }
}

/// Says lines, a screen of them at a time.
pub fn paged(lines: &[String]) -> Result<(), Failure> {
    /// Left free on each screen: what was said before, and the question.
    const FREE: usize = 4;
    let lines: Vec<String> = lines.iter().flat_map(|line| to_width(line, 4)).collect();
    let rows = usize::from(Term::stderr().size().0).saturating_sub(FREE).max(FREE);
    for (page, lines) in lines.chunks(rows).enumerate() {
        if page > 0 {
            read_line(&Prompt { text: "  Enter for more".to_owned(), any_text: true, ..Prompt::default() })?;
        }
        lines.iter().for_each(|line| say(line));
    }
    Ok(())
}

/// Asks on the terminal, and nothing else.
pub struct Terminal;

impl Asker for Terminal {
    type Stop = Failure;

    fn read(&mut self, prompt: &Prompt) -> Result<Option<String>, Failure> {
        read_line(prompt).map(Some)
    }
}

/// The look of a question: a mark where to type.
struct Plain;

impl Theme for Plain {
    fn format_input_prompt(&self, f: &mut dyn Write, prompt: &str, _: Option<&str>) -> std::fmt::Result {
        write!(f, "{prompt} > ")
    }
}

/// Columns left for the answer beside its question; without them the question has a line of its own.
const ROOM: usize = 6;

/// Reads a line at a prompt, and leaves the question with its answer on the screen.
pub fn read_line(prompt: &Prompt) -> Result<String, Failure> {
    let mut text = prompt.text.as_str();
    let usual = prompt.usual.as_ref().map_or_else(String::new, |usual| format!(" [{usual}]"));
    if console::measure_text_width(text) + console::measure_text_width(&usual) + ROOM > width() {
        say_wrapped(text, 2);
        text = "  Answer";
    }
    let asked = format!("{text}{usual}");
    let input: Input<'_, String> = Input::with_theme(&Plain).with_prompt(&asked).allow_empty(true).report(false);
    let typed = input.interact_text().map_err(|dialoguer::Error::IO(error)| match error.kind() {
        // Leaving at a question is not a failure of the machine.
        std::io::ErrorKind::UnexpectedEof | std::io::ErrorKind::Interrupted => Failure::Cancelled,
        _ => Failure::machine(format!("the terminal can't be read: {error}")),
    })?;
    // Only the last row of what was typed is cleared by then.
    let (_, columns) = Term::stderr().size();
    let typed_on = console::measure_text_width(&asked) + " > ".len() + console::measure_text_width(&typed);
    let rows = typed_on.saturating_sub(1) / usize::from(columns).max(1);
    // If the terminal is gone, the next question finds out.
    let _ = Term::stderr().clear_last_lines(rows);
    let answer = match (typed.trim(), &prompt.usual) {
        ("", Some(usual)) => usual.clone(),
        (typed, _) => typed.to_owned(),
    };
    let colon = if text.ends_with('?') { "" } else { ":" };
    say_wrapped(format!("{text}{colon} {answer}").trim_end(), 4);
    Ok(answer)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn people_are_meant_by_number_or_by_name_in_any_case() {
        let list = ["Ana Reid (lead)", "Tom Bell (installer)", "Tomas Field (builder)"].map(str::to_owned);
        let some = |text: &str| (Question::some_of("Who", &list, true).parse)(text).ok();
        for (typed, picked) in [
            ("1 3", vec![0, 2]),
            ("2,1", vec![1, 0]),
            ("ana reid", vec![0]),
            ("Ana Reid, tom bell", vec![0, 1]),
            ("ana", vec![0]),
            ("tom b", vec![1]),
            ("all", vec![0, 1, 2]),
            ("", vec![]),
        ] {
            assert_eq!(some(typed), Some(picked), "{typed}");
        }
        for typed in ["4", "0", "tom", "ann", "ana bell"] {
            assert_eq!(some(typed), None, "{typed}");
        }
        assert_eq!((Question::choice("Who", &list).parse)("TOM BELL").ok(), Some(1));
    }
}
