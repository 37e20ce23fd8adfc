//! The timetable drawn as SVG, legible in one colour.

use std::fmt::Write;

use super::day::{Day, Span};
use super::timetable::{Plan, Stint, Task};

const LEFT: i32 = 90;
const WIDE: i32 = 900;
const ROW: i32 = 34;
const TOP: i32 = 40;

/// What the rows of a drawing are called.
#[derive(Debug, Clone, Copy)]
pub struct Labels<'a> {
    /// The people by their numbers; "Person 1" where there is no name.
    pub people: &'a [String],
    /// What stands before the key of a wall.
    pub sun: &'a str,
    /// What the hatching of a wall's row means.
    pub shut: &'a str,
}

impl Default for Labels<'_> {
    fn default() -> Self {
        Self { people: &[], sun: "Sun on", shut: "sun on the wall" }
    }
}

/// Draws the plan: a row for each person with a bar for each task, a row for each wall with its sun, the rain across
/// all, and the hours along the top. The same plan always gives the same text.
pub fn drawing(day: &Day, plan: &Plan, labels: &Labels<'_>) -> String {
    let people = (1..=day.crew).filter(|&person| !plan.stints(day, person).is_empty()).collect::<Vec<_>>();
    let rows = people.len() + day.walls.len();
    let height = TOP + ROW * i32::try_from(rows).unwrap_or(0) + 44;
    let mut svg = String::new();
    // Writing to a String can't fail.
    let _ = write!(
        svg,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {} {height}\" font-family=\"sans-serif\" \
         font-size=\"11\" role=\"img\">\n<title>Seal plan</title>\n{PATTERNS}",
        LEFT + WIDE + 30
    );
    let bottom = height - 44;
    hours(&mut svg, day, bottom);
    for rain in &day.rain {
        band(&mut svg, day, *rain, TOP, bottom - TOP, "url(#rain)");
    }
    let mut top = TOP;
    for &person in &people {
        match labels.people.get(person - 1) {
            Some(name) => label(&mut svg, top, name),
            None => label(&mut svg, top, &format!("Person {person}")),
        }
        for stint in plan.stints(day, person) {
            bar(&mut svg, day, stint, top);
        }
        top += ROW;
    }
    for wall in &day.walls {
        label(&mut svg, top, &format!("{} {}", labels.sun, wall.key));
        for sun in &wall.sun {
            band(&mut svg, day, *sun, top + 6, ROW - 12, "url(#sun)");
        }
        top += ROW;
    }
    legend(&mut svg, bottom + 12, labels.shut);
    svg.push_str("</svg>\n");
    svg
}

/// Fills that tell the tasks apart without colour.
const PATTERNS: &str = "<defs>\
<pattern id=\"mask\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\"><path d=\"M0 6L6 0\" stroke=\"#000\" stroke-width=\"0.7\"/></pattern>\
<pattern id=\"sun\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\"><circle cx=\"3\" cy=\"3\" r=\"1\"/></pattern>\
<pattern id=\"rain\" width=\"8\" height=\"8\" patternUnits=\"userSpaceOnUse\"><path d=\"M4 0V5\" stroke=\"#000\" stroke-width=\"0.5\"/></pattern>\
</defs>\n";

fn fill(task: Task) -> &'static str {
    match task {
        Task::Mask => "url(#mask)",
        Task::Prime => "#ddd",
        Task::Gun => "#555",
        Task::TapeOff => "#fff",
    }
}

/// Where a minute stands, in tenths of a unit so that the text is the same on every machine.
fn x(day: &Day, minute: i32) -> String {
    let until = i64::from(day.until.max(1));
    let tenths = i64::from(LEFT) * 10 + i64::from(minute.clamp(0, day.until)) * i64::from(WIDE) * 10 / until;
    format!("{}.{}", tenths / 10, tenths % 10)
}

fn width(day: &Day, from: i32, to: i32) -> String {
    let until = i64::from(day.until.max(1));
    let at = |minute: i32| i64::from(minute.clamp(0, day.until)) * i64::from(WIDE) * 10 / until;
    let tenths = at(to) - at(from);
    format!("{}.{}", tenths / 10, tenths % 10)
}

