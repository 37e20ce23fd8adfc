//! Drawings as SVG text, in one colour. The same drawing gives the same bytes.

use std::fmt::Write;

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
/// What is hidden or to be added.
pub const DASHED: Pen = Pen(0.25, "2 1");

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
        self.titled_rect(a, b, pen, fill, "");
    }

    /// A rectangle with a text that shows where it is pointed at, if it is not empty.
    pub fn titled_rect(&mut self, a: (f64, f64), b: (f64, f64), pen: Pen, fill: &str, title: &str) {
        let fill = if fill.is_empty() { String::new() } else { format!(" fill=\"{fill}\"") };
        let end = if title.is_empty() { "/>".into() } else { format!("><title>{}</title></rect>", escaped(title)) };
        self.push(format_args!(
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" stroke-width=\"{}\"{fill}{end}",
            Num(a.0.min(b.0)),
            Num(a.1.min(b.1)),
            Num((a.0 - b.0).abs()),
            Num((a.1 - b.1).abs()),
            Num(pen.0)
        ));
    }

    /// A closed outline.
    pub fn polygon(&mut self, points: impl IntoIterator<Item = (f64, f64)>, pen: Pen) {
        let points: Vec<String> = points.into_iter().map(|(x, y)| format!("{},{}", Num(x), Num(y))).collect();
        self.push(format_args!("<polygon points=\"{}\" stroke-width=\"{}\"/>", points.join(" "), Num(pen.0)));
    }

    /// Patterns that fills refer to, as SVG.
    pub fn define(&mut self, definitions: &str) {
        self.push(format_args!("<defs>{definitions}</defs>"));
    }

    /// A filled circle.
    pub fn dot(&mut self, at: (f64, f64), radius: f64) {
        self.push(format_args!(
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"#000\" stroke=\"none\"/>",
            Num(at.0),
            Num(at.1),
            Num(radius)
        ));
    }

    /// Text with its base line at the point; `upright` turns it to be read from the right.
    pub fn text(&mut self, at: (f64, f64), size: f64, anchor: Anchor, upright: bool, text: &str) {
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let turn =
            if upright { format!(" transform=\"rotate(-90 {} {})\"", Num(at.0), Num(at.1)) } else { String::new() };
        self.push(format_args!(
            "<text x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"{anchor}\" fill=\"#000\" stroke=\"none\"{turn}>{}</text>",
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

    /// The drawing, with a title for those who can't see it.
    pub fn finish(self, title: &str) -> String {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\">\n\
             <title>{title}</title>\n\
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

/// How wide a text comes out, near enough to tell whether it fits.
pub fn width_of(text: &str, size: f64) -> f64 {
    text.chars().count() as f64 * size * 0.56
}

/// Text as XML takes it; what XML has no place for is left out.
fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\n' | '\t' => safe.push(' '),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => {}
            c => safe.push(c),
        }
    }
    safe
}
