//! The terminal between questions: lines, lines that catch the eye, a bar for what takes a while.

use console::Term;

use crate::cli::out::{TERMINAL_WIDTH, broken};
use crate::plain::visible;

/// Says something between questions.
pub fn say(text: &str) {
    // If the terminal is gone, the next question finds out.
    let _ = Term::stderr().write_line(&visible(text));
}

/// Says something at more length, broken at words; every line after the first is indented as far as `indent` says.
pub fn say_wrapped(text: &str, indent: usize) {
    for line in to_width(text, indent) {
        say(&line);
    }
}

/// As [`say_wrapped`], to catch the eye; the words say all that the colour says.
pub fn say_bold(text: &str, colour: bool) {
    for line in to_width(&visible(text), 2) {
        let line = console::style(line).bold().for_stderr().force_styling(colour);
        // If the terminal is gone, the next question finds out.
        let _ = Term::stderr().write_line(&line.to_string());
    }
}

/// Breaks a text at words for the terminal, which may be narrower than a page.
pub fn to_width(text: &str, indent: usize) -> Vec<String> {
    broken(text, indent, width() - 1)
}

/// Columns that may be written to.
pub fn width() -> usize {
    usize::from(Term::stderr().size().1).clamp(20, TERMINAL_WIDTH)
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
