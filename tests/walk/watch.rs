//! R6 on screen: the windows of primed joints in every phase.

use super::{Terminal, with_job};
use crate::harness::site::Site;

/// Joint 1 and 2 primed at 10:00. (30 min and 6 h: common practice for joint primers.)
fn primed() -> Site {
    let site = with_job("2026-03-02T10:00:00+13:00").with_day(&["Ana Reid"]);
    site.ok("record prime --on N/J1..2 --answer primer-batch=P7 --anyway --why 'only the clock is of interest'");
    site
}

#[test]
fn r6_watch_once_shows_each_phase() {
    let site = primed();
    for (clock, state, words) in [
        ("2026-03-02T10:29:00+13:00", "waiting", "opens 10:30, in 1 min"),
        ("2026-03-02T10:30:00+13:00", "open", "closes 16:00, in 5 h 30 min"),
        ("2026-03-02T15:00:00+13:00", "closing", "closes 16:00, in 1 h"),
        ("2026-03-02T16:01:00+13:00", "lapsed", "lapsed 16:00, 1 min ago"),
    ] {
        site.clock(clock);
        let run = site.ok("watch --once");
        assert_eq!(run["windows"][0]["state"], state, "{clock}");
        assert_eq!(run["windows"][0]["key"], "primer-to-sealant");
        let text = site.shown("watch --once").exits(0).stdout;
        assert!(text.contains(words) && text.contains(state), "{text}");
        // Without a terminal it prints once by itself.
        assert_eq!(site.shown("watch").exits(0).stdout, text);
    }
}

#[test]
fn r6_watch_keeps_a_bar_on_screen_and_leaves_on_ctrl_c() {
    let site = primed();
    for (clock, words) in [
        ("2026-03-02T10:15:00+13:00", "] waiting, opens 10:30, in 15 min"),
        ("2026-03-02T13:15:00+13:00", "] open, closes 16:00, in 2 h 45 min"),
        ("2026-03-02T15:30:00+13:00", "] closing, closes 16:00, in 30 min"),
        ("2026-03-02T16:30:00+13:00", "] lapsed 16:00, 30 min ago"),
    ] {
        site.clock(clock);
        let mut terminal = Terminal::on(&site, "watch");
        terminal.sees("N/J1..2 Primer to sealant");
        terminal.sees(words);
        // Bar and words fit on one row.
        terminal.shows(words, |row| row.starts_with("  [") && row.contains(words));
        if words.contains("waiting") {
            // Half of the half hour has gone.
            terminal.shows("half a bar", |row| row.contains("[============>-----------]"));
        }
        assert_eq!(terminal.leave(), 0);
    }
}

#[test]
fn watch_sees_what_another_program_records() {
    let site = primed();
    let mut terminal = Terminal::on(&site, "watch");
    terminal.sees("N/J1..2");
    site.ok("reading --on N --air 15 --humidity 90 --surface 14 --rain");
    terminal.sees("lapsed 10:00 by rain");
    // It rings when something changes.
    assert!(terminal.raw().contains('\x07') || terminal.sees("\x07").contains('\x07'));
    assert_eq!(terminal.leave(), 0);
}

#[test]
fn watch_with_nothing_running_says_so() {
    let site = with_job("2026-03-02T10:00:00+13:00");
    let mut terminal = Terminal::on(&site, "watch");
    terminal.sees("no window is running");
    assert_eq!(terminal.leave(), 0);
}
