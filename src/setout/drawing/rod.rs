//! The storey rod full size: strips of 250 mm, two to an A4 page, each page with a square to check the printer by.

use crate::setout::courses::Mark;
use crate::svg::{Anchor, Canvas, DASHED, MEDIUM, Pen, THICK, THIN, width_of};
use crate::units::number::show_mm;

/// A4, upright.
const PAGE: (f64, f64) = (210.0, 297.0);
/// How much of the rod one strip holds; an A4 page has 297 mm, printers leave some of it.
const STRIP_MM: f64 = 250.0;
const STRIP_WIDTH: f64 = 43.0;
/// Where the bottom of a strip lies on the page.
const FOOT: f64 = 280.0;
const LABEL: f64 = 3.0;
/// Labels need this much from one to the next.
const APART: f64 = 3.6;
/// 60 m of rod: more is no building, and no stack of paper.
const MOST_STRIPS: usize = 240;

/// The storey rod as A4 pages of SVG, full size: print at 100 % and measure the square.
///
/// Strips run from the lowest mark up; the last line of one is the first of the next, to lay them over each other.
/// No marks give no pages. Beyond 60 m the rod ends.
pub fn rod_pages(marks: &[Mark]) -> Vec<String> {
    let heights = marks.iter().map(|mark| mark.height_mm).filter(|height| height.is_finite());
    let Some((low, high)) = heights.fold(None, |span: Option<(f64, f64)>, height| {
        Some(span.map_or((height, height), |(low, high)| (low.min(height), high.max(height))))
    }) else {
        return Vec::new();
    };
    // From a whole centimetre, so that the scale at the edge reads even.
    let base = (low / 10.0).floor() * 10.0;
    let strips = (((high - base) / STRIP_MM).ceil().max(1.0) as usize).min(MOST_STRIPS);
    let pages = strips.div_ceil(2);
    (0..pages)
        .map(|page| {
            let mut canvas = Canvas::new(PAGE.0, PAGE.1);
            let title = format!("Storey rod, page {} of {pages}", page + 1);
            // Beside the strips: what crowds at the upper end of one stands over it.
            canvas.text((104.0, 12.0), 5.0, Anchor::Start, &title);
            canvas.text((104.0, 18.0), 3.0, Anchor::Start, "Full size: print at 100 %, not fitted to the page.");
            check_square(&mut canvas);
            for place in 0..2 {
                let number = page * 2 + place;
                if number < strips {
                    let from = base + number as f64 * STRIP_MM;
                    strip(&mut canvas, 10.0 + place as f64 * (STRIP_WIDTH + 2.0), from, number + 1, strips, marks);
                }
            }
            canvas.finish(&title)
        })
        .collect()
}

fn check_square(canvas: &mut Canvas) {
    let (left, top) = (104.0, 30.0);
    canvas.rect((left, top), (left + 100.0, top + 100.0), MEDIUM, "");
    canvas.text((left + 50.0, top + 48.0), 5.0, Anchor::Middle, "100 mm");
    let lines = ["Measure both ways.", "If it is not 100 mm,", "don't use these strips."];
    for (line, text) in (0..).zip(lines) {
        canvas.text((left + 50.0, top + 56.0 + 5.0 * f64::from(line)), 3.5, Anchor::Middle, text);
    }
}

/// One strip with its scale, its marks and what they are.
fn strip(canvas: &mut Canvas, left: f64, from: f64, number: usize, strips: usize, marks: &[Mark]) {
    let right = left + STRIP_WIDTH;
    let y = |height: f64| FOOT - (height - from);
    canvas.rect((left, y(from)), (right, y(from + STRIP_MM)), THIN, "");
    for step in 0..=(STRIP_MM as usize / 10) {
        let height = from + 10.0 * step as f64;
        let long = if height.rem_euclid(50.0) == 0.0 { 5.0 } else { 2.5 };
        canvas.line((left, y(height)), (left + long, y(height)), THIN);
    }
    let seam = |end: f64| format!("strip {number} of {strips}, {} mm", show_mm(end));
    canvas.text((left + 1.0, y(from) + 4.0), 2.6, Anchor::Start, &seam(from));
    let mut here: Vec<&Mark> =
        marks.iter().filter(|mark| mark.height_mm >= from && mark.height_mm <= from + STRIP_MM).collect();
    here.sort_by(|a, b| a.height_mm.total_cmp(&b.height_mm).then(a.what.cmp(&b.what)));
    let mut last = f64::INFINITY;
    for mark in here {
        let at = y(mark.height_mm);
        canvas.line((left, at), (right, at), THICK);
        // Labels stand over their line; where marks crowd, they move up and a thin line leads back.
        let label = (at - 0.8).min(last - APART);
        if label < at - 1.0 {
            canvas.line((left + 6.0, at), (left + 7.5, label), Pen(0.12, DASHED.1));
        }
        canvas.text((left + 8.0, label), LABEL, Anchor::Start, &label_of(mark));
        last = label;
    }
    let over = (y(from + STRIP_MM) - 1.2).min(last - APART);
    canvas.text((left + 1.0, over), 2.6, Anchor::Start, &seam(from + STRIP_MM));
}

/// Height, mark and walls, as far as they fit the strip.
fn label_of(mark: &Mark) -> String {
    let mut label = format!("{} {}", show_mm(mark.height_mm), mark.what);
    let fits = |text: &str| width_of(text, LABEL) <= STRIP_WIDTH - 9.0;
    for (place, wall) in mark.walls.iter().enumerate() {
        let longer = format!("{label}{}{wall}", if place == 0 { ": " } else { ", " });
        if !fits(&longer) {
            return format!("{label} +{}", mark.walls.len() - place);
        }
        label = longer;
    }
    label
}
