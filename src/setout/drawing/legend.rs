//! What stands under a wall: what letters and marks mean, what found no room on it, notes.

use super::labels::{LINE, paper_width, wrapped};
use super::marks::{draw, half};
use super::of_wall::{Form, Ground, Mark, Opening, Place, Sides};
use super::view::Drawing;
use crate::svg::Anchor;
use crate::units::number::show_mm;

/// Left and right of the legend.
const MARGIN: f64 = 1.0;

/// Something in a line: a mark or a text.
enum Token {
    /// Its label is empty where the form is explained.
    Mark(Form, String),
    Text(String),
}

impl Token {
    /// With the room behind a mark.
    fn width(&self, size: f64) -> f64 {
        match self {
            Self::Mark(form, label) => 2.0 * half(*form, label).0 + 0.5 * size,
            Self::Text(text) => paper_width(text, size),
        }
    }
}

impl Drawing<'_> {
    /// Writes the legend.
    pub(super) fn legend(&mut self) {
        let keys = self.wall.keys.iter().map(|(key, means)| vec![Token::Text(format!("{key}: {means}"))]);
        let mut items: Vec<Vec<Token>> = keys.collect();
        let forms = Mark::forms(&self.wall.marks).into_iter();
        items.extend(forms.map(|form| vec![Token::Mark(form, String::new()), Token::Text(form.in_words().to_owned())]));
        items.extend(self.aside_by_place());
        items.extend(self.sentences().into_iter().map(|sentence| vec![Token::Text(sentence)]));
        let (size, mut x, mut y) = (self.labels.size, MARGIN, self.end + LINE * self.labels.size);
        for item in items {
            // An item begins on the line of the one before, where all of it fits there.
            if x > MARGIN && x + item.iter().map(|token| token.width(size)).sum::<f64>() > self.sheet.column() - MARGIN
            {
                (x, y) = (MARGIN, y + LINE * size);
            }
            for token in item {
                (x, y) = self.put(token, (x, y));
            }
            x += 1.6 * size;
            self.end = y + 0.6 * size;
        }
    }

    /// Writes a token from a point on, broken at words where the sheet ends; returns where it ends.
    fn put(&mut self, token: Token, (mut x, mut y): (f64, f64)) -> (f64, f64) {
        let (size, width) = (self.labels.size, self.sheet.column() - MARGIN);
        let wide = token.width(size);
        match token {
            Token::Mark(form, label) => {
                if x + wide > width {
                    (x, y) = (MARGIN, y + LINE * size);
                }
                let at = (x + half(form, &label).0, y - 0.36 * size);
                draw(&mut self.canvas, at, form, &label);
                (x + wide, y)
            }
            Token::Text(text) => {
                // Whole, where it fits a line that is begun; else from the margin on.
                let lines =
                    if x + wide <= width { vec![text] } else { wrapped(&text, width - x, width - MARGIN, size) };
                let last = lines.last().map_or(0.0, |line| paper_width(line, size));
                for (place, line) in lines.iter().enumerate() {
                    if place > 0 {
                        (x, y) = (MARGIN, y + LINE * size);
                    }
                    self.canvas.text((x, y), size, Anchor::Start, line);
                }
                (x + last, y)
            }
        }
    }

    /// Marks of the whole wall, and those that found no room.
    fn aside_by_place(&self) -> Vec<Vec<Token>> {
        let mut aside = self.aside.clone();
        // The sort is stable: marks of one form keep the order of their numbers.
        aside.sort_by_key(|mark| (mark.place, mark.form));
        let of_place = |marks: &[Mark]| {
            let on = match marks[0].place {
                Place::Wall => "On the whole wall: ".to_owned(),
                place => format!("On {}: ", self.wall.name_of(place)),
            };
            let marks = marks.iter().map(|mark| Token::Mark(mark.form, mark.label.clone()));
            std::iter::once(Token::Text(on)).chain(marks).collect()
        };
        aside.chunk_by(|one, other| one.place == other.place).map(of_place).collect()
    }

    /// What the marks on the wall mean, lists of what found no room, and the notes.
    fn sentences(&self) -> Vec<String> {
        let wall = self.wall;
        let mut sentences = Vec::new();
        if !wall.packs.is_empty() {
            sentences.push("Dot: packing, mm.".to_owned());
        }
        if !wall.add_studs_mm.is_empty() {
            let studs: Vec<String> = wall.add_studs_mm.iter().map(|stud| show_mm(*stud)).collect();
            sentences.push(format!("Broken line: stud for the framer to add, at {}.", studs.join(", ")));
        }
        if self.missing.courses {
            let courses = (1..).zip(&wall.courses).filter(|(_, course)| !course.is_spread);
            let courses =
                courses.map(|(number, it)| with_keys(&format!("C{number}"), &it.keys, &show_mm(it.bottom_mm)));
            sentences.push(list("Courses", courses));
        }
        if self.missing.joints {
            let joints = (1..).zip(&wall.joints).filter(|(_, joint)| !joint.is_spread);
            sentences.push(list(
                "Joints",
                joints.map(|(number, it)| with_keys(&format!("J{number}"), &it.keys, &show_mm(it.at_mm))),
            ));
            sentences.push(list("Columns", wall.columns.iter().map(|column| show_mm(column.to_mm - column.from_mm))));
        }
        if self.missing.openings {
            let opening = |it: &Opening| {
                let Sides { left, right, sill, head } = it.given_mm;
                let [left, right, head] = [left, right, head].map(|mm| mm.map_or_else(|| "?".to_owned(), show_mm));
                // A door has no sill to speak of.
                let sill = sill.filter(|sill| *sill != wall.low_mm());
                let up = sill.map_or_else(|| "head".to_owned(), |sill| format!("{} to", show_mm(sill)));
                with_keys(&it.key, &it.keys, &format!("{left} to {right}, {up} {head}"))
            };
            sentences.push(list("Openings, along and up", wall.openings.iter().map(opening)));
        }
        if self.missing.floor_lines {
            sentences.push(list("Floor lines", wall.floor_lines_mm.iter().map(|floor| show_mm(*floor))));
        }
        if self.missing.ground {
            sentences.push(list("Ground, up and along", wall.ground.iter().map(Ground::in_words)));
        }
        let corners = wall.corners.iter().enumerate().filter(|(place, _)| self.missing.corners.contains(place));
        sentences.push(list("Corners", corners.map(|(_, corner)| corner.label())));
        sentences.extend(wall.notes.iter().cloned());
        sentences.retain(|sentence| !sentence.is_empty());
        sentences
    }
}

fn with_keys(name: &str, keys: &str, says: &str) -> String {
    if keys.is_empty() { format!("{name} {says}") } else { format!("{name} ({keys}) {says}") }
}

/// A list in a sentence; empty where nothing is in it.
fn list(what: &str, items: impl Iterator<Item = String>) -> String {
    let items: Vec<String> = items.collect();
    if items.is_empty() { String::new() } else { format!("{what}: {}.", items.join("; ")) }
}
