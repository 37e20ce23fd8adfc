//! Leaving at any moment loses nothing that was acknowledged, and leaves nothing half-written.

use super::{Terminal, steps_done, with_job};
use crate::harness::site::Site;

/// Opens the day, does the papers, and stands at the question after that.
fn half_way(site: &Site) -> Terminal {
    let mut terminal = Terminal::on(site, "walk");
    terminal.answer("Numbers", "\r");
    terminal.answer("Topic of the pre-start talk", "\r");
    terminal.answer("A hazard today", "\r");
    terminal.answer("Makers' instructions and consent drawings", "y\r");
    terminal.sees("Recorded: Papers on site");
    terminal.sees("Enter for the next");
    terminal
}

#[test]
fn ctrl_c_leaves_and_coming_back_goes_on() {
    let site = with_job("2026-03-02T07:30:00+13:00");
    let mut terminal = half_way(&site);
    // Typed, but not yet answered.
    terminal.reply("ye");
    assert_eq!(terminal.leave(), 0);
    assert!(terminal.heard().contains("Saved. To continue: cladlog walk"));
    assert_eq!(steps_done(&site).len(), 1);
    site.ok("verify");
    let mut terminal = Terminal::on(&site, "walk");
    terminal.sees("Work at height");
    assert_eq!(terminal.leave(), 0);
}

#[test]
fn a_terminal_that_is_closed_loses_nothing() {
    let site = with_job("2026-03-02T07:30:00+13:00");
    let mut terminal = half_way(&site);
    terminal.close();
    assert_eq!(steps_done(&site).len(), 1);
    site.ok("verify");
    let next = site.ok("next");
    assert!(next["actions"].as_array().is_some_and(|actions| actions[0]["step"] != "papers"));
}

#[test]
fn without_a_terminal_the_flags_are_named() {
    let site = with_job("2026-03-02T07:30:00+13:00");
    let run = site.shown("walk").exits(2);
    assert_eq!(
        run.stderr,
        "cladlog: there is no terminal to ask questions on\n  see what is next with cladlog next; record it \
         with cladlog record STEP --on SUBJECT --answer KEY=VALUE\n"
    );
    assert_eq!(run.stdout, "");
    site.run("walk").exits(2);
}

#[test]
fn without_a_database_or_a_job_nothing_is_asked() {
    let mut terminal = Terminal::on(&Site::folder("2026-03-02T07:30:00+13:00", ""), "walk");
    assert_eq!(terminal.ends(), 2);
    assert!(terminal.everything().contains("set a job up first: cladlog job add FILE.toml"));
}

#[test]
fn no_colour_is_no_colour() {
    let site = with_job("2026-03-02T07:30:00+13:00");
    for (args, coloured) in [(["--color", "never"], false), (["--color", "always"], true)] {
        let mut terminal = Terminal::on(&site, [args[0], args[1], "walk"]);
        terminal.sees("Numbers");
        assert_eq!(terminal.leave(), 0);
        assert_eq!(terminal.raw().contains("\x1b[1m"), coloured, "{:?}", terminal.raw());
    }
}

#[test]
fn the_walk_is_in_the_present() {
    let site = with_job("2026-03-02T07:30:00+13:00");
    let mut terminal = Terminal::on(&site, "--at 07:00 walk");
    assert_eq!(terminal.ends(), 2);
    assert!(terminal.everything().contains("does not accept --at"));
}