fn hours(svg: &mut String, day: &Day, bottom: i32) {
    use chrono::Timelike;
    let into = i32::try_from(day.origin.time().minute()).unwrap_or(0);
    let every = if day.until > 24 * 60 { 180 } else { 60 };
    let mut minute = (60 - into) % 60;
    while minute <= day.until {
        let at = x(day, minute);
        let _ = writeln!(
            svg,
            "<path d=\"M{at} {}V{bottom}\" stroke=\"#bbb\" stroke-width=\"0.5\"/><text x=\"{at}\" y=\"{}\" \
             text-anchor=\"middle\">{}</text>",
            TOP - 6,
            TOP - 12,
            day.moment(minute).format("%H:%M")
        );
        minute += every;
    }
}

fn label(svg: &mut String, top: i32, text: &str) {
    let text = escaped(&crate::plain::visible(&text.chars().take(14).collect::<String>()));
    let _ = writeln!(svg, "<text x=\"{}\" y=\"{}\" text-anchor=\"end\">{text}</text>", LEFT - 8, top + ROW / 2 + 4);
}

fn band(svg: &mut String, day: &Day, span: Span, top: i32, high: i32, fill: &str) {
    if span.to <= 0 || span.from >= day.until {
        return;
    }
    let (at, wide) = (x(day, span.from), width(day, span.from, span.to));
    let _ = writeln!(
        svg,
        "<rect x=\"{at}\" y=\"{top}\" width=\"{wide}\" height=\"{high}\" fill=\"{fill}\" stroke=\"#888\" \
         stroke-width=\"0.5\"/>"
    );
}

fn bar(svg: &mut String, day: &Day, stint: Stint, top: i32) {
    let Stint { from, to, task, joint } = stint;
    let id = day.joints.get(joint).map_or("", |joint| joint.id.as_str());
    let (at, wide) = (x(day, from), width(day, from, to));
    let title =
        format!("{id}: {} {} to {}", task.word(), day.moment(from).format("%H:%M"), day.moment(to).format("%H:%M"));
    let _ = writeln!(
        svg,
        "<rect x=\"{at}\" y=\"{}\" width=\"{wide}\" height=\"{}\" fill=\"{}\" stroke=\"#000\" \
         stroke-width=\"0.7\"><title>{}</title></rect>",
        top + 4,
        ROW - 8,
        fill(task),
        escaped(&title)
    );
    // The id stands on the gunning, where the bar is long enough to carry it.
    let room = i64::from(to - from) * i64::from(WIDE) / i64::from(day.until.max(1));
    if task == Task::Gun && room >= 6 * id.chars().count() as i64 {
        let _ = writeln!(
            svg,
            "<text x=\"{at}\" y=\"{}\" dx=\"2\" fill=\"#fff\" font-size=\"9\">{}</text>",
            top + ROW / 2 + 3,
            escaped(id)
        );
    }
}

fn legend(svg: &mut String, top: i32, shut: &str) {
    let mut at = LEFT;
    for task in [Task::Mask, Task::Prime, Task::Gun, Task::TapeOff] {
        let _ = writeln!(
            svg,
            "<rect x=\"{at}\" y=\"{top}\" width=\"16\" height=\"12\" fill=\"{}\" stroke=\"#000\" \
             stroke-width=\"0.7\"/><text x=\"{}\" y=\"{}\">{}</text>",
            fill(task),
            at + 20,
            top + 10,
            task.word()
        );
        at += 90;
    }
    for (pattern, word) in [("sun", shut), ("rain", "rain")] {
        let _ = writeln!(
            svg,
            "<rect x=\"{at}\" y=\"{top}\" width=\"16\" height=\"12\" fill=\"url(#{pattern})\" stroke=\"#888\" \
             stroke-width=\"0.5\"/><text x=\"{}\" y=\"{}\">{word}</text>",
            at + 20,
            top + 10
        );
        at += 150;
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
