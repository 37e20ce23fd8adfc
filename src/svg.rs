//! Drawings as SVG text, in one colour. The same drawing gives the same bytes.

use std::fmt::Write;

use crate::plain::visible;

/// A sheet of paper being drawn on, in millimetres from its upper left corner.
#[derive(Debug)]
pub struct Canvas {
    width: f64,
    height: f64,
    body: String,
}

/// Which end of a text is at its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// It begins there.
    Start,
    /// Its middle is there.
    Middle,
    /// It ends there.
    End,
}

/// A line's look: thickness in millimetres of paper, and dashes as SVG has them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen(pub f64, pub &'static str);

/// Outlines.
pub const THICK: Pen = Pen(0.5, "");
/// Edges of pieces.
pub const MEDIUM: Pen = Pen(0.35, "");
/// Dimensions and marks.
pub const THIN: Pen = Pen(0.18, "");
/// No edge: for an area that only covers what is under it.
pub const HIDDEN: Pen = Pen(0.0, "");
/// What is hidden or to be added.
pub const DASHED: Pen = Pen(0.25, "2 1");
/// Levels.
pub const CHAINED: Pen = Pen(0.25, "5 1 1 1");

impl Canvas {
    /// An empty sheet.
    pub fn new(width: f64, height: f64) -> Self {
        Self { width, height, body: String::new() }
    }

