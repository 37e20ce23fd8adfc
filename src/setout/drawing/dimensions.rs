//! Dimension chains: heights at both sides of a wall, lengths below it.

use super::view::Drawing;
use crate::svg::{Anchor, MEDIUM, THIN, width_of};
use crate::units::number::show_mm;

/// What some places of a wall are called under it.
const ROWS: [&str; 3] = ["columns", "joints", "edges"];

impl Drawing<'_> {
    /// The lines of the courses and the top at the left; sills, heads and the points of the outline at the right.
    pub(super) fn heights(&mut self) {
        let (wall, size) = (self.wall, self.labels.size);
        let known = wall.courses.iter().filter(|course| !course.is_spread).map(|course| course.bottom_mm);
        let top = wall.is_to_scale.then(|| wall.high_mm());
        let edge = self.view.left;
        // The top always gets its number; a course gives way to it.
        for height in top.into_iter().chain(known) {
            let y = self.view.y(height);
            self.canvas.line((edge - size, y), (edge - 0.3 * size, y), THIN);
            let at = (edge - 1.2 * size, y + 0.26 * size);
            self.missing.courses |= !self.labels.write(&mut self.canvas, at, Anchor::End, &show_mm(height));
        }
        let edge = self.view.right;
        let edges = wall.openings.iter().flat_map(|opening| [opening.given_mm[2], opening.given_mm[3]]).flatten();
        let bent = [&wall.top, &wall.base].into_iter().filter(|line| wall.is_to_scale && line.len() > 2);
        let outline = bent.flatten().map(|[_, up]| *up);
        for height in in_order(edges.chain(outline)) {
            let y = self.view.y(height);
            self.canvas.line((edge + 0.3 * size, y), (edge + size, y), THIN);
            let at = (edge + 1.2 * size, y + 0.26 * size);
            self.missing.openings |= !self.labels.write(&mut self.canvas, at, Anchor::Start, &show_mm(height));
        }
    }

    /// The length of each column; running from the left end the centre of each joint and the wall's end; then the sides
    /// of openings, steps and ridges.
    pub(super) fn lengths(&mut self) {
        let (wall, size, view) = (self.wall, self.labels.size, self.view);
        let mut row = view.foot + 2.4 * size;
        if !wall.columns.is_empty() {
            self.canvas.line((view.left, row + 0.4 * size), (view.right, row + 0.4 * size), THIN);
            for column in &wall.columns {
                let (left, right) = (view.x(column.from_mm), view.x(column.to_mm));
                for end in [left, right] {
                    self.canvas.line((end, row - 0.4 * size), (end, row + 0.8 * size), THIN);
                }
                let text = show_mm(column.to_mm - column.from_mm);
                let at = ((left + right) / 2.0, row);
                self.missing.joints |= width_of(&text, size) > right - left
                    || !self.labels.write(&mut self.canvas, at, Anchor::Middle, &text);
            }
            self.row_name(row, ROWS[0]);
            row += 2.2 * size;
        }
        let joints = wall.joints.iter().filter(|joint| !joint.is_spread).map(|joint| joint.at_mm);
        let end = wall.is_to_scale.then_some(wall.length_mm);
        if wall.is_to_scale {
            self.missing.joints |= !self.running(row, end.into_iter().chain(joints).collect());
            self.row_name(row, ROWS[1]);
            row += 1.9 * size;
        }
        let sides = wall.openings.iter().flat_map(|opening| [opening.given_mm[0], opening.given_mm[1]]).flatten();
        let bends = wall.top.iter().chain(&wall.base).map(|[along, _]| *along);
        let bends = bends.filter(|along| wall.is_to_scale && *along > 0.0 && *along < wall.length_mm);
        let edges = in_order(sides.chain(bends));
        if !edges.is_empty() {
            self.missing.openings |= !self.running(row, edges);
            self.row_name(row, ROWS[2]);
            row += 1.9 * size;
        }
        self.end = row - 1.2 * size;
    }

    /// One row of running dimensions, what does not fit it beneath; whether all of them found room.
    fn running(&mut self, row: f64, places_mm: Vec<f64>) -> bool {
        let size = self.labels.size;
        let mut all = true;
        for place in places_mm {
            let x = self.view.x(place);
            self.canvas.line((x, row - 1.3 * size), (x, row - 0.8 * size), MEDIUM);
            all &= self.labels.write(&mut self.canvas, (x, row + 0.1 * size), Anchor::Middle, &show_mm(place));
        }
        all
    }

    /// A row without its name is still read by its numbers.
    fn row_name(&mut self, row: f64, name: &str) {
        let at = (self.view.left - 2.2 * self.labels.size, row + 0.1 * self.labels.size);
        self.labels.write(&mut self.canvas, at, Anchor::End, name);
    }
}

/// Numbers in order, each once.
fn in_order(numbers: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut numbers: Vec<f64> = numbers.collect();
    numbers.sort_by(f64::total_cmp);
    numbers.dedup();
    numbers
}
