//! One wall as it was built, for paper and for a phone: what goes where, what it is made of, what was wrong with it.

use super::labels::{LINE, Labels, wrapped};
use super::of_wall::{Corner, Elevation, Place, Sides};
use super::view::{Drawing, Missing, Sheet, View};
use crate::svg::{Anchor, CHAINED, Canvas, DASHED, HIDDEN, MEDIUM, THICK, THIN, width_of};
use crate::units::number::{show, show_mm};

/// Half the width of a joint's link, of the size of letters: a finger is no pencil.
const FINGER: f64 = 2.0;

/// The elevation as SVG, to the largest usual scale that fits the sheet.
///
/// Below the wall: the ground where it was read, the length of each column, then running dimensions from the left end.
/// Left of it: each course by its name, and the heights of its line above the datum; right of it floor lines, sills and
/// heads. Letters behind names are keys to the legend beneath. No text lies
/// over another: what finds no room is listed beneath. What is not a number is drawn at 0.
pub fn elevation(wall: &Elevation, sheet: &Sheet) -> String {
    drawn(wall, sheet, None)
}

/// The same with a link on each course, joint and opening: `link` gives where it leads, by the id of the subject.
pub fn elevation_with_links(wall: &Elevation, sheet: &Sheet, link: &dyn Fn(&str) -> String) -> String {
    drawn(wall, sheet, Some(link))
}

fn drawn(wall: &Elevation, sheet: &Sheet, link: Option<&dyn Fn(&str) -> String>) -> String {
    let size = sheet.text;
    let mut canvas = Canvas::new(sheet.width(), 0.0);
    // Two rows of names between the title and the wall: corners, joints.
    let probe = View::of(wall, sheet, 0.0);
    let title = wrapped(&title(wall, sheet, &probe), sheet.column() - 2.0, sheet.column() - 2.0, size);
    let top = (1..).zip(&title).fold(0.0, |_, (line, text)| {
        let y = LINE * size * f64::from(line);
        canvas.text((1.0, y), size, Anchor::Start, text);
        y
    });
    let view = View::of(wall, sheet, top + 4.6 * size);
    let labels = Labels::new(sheet.width(), size);
    let mut drawing =
        Drawing { wall, sheet, view, canvas, labels, missing: Missing::default(), aside: Vec::new(), end: view.foot };
    drawing.face();
    drawing.names();
    drawing.heights();
    drawing.lengths();
    drawing.marks();
    drawing.packing();
    drawing.legend();
    if let Some(link) = link {
        drawing.links(link);
    }
    let Drawing { mut canvas, end, .. } = drawing;
    canvas.set_height(end);
    canvas.finish_described(&wall.title(), &wall.described())
}

fn title(wall: &Elevation, sheet: &Sheet, view: &View) -> String {
    let scale = match (wall.is_to_scale, sheet.printed) {
        (true, true) => format!(" Scale 1:{} when printed on A4.", show(view.scale.round())),
        (true, false) => String::new(),
        (false, _) => " Not to scale: the record does not give its length and height.".to_owned(),
    };
    format!("{}.{scale} Millimetres: along from the left end, up from the datum.", wall.title())
}

