//! A walk that is killed in the middle, again and again, comes to what one comes to that is not.

#![allow(clippy::print_stdout, reason = "how often it was tried")]

use cladlog::record::Store;

use super::{Terminal, answers, steps_done, walk, with_job};
use crate::trust::{Chance, rounds};

const CLOCK: &str = "2026-03-02T07:30:00+13:00";
const FIRST: &[(&str, &str)] = &[("Hold point on N", "\r")];

/// `CLADLOG_KILL_ROUNDS=2000 cargo test --test all -- walk::killed` walks the morning twenty times.
#[test]
fn a_walk_that_is_killed_again_and_again_goes_on_from_what_it_had_recorded() {
    let whole = with_job(CLOCK);
    walk(&whole, FIRST);
    let wanted = steps_done(&whole);
    let mut chance = Chance(5);
    let (mut kills, mut said) = (0, 0);
    for _ in 0..(rounds("CLADLOG_KILL_ROUNDS", 30) / 100).max(1) {
        let site = with_job(CLOCK);
        let mut before = 1;
        loop {
            let mut terminal = Terminal::on(&site, "walk");
            if answers(&mut terminal, FIRST, 1 + chance.below(8) as usize) {
                break;
            }
            std::thread::sleep(std::time::Duration::from_micros(chance.below(40_000)));
            terminal.kill();
            kills += 1;
            assert!(kills < 2000, "the walk gets nowhere:\n{}", terminal.everything());
            // What it said is recorded is; the file opens and is whole.
            let store = Store::read(&site.path("job.db")).unwrap();
            let entries = store.entries("shed").unwrap().len();
            let recorded = terminal.everything().matches("Recorded: ").count();
            assert!(entries >= before + recorded, "{recorded} said, {entries} there, {before} before");
            assert_eq!(store.verify().unwrap().1, []);
            (before, said) = (entries, said + recorded);
        }
        assert_eq!(steps_done(&site), wanted);
    }
    assert!(kills > 3 && said > 3, "{kills} kills, {said} entries said: it was not tried");
    println!("{kills} kills, {said} steps said to be recorded before one");
}
