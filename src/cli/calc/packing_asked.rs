//! Readings typed stud by stud, the way one reads a laser: number, Enter, number, Enter.

use crate::cli::failure::Failure;
use crate::cli::prompts::question::{Asker, Question, Terminal};
use crate::cli::prompts::screen::{say, say_wrapped};
use crate::setout::packing::{Fixing, MOST_FIXINGS, READING};
use crate::units::number::show;
use crate::units::{Bounds, bounds, parse_decimal};

const SPACING: Bounds = Bounds { what: "spacing", unit: "mm", least: 1.0, most: 10_000.0 };

/// Asks for where the studs stand, then for reading after reading until an empty line.
pub(super) fn ask_readings() -> Result<Vec<Fixing>, Failure> {
    let usually = |usual: &str| Some(usual.to_owned());
    let first_mm = Terminal.ask(Question::number("First stud at, mm", bounds::LENGTH).usual(usually("0")))?;
    let spacing_mm = Terminal.ask(Question::number("Stud spacing, mm", SPACING).usual(usually("600")))?;
    let heights_mm = Question::new("Heights at each stud, mm, separated by commas", heights).usual(usually("0"));
    let heights_mm = Terminal.ask(heights_mm)?;
    let mut asked = Asked::new(first_mm, spacing_mm, heights_mm);
    say_wrapped("Readings in mm, + proud of the line, - shy. u undoes the last, s skips one, Enter alone ends.", 0);
    loop {
        match asked.take(&Terminal.ask(Question::text(asked.prompt()))?) {
            Ok(Next::Ask) => {}
            Ok(Next::Done) => return Ok(asked.into_fixings()),
            Err(slip) => say(&format!("  {slip}")),
        }
    }
}

fn heights(text: &str) -> Result<Vec<f64>, String> {
    let heights = text.split(',').map(|part| number(part, &bounds::LENGTH)).collect::<Result<Vec<_>, _>>()?;
    let repeated = |(place, height): &(usize, &f64)| heights[..*place].contains(height);
    match heights.iter().enumerate().find(repeated) {
        Some((_, height)) => Err(format!("height {} is given twice", show(*height))),
        None => Ok(heights),
    }
}

fn number(text: &str, bounds: &Bounds) -> Result<f64, String> {
    let value = parse_decimal(text).map_err(|error| error.to_string())?;
    bounds.check(value).map_err(|error| error.to_string())
}

/// What comes after an answer.
#[derive(Debug, PartialEq)]
enum Next {
    Ask,
    Done,
}

/// The readings so far. A place is counted through the heights of a stud, then on to the next stud.
struct Asked {
    first_mm: f64,
    spacing_mm: f64,
    heights_mm: Vec<f64>,
    /// A reading for each place passed; `None` where it was skipped.
    readings: Vec<Option<f64>>,
}

impl Asked {
    fn new(first_mm: f64, spacing_mm: f64, heights_mm: Vec<f64>) -> Self {
        Self { first_mm, spacing_mm, heights_mm, readings: Vec::new() }
    }

    /// Stud and height of a place.
    fn at(&self, place: usize) -> (f64, f64) {
        let heights = self.heights_mm.len().max(1);
        let stud = self.first_mm + self.spacing_mm * (place / heights) as f64;
        (stud, self.heights_mm.get(place % heights).copied().unwrap_or(0.0))
    }

    fn prompt(&self) -> String {
        let (stud, height) = self.at(self.readings.len());
        match self.heights_mm.len() {
            0 | 1 => format!("Stud {}", show(stud)),
            _ => format!("Stud {}, height {}", show(stud), show(height)),
        }
    }

    /// Takes one answer, or says what is wrong with it and asks the same again.
    fn take(&mut self, text: &str) -> Result<Next, String> {
        match text.trim() {
            "" if self.readings.iter().any(Option::is_some) => return Ok(Next::Done),
            "" => return Err("No reading yet: type one, such as 2.5, or press Ctrl-C to quit.".to_owned()),
            "u" | "U" => {
                return match self.readings.pop() {
                    Some(_) => Ok(Next::Ask),
                    None => Err("There is nothing to undo.".to_owned()),
                };
            }
            "s" | "S" => self.readings.push(None),
            text => self.readings.push(Some(number(text, &READING)?)),
        }
        let (stud, _) = self.at(self.readings.len());
        let full = self.readings.len() >= MOST_FIXINGS || bounds::LENGTH.check(stud).is_err();
        Ok(if full { Next::Done } else { Next::Ask })
    }

    fn into_fixings(self) -> Vec<Fixing> {
        let fixing = |place: usize, reading: Option<f64>| {
            let (stud_mm, height_mm) = self.at(place);
            reading.map(|reading_mm| Fixing { stud_mm, height_mm, reading_mm })
        };
        self.readings.iter().enumerate().filter_map(|(place, reading)| fixing(place, *reading)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_are_taken_taken_back_and_skipped() {
        let mut asked = Asked::new(0.0, 600.0, vec![0.0, 1200.0]);
        assert_eq!(asked.take("u"), Err("There is nothing to undo.".into()));
        assert!(asked.take("").is_err(), "an empty line ends only what has begun");
        assert_eq!(asked.prompt(), "Stud 0, height 0");
        assert_eq!(asked.take("2.5"), Ok(Next::Ask));
        assert_eq!(asked.take("300"), Err("reading 300 mm is outside -200 to 200 mm".into()));
        assert_eq!(asked.take("9"), Ok(Next::Ask));
        assert_eq!(asked.take("u"), Ok(Next::Ask));
        assert_eq!(asked.prompt(), "Stud 0, height 1200");
        assert_eq!(asked.take("s"), Ok(Next::Ask));
        assert_eq!(asked.take("-1"), Ok(Next::Ask));
        assert_eq!(asked.take(""), Ok(Next::Done));
        let read: Vec<_> = asked.into_fixings().iter().map(|f| (f.stud_mm, f.height_mm, f.reading_mm)).collect();
        assert_eq!(read, [(0.0, 0.0, 2.5), (600.0, 0.0, -1.0)]);
    }

    #[test]
    fn heights_are_given_once() {
        assert_eq!(heights("0, 1200"), Ok(vec![0.0, 1200.0]));
        assert_eq!(heights("0,1200,0"), Err("height 0 is given twice".into()));
    }
}