impl Drawing<'_> {
    /// Pieces, floor lines, joints, the outline, openings, the ground.
    fn face(&mut self) {
        let Self { wall, view, canvas, .. } = self;
        for face in &wall.faces {
            canvas.polygon(face.iter().map(|[along, up]| (view.x(*along), view.y(*up))), THIN, "");
        }
        // Where the pieces are not worked out: plain courses.
        if wall.faces.is_empty() {
            for course in wall.courses.iter().skip(1) {
                let y = view.y(course.bottom_mm);
                canvas.line((view.left, y), (view.right, y), THIN);
            }
        }
        for stud in &wall.add_studs_mm {
            let (foot, top) = wall.span_mm(*stud);
            canvas.line((view.x(*stud), view.y(top)), (view.x(*stud), view.y(foot)), DASHED);
        }
        let line = |points: &[[f64; 2]]| -> Vec<(f64, f64)> {
            points.iter().map(|[along, up]| (view.x(*along), view.y(*up))).collect()
        };
        let (top, base) = (line(&wall.top), line(&wall.base));
        // Nothing of plain courses is left over a raked top and under a stepped base.
        if wall.faces.is_empty() {
            for (line, edge) in [(&top, view.top), (&base, view.foot)] {
                let ends = |x: f64| std::iter::once((x, edge));
                canvas.polygon(ends(view.left).chain(line.iter().copied()).chain(ends(view.right)), HIDDEN, "#fff");
            }
        }
        for floor in &wall.floor_lines_mm {
            canvas.line((view.left, view.y(*floor)), (view.right, view.y(*floor)), CHAINED);
        }
        for joint in &wall.joints {
            let (foot, top) = wall.span_mm(joint.at_mm);
            canvas.line((view.x(joint.at_mm), view.y(foot)), (view.x(joint.at_mm), view.y(top)), THICK);
        }
        canvas.polygon(base.into_iter().chain(top.into_iter().rev()), MEDIUM, "");
        for opening in &wall.openings {
            let Sides { left, right, sill, head } = opening.drawn_mm;
            canvas.rect((view.x(left), view.y(head)), (view.x(right), view.y(sill)), THICK, "#fff");
        }
        let ground: Vec<(f64, f64)> = wall.ground.iter().map(|it| (view.x(it.at_mm), view.y(it.up_mm))).collect();
        for pair in ground.windows(2) {
            canvas.line(pair[0], pair[1], MEDIUM);
        }
        // Beyond the readings it is only carried on.
        for (end, read) in [(view.left, ground.first()), (view.right, ground.last())] {
            if let Some(&(x, y)) = read.filter(|(x, _)| *x != end) {
                canvas.line((x, y), (end, y), DASHED);
            }
        }
        for pack in &wall.packs {
            canvas.circle((view.x(pack.stud_mm), view.y(pack.height_mm)), 0.4, THIN, "#000");
        }
    }

    /// The names of corners, joints, courses and openings, each with its letters.
    fn names(&mut self) {
        let (wall, view, size) = (self.wall, self.view, self.labels.size);
        let upper = view.top - 2.4 * size;
        for (place, corner) in wall.corners.iter().enumerate() {
            let (x, anchor) = match corner.left {
                Some(true) => (view.left, Anchor::Start),
                Some(false) => (view.right, Anchor::End),
                None => {
                    self.missing.corners.push(place);
                    continue;
                }
            };
            // A narrow wall has no room between its ends: the name then stands outside.
            let outside = if anchor == Anchor::Start { (x - size, Anchor::End) } else { (x + size, Anchor::Start) };
            let label = corner.label();
            let written = [(x, anchor), outside]
                .into_iter()
                .any(|(x, anchor)| self.labels.write(&mut self.canvas, (x, upper), anchor, &label));
            if !written {
                self.missing.corners.push(place);
            }
        }
        for (number, joint) in (1..).zip(&wall.joints) {
            let x = view.x(joint.at_mm);
            let top = view.y(wall.span_mm(joint.at_mm).1);
            let written = self.name((x, view.top - 0.9 * size), Anchor::Middle, &format!("J{number}"), &joint.keys);
            self.missing.joints |= !written;
            // Under a raked top a thin line leads from the name to the joint.
            if written && top > view.top + 0.1 {
                self.canvas.line((x, view.top - 0.5 * size), (x, top), THIN);
            }
        }
        for (course, it) in wall.courses.iter().enumerate() {
            let middle = (view.y(it.bottom_mm) + view.y(wall.top_of_mm(course))) / 2.0;
            let at = (view.left - 4.0 * size, middle + 0.26 * size);
            self.missing.courses |= !self.name(at, Anchor::End, &format!("C{}", course + 1), &it.keys);
        }
        for opening in &wall.openings {
            let Sides { left, right, sill, head } = opening.drawn_mm;
            let (left, right, top, foot) = (view.x(left), view.x(right), view.y(head), view.y(sill));
            let (middle, across) = ((left + right) / 2.0, right - left);
            let dry = if opening.dry { " dry" } else { "" };
            let y = (top + foot) / 2.0 + 0.26 * size;
            // Its letters are left to the list, where only its name has room.
            let mut names = [named(&opening.key, &opening.keys) + dry, opening.key.clone()].into_iter();
            let mut fits = |name: &String| {
                width_of(name, size) < across
                    && foot - top > size
                    && self.labels.write(&mut self.canvas, (middle, y), Anchor::Middle, name)
            };
            let written = names.position(|name| fits(&name)) == Some(0);
            self.missing.openings |= !written;
        }
    }

    fn name(&mut self, at: (f64, f64), anchor: Anchor, name: &str, keys: &str) -> bool {
        self.labels.write(&mut self.canvas, at, anchor, &named(name, keys))
    }

    /// A dot without its number still shows that there is packing.
    fn packing(&mut self) {
        for pack in &self.wall.packs {
            let at = (self.view.x(pack.stud_mm) + 0.7, self.view.y(pack.height_mm) - 0.4);
            self.labels.write(&mut self.canvas, at, Anchor::Start, &show_mm(pack.pack_mm));
        }
    }

    fn links(&mut self, link: &dyn Fn(&str) -> String) {
        let Self { wall, view, canvas, .. } = self;
        // What stands above what is pressed: an opening is, also where a joint runs into it.
        let mut places: Vec<Place> = wall.parts().collect();
        places.sort_by_key(|place| matches!(place, Place::Opening(_)));
        for place in places {
            let id = format!("{}/{}", wall.key, wall.name_of(place));
            let (a, b) = match place {
                Place::Course(course) => {
                    let (foot, top) = (view.y(wall.courses[course].bottom_mm), view.y(wall.top_of_mm(course)));
                    ((0.0, top), (view.right, foot))
                }
                Place::Opening(opening) => {
                    let Sides { left, right, sill, head } = wall.openings[opening].drawn_mm;
                    ((view.x(left), view.y(head)), (view.x(right), view.y(sill)))
                }
                Place::Joint(joint) => {
                    let (x, half) = (view.x(wall.joints[joint].at_mm), FINGER * self.labels.size);
                    ((x - half, view.top - 2.0 * self.labels.size), (x + half, view.foot))
                }
                Place::Wall | Place::Corner(_) => continue,
            };
            canvas.link(&link(&id), &id, a, b);
        }
    }
}

/// A name with its letters.
fn named(name: &str, keys: &str) -> String {
    if keys.is_empty() { name.to_owned() } else { format!("{name} {keys}") }
}

impl Corner {
    /// Its name, what it is made of, its letters.
    pub(super) fn label(&self) -> String {
        let dry = if self.dry { ", dry" } else { "" };
        named(&format!("{} {}{dry}", self.key, self.kind), &self.keys)
    }
}
