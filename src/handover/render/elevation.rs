//! A wall seen from outside, as an SVG drawing in one colour: outline, courses, joints, openings, defects.

use std::collections::BTreeMap;
use std::fmt::Write;

use crate::building::{Opening, OpeningKind, Wall};
use crate::plain::count;

/// Width of the drawing in its own units, and the room round the wall for labels.
const WIDTH: f64 = 1000.0;

const LEFT: f64 = 64.0;

const RIGHT: f64 = 24.0;

const TOP: f64 = 34.0;

const FOOT: f64 = 62.0;

/// A defect to be marked on a wall.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DefectMark {
    /// Its number in the pack.
    pub number: usize,
    /// Id of the subject, such as `N/J2`.
    pub subject: String,
    /// Still open: drawn filled.
    pub open: bool,
}

/// The drawing of a wall: dark lines on nothing, legible in one colour.
///
/// `bottoms_mm` are those of the courses by the storey rod, over the datum. What the job gives no numbers for is spread
/// evenly, and the drawing says so. An open defect is a filled disc, one that was put right or conceded a ring; both
/// carry their number.
pub fn elevation(wall: &Wall, bottoms_mm: Option<&[f64]>, marks: &[DefectMark]) -> String {
    elevation_with(wall, bottoms_mm, marks, |_, _| {})
}

/// The same with a link on each course, joint and opening: `link` gives where it leads, by the id of the subject. The
/// links can't be reached by keyboard: they stand for a list beside the drawing.
pub fn elevation_with_links(
    wall: &Wall,
    bottoms_mm: Option<&[f64]>,
    marks: &[DefectMark],
    link: &dyn Fn(&str) -> String,
) -> String {
    elevation_with(wall, bottoms_mm, marks, |places, svg| {
        for (id, [x, y, wide, high]) in places {
            let _ = writeln!(
                svg,
                "<a href=\"{}\" tabindex=\"-1\"><title>{}</title><rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" \
                 fill=\"#ffffff\" fill-opacity=\"0\"/></a>",
                escaped(&link(&id)),
                escaped(&id),
                n(x),
                n(y),
                n(wide),
                n(high)
            );
        }
    })
}

/// The places of a wall by their ids, each with its left, its top, its width and its height on the drawing.
type Places = Vec<(String, [f64; 4])>;

fn elevation_with(
    wall: &Wall,
    bottoms_mm: Option<&[f64]>,
    marks: &[DefectMark],
    over: impl FnOnce(Places, &mut String),
) -> String {
    let bottoms = bottoms_mm.filter(|bottoms| bottoms.len() == wall.courses as usize && bottoms.is_sorted());
    let frame = Frame::of(wall);
    let mut svg = String::new();
    let (width, height) = (WIDTH, frame.foot + FOOT);
    // Writing into a String can't fail.
    let _ = write!(
        svg,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {} {}\" role=\"img\" font-family=\"sans-serif\" \
         font-size=\"20\" fill=\"#1a1a1a\" stroke=\"none\">\n<title>{}</title>\n",
        n(width),
        n(height),
        escaped(&described(wall, marks))
    );
    frame.draw_courses(wall, bottoms, &mut svg);
    frame.draw_joints(wall, &mut svg);
    for (place, opening) in wall.openings.iter().enumerate() {
        frame.draw_opening(opening, place, wall.openings.len(), &mut svg);
    }
    frame.draw_outline(wall, &mut svg);
    frame.draw_sizes(wall, bottoms.is_some(), &mut svg);
    frame.draw_marks(wall, bottoms, marks, &mut svg);
    over(frame.places(wall, bottoms), &mut svg);
    svg.push_str("</svg>\n");
    svg
}

/// What the drawing shows, for those who can't see it.
pub fn described(wall: &Wall, marks: &[DefectMark]) -> String {
    let numbers: Vec<String> = marks.iter().map(|mark| mark.number.to_string()).collect();
    let defects = match numbers.len() {
        0 => "no defects".to_owned(),
        1 => format!("defect {}", numbers[0]),
        _ => format!("defects {}", numbers.join(", ")),
    };
    format!(
        "Elevation of wall {} from outside: {}, {}, {}; {defects}",
        wall.key,
        count(wall.courses as usize, "course"),
        count(wall.joints.len(), "joint"),
        count(wall.openings.len(), "opening")
    )
}