    /// A straight line.
    pub fn line(&mut self, from: (f64, f64), to: (f64, f64), pen: Pen) {
        let Pen(width, dashes) = pen;
        let dashes = if dashes.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{dashes}\"") };
        self.push(format_args!(
            "<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\" stroke-width=\"{}\"{dashes}/>",
            Num(from.0),
            Num(from.1),
            Num(to.0),
            Num(to.1),
            Num(width)
        ));
    }

    /// A rectangle by two opposite corners; an empty `fill` leaves it open.
    pub fn rect(&mut self, a: (f64, f64), b: (f64, f64), pen: Pen, fill: &str) {
        self.any_rect(a, b, pen, fill, 0.0, "");
    }

    /// A rectangle with half circles for its upright sides.
    pub fn rounded(&mut self, a: (f64, f64), b: (f64, f64), pen: Pen, fill: &str) {
        self.any_rect(a, b, pen, fill, (a.1 - b.1).abs() / 2.0, "");
    }

    /// A rectangle with a text that shows where it is pointed at, if it is not empty.
    pub fn titled_rect(&mut self, a: (f64, f64), b: (f64, f64), pen: Pen, fill: &str, title: &str) {
        self.any_rect(a, b, pen, fill, 0.0, title);
    }

    fn any_rect(&mut self, a: (f64, f64), b: (f64, f64), pen: Pen, fill: &str, radius: f64, title: &str) {
        let fill = if fill.is_empty() { String::new() } else { format!(" fill=\"{fill}\"") };
        let round = if radius > 0.0 { format!(" rx=\"{}\"", Num(radius)) } else { String::new() };
        let end = if title.is_empty() { "/>".into() } else { format!("><title>{}</title></rect>", escaped(title)) };
        self.push(format_args!(
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" stroke-width=\"{}\"{round}{fill}{end}",
            Num(a.0.min(b.0)),
            Num(a.1.min(b.1)),
            Num((a.0 - b.0).abs()),
            Num((a.1 - b.1).abs()),
            Num(pen.0)
        ));
    }

    /// A closed outline; an empty `fill` leaves it open.
    pub fn polygon(&mut self, points: impl IntoIterator<Item = (f64, f64)>, pen: Pen, fill: &str) {
        let points: Vec<String> = points.into_iter().map(|(x, y)| format!("{},{}", Num(x), Num(y))).collect();
        let fill = if fill.is_empty() { String::new() } else { format!(" fill=\"{fill}\"") };
        self.push(format_args!("<polygon points=\"{}\" stroke-width=\"{}\"{fill}/>", points.join(" "), Num(pen.0)));
    }

    /// A rectangle that can't be seen and leads somewhere. It can't be reached by keyboard: it stands for a link of a list
    /// beside the drawing.
    pub fn link(&mut self, to: &str, title: &str, a: (f64, f64), b: (f64, f64)) {
        self.push(format_args!(
            "<a href=\"{}\" tabindex=\"-1\"><title>{}</title><rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" \
             fill=\"#fff\" fill-opacity=\"0\" stroke=\"none\"/></a>",
            escaped(to),
            escaped(title),
            Num(a.0.min(b.0)),
            Num(a.1.min(b.1)),
            Num((a.0 - b.0).abs()),
            Num((a.1 - b.1).abs())
        ));
    }

    /// Patterns that fills refer to, as SVG.
    pub fn define(&mut self, definitions: &str) {
        self.push(format_args!("<defs>{definitions}</defs>"));
    }

    /// A circle.
    pub fn circle(&mut self, at: (f64, f64), radius: f64, pen: Pen, fill: &str) {
        self.push(format_args!(
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" stroke-width=\"{}\" fill=\"{fill}\"/>",
            Num(at.0),
            Num(at.1),
            Num(radius),
            Num(pen.0)
        ));
    }

    /// Text with its base line at the point.
    pub fn text(&mut self, at: (f64, f64), size: f64, anchor: Anchor, text: &str) {
        self.text_in("#000", at, size, anchor, text);
    }

    /// The same in another colour, for text on a filled mark.
    pub fn text_in(&mut self, ink: &str, at: (f64, f64), size: f64, anchor: Anchor, text: &str) {
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        self.push(format_args!(
            "<text x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"{anchor}\" fill=\"{ink}\" stroke=\"none\">{}</text>",
            Num(at.0),
            Num(at.1),
            Num(size),
            escaped(text)
        ));
    }

    fn push(&mut self, element: std::fmt::Arguments<'_>) {
        // Writing into a String does not fail.
        let _ = writeln!(self.body, "{element}");
    }

    /// Makes the sheet as high as what was drawn on it.
    pub fn set_height(&mut self, height: f64) {
        self.height = height;
    }

    /// The drawing, with a title for those who can't see it.
    pub fn finish(self, title: &str) -> String {
        self.finish_described(title, "")
    }

    /// The drawing, with a title and what it shows in words for those who can't see it.
    pub fn finish_described(self, title: &str, described: &str) -> String {
        let described =
            if described.is_empty() { String::new() } else { format!("<desc>{}</desc>\n", escaped(described)) };
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\" role=\"img\">\n\
             <title>{title}</title>\n{described}\
             <rect width=\"{w}\" height=\"{h}\" fill=\"#fff\"/>\n\
             <g fill=\"none\" stroke=\"#000\" font-family=\"Arial, Helvetica, 'Liberation Sans', sans-serif\">\n\
             {body}</g>\n</svg>\n",
            w = Num(self.width),
            h = Num(self.height),
            title = escaped(title),
            body = self.body
        )
    }
}

/// A length of paper to a hundredth of a millimetre, as short as it can be written.
struct Num(f64);

impl std::fmt::Display for Num {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let value = if self.0.is_finite() { (self.0 * 100.0).round() / 100.0 + 0.0 } else { 0.0 };
        write!(f, "{value}")
    }
}

/// How wide a text comes out at the most: nothing in the usual sans-serif fonts is wider, letter by letter.
pub fn width_of(text: &str, size: f64) -> f64 {
    let of_letter = |c: char| match c {
        ' ' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | 'i' | 'j' | 'l' | 'I' | '/' => 0.29,
        'f' | 't' | 'r' | '(' | ')' | '-' | '"' => 0.36,
        'm' | 'w' | 'M' | 'W' | '%' | '&' | '@' => 1.02,
        'A'..='Z' => 0.78,
        '0'..='9' => 0.557,
        c if c.is_ascii() => 0.59,
        _ => 1.1,
    };
    text.chars().map(of_letter).sum::<f64>() * size
}

/// Text as XML takes it, with what is never shown made visible.
fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in visible(text).chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\n' | '\t' => safe.push(' '),
            '\u{fffe}' | '\u{ffff}' => {}
            c => safe.push(c),
        }
    }
    safe
}
