//! What stops, and what is only said: by the rule that it falls under.

use super::MORNING;
use super::site;
use super::site::words_of;
use crate::harness::site::Site;

const SEALANT: &str = "batch add --product sealant --batch SL-1 --count 24 --expires 2026-03-03";

/// The id and words of every open defect.
fn open_defects(site: &Site) -> Vec<(String, String)> {
    let list = site.ok("defect list");
    let open = list["defects"].as_array().unwrap().iter().filter(|defect| defect["state"] == "open");
    open.map(|one| (one["id"].as_str().unwrap().to_owned(), one["what"].as_str().unwrap().to_owned())).collect()
}

#[test]
fn r7_sealant_past_its_last_day_is_refused_and_anyway_opens_a_defect() {
    let site = site::open(MORNING);
    site.ok(SEALANT);
    // The last day itself is in date, to midnight by the site's clocks.
    site.clock("2026-03-03T23:59:00+13:00");
    site.ok("record gun --on N/J1 --answer sealant-batch=SL-1");
    site.clock("2026-03-04T00:00:00+13:00");
    let said = site.refused("R7", "record gun --on N/J1,S/J1 --answer sealant-batch=sl-1");
    assert_eq!(said["what"], "'Joint gunned' on N/J1, S/J1");
    assert_eq!(
        said["why"],
        "2 of 2 stopped, N/J1 first: sealant sl-1 expired on 3 Mar 2026; it is 4 Mar 2026; none is recorded"
    );
    assert_eq!(said["clears"], "sealant that is in date: have some delivered (cladlog batch add --product sealant …)");
    site.ok("batch add --product sealant --batch SL-2 --count 12 --expires 2026-11-30");
    let said = site.refused("R7", "record gun --on N/J1 --answer sealant-batch=SL-1");
    assert_eq!(said["clears"], "a batch in date: SL-2");
    let told = site.ok("record gun --on N/J1 --answer sealant-batch=SL-1 --anyway --why 'seen only afterwards'");
    let id = format!("{}.r7-expired-sealant-batch", told["entries"][0]["id"].as_str().unwrap());
    assert_eq!(told["opened"][0]["id"], id);
    assert_eq!(
        open_defects(&site),
        [(
            id,
            "Joint gunned: sealant SL-1 expired on 3 Mar 2026; it is 4 Mar 2026 (recorded anyway: seen only afterwards)"
                .to_owned()
        )]
    );
    // As of yesterday it was in date.
    site.ok("record gun --on N/J1 --answer sealant-batch=SL-1 --at 2026-03-03T18:00:00+13:00");
}

#[test]
fn r7_holds_outside_a_step_too_but_what_is_expired_may_be_thrown_away() {
    let site = site::open(MORNING);
    site.ok(SEALANT);
    site.clock("2026-03-04T08:00:00+13:00");
    let said = site.refused("R7", "batch use SL-1 --on N --count 2");
    assert_eq!(said["what"], "use sealant SL-1 on N");
    let flags = site.flags();
    assert_eq!(flags[0], "short: 0 cartridges of sealant in date left, 1.4 needed for N: 2 or more short");
    assert_eq!(flags[1], "expired: sealant SL-1 expired on 3 Mar 2026: set 24 cartridges of sealant aside");
    site.ok("batch use SL-1 --on N --count 2 --anyway --why 'nothing else there'");
    assert_eq!(open_defects(&site).len(), 1);
    site.ok("batch use SL-1 --as sent-back --count 22");
    assert_eq!(
        site.flags(),
        ["runs-out: 0 cartridges of sealant left, 1.4 needed for N: 2 or more short; it runs out before N is done"]
    );
    let empty = site.bad("batch use SL-1 --on N --count 2 --anyway --why ' '");
    assert_eq!(empty, "cladlog: --why is empty\n");
}

#[test]
fn r7_finds_what_was_used_too_late_when_the_delivery_is_recorded_after() {
    let site = site::open(MORNING);
    site.next_day("2026-03-05T08:00:00+13:00");
    site.ok("record gun --on N/J1 --answer sealant-batch=SL-1");
    assert_eq!(open_defects(&site).len(), 0, "nobody knew its date");
    // Written down two days late, with the time that it came: the use is judged by what was on site then.
    let came = site.entry(&format!("{SEALANT} --at {MORNING}"));
    let found = open_defects(&site);
    assert_eq!(found[0].1, "Joint gunned: sealant SL-1 expired on 3 Mar 2026; it is 5 Mar 2026");
    site.ok(&format!("strike {came} --why 'misread' --anyway"));
    assert_eq!(open_defects(&site).len(), 0);
    let late = site::open(MORNING);
    late.ok("record gun --on N/J1 --answer sealant-batch=SL-1");
    late.clock("2026-03-03T09:00:00+13:00");
    late.ok("batch add --product sealant --batch SL-1 --count 24 --expires 2026-03-03");
    let flags = late.flags();
    assert_eq!(flags[0], "expires-soon: sealant SL-1: today is its last day; 23.3 cartridges of sealant left");
    assert_eq!(flags[1], "before-delivery: sealant SL-1 was used 08:30, before it came 09:00");
    assert_eq!(open_defects(&late).len(), 0);
}

