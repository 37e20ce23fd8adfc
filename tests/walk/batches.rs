//! What is on site is offered as the answer, and what it does to the wall is said before it is recorded.

use super::{Terminal, unbroken};
use crate::harness::site::Site;
use crate::stock::site;

fn start(site: &Site) -> Terminal {
    Terminal::on(site, "walk")
}

#[test]
fn delivered_batches_are_offered_and_others_can_be_typed() {
    let site = site::open("2026-03-03T08:30:00+13:00");
    site.ok("batch add --product panel --batch P --count 10 --colour 'fog grey'");
    site.ok("batch add --product panel --batch Q --count 9 --colour sand");
    site.ok("batch add --product sealant --batch OLD --count 4 --expires 2026-03-03");
    site.ok("batch add --product sealant --batch S2 --count 9 --expires 2027-01-31");
    site.ok("batch add --product sealant --batch S1 --count 9 --expires 2026-11-30");
    site.next_day("2026-03-04T08:30:00+13:00");
    let mut terminal = start(&site);
    // A look at what came: by its number.
    terminal.answer("2 Q: sand, 9 panels left Number or label [P]", "1\r");
    // From wall to wall, not staying at one.
    terminal.answer("Which wall first", "skip\r");
    // Enter takes the first; then it is in use on the wall.
    terminal.answer("1 P: fog grey, 10 panels left", "only C1..4\r");
    terminal.answer("('none' to leave it out) [P]", "\r");
    // Enter alone records nothing.
    terminal.answer("Done?", "y\r");
    terminal.answer("1 P: fog grey, 2 panels left, in use on this wall", "q\r");
    terminal.answer("Another batch is on this wall: P.", "no\r");
    terminal.answer("[P]", "\r");
    terminal.answer("1 Q: sand, 9 panels left 2 P: fog grey, should be used up", "2\r");
    terminal.answer("E/C1..5 needs 5, but only 0 of P should be left.", "no\r");
    // By the count there is none left, and something else can be typed.
    terminal.answer("Number or label ('none' to leave it out) [Q]", "all\r");
    terminal.answer("No delivery has that label. Take it anyway?", "\r");
    terminal.answer("Number or label ('none' to leave it out) [Q]", "X 7\r");
    terminal.answer("No delivery has that label. Take it anyway?", "y\r");
    terminal.sees("Note: panel X 7 was used, and no delivery of it is recorded.");
    terminal.answer("[Q]", "none\r");
    // The oldest date first, what is past it last; and that is asked again.
    terminal.answer("1 S1: 9 cartridges left, use by 30 Nov 2026 2 S2: 9 cartridges left", "OLD\r");
    terminal.answer(
        "sealant OLD expired on 3 Mar 2026; it is 4 Mar 2026. To do: use a batch that is in date: S1 or S2.",
        "\r",
    );
    terminal.answer("[S1]", "\r");
    terminal.answer("1 S1: 8.3 cartridges left", "quit\r");
    assert_eq!(terminal.ends(), 0, "{}", terminal.everything());
    let of = |batch: &str| site.ok(format!("batch trace '{batch}'"))["batches"][0]["subjects"].clone();
    assert_eq!(of("P"), serde_json::json!(["N/C1", "N/C2", "N/C3", "N/C4", "N/C5"]));
    assert_eq!(of("X 7"), serde_json::json!(["E/C1", "E/C2", "E/C3", "E/C4", "E/C5"]));
    assert_eq!(of("S1"), serde_json::json!(["N/J1"]));
    assert_eq!(site.line("panel")["batch_not_named"], serde_json::json!(["S/C1", "S/C2", "S/C3"]));
}

#[test]
fn goods_that_are_damaged_on_site_come_off_the_count() {
    let site = site::open("2026-03-03T08:30:00+13:00");
    let mut terminal = start(&site);
    terminal.answer("Type 'delivery' to book in what came", "damaged\r");
    terminal.sees("No delivery is recorded: book it in by 'delivery' first.");
    site.ok("batch add --product panel --batch P --count 10 --colour 'fog grey'");
    // What another program recorded meanwhile is known once the question is put again.
    terminal.answer("Panel batch", "skip\r");
    terminal.question();
    terminal.reply("damaged\r");
    terminal.answer("1 panel P: fog grey, 10 panels left", "1\r");
    terminal.answer("How many panels are thrown away", "2\r");
    terminal.answer("What happened to it", "dropped off the stack\r");
    terminal.sees("Recorded: ");
    assert_eq!(site.line("panel")["thrown_away"], 2.0);
}

#[test]
fn a_delivery_is_counted_at_any_question() {
    let site = site::open("2026-03-03T08:30:00+13:00");
    let mut terminal = start(&site);
    terminal.answer("Type 'delivery' to book in what came", "delivery\r");
    terminal.answer("1 panel 2 sealant 3 something else", "2\r");
    terminal.answer("Batch number on the label", "SL-417\r");
    terminal.answer("How many cartridges", "a box\r");
    terminal.answer("How many cartridges", "24\r");
    terminal.answer("Use by", "2026-11-30\r");
    terminal.answer("Damaged or wet?", "\r");
    terminal.answer("Did anything else come?", "y\r");
    terminal.answer("3 something else", "1\r");
    terminal.answer("Batch number on the label", "PF-1\r");
    terminal.answer("How many panels", "20\r");
    terminal.answer("Colour", "fog grey\r");
    terminal.answer("Damaged or wet?", "two corners chipped\r");
    terminal.answer("Did anything else come?", "\r");
    terminal.answer("1 PF-1: fog grey, 20 panels left", "quit\r");
    assert_eq!(terminal.ends(), 0);
    let shown = unbroken(&terminal.everything());
    assert!(shown.contains("Recorded: delivery of sealant SL-417, 08:30"), "{shown}");
    let list = site.ok("batch list");
    assert_eq!(list["batches"][0]["deliveries"][0]["condition"], "two corners chipped");
    assert_eq!(list["batches"][1]["expires"], "2026-11-30");
}
