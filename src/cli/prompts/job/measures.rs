//! Lengths as they are read off a tape, with a second question where what was typed can't be meant.

use super::answers::{Answers, Stop};
use crate::building::Wall;
use crate::cli::prompts::question::{Asker, Question};
use crate::cli::prompts::screen::say;
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

/// One length.
pub fn one_length(text: &str) -> Result<f64, String> {
    match lengths(text)?.as_slice() {
        [mm] => Ok(*mm),
        _ => Err("one length, such as 10".to_owned()),
    }
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
    say(&format!("  Then it is not {given} mm either: type it again."));
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

/// Where the cladding of a wall ends, at the top one height, a slope from left to right, or a gable with its peak in the
/// middle; and where its foot steps.
#[derive(Clone)]
pub struct Heights {
    top: Vec<f64>,
    /// From so far along the wall its foot is so high, in mm.
    steps: Vec<[f64; 2]>,
}

impl Heights {
    /// The height at the left of a wall that was asked for already, as it is typed: walls of one house mostly share their eaves.
    pub fn eaves(wall: &Wall) -> Option<String> {
        wall.top.first().map(|point| point[1]).or(wall.height_mm).map(show)
    }

    pub fn ask(ask: &mut Answers, text: &str, usual: Option<String>, length_mm: f64) -> Result<Self, Stop> {
        loop {
            let mut question = Question::new(text, Self::read);
            question = match usual.clone() {
                None => question.above(
                    "Heights over the datum: 2400; a slope 2400/3000; a gable 2400/3900/2400. A foot that steps: \
                     2400 step 4800 400, which is 400 up from 4800 on.",
                ),
                usual => question.usual(usual),
            };
            question = question.help(
                "The datum is one level all round the building, such as the top of the slab or a laser line. Give the \
                 height at which the cladding ends: one, left/right, or left/peak/right. Where the ground or the footing \
                 steps, add step, how far along it does so from the left end, and how high the foot of the wall is from \
                 there on.",
            );
            let heights = ask.ask(question)?;
            let shortest = heights.top.iter().copied().fold(f64::INFINITY, f64::min);
            let scale = match metres_meant(ask, text, shortest)? {
                Some(true) => 1000.0,
                Some(false) => 1.0,
                None => continue,
            };
            let heights = Self {
                top: heights.top.iter().map(|height| height * scale).collect(),
                steps: heights.steps.iter().map(|step| step.map(|mm| mm * scale)).collect(),
            };
            let Some([past, _]) = heights.steps.iter().find(|[at, _]| *at >= length_mm) else { return Ok(heights) };
            say(&format!("  A step at {} mm is past the end of the wall: type it again.", show(*past)));
            ask.forget(text);
        }
    }

    fn read(text: &str) -> Result<Self, String> {
        let mut parts = text.split("step");
        let top: Vec<f64> = parts.next().unwrap_or_default().trim().split('/').map(length).collect::<Result<_, _>>()?;
        if top.len() > 3 {
            return Err("at most left, peak and right".to_owned());
        }
        let step = |part: &str| match lengths(part)?.as_slice() {
            [at, foot] => Ok([*at, *foot]),
            _ => Err("a step is how far along and how high, such as step 4800 400".to_owned()),
        };
        let steps = parts.map(step).collect::<Result<Vec<_>, _>>()?;
        if steps.is_sorted_by(|one, next| one[0] < next[0]) {
            Ok(Self { top, steps })
        } else {
            Err("steps from left to right".to_owned())
        }
    }

    /// The highest height of a wall of this length, and the outlines of its top and its foot where they are not level.
    pub fn of_wall(&self, length_mm: f64) -> (f64, Vec<[f64; 2]>, Vec<[f64; 2]>) {
        let highest = self.top.iter().copied().fold(0.0, f64::max);
        let parts = (self.top.len() - 1).max(1) as f64;
        let point = |(place, height): (usize, &f64)| [length_mm * place as f64 / parts, *height];
        let top = if self.top.len() > 1 { self.top.iter().enumerate().map(point).collect() } else { Vec::new() };
        let mut foot = Vec::new();
        for [at, up] in &self.steps {
            if *at > 0.0 {
                let before = foot.last().map_or(0.0, |point: &[f64; 2]| point[1]);
                if foot.is_empty() {
                    foot.push([0.0, 0.0]);
                }
                foot.push([*at, before]);
            }
            foot.push([*at, *up]);
        }
        foot.extend(self.steps.last().map(|[_, up]| [length_mm, *up]));
        (highest, top, foot)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> (f64, Vec<[f64; 2]>, Vec<[f64; 2]>) {
        Heights::read(text).unwrap_or_else(|why| panic!("{text}: {why}")).of_wall(8400.0)
    }

    #[test]
    fn a_top_that_slopes_and_a_foot_that_steps() {
        assert_eq!(read("2400"), (2400.0, vec![], vec![]));
        assert_eq!(read("2.4m/3,9m/2400"), (3900.0, vec![[0.0, 2400.0], [4200.0, 3900.0], [8400.0, 2400.0]], vec![]));
        let up = vec![[0.0, 0.0], [4800.0, 0.0], [4800.0, 400.0], [8400.0, 400.0]];
        assert_eq!(read("2400 step 4800 400"), (2400.0, vec![], up));
        let down = vec![[0.0, 400.0], [3600.0, 400.0], [3600.0, 0.0], [8400.0, 0.0]];
        assert_eq!(read("2400 step 0 400 step 3600 0"), (2400.0, vec![], down));
        let wrong = |text: &str| Heights::read(text).map(|_| ()).unwrap_err();
        assert_eq!(wrong("2400 step 4800"), "a step is how far along and how high, such as step 4800 400");
        assert_eq!(wrong("2400 step 4800 400 step 3600 0"), "steps from left to right");
        assert_eq!(wrong("1/2/3/4"), "at most left, peak and right");
    }
}