#[test]
fn close_to_its_last_day_is_said_at_every_use() {
    let site = site::open(MORNING);
    site.ok("batch add --product sealant --batch SL-1 --count 24 --expires 2026-03-20");
    assert_eq!(site.flags().len(), 0);
    site.next_day("2026-03-06T08:30:00+13:00");
    for _ in 0..2 {
        let told = site.ok("record gun --on N/J1 --answer sealant-batch=SL-1");
        let said = words_of(&told["warnings"]);
        assert!(said[0].starts_with("expires-soon: sealant SL-1: expires in 14 days, on 20 Mar 2026; "), "{said:?}");
    }
    let text = site.text("record gun --on N/J1 --answer sealant-batch=SL-1");
    assert!(text.contains("  Note: sealant SL-1: expires in 14 days"), "{text}");
}

#[test]
fn a_second_batch_on_one_wall_is_said_with_both_and_their_colours() {
    let site = site::open(MORNING);
    site.ok("batch add --product panel --batch P --count 8 --colour 'fog grey'");
    site.ok("batch add --product panel --batch Q --count 12 --colour 'Fog  grey'");
    site.ok("batch add --product panel --batch R --count 12 --colour sand");
    site.ok("record hang --on N/C1..4 --answer label=P");
    let other_wall = site.ok("record hang --on E/C1 --answer label=Q");
    assert!(other_wall.get("warnings").is_none(), "{other_wall}");
    let told = site.ok("record hang --on N/C5 --answer label=Q");
    let wanted = "second-batch: N: panels of 2 batches on one wall, P (N/C1..4) and Q (N/C5): \
                  hold them side by side in daylight";
    assert_eq!(words_of(&told["warnings"]), [wanted]);
    assert_eq!(site.flags(), [wanted]);
    let told = site.ok("batch use R --on N --count 1");
    assert!(words_of(&told["warnings"])[0].contains("; the labels say fog grey and sand: hold"), "{told}");
}

#[test]
fn running_out_before_a_wall_is_done_is_said_in_time() {
    let site = site::open(MORNING);
    let told = site.ok("batch add --product panel --batch P --count 12");
    assert_eq!(words_of(&told["warnings"]), ["short: 12 panels left, 15 needed for N, E: 3 or more short"]);
    site.ok("record hang --on E/C1..5 --answer label=P");
    let told = site.ok("record hang --on N/C1 --answer label=P");
    assert_eq!(
        words_of(&told["warnings"]),
        ["runs-out: 5 panels left, 8 needed for N: 3 or more short; it runs out before N is done"]
    );
    // More of another batch does for the wall, and will show on it.
    site.ok("batch add --product panel --batch Q --count 20");
    assert_eq!(site.flags(), ["batch-short: N: 8 more panels needed, 5 left of batch P: the rest would be of another"]);
    let next = site.ok("next");
    assert_eq!(words_of(&next["warnings"]), site.flags());
    assert!(site.text("next").contains("! N: 8 more panels needed, 5 left of batch P"));
}

#[test]
fn a_batch_that_never_came_or_came_later_and_more_than_came_are_recorded_and_flagged() {
    let site = site::open(MORNING);
    // Nothing of it was ever delivered: no count is kept, and nothing is said.
    let told = site.ok("record gun --on N/J1 --answer sealant-batch=SL-9");
    assert!(told.get("warnings").is_none(), "{told}");
    site.clock("2026-03-03T09:00:00+13:00");
    let told = site.ok("batch add --product sealant --batch SL-1 --count 1");
    assert!(
        words_of(&told["warnings"])
            .contains(&"not-delivered: sealant SL-9 was used, and no delivery of it is recorded".to_owned()),
        "{told}"
    );
    site.ok("batch add --product sealant --batch SL-9 --count 4");
    assert!(
        site.flags().contains(&"before-delivery: sealant SL-9 was used 08:30, before it came 09:00".to_owned()),
        "{:?}",
        site.flags()
    );
    let told = site.ok("batch use SL-1 --on N --count 3");
    assert_eq!(
        words_of(&told["warnings"]),
        ["more-used-than-delivered: sealant SL-1: 1 cartridge delivered, 3 gone: \
          count what is left, or record the delivery that is missing"]
    );
    assert_eq!(open_defects(&site).len(), 0, "a miscount is no defect of the building");
}

#[test]
fn a_strike_says_what_it_does_to_the_count() {
    let site = site::open(MORNING);
    let came = site.entry("batch add --product panel --batch P --count 40");
    site.ok("batch add --product panel --batch Q --count 4");
    site.ok("record hang --on N/C1 --answer label=P");
    let told = site.ok(&format!("strike {came} --why 'other site'"));
    let said = words_of(&told["warnings"]);
    assert!(
        said.contains(&"not-delivered: panel P was used, and no delivery of it is recorded".to_owned()),
        "{said:?}"
    );
}

#[test]
fn the_day_report_and_the_evening_say_what_runs_out() {
    let site = site::open(MORNING);
    site.ok("batch add --product panel --batch P --count 12");
    site.ok("record hang --on N/C1 --answer label=P");
    let report = site.ok("day report");
    assert_eq!(report["stock"][0], "10 panels left, 13 needed for N, E: 3 or more short");
    assert!(site.text("day report").contains("Materials:\n  10 panels left, 13 needed for N, E"));
    let evening = site.text("day close --hours Lea=8");
    assert!(evening.contains("Materials:\n  10 panels left, 13 needed for N, E"), "{evening}");
}
