//! Dimension chains: heights at both sides of a wall, lengths below it.

use super::labels::Area;
use super::of_wall::floor_line;
use super::view::Drawing;
use crate::svg::{Anchor, MEDIUM, THIN, width_of};
use crate::units::number::show_mm;

impl Drawing<'_> {
    /// The lines of the courses and the top at the left; floor lines, sills, heads and the points of the outline at the
    /// right.
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
        for floor in &wall.floor_lines_mm {
            self.missing.floor_lines |= !self.height_at_the_right(*floor, &floor_line(*floor));
        }
        let edges = wall.openings.iter().flat_map(|opening| [opening.given_mm.sill, opening.given_mm.head]).flatten();
        let bent = [&wall.top, &wall.base].into_iter().filter(|line| wall.is_to_scale && line.len() > 2);
        let outline = bent.flatten().map(|[_, up]| *up);
        for height in in_order(edges.chain(outline)) {
            self.missing.openings |= !self.height_at_the_right(height, &show_mm(height));
        }
    }

    fn height_at_the_right(&mut self, height_mm: f64, text: &str) -> bool {
        let (edge, y, size) = (self.view.right, self.view.y(height_mm), self.labels.size);
        self.canvas.line((edge + 0.3 * size, y), (edge + size, y), THIN);
        self.labels.write(&mut self.canvas, (edge + 1.2 * size, y + 0.26 * size), Anchor::Start, text)
    }

    /// The levels of the ground; the length of each column; running from the left end the centre of each joint and the
    /// wall's end; then the sides of openings, steps and ridges.
    pub(super) fn lengths(&mut self) {
        let (wall, size, view) = (self.wall, self.labels.size, self.view);
        let mut row = view.foot + 2.4 * size;
        let levels: Vec<_> = wall.ground.iter().map(|it| (it.at_mm, show_mm(it.up_mm))).collect();
        self.missing.ground |= !self.row(&mut row, "ground", &levels);
        let paved = wall.ground.iter().filter_map(|it| Some((it.at_mm, it.paved_in_words()?.to_owned())));
        self.missing.ground |= !self.row(&mut row, "", &paved.collect::<Vec<_>>());
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
            self.row_name(row, "columns");
            row += 2.2 * size;
        }
        let running = |place_mm: f64| (place_mm, show_mm(place_mm));
        if wall.is_to_scale {
            // The wall's end always gets its number; a joint gives way to it.
            let joints = wall.joints.iter().filter(|joint| !joint.is_spread).map(|joint| joint.at_mm);
            let joints: Vec<_> = std::iter::once(wall.length_mm).chain(joints).map(running).collect();
            self.missing.joints |= !self.row(&mut row, "joints", &joints);
        }
        let sides = wall.openings.iter().flat_map(|opening| [opening.given_mm.left, opening.given_mm.right]).flatten();
        let bends = wall.top.iter().chain(&wall.base).map(|[along, _]| *along);
        let bends = bends.filter(|along| wall.is_to_scale && *along > 0.0 && *along < wall.length_mm);
        let edges: Vec<_> = in_order(sides.chain(bends)).into_iter().map(running).collect();
        self.missing.openings |= !self.row(&mut row, "edges", &edges);
        self.end = row - 1.2 * size;
    }

    /// A row of figures or words, each under its place; what does not fit beside the others stands a line lower, under a
    /// longer tick. Moves on to the next row; whether all of them found room.
    fn row(&mut self, row: &mut f64, name: &str, figures: &[(f64, String)]) -> bool {
        if figures.is_empty() {
            return true;
        }
        let size = self.labels.size;
        let (line, lower) = (*row + 0.1 * size, *row + 1.2 * size);
        let mut end = *row;
        let mut all = true;
        for (place_mm, text) in figures {
            let x = self.view.x(*place_mm);
            self.canvas.line((x, *row - 1.3 * size), (x, *row - 0.8 * size), MEDIUM);
            if self.labels.write(&mut self.canvas, (x, line), Anchor::Middle, text) {
                continue;
            }
            let (from, to) = (*row - 0.8 * size, lower - 0.8 * size);
            let leader = Area::leader((x, from), to);
            let stands_lower = self.labels.is_free(&leader)
                && self.labels.write(&mut self.canvas, (x, lower), Anchor::Middle, text)
                && self.labels.take(leader);
            if stands_lower {
                self.canvas.line((x, from), (x, to), THIN);
                end = *row + 1.1 * size;
            }
            all &= stands_lower;
        }
        self.row_name(*row, name);
        *row = end + 1.9 * size;
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
