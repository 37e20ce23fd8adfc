//! Lengths as they are read off a tape, with a second question where what was typed can't be meant.

use super::answers::{Answers, Stop};
use crate::building::Wall;
use crate::cli::prompts::question::{Asker, Question};
use crate::units::number::show;
use crate::units::{Bounds, parse_length};

const LENGTH: Bounds = Bounds { what: "length", unit: "mm", least: 0.1, most: 200_000.0 };
/// No wall, panel or height is shorter: what is typed below it was probably metres.
const SHORTEST_MM: f64 = 100.0;

fn length(text: &str) -> Result<f64, String> {
    let length = parse_length(text).map_err(|error| error.to_string())?;
    LENGTH.check(length).map_err(|error| error.to_string())
}

/// Several lengths with spaces between; 0 is one.
pub fn lengths(text: &str) -> Result<Vec<f64>, String> {
    let word = |word: &str| match parse_length(word).map_err(|error| error.to_string())? {
        0.0 => Ok(0.0),
        _ => length(word),
    };
    text.split_whitespace().map(word).collect()
}

/// Whether metres were meant: asked only where millimetres can't be.
fn metres_meant(ask: &mut Answers, text: &str, shortest_mm: f64) -> Result<Option<bool>, Stop> {
    if shortest_mm >= SHORTEST_MM {
        return Ok(Some(false));
    }
    let (given, question) =
        (show(shortest_mm), format!("{text}: {} mm is very short. Is it {0} m?", show(shortest_mm)));
    if ask.ask(Question::yes_no(question.clone(), true))? {
        return Ok(Some(true));
    }
    crate::cli::prompts::screen::say(&format!("  Then it is not {given} mm either: type it again."));
    ask.forget(&question);
    ask.forget(text);
    Ok(None)
}

/// A length of a wall or a panel.
pub fn measured(ask: &mut Answers, text: &str, usual: Option<&str>, help: &str) -> Result<f64, Stop> {
    loop {
        let mm = ask.ask(Question::new(text, length).usual(usual.map(str::to_owned)).help(help))?;
        match metres_meant(ask, text, mm)? {
            Some(metres) => return Ok(if metres { mm * 1000.0 } else { mm }),
            None => continue,
        }
    }
}

/// Where the cladding of a wall ends: one height, a slope from left to right, or a gable with its peak in the middle.
#[derive(Clone)]
pub struct Heights(Vec<f64>);

impl Heights {
    /// Those of a wall that was asked for already.
    pub fn of(wall: &Wall) -> Self {
        let top = wall.top.iter().map(|point| point[1]);
        Self(if wall.top.is_empty() { wall.height_mm.into_iter().collect() } else { top.collect() })
    }

    /// The height at the left, as it is typed: walls of one house mostly share their eaves.
    pub fn eaves(&self) -> Option<String> {
        self.0.first().map(|height| show(*height))
    }

    pub fn ask(ask: &mut Answers, text: &str, usual: Option<String>) -> Result<Self, Stop> {
        loop {
            let mut question = Question::new(text, |text: &str| {
                let heights: Vec<f64> = text.split('/').map(length).collect::<Result<_, _>>()?;
                if heights.len() > 3 { Err("at most left, peak and right".to_owned()) } else { Ok(Self(heights)) }
            });
            question = match usual.clone() {
                None => question.above("Heights over the datum: 2400; a slope 2400/3000; a gable 2400/3900/2400."),
                usual => question.usual(usual),
            };
            question = question.help(
                "The datum is one level all round the building, such as the top of the slab or a laser line. Give the \
                 height at which the cladding ends: one, left/right, or left/peak/right.",
            );
            let heights = ask.ask(question)?;
            let shortest = heights.0.iter().copied().fold(f64::INFINITY, f64::min);
            match metres_meant(ask, text, shortest)? {
                Some(true) => return Ok(Self(heights.0.iter().map(|height| height * 1000.0).collect())),
                Some(false) => return Ok(heights),
                None => continue,
            }
        }
    }

    /// The highest height of a wall of this length, and its outline where that is not level.
    pub fn of_wall(&self, length_mm: f64) -> (f64, Vec<[f64; 2]>) {
        let highest = self.0.iter().copied().fold(0.0, f64::max);
        let parts = (self.0.len() - 1).max(1) as f64;
        let point = |(place, height): (usize, &f64)| [length_mm * place as f64 / parts, *height];
        let top = if self.0.len() > 1 { self.0.iter().enumerate().map(point).collect() } else { Vec::new() };
        (highest, top)
    }
}
