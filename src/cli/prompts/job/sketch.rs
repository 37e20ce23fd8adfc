//! A wall drawn in letters, so that a slip of the tape is seen before anything is written.

use crate::building::Wall;
use crate::setout::outline::Outline;

/// Columns and rows that the longest wall takes at most.
const WIDE: f64 = 60.0;
const HIGH: f64 = 7.0;
/// A letter is about twice as high as it is wide.
const LETTER: f64 = 2.0;

/// The wall from the top down: `#` cladding, a digit the opening of that number. All walls of a job to one scale.
pub fn sketch(wall: &Wall, longest_mm: f64) -> Vec<String> {
    let (Some(length), Some(height)) = (wall.length_mm, wall.height_mm) else { return Vec::new() };
    let across_mm = (longest_mm / WIDE).max(height / HIGH / LETTER).max(1.0);
    let up_mm = across_mm * LETTER;
    let level = Outline::level(height);
    let top = if wall.top.is_empty() { level } else { Outline { points: wall.top.clone() } };
    let base = Outline { points: wall.base.clone() };
    let letter = |column: usize, row: usize| {
        let (x, y) = ((column as f64 + 0.5) * across_mm, (row as f64 + 0.5) * up_mm);
        let within = |low: Option<f64>, high: Option<f64>, at: f64| {
            low.is_none_or(|low| low <= at) && high.is_none_or(|high| at < high)
        };
        let opening = wall.openings.iter().position(|opening| {
            within(opening.from_mm, opening.to_mm, x) && within(opening.sill_mm, opening.head_mm, y)
        });
        match opening {
            _ if y >= top.height_mm(x) || y < base.height_mm(x) => ' ',
            Some(number) => char::from_digit(number as u32 + 1, 10).unwrap_or('o'),
            None => '#',
        }
    };
    let (columns, rows) = ((length / across_mm).round().max(1.0) as usize, (height / up_mm).round().max(1.0) as usize);
    let line = |row: usize| (0..columns).map(|column| letter(column, row)).collect::<String>().trim_end().to_owned();
    (0..rows).rev().map(line).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::building::{Opening, OpeningKind};

    #[test]
    fn a_gable_with_a_window_and_a_door() {
        let opening = |key: &str, kind, from, to, sill, head| Opening {
            key: key.into(),
            kind,
            from_mm: Some(from),
            to_mm: Some(to),
            sill_mm: sill,
            head_mm: Some(head),
            dry: false,
        };
        let wall = Wall {
            length_mm: Some(6000.0),
            height_mm: Some(4000.0),
            top: vec![[0.0, 2400.0], [3000.0, 4000.0], [6000.0, 2400.0]],
            openings: vec![
                opening("O1", OpeningKind::Window, 800.0, 2000.0, Some(900.0), 2100.0),
                opening("O2", OpeningKind::Door, 4000.0, 4900.0, None, 2100.0),
            ],
            ..Wall::default()
        };
        let drawn = [
            // A row is 571 mm of height, a letter 286 mm of length, each read in its middle.
            "         ###",
            "     ###########",
            " ###################",
            "###1111#######222####",
            "###1111#######222####",
            "##############222####",
            "##############222####",
        ];
        assert_eq!(sketch(&wall, 6000.0), drawn);
        assert!(sketch(&Wall::default(), 6000.0).is_empty(), "nothing is known of it");
    }
}