/// Where the wall lies on the drawing.
struct Frame {
    left: f64,
    right: f64,
    top: f64,
    foot: f64,
    /// Millimetres of the wall across and up.
    length: f64,
    height: f64,
    /// The numbers are the job's own, not assumed.
    to_scale: bool,
}

impl Frame {
    fn of(wall: &Wall) -> Self {
        let to_scale = wall.length_mm.is_some() && wall.height_mm.is_some();
        let height = wall.height_mm.unwrap_or(2700.0);
        let length = wall.length_mm.unwrap_or(height * 2.0);
        let across = WIDTH - LEFT - RIGHT;
        // A long low wall is still tall enough to read; a tall narrow one stays on the page.
        let up = (across * height / length).clamp(140.0, 620.0);
        let wide = (up * length / height).min(across);
        Self { left: LEFT, right: LEFT + wide.max(140.0), top: TOP, foot: TOP + up, length, height, to_scale }
    }

    fn x(&self, mm: f64) -> f64 {
        self.left + (self.right - self.left) * (mm / self.length).clamp(0.0, 1.0)
    }

    fn y(&self, mm: f64) -> f64 {
        self.foot - (self.foot - self.top) * (mm / self.height).clamp(0.0, 1.0)
    }

    fn joint_mm(&self, wall: &Wall, index: usize) -> f64 {
        let spread = self.length * (index + 1) as f64 / (wall.joints.len() + 1) as f64;
        wall.joints.get(index).and_then(|joint| joint.at_mm).unwrap_or(spread)
    }

    /// Left, right, sill and head of an opening; spread along the wall where the job gives none.
    fn opening_mm(&self, opening: &Opening, place: usize, of: usize) -> (f64, f64, f64, f64) {
        let share = self.length / of.max(1) as f64;
        let from = opening.from_mm.unwrap_or(share * (place as f64 + 0.35));
        let to = opening.to_mm.unwrap_or(from + share * 0.3);
        let door = opening.kind == OpeningKind::Door;
        let sill = opening.sill_mm.unwrap_or(if door { 0.0 } else { self.height * 0.35 });
        let head = opening.head_mm.unwrap_or(self.height * 0.75);
        (from, to, sill, head)
    }

    /// The bottom and the top of a course on the drawing, counted from zero.
    fn course(&self, wall: &Wall, bottoms: Option<&[f64]>, course: usize) -> (f64, f64) {
        let room = (self.foot - self.top) / f64::from(wall.courses.max(1));
        match bottoms.and_then(|bottoms| Some((*bottoms.get(course)?, bottoms.get(course + 1)))) {
            Some((bottom, above)) => (self.y(bottom), above.map_or(self.top, |above| self.y(*above))),
            None => (self.foot - room * course as f64, self.foot - room * (course + 1) as f64),
        }
    }

    /// What lies over something else comes after it.
    fn places(&self, wall: &Wall, bottoms: Option<&[f64]>) -> Places {
        /// Half the width of a joint's place: a finger is no pencil.
        const HALF: f64 = 22.0;
        let wide = self.right - self.left;
        let mut places = Places::new();
        for course in 0..wall.courses.min(400) {
            let (bottom, top) = self.course(wall, bottoms, course as usize);
            places.push((format!("{}/C{}", wall.key, course + 1), [0.0, top, self.right, (bottom - top).max(0.0)]));
        }
        for (place, opening) in wall.openings.iter().enumerate() {
            let (from, to, sill, head) = self.opening_mm(opening, place, wall.openings.len());
            let (x, y) = (self.x(from), self.y(head));
            let size = [x, y, (self.x(to) - x).max(4.0), (self.y(sill) - y).max(4.0)];
            places.push((format!("{}/{}", wall.key, opening.key), size));
        }
        for joint in 0..wall.joints.len().min(400) {
            let x = self.x(self.joint_mm(wall, joint)) - HALF;
            let half = (2.0 * HALF).min(wide);
            places.push((format!("{}/J{}", wall.key, joint + 1), [x, 0.0, half, self.foot]));
        }
        places
    }

