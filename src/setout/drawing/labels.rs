//! Texts and marks on a sheet, none over another.

use crate::svg::{Anchor, Canvas, width_of};

/// From one base line to the next, of the size of letters.
pub(super) const LINE: f64 = 1.7;

/// How much wider a text may come out where none of the usual fonts is there and another stands in for it.
const STAND_IN: f64 = 1.13;

/// Clear of a text at either end, of the size of letters: two numbers side by side never read as one.
const CLEAR: f64 = 0.25;

/// What a text takes in any font, where nothing but paper lies beside it.
pub(super) fn paper_width(text: &str, size: f64) -> f64 {
    STAND_IN * width_of(text, size)
}

/// A text in lines of no more than a width, the first of no more than `first`; a word alone may be longer.
pub(super) fn wrapped(text: &str, first: f64, width: f64, size: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let room = if lines.len() > 1 { width } else { first };
        match lines.last_mut() {
            Some(line) if paper_width(line, size) + paper_width(" ", size) + paper_width(word, size) <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// A rectangle of the sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Area {
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
}

impl Area {
    /// Round a point.
    pub(super) fn round((x, y): (f64, f64), half_wide: f64, half_high: f64) -> Self {
        Self { left: x - half_wide, right: x + half_wide, top: y - half_high, bottom: y + half_high }
    }

    /// Under a point of a row, down to the text of the next.
    pub(super) fn leader((x, top): (f64, f64), bottom: f64) -> Self {
        Self { left: x, right: x, top, bottom }
    }

    /// What a text takes whose base line is at the point.
    fn of_text((x, y): (f64, f64), size: f64, anchor: Anchor, text: &str) -> Self {
        let width = width_of(text, size);
        let clear = CLEAR * size;
        let left = match anchor {
            Anchor::Start => x,
            Anchor::Middle => x - width / 2.0,
            Anchor::End => x - width,
        };
        // Capitals and figures stand up to 0.72 of the size over the base line, tails hang 0.21 below it.
        Self { left: left - clear, right: left + width + clear, top: y - 0.76 * size, bottom: y + 0.24 * size }
    }

    fn meets(&self, other: &Self) -> bool {
        self.left < other.right && other.left < self.right && self.top < other.bottom && other.top < self.bottom
    }
}

/// What is taken of a sheet.
#[derive(Debug)]
pub(super) struct Labels {
    taken: Vec<Area>,
    width: f64,
    /// The size of letters.
    pub(super) size: f64,
}

impl Labels {
    pub(super) fn new(width: f64, size: f64) -> Self {
        Self { taken: Vec::new(), width, size }
    }

    /// Whether nothing is on an area of the sheet yet.
    pub(super) fn is_free(&self, area: &Area) -> bool {
        area.left >= 0.0 && area.right <= self.width && !self.taken.iter().any(|other| area.meets(other))
    }

    /// Takes an area, where it is free.
    pub(super) fn take(&mut self, area: Area) -> bool {
        let free = self.is_free(&area);
        if free {
            self.taken.push(area);
        }
        free
    }

    /// Writes a text, where there is room for it.
    pub(super) fn write(&mut self, canvas: &mut Canvas, at: (f64, f64), anchor: Anchor, text: &str) -> bool {
        let free = self.take(Area::of_text(at, self.size, anchor, text));
        if free {
            canvas.text(at, self.size, anchor, text);
        }
        free
    }
}
