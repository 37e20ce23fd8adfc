//! The walk offers to plan the sealing, goes by the kept plan, and offers again when the day has slipped.

use super::house::{self, at};
use crate::harness::site::Site;
use crate::walk::terminal::Terminal;

fn walk(house: &Site) -> Terminal {
    Terminal::on(house, ["--by", "Lea Moss", "walk"])
}

#[test]
fn the_walk_offers_a_plan_and_goes_by_it() {
    let house = house::open(&at("08:00"));
    house.dry();
    let mut terminal = walk(&house);
    terminal.sees("Plan the sealing");
    terminal.sees("Why now: 5 joints are ready to be sealed.");
    terminal.answer("Work out who primes and seals what, and when?", "\r");
    terminal.sees("5 of 5 joints sealed");
    terminal.answer("Keep this plan and work to it?", "\r");
    terminal.sees("Recorded: seal plan of 5 joints");
    // Only what is due now, not every joint of the wall.
    terminal.sees("Clean and mask on S/J");
    terminal.sees("By the seal plan: 08:0");
    assert_eq!(terminal.leave(), 0);
    let heard = terminal.heard();
    assert!(!heard.contains("Clean and mask on S/J1..3"), "{heard}");
    // A morning in which nothing was done.
    house.clock("10:00");
    let mut terminal = walk(&house);
    terminal.sees("Plan the sealing");
    terminal.sees("by the plan Lea masks S/J1 at 08:01");
    assert_eq!(terminal.leave(), 0);
}

#[test]
fn what_the_plan_has_for_later_waits_unless_the_lead_goes_ahead() {
    let house = house::open(&at("09:00"));
    house.ok(["sealplan", "--wall", "E", "--keep"]);
    house.ok(["record", "clean", "--on", "S/J1..3"]);
    house.ok(["reading", "--on", "S,E", "--air", "16", "--humidity", "60", "--surface", "16", "--rain"]);
    // The south wall is wet; the east wall's joints are planned for the afternoon.
    let mut terminal = walk(&house);
    terminal.sees("Nothing more can be done right now");
    terminal.sees("masks E/J");
    terminal.answer("Number", "2\r");
    terminal.sees("Clean and mask on E/J");
    assert_eq!(terminal.leave(), 0);
}

#[test]
fn the_live_watch_keeps_the_next_things_on_screen() {
    let house = house::open(&at("08:00"));
    house.dry();
    house.ok(["sealplan", "--keep"]);
    house.clock("08:05");
    let mut terminal = Terminal::on(&house, "watch");
    terminal.sees("Next by the seal plan:");
    terminal.sees("masks S/J");
    assert_eq!(terminal.leave(), 0);
}
