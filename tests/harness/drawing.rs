//! What every drawing keeps: well formed, in one colour, on its sheet, no text over another.

/// Advance widths of Helvetica in thousandths of the size, from U+0020 to U+007E, as Adobe's metrics of the 14 core fonts
/// (Helvetica.afm) have them; from memory. Arial and Liberation Sans are made to the same widths.
const HELVETICA: [u16; 95] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556, 556, 556, 556, 556,
    556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833,
    722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556,
    556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334,
    260, 334, 584,
];

/// The attributes of every element of a kind, each with its text.
fn elements<'s>(svg: &'s str, kind: &str) -> Vec<(&'s str, &'s str)> {
    let open = format!("<{kind} ");
    svg.split(&open)
        .skip(1)
        .map(|rest| {
            let (attributes, rest) = rest.split_once('>').unwrap();
            (attributes, rest.split('<').next().unwrap())
        })
        .collect()
}

fn number(attributes: &str, name: &str) -> f64 {
    let attributes = format!(" {attributes}");
    let value = attributes.split_once(&format!(" {name}=\"")).unwrap_or_else(|| panic!("{name} in {attributes}")).1;
    value.split('"').next().unwrap().parse().unwrap()
}

/// Left, top, right and bottom of every text of one size of letters and more, with the text.
fn boxes(svg: &str) -> Vec<([f64; 4], String)> {
    elements(svg, "text")
        .into_iter()
        .map(|(attributes, text)| {
            let text = text.replace("&amp;", "&").replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"");
            let (x, y, size) = (number(attributes, "x"), number(attributes, "y"), number(attributes, "font-size"));
            let of = |c: char| (c as usize).checked_sub(32).and_then(|at| HELVETICA.get(at)).copied().unwrap_or(1000);
            let width = text.chars().map(|c| f64::from(of(c))).sum::<f64>() * size / 1000.0;
            let left = match attributes {
                it if it.contains("\"end\"") => x - width,
                it if it.contains("\"middle\"") => x - width / 2.0,
                _ => x,
            };
            // Cap height 0.718, descender 0.207.
            ([left, y - 0.718 * size, left + width, y + 0.207 * size], text)
        })
        .collect()
}

/// No text lies over another, and none so close behind another that both read as one: two fifths of a letter's size are
/// more than a space.
pub fn not_overlapping(svg: &str) {
    let boxes = boxes(svg);
    for (place, (one, text)) in boxes.iter().enumerate() {
        for (other, with) in &boxes[..place] {
            // The box of a text is 0.925 of its size high.
            let clear = 0.4 * (one[3] - one[1]).min(other[3] - other[1]) / 0.925;
            let beside = one[0] >= other[2] + clear || other[0] >= one[2] + clear;
            let apart = beside || one[1] >= other[3] || other[1] >= one[3];
            assert!(apart, "'{text}' {one:?} lies over '{with}' {other:?} or too close to it");
        }
    }
}

/// How high the capitals of some texts are, of the smallest of them.
pub fn least_capitals_mm(svg: &str, texts: &[&str]) -> f64 {
    let found = boxes(svg).into_iter().filter(|(_, text)| texts.contains(&text.as_str()));
    let capitals: Vec<f64> = found.map(|(it, _)| (it[3] - it[1]) / 0.925 * 0.718).collect();
    assert!(!capitals.is_empty());
    capitals.into_iter().fold(f64::INFINITY, f64::min)
}

/// Tags that close in order, numbers that are numbers, one colour on white.
pub fn well_formed(svg: &str) {
    let mut open = Vec::new();
    for tag in svg.split('<').skip(1) {
        let (tag, _) = tag.split_once('>').unwrap_or_else(|| panic!("unclosed: {tag}"));
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop(), Some(name.to_owned()));
        } else if !tag.ends_with('/') {
            open.push(tag.split(' ').next().unwrap().to_owned());
        }
    }
    assert!(open.is_empty() && !svg.contains("NaN") && !svg.contains("inf\""));
    for colour in svg.split("=\"#").skip(1) {
        assert!(colour.starts_with("000") || colour.starts_with("fff"), "one colour on white");
    }
}

/// Every line, rectangle and text lies on the sheet.
pub fn on_the_sheet(svg: &str) {
    let size = svg.split_once("viewBox=\"0 0 ").unwrap().1.split('"').next().unwrap();
    let (width, height) = size.split_once(' ').unwrap();
    let (width, height): (f64, f64) = (width.parse().unwrap(), height.parse().unwrap());
    for (attributes, _) in elements(svg, "line") {
        for (name, most) in [("x1", width), ("x2", width), ("y1", height), ("y2", height)] {
            assert!((0.0..=most).contains(&number(attributes, name)), "{attributes}");
        }
    }
    for (place, text) in boxes(svg) {
        assert!(place[0] >= 0.0 && place[1] >= 0.0 && place[3] <= height, "'{text}' {place:?} on {width} by {height}");
        // A word alone that is wider than the sheet can't be broken.
        assert!(place[2] <= width || !text.contains(' '), "'{text}' {place:?} on {width} by {height}");
    }
}
