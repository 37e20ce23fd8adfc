//! The sheet that a wall is drawn on, and where things on the wall come on it.

use super::labels::Labels;
use super::of_wall::{Elevation, Mark};
use crate::svg::Canvas;

/// The usual scales of drawings, ISO 5455 and the ones between that trades use.
const SCALES: [f64; 11] = [5.0, 10.0, 20.0, 25.0, 50.0, 75.0, 100.0, 125.0, 200.0, 250.0, 500.0];

/// The least of a place that a thumb hits, 24 px of a screen: Web Content Accessibility Guidelines 2.2, 2.5.8.
const PLACE: f64 = 6.4;

/// A course may be lower, as it is as long as the wall; millimetres of the screen.
const LOWEST: f64 = 3.0;

/// A drawing for a phone is no wider than so many screens.
const MOST_SCREENS: f64 = 8.0;

/// What a wall is drawn on. Millimetres of paper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sheet {
    /// Its width; it is as high as it has to be.
    width: f64,
    /// Room for the wall itself, upwards.
    high: f64,
    /// The size of letters.
    pub(super) text: f64,
    /// Printed to one of the usual scales.
    pub(super) printed: bool,
}

impl Sheet {
    /// Between the margins of an A4 page, with letters of 7.5 points and room for what else belongs on the page.
    pub const PAGE: Self = Self { width: 176.0, high: 64.0, text: 2.65, printed: true };
    /// A phone held upright, 390 px wide between its margins: a CSS millimetre is 3.8 px.
    pub const PHONE: Self = Self { width: 92.0, high: 110.0, text: 3.1, printed: false };

    /// The same, and wider where on a screen's width a thumb would not hit the places of a long wall: the phone then
    /// scrolls the drawing sideways.
    pub fn for_phone(wall: &Elevation) -> Self {
        let (across, up) = wall.least_places_mm();
        let (length_mm, height_mm) = (wall.length_mm, wall.high_mm() - wall.foot_mm());
        let fits = View::of(wall, &Self::PHONE, 0.0).scale;
        if !wall.is_to_scale || (across / fits >= PLACE && up / fits >= LOWEST) {
            return Self::PHONE;
        }
        let scale = (across.min(up) / PLACE).max(length_mm / (MOST_SCREENS * Self::PHONE.width)).min(fits);
        let width = length_mm / scale + Self::PHONE.left() + Self::PHONE.right(wall);
        Self { width: width.max(Self::PHONE.width), high: Self::PHONE.high.max(height_mm / scale), ..Self::PHONE }
    }

    /// Its width.
    pub fn width(&self) -> f64 {
        self.width
    }

    /// As wide as lines of text are: a phone shows no more of them at once.
    pub(super) fn column(&self) -> f64 {
        if self.printed { self.width } else { self.width.min(Self::PHONE.width) }
    }

    /// Left of the wall: course names and heights.
    fn left(&self) -> f64 {
        7.4 * self.text
    }

    /// Right of it: sills and heads, and the names of floor lines.
    fn right(&self, wall: &Elevation) -> f64 {
        self.text * if wall.floor_lines_mm.is_empty() { 4.0 } else { 8.8 }
    }
}

/// Where things on the wall come on the sheet.
#[derive(Debug, Clone, Copy)]
pub(super) struct View {
    pub scale: f64,
    /// The edges of the wall on the sheet, the foot at the ground where that was read below it.
    pub left: f64,
    pub right: f64,
    pub top: f64,
    pub foot: f64,
    length_mm: f64,
    low_mm: f64,
    high_mm: f64,
}

impl View {
    /// The wall below a line of the sheet, to the largest usual scale that fits it.
    pub(super) fn of(wall: &Elevation, sheet: &Sheet, top: f64) -> Self {
        let sound = |mm: f64| if mm.is_finite() && mm > 0.0 { mm } else { 1.0 };
        let (low_mm, high_mm) = (wall.foot_mm(), wall.high_mm());
        let (length_mm, height_mm) = (sound(wall.length_mm), sound(high_mm - low_mm));
        let room = sheet.width - sheet.left() - sheet.right(wall);
        let needed = (length_mm / room).max(height_mm / sheet.high);
        let usual = SCALES.into_iter().find(|scale| *scale >= needed).filter(|_| sheet.printed && wall.is_to_scale);
        let scale = usual.unwrap_or(needed);
        let left = sheet.left() + (room - length_mm / scale).max(0.0) / 2.0;
        let (right, foot) = (left + length_mm / scale, top + height_mm / scale);
        Self { scale, left, right, top, foot, length_mm, low_mm, high_mm }
    }

    /// What stands beyond the wall's end is drawn at its end.
    pub(super) fn x(&self, along_mm: f64) -> f64 {
        self.left + along_mm.max(0.0).min(self.length_mm) / self.scale
    }

    /// What reaches above or below the wall is drawn to its edge.
    pub(super) fn y(&self, height_mm: f64) -> f64 {
        self.foot - (height_mm.max(self.low_mm).min(self.high_mm) - self.low_mm) / self.scale
    }
}

/// What found no room on the drawing: it is listed under it, whole.
#[derive(Debug, Default)]
pub(super) struct Missing {
    pub courses: bool,
    pub joints: bool,
    pub openings: bool,
    pub floor_lines: bool,
    pub ground: bool,
    /// By their index.
    pub corners: Vec<usize>,
}

/// A drawing in the making.
pub(super) struct Drawing<'w> {
    pub wall: &'w Elevation,
    pub sheet: &'w Sheet,
    pub view: View,
    pub canvas: Canvas,
    pub labels: Labels,
    pub missing: Missing,
    /// Marks that are nowhere on the wall.
    pub aside: Vec<Mark>,
    /// Where what is drawn so far ends.
    pub end: f64,
}
