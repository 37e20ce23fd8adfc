//! Defects and photos as numbered marks: where they are, where there is room, and else in the legend.

use super::labels::Area;
use super::of_wall::{Form, Mark, Place, Sides};
use super::view::Drawing;
use crate::svg::{Anchor, Canvas, MEDIUM, THICK, THIN, width_of};

/// The size of a mark's letters, on paper and on a phone: capitals of 2.2 mm.
const LETTERS: f64 = 3.1;
/// Half the height of capitals.
const HALF_CAPITAL: f64 = 0.36 * LETTERS;

/// More places than this are not tried for one mark.
const TRIES: usize = 60;

impl Drawing<'_> {
    /// Puts every mark that has a place on the wall there; those that find none are listed in the legend.
    pub(super) fn marks(&mut self) {
        for mark in &self.wall.marks {
            let (half_wide, half_high) = half(mark.form, &mark.label);
            let spots = self.spots(mark.place, half_wide, half_high);
            match spots.into_iter().find(|spot| self.labels.take(Area::round(*spot, half_wide, half_high))) {
                Some(spot) => draw(&mut self.canvas, spot, mark.form, &mark.label),
                None => self.aside.push(mark.clone()),
            }
        }
    }

    /// Where a mark on a place may go, the best first. The wall itself has none: a reader would dig there.
    fn spots(&self, place: Place, half_wide: f64, half_high: f64) -> Vec<(f64, f64)> {
        let (view, wall) = (&self.view, self.wall);
        let (wide, high) = (2.2 * half_wide, 2.2 * half_high);
        let steps = |from: f64, to: f64, by: f64| {
            let number = ((to - from) / by).max(0.0) as usize;
            (0..=number.min(TRIES)).map(move |step| from + by * step as f64)
        };
        match place {
            Place::Wall => Vec::new(),
            Place::Course(course) => {
                let y = (view.y(wall.courses[course].bottom_mm) + view.y(wall.top_of_mm(course))) / 2.0;
                steps(view.left + wide, view.right - wide, wide).map(|x| (x, y)).collect()
            }
            Place::Joint(joint) => {
                let at = wall.joints[joint].at_mm;
                let (foot, top) = wall.span_mm(at);
                let (foot, top) = (view.y(foot) - high, view.y(top) + high);
                let middle = top + (foot - top) * 0.6;
                let along: Vec<f64> = steps(middle, foot, high).chain(steps(top, middle, high)).collect();
                [0.0, wide / 2.0, -wide / 2.0]
                    .iter()
                    .flat_map(|aside| along.iter().map(move |y| (view.x(at) + aside, *y)))
                    .collect()
            }
            Place::Opening(opening) => {
                let Sides { left, right, sill, head } = wall.openings[opening].drawn_mm;
                let (left, right, top, foot) = (view.x(left), view.x(right), view.y(head), view.y(sill));
                let inside = steps(top + half_high * 1.2, foot - half_high * 1.2, high)
                    .flat_map(|y| steps(left + half_wide * 1.2, right - half_wide * 1.2, wide).map(move |x| (x, y)));
                // Too small for it: on its edge, then beside it.
                let beside = [(left, top), (right, top), (left, foot), (right, foot)];
                inside.chain(beside).chain([(left - wide, top), (right + wide, top)]).collect()
            }
            Place::Corner(corner) => {
                let Some(left) = wall.corners[corner].left else { return Vec::new() };
                // Inside: numbers stand beyond the wall's end.
                let x = if left { view.left + half_wide } else { view.right - half_wide };
                steps(view.top + (view.foot - view.top) * 0.4, view.foot - high, high).map(|y| (x, y)).collect()
            }
        }
    }
}

/// Half of what a mark takes, across and up; an empty label takes as much as a short one.
pub(super) fn half(form: Form, label: &str) -> (f64, f64) {
    let letters = width_of(if label.is_empty() { "D1" } else { label }, LETTERS) / 2.0;
    match form {
        // Its sides run to a point outside the letters.
        Form::Conceded => (letters + HALF_CAPITAL + 0.4, HALF_CAPITAL + 0.65),
        Form::Closed => (letters + 0.9, HALF_CAPITAL + 0.65),
        Form::Open | Form::Photo => (letters + 0.65, HALF_CAPITAL + 0.65),
    }
}

/// A mark by its form, told apart in black and white: a black box, one that runs to points, a round one, a plain one.
pub(super) fn draw(canvas: &mut Canvas, (x, y): (f64, f64), form: Form, label: &str) {
    let (wide, high) = half(form, label);
    let (wide, high) = (wide - 0.1, high - 0.1);
    let (from, to) = ((x - wide, y - high), (x + wide, y + high));
    match form {
        Form::Open => canvas.rect(from, to, THICK, "#000"),
        Form::Conceded => {
            let (left, right) = (x - wide + high, x + wide - high);
            let points = [(from.0, y), (left, from.1), (right, from.1), (to.0, y), (right, to.1), (left, to.1)];
            canvas.polygon(points, MEDIUM, "#fff");
        }
        Form::Closed => canvas.rounded(from, to, MEDIUM, "#fff"),
        Form::Photo => canvas.rect(from, to, THIN, "#fff"),
    }
    if !label.is_empty() {
        let ink = if form == Form::Open { "#fff" } else { "#000" };
        canvas.text_in(ink, (x, y + HALF_CAPITAL), LETTERS, Anchor::Middle, label);
    }
}

impl Mark {
    /// The forms in use, each once.
    pub(super) fn forms(marks: &[Self]) -> Vec<Form> {
        let mut forms: Vec<Form> = marks.iter().map(|mark| mark.form).collect();
        forms.sort_unstable();
        forms.dedup();
        forms
    }
}
