//! Somebody goes home at noon: the rest of the day does not wait for them.

use super::{Terminal, to_who_has_read, unbroken, with_job};

#[test]
fn whoever_left_is_not_waited_for_and_is_offered_the_hours_until_then() {
    let site = with_job("2026-03-02T07:30:00+13:00").with_day(&["Ana Reid", "Tom Bell"]);
    site.ok("record papers --on job --answer held=yes");
    site.clock("12:10");
    let mut terminal = Terminal::on(&site, "walk");
    to_who_has_read(&mut terminal);
    // The names of those who are there stand above the question.
    terminal.reply("1\r");
    terminal.sees("Still to be read by Tom Bell");
    terminal.sees("Whoever has gone home: type 'left' and their name.");
    terminal.question();
    terminal.reply("left tom\r");
    terminal.answer("When, such as 12:00", "13:00\r");
    terminal.answer("that is still to come; it is 12:10 now", "12:00\r");
    terminal.sees("Recorded: Tom Bell left the site, 12:00");
    // The site check that waited for him comes up.
    terminal.answer("Scaffold tag in date", "left\r");
    terminal.answer("Who left", "\r");
    terminal.answer("Scaffold tag in date", "quit\r");
    assert_eq!(terminal.ends(), 0, "{}", terminal.everything());
    site.clock("16:00");
    let mut evening = Terminal::on(&site, "walk");
    evening.answer("Scaffold tag in date", "skip\r");
    loop {
        let heard = unbroken(&evening.question().expect("a question"));
        match heard.find(" close the day") {
            Some(at) => {
                let number = heard[..at].rsplit(' ').next().unwrap();
                evening.reply(&format!("{number}\r"));
                break;
            }
            None => evening.reply("skip\r"),
        }
    }
    evening.answer("Hours of Ana Reid [8]", "8:30\r");
    evening.answer("Hours of Tom Bell, on site 07:30 to 12:00 [4:30]", "\r");
    evening.sees("Recorded: site day closed");
    let hours = site.ok("hours");
    assert_eq!(hours["total_hours"], 13.0, "{hours}");
}

#[test]
fn whoever_came_later_is_offered_the_hours_since_then() {
    let site = with_job("2026-03-02T07:30:00+13:00").with_day(&["Ana Reid"]);
    site.clock("11:20").ok("day join --crew 'Tom Bell'");
    site.clock("16:40");
    let mut evening = Terminal::on(&site, "day close");
    evening.answer("Hours of Ana Reid [8]", "9\r");
    evening.answer("Hours of Tom Bell, on site from 11:20 [5:20]", "\r");
    assert_eq!(evening.ends(), 0, "{}", evening.everything());
    let hours = site.ok("hours")["total_hours"].as_f64().unwrap();
    assert!((hours - 14.333).abs() < 0.001, "{hours}");
}

#[test]
fn whoever_only_looks_on_is_not_asked_for_hours_and_not_taken_for_crew_the_next_morning() {
    let site = with_job("2026-03-02T07:30:00+13:00").with_day(&["Ana Reid"]);
    let mut terminal = Terminal::on(&site, "walk");
    terminal.answer("Makers' instructions and consent drawings", "join\r");
    terminal.answer("2 Ruth Tarn", "2\r");
    terminal.sees("Recorded: Ruth Tarn came onto site, 07:30");
    terminal.answer("Makers' instructions and consent drawings", "quit\r");
    assert_eq!(terminal.ends(), 0, "{}", terminal.everything());
    // Nobody has to say that she worked no hours.
    site.clock("16:00").ok("day close --hours 'Ana Reid=8'");
    site.clock("2026-03-03T07:30:00+13:00");
    let mut next = Terminal::on(&site, "walk");
    next.answer("Numbers [1]", "quit\r");
}