    fn draw_courses(&self, wall: &Wall, bottoms: Option<&[f64]>, svg: &mut String) {
        let courses = wall.courses.min(400);
        // More labels than fit are thinned out.
        let room = (self.foot - self.top) / f64::from(courses.max(1));
        let every = ((22.0 / room).ceil() as u32).max(1);
        for course in 1..=courses {
            let (bottom, line) = self.course(wall, bottoms, course as usize - 1);
            if course < courses {
                let _ = writeln!(
                    svg,
                    "<path d=\"M{} {}H{}\" stroke=\"#8a8a8a\" stroke-width=\"1\"/>",
                    n(self.left),
                    n(line),
                    n(self.right)
                );
            }
            if course == 1 || course == courses || (course % every == 0 && courses - course >= every) {
                text(svg, self.left - 8.0, (bottom + line) / 2.0 + 7.0, "end", &format!("C{course}"));
            }
        }
    }

    /// The outline, and nothing of the courses and joints beyond it: over a raked top and under a stepped base.
    fn draw_outline(&self, wall: &Wall, svg: &mut String) {
        let on_paper = |line: &[[f64; 2]], level: f64| -> Vec<(f64, f64)> {
            let level = [[0.0, level], [self.length, level]];
            let line = if line.is_empty() { &level[..] } else { line };
            line.iter().map(|[along, up]| (self.x(*along), self.y(*up))).collect()
        };
        let (top, base) = (on_paper(&wall.top, self.height), on_paper(&wall.base, 0.0));
        for (line, edge, given) in [(&top, self.top, &wall.top), (&base, self.foot, &wall.base)] {
            if !given.is_empty() {
                let beyond = [(self.left, edge)].into_iter().chain(line.iter().copied()).chain([(self.right, edge)]);
                let _ = writeln!(svg, "<path d=\"{}\" fill=\"#ffffff\"/>", polygon(beyond));
            }
        }
        let outline = polygon(base.into_iter().chain(top.into_iter().rev()));
        let _ = writeln!(svg, "<path d=\"{outline}\" fill=\"none\" stroke=\"#1a1a1a\" stroke-width=\"3\"/>");
    }

    fn draw_joints(&self, wall: &Wall, svg: &mut String) {
        let mut last = f64::MIN;
        for index in 0..wall.joints.len().min(400) {
            let x = self.x(self.joint_mm(wall, index));
            let _ = writeln!(
                svg,
                "<path d=\"M{} {}V{}\" stroke=\"#1a1a1a\" stroke-width=\"2.5\" stroke-dasharray=\"10 5\"/>",
                n(x),
                n(self.top),
                n(self.foot)
            );
            if x - last > 38.0 {
                text(svg, x, self.top - 10.0, "middle", &format!("J{}", index + 1));
                last = x;
            }
        }
    }

    fn draw_opening(&self, opening: &Opening, place: usize, of: usize, svg: &mut String) {
        let (from, to, sill, head) = self.opening_mm(opening, place, of);
        let (x, y) = (self.x(from), self.y(head));
        let (wide, high) = ((self.x(to) - x).max(4.0), (self.y(sill) - y).max(4.0));
        let _ = writeln!(
            svg,
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"#ffffff\" stroke=\"#1a1a1a\" stroke-width=\"2.5\"/>",
            n(x),
            n(y),
            n(wide),
            n(high)
        );
        text(svg, x + wide / 2.0, y + high / 2.0 + 7.0, "middle", &opening.key);
    }

