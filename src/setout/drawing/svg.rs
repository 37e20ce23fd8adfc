//! The little of SVG that the drawings need. Same drawing, same bytes.

use std::fmt::Write;

/// A sheet of paper being drawn on, in millimetres from its upper left corner.
pub(super) struct Sheet {
    width: f64,
    height: f64,
    body: String,
}

/// Where a text stands to its point.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Stands {
    Left,
    Middle,
    Right,
}

/// A line's look: thickness in millimetres of paper, and dashes.
#[derive(Clone, Copy)]
pub(super) struct Pen(pub(super) f64, pub(super) &'static str);

pub(super) const THICK: Pen = Pen(0.5, "");
pub(super) const MEDIUM: Pen = Pen(0.35, "");
pub(super) const THIN: Pen = Pen(0.18, "");
pub(super) const DASHED: Pen = Pen(0.25, "2 1");

impl Sheet {
    pub(super) fn new(width: f64, height: f64) -> Self {
        Self { width, height, body: String::new() }
    }

    pub(super) fn line(&mut self, from: (f64, f64), to: (f64, f64), pen: Pen) {
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

    /// A rectangle by two opposite corners.
    pub(super) fn rect(&mut self, a: (f64, f64), b: (f64, f64), pen: Pen, paper: bool) {
        let fill = if paper { " fill=\"#fff\"" } else { "" };
        self.push(format_args!(
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" stroke-width=\"{}\"{fill}/>",
            Num(a.0.min(b.0)),
            Num(a.1.min(b.1)),
            Num((a.0 - b.0).abs()),
            Num((a.1 - b.1).abs()),
            Num(pen.0)
        ));
    }

    pub(super) fn dot(&mut self, at: (f64, f64), radius: f64) {
        self.push(format_args!(
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"#000\" stroke=\"none\"/>",
            Num(at.0),
            Num(at.1),
            Num(radius)
        ));
    }

    /// Text with its base line at the point; `upright` turns it to be read from the right.
    pub(super) fn text(&mut self, at: (f64, f64), size: f64, stands: Stands, upright: bool, text: &str) {
        let anchor = match stands {
            Stands::Left => "start",
            Stands::Middle => "middle",
            Stands::Right => "end",
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

    pub(super) fn finish(self, title: &str) -> String {
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
pub(super) fn width_of(text: &str, size: f64) -> f64 {
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
