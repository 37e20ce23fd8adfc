//! Defects and photos as numbered marks: where they are, where there is room, and else in the legend.

use super::labels::Area;
use super::of_wall::{Form, Mark, Place};
use super::view::Drawing;
use crate::svg::{Anchor, Canvas, MEDIUM, THICK, THIN};

/// More places than this are not tried for one mark.
const TRIES: usize = 60;

impl Drawing<'_> {
    /// Puts every mark that has a place on the wall there; those that find none are listed in the legend.
    pub(super) fn marks(&mut self) {
        for mark in &self.wall.marks {
            let size = self.labels.size;
            let (half_wide, half_high) = half(mark.form, size);
            let spots = self.spots(mark.place, half_wide, half_high);
            match spots.into_iter().find(|spot| self.labels.take(Area::round(*spot, half_wide, half_high))) {
                Some(spot) => draw(&mut self.canvas, spot, size, mark.form, Some(&mark.label)),
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
                let [from, to, sill, head] = wall.openings[opening].drawn_mm;
                let (left, right, top, foot) = (view.x(from), view.x(to), view.y(head), view.y(sill));
                let inside = steps(top + half_high * 1.2, foot - half_high * 1.2, high)
                    .flat_map(|y| steps(left + half_wide * 1.2, right - half_wide * 1.2, wide).map(move |x| (x, y)));
                // Too small for it: on its edge, then beside it.
                let beside = [(left, top), (right, top), (left, foot), (right, foot)];
                inside.chain(beside).chain([(left - wide, top), (right + wide, top)]).collect()
            }
            Place::Corner(corner) => {
                let Some(left) = wall.corners[corner].left else { return Vec::new() };
                let x = if left { view.left } else { view.right };
                steps(view.top + (view.foot - view.top) * 0.4, view.foot - high, high).map(|y| (x, y)).collect()
            }
        }
    }
}

/// Half of what a mark takes, across and up.
pub(super) fn half(form: Form, size: f64) -> (f64, f64) {
    match form {
        Form::Conceded => (0.9 * size, 0.9 * size),
        Form::Open | Form::Closed => (0.8 * size, 0.8 * size),
        Form::Photo => (0.95 * size, 0.6 * size),
    }
}

/// A mark by its form, told apart in black and white: a black square, a diamond, a ring, a frame.
pub(super) fn draw(canvas: &mut Canvas, (x, y): (f64, f64), size: f64, form: Form, label: Option<&str>) {
    let (wide, high) = half(form, size);
    let (wide, high) = (wide * 0.94, high * 0.94);
    match form {
        Form::Open => canvas.rect((x - wide, y - high), (x + wide, y + high), THICK, "#000"),
        Form::Conceded => {
            canvas.polygon([(x - wide, y), (x, y - high), (x + wide, y), (x, y + high)], MEDIUM, "#fff");
        }
        Form::Closed => canvas.circle((x, y), high, MEDIUM, "#fff"),
        Form::Photo => canvas.rect((x - wide, y - high), (x + wide, y + high), THIN, "#fff"),
    }
    let Some(label) = label else { return };
    // A diamond is narrow where its letters stand.
    let letters = size
        * match (form, label.len()) {
            (_, 3..) => 0.55,
            (Form::Conceded, _) => 0.65,
            _ => 0.8,
        };
    let ink = if form == Form::Open { "#fff" } else { "#000" };
    canvas.text_in(ink, (x, y + 0.36 * letters), letters, Anchor::Middle, label);
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