    fn draw_sizes(&self, wall: &Wall, by_the_rod: bool, svg: &mut String) {
        let said = match (wall.length_mm, wall.height_mm) {
            (Some(length), Some(height)) => {
                format!(
                    "{} mm long, {} mm high",
                    crate::units::number::show(length),
                    crate::units::number::show(height)
                )
            }
            _ => String::new(),
        };
        let spread = wall.joints.iter().any(|joint| joint.at_mm.is_none())
            || wall.openings.iter().any(|o| [o.from_mm, o.to_mm, o.sill_mm, o.head_mm].iter().any(Option::is_none));
        let scale = if !self.to_scale || spread { "Not to scale" } else { "" };
        let evenly = if by_the_rod || wall.courses < 2 { "" } else { "Course heights not recorded, drawn evenly" };
        let joined: Vec<&str> = [said.as_str(), scale, evenly].into_iter().filter(|part| !part.is_empty()).collect();
        text(svg, self.left, self.foot + 28.0, "start", &format!("Seen from outside. {}", joined.join(". ")));
        text(
            svg,
            self.left,
            self.foot + 54.0,
            "start",
            "Broken line: movement joint. Disc: open defect. Ring: defect put right or conceded.",
        );
    }

    fn draw_marks(&self, wall: &Wall, bottoms: Option<&[f64]>, marks: &[DefectMark], svg: &mut String) {
        let mut taken: BTreeMap<&str, usize> = BTreeMap::new();
        for mark in marks.iter().take(400) {
            let place = taken.entry(mark.subject.as_str()).or_default();
            let (x, y) = self.spot(wall, bottoms, &mark.subject, *place);
            *place += 1;
            let (disc, ink) = if mark.open { ("#1a1a1a", "#ffffff") } else { ("#ffffff", "#1a1a1a") };
            let _ = writeln!(
                svg,
                "<circle cx=\"{}\" cy=\"{}\" r=\"17\" fill=\"{disc}\" stroke=\"#1a1a1a\" stroke-width=\"3\"/>",
                n(x),
                n(y)
            );
            let size = if mark.number > 99 { 15 } else { 20 };
            let _ = writeln!(
                svg,
                "<text x=\"{}\" y=\"{}\" text-anchor=\"middle\" font-size=\"{size}\" font-weight=\"bold\" fill=\"{ink}\">{}</text>",
                n(x),
                n(y + 7.0),
                mark.number
            );
        }
    }

    /// Where the n-th mark on a subject goes: along it, and always on the wall.
    fn spot(&self, wall: &Wall, bottoms: Option<&[f64]>, subject: &str, place: usize) -> (f64, f64) {
        let step = 38.0 * place as f64;
        let within = |x: f64, y: f64| {
            let inside = |at: f64, low: f64, high: f64| at.max(low + 20.0).min((high - 20.0).max(low + 20.0));
            (inside(x, self.left, self.right), inside(y, self.top, self.foot))
        };
        let detail = subject.split_once('/').map_or("", |(_, detail)| detail);
        let number = |letter: char| detail.strip_prefix(letter).and_then(|rest| rest.parse::<usize>().ok());
        if let Some((place_of, opening)) = wall.openings.iter().enumerate().find(|(_, one)| one.key == detail) {
            let (from, _, _, head) = self.opening_mm(opening, place_of, wall.openings.len());
            within(self.x(from) + step, self.y(head))
        } else if let Some(joint) = number('J').and_then(|number| number.checked_sub(1)) {
            within(self.x(self.joint_mm(wall, joint)), self.foot - (self.foot - self.top) * 0.42 + step)
        } else if let Some(course) = number('C').and_then(|number| number.checked_sub(1)) {
            let (bottom, top) = self.course(wall, bottoms, course);
            within(self.left + 30.0 + step, (bottom + top) / 2.0)
        } else {
            within(self.right - 30.0 - step, self.foot - 26.0)
        }
    }
}

fn text(svg: &mut String, x: f64, y: f64, anchor: &str, said: &str) {
    let _ =
        writeln!(svg, "<text x=\"{}\" y=\"{}\" text-anchor=\"{anchor}\">{}</text>", n(x), n(y), escaped(said.trim()));
}

