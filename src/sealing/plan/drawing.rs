//! The timetable drawn as SVG, legible in one colour.

use chrono::{TimeDelta, Timelike};

use super::day::{Day, Span};
use super::timetable::{Plan, Stint, Task};
use crate::svg::{Anchor, Canvas, Pen, THIN, width_of};

/// Room for names at the left, for the day itself, and above it for the hours; a row; text. Millimetres of paper.
const LEFT: f64 = 25.0;
const WIDE: f64 = 245.0;
const TOP: f64 = 11.0;
const ROW: f64 = 9.0;
const TEXT: f64 = 3.0;

/// Fills that tell the tasks apart without colour.
const PATTERNS: &str = "\
<pattern id=\"mask\" width=\"2\" height=\"2\" patternUnits=\"userSpaceOnUse\">\
<path d=\"M0 2L2 0\" stroke=\"#000\" stroke-width=\"0.2\"/></pattern>\
<pattern id=\"sun\" width=\"2\" height=\"2\" patternUnits=\"userSpaceOnUse\">\
<circle cx=\"1\" cy=\"1\" r=\"0.3\" fill=\"#000\" stroke=\"none\"/></pattern>\
<pattern id=\"rain\" width=\"2.4\" height=\"2.4\" patternUnits=\"userSpaceOnUse\">\
<path d=\"M1.2 0V1.5\" stroke=\"#000\" stroke-width=\"0.15\"/></pattern>";
const SUN: &str = "url(#sun)";
const RAIN: &str = "url(#rain)";
const EDGE: Pen = Pen(0.2, "");

/// Draws the plan: a row for each person with a bar for each task, a row for each wall with its sun, the rain across
/// all, and the hours along the top. `people` are their names by number; "Person 1" where there is none. The same plan always
/// gives the same text.
pub fn drawing(day: &Day, plan: &Plan, people: &[String]) -> String {
    let busy = (1..=day.crew).map(|person| (person, plan.stints(day, person)));
    let busy: Vec<_> = busy.filter(|(_, stints)| !stints.is_empty()).collect();
    let bottom = TOP + ROW * (busy.len() + day.walls.len()) as f64;
    let mut canvas = Canvas::new(LEFT + WIDE + 8.0, bottom + 12.0);
    canvas.define(PATTERNS);
    hours(&mut canvas, day, bottom);
    for rain in &day.rain {
        band(&mut canvas, day, *rain, (TOP, bottom), RAIN);
    }
    let mut top = TOP;
    for (person, stints) in &busy {
        let name = people.get(person - 1).cloned().unwrap_or_else(|| format!("Person {person}"));
        label(&mut canvas, top, &name);
        for stint in stints {
            bar(&mut canvas, day, *stint, top);
        }
        top += ROW;
    }
    for wall in &day.walls {
        label(&mut canvas, top, &format!("Sun on {}", wall.key));
        for shut in wall.sun.iter().chain(&day.out_of_limits) {
            band(&mut canvas, day, *shut, (top + 1.6, top + ROW - 1.6), SUN);
        }
        top += ROW;
    }
    let shut = if day.out_of_limits.is_empty() { "sun on the wall" } else { "sun, or out of limits" };
    legend(&mut canvas, bottom + 3.0, shut);
    canvas.finish("Seal plan")
}

fn fill(task: Task) -> &'static str {
    match task {
        Task::Mask => "url(#mask)",
        Task::Prime => "#ddd",
        Task::Gun => "#aaa",
        Task::TapeOff => "#fff",
    }
}

fn x(day: &Day, minute: i32) -> f64 {
    LEFT + f64::from(minute.clamp(0, day.until)) * WIDE / f64::from(day.until.max(1))
}

fn hours(canvas: &mut Canvas, day: &Day, bottom: f64) {
    let every = TimeDelta::hours(if day.until > 24 * 60 { 3 } else { 1 });
    let into = i64::from(day.origin.time().minute());
    let mut at = TimeDelta::minutes((60 - into) % 60);
    while at.num_minutes() <= i64::from(day.until) {
        let minute = i32::try_from(at.num_minutes()).unwrap_or(day.until);
        let across = x(day, minute);
        canvas.line((across, TOP - 1.5), (across, bottom), Pen(0.1, ""));
        canvas.text((across, TOP - 3.0), TEXT, Anchor::Middle, &day.moment(minute).format("%H:%M").to_string());
        at += every;
    }
}

fn label(canvas: &mut Canvas, top: f64, text: &str) {
    let text = crate::plain::visible(&text.chars().take(14).collect::<String>());
    canvas.text((LEFT - 2.0, top + ROW / 2.0 + 1.0), TEXT, Anchor::End, &text);
}

fn band(canvas: &mut Canvas, day: &Day, span: Span, (top, bottom): (f64, f64), fill: &str) {
    if span.to > 0 && span.from < day.until {
        canvas.rect((x(day, span.from), top), (x(day, span.to), bottom), THIN, fill);
    }
}

fn bar(canvas: &mut Canvas, day: &Day, stint: Stint, top: f64) {
    let Stint { from, to, task, joint } = stint;
    let id = day.joints.get(joint).map_or("", |joint| joint.id.as_str());
    let clock = |minute: i32| day.moment(minute).format("%H:%M").to_string();
    let title = format!("{id}: {} {} to {}", task.word(), clock(from), clock(to));
    let (left, right) = (x(day, from), x(day, to));
    canvas.titled_rect((left, top + 1.0), (right, top + ROW - 1.0), EDGE, fill(task), &title);
    // The id is written on the gunning, where the bar is long enough for it.
    if task == Task::Gun && width_of(id, TEXT) < right - left {
        canvas.text(((left + right) / 2.0, top + ROW / 2.0 + 1.0), TEXT, Anchor::Middle, id);
    }
}

fn legend(canvas: &mut Canvas, top: f64, shut: &str) {
    let tasks = [Task::Mask, Task::Prime, Task::Gun, Task::TapeOff].map(|task| (fill(task), task.word()));
    let mut left = LEFT;
    for (fill, word) in tasks.into_iter().chain([(SUN, shut), (RAIN, "rain")]) {
        canvas.rect((left, top), (left + 4.5, top + 3.5), EDGE, fill);
        canvas.text((left + 6.0, top + 3.0), TEXT, Anchor::Start, word);
        left += 12.0 + width_of(word, TEXT);
    }
}
