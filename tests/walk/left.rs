//! Somebody goes home at noon: the rest of the day does not wait for them.

use super::{Terminal, to_who_has_read, unbroken, with_job};

#[test]
fn whoever_left_is_not_waited_for_and_is_offered_the_hours_until_then() {
    let bench = with_job("2026-03-02T07:30:00+13:00");
    bench.run(["--db", "site.db", "day", "open", "--crew", "Ana Reid", "Tom Bell"]).exits(0);
    bench.run(["--db", "site.db", "record", "papers", "--on", "job", "--answer", "held=yes"]).exits(0);
    bench.set_clock("2026-03-02T12:10:00+13:00");
    let mut terminal = Terminal::start(&bench, &["--db", "site.db", "walk"]);
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
    bench.set_clock("2026-03-02T16:00:00+13:00");
    let mut evening = Terminal::start(&bench, &["--db", "site.db", "walk"]);
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
    let hours = bench.run(["--db", "site.db", "--json", "hours"]).exits(0).json();
    assert_eq!(hours["total_hours"], 13.0, "{hours}");
}