/// A closed path through corners.
fn polygon(corners: impl Iterator<Item = (f64, f64)>) -> String {
    let corners: Vec<String> = corners.map(|(x, y)| format!("{} {}", n(x), n(y))).collect();
    format!("M{}Z", corners.join("L"))
}

/// A coordinate to a tenth: the same text on every machine.
fn n(value: f64) -> String {
    crate::units::number::show((value * 10.0).round() / 10.0)
}

fn escaped(text: &str) -> String {
    crate::plain::visible(text).replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::building::Joint;

    fn wall() -> Wall {
        Wall {
            key: "N".into(),
            name: "North <street>".into(),
            length_mm: Some(9600.0),
            height_mm: Some(5400.0),
            courses: 9,
            openings: vec![Opening {
                key: "O1".into(),
                kind: OpeningKind::Door,
                from_mm: Some(600.0),
                to_mm: Some(1560.0),
                sill_mm: Some(0.0),
                head_mm: Some(2100.0),
                dry: false,
            }],
            joints: vec![Joint { at_mm: Some(2400.0) }, Joint { at_mm: None }],
            ..Wall::default()
        }
    }

    #[test]
    fn every_part_and_every_mark_is_drawn() {
        let marks = [
            DefectMark { number: 3, subject: "N/J2".into(), open: true },
            DefectMark { number: 12, subject: "N".into(), open: false },
        ];
        let svg = elevation(&wall(), None, &marks);
        for label in [
            ">C1<",
            ">C9<",
            ">J1<",
            ">J2<",
            ">O1<",
            ">3<",
            ">12<",
            "9600 mm long, 5400 mm high. Not to scale. Course heights not recorded, drawn evenly",
        ] {
            assert!(svg.contains(label), "{label} in {svg}");
        }
        assert_eq!(svg.matches("<circle").count(), 2);
    }

    #[test]
    fn a_gable_and_a_stepped_base_are_drawn_as_they_are() {
        let house = Wall {
            top: vec![[0.0, 2700.0], [4800.0, 5400.0], [9600.0, 2700.0]],
            base: vec![[0.0, 0.0], [6000.0, 0.0], [6000.0, 540.0], [9600.0, 540.0]],
            ..wall()
        };
        // 9600 mm are 912 across from 64; 5400 mm are 513 up from a foot at 547.
        let outline = "M64 547L634 547L634 495.7L976 495.7L976 290.5L520 34L64 290.5Z";
        let svg = elevation(&house, None, &[]);
        assert!(svg.contains(outline), "{svg}");
        assert_eq!(svg.matches("fill=\"#ffffff\"/>").count(), 2);
    }

    #[test]
    fn courses_lie_where_the_storey_rod_has_them() {
        let three = Wall { courses: 3, ..wall() };
        // 5400 mm are 516.2 up: from 550.2 at the foot, 1800 mm lie at 378.1 and 3600 mm at 206.1.
        let even = elevation(&three, None, &[]);
        let rod = elevation(&three, Some(&[0.0, 1800.0, 3600.0]), &[]);
        assert_eq!(even.replace(". Course heights not recorded, drawn evenly", ""), rod);
        let low = elevation(&three, Some(&[0.0, 600.0, 1200.0]), &[]);
        assert!(!low.contains("drawn evenly") && low != rod);
        // A rod of other courses than the wall's says nothing of them.
        assert_eq!(elevation(&three, Some(&[0.0, 600.0]), &[]), even);
    }

    #[test]
    fn walls_of_any_size_are_drawn_on_the_page() {
        for (length, height) in [(1.0, 200_000.0), (200_000.0, 1.0), (f64::NAN, 5.0)] {
            let wall = Wall { length_mm: Some(length), height_mm: Some(height), courses: 1000, ..wall() };
            let marks: Vec<DefectMark> =
                (1..300).map(|number| DefectMark { number, subject: "N/C7".into(), open: true }).collect();
            let svg = elevation(&wall, None, &marks);
            assert!(svg.len() < 300_000);
        }
    }
}
