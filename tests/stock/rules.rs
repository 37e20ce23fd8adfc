//! What stops, and what is only said: by the rule that it falls under.

use super::MORNING;
use super::site;
use super::site::kinds_of;
use crate::rules::clears;

const SEALANT: &str = "batch add --product sealant --batch SL-1 --count 24 --expires 2026-03-03";

#[test]
fn r7_sealant_past_its_last_day_is_refused_and_anyway_opens_a_defect() {
    let site = site::open(MORNING);
    site.ok(SEALANT);
    // The last day itself is in date, to midnight by the site's clocks.
    site.clock("2026-03-03T23:59:00+13:00");
    site.ok("record gun --on N/J1 --answer sealant-batch=SL-1");
    site.clock("2026-03-04T00:00:00+13:00");
    let said = site.refused("R7", "record gun --on N/J1,S/J1 --answer sealant-batch=sl-1");
    assert!(clears(&said, "cladlog batch add --product sealant"), "{said}");
    site.ok("batch add --product sealant --batch SL-2 --count 12 --expires 2026-11-30");
    let said = site.refused("R7", "record gun --on N/J1 --answer sealant-batch=SL-1");
    assert!(clears(&said, "SL-2"), "{said}");
    let told = site.ok("record gun --on N/J1 --answer sealant-batch=SL-1 --anyway --why 'seen only afterwards'");
    let id = format!("{}.r7-expired-sealant-batch", told["entries"][0]["id"].as_str().unwrap());
    assert_eq!(told["opened"][0]["id"], id);
    assert_eq!(site.open_defect_ids(), [id]);
    // As of yesterday it was in date.
    site.ok("record gun --on N/J1 --answer sealant-batch=SL-1 --at 2026-03-03T18:00:00+13:00");
}

#[test]
fn r7_holds_outside_a_step_too_but_what_is_expired_may_be_thrown_away() {
    let site = site::open(MORNING);
    site.ok(SEALANT);
    site.clock("2026-03-04T08:00:00+13:00");
    site.refused("R7", "batch use SL-1 --on N --count 2");
    assert_eq!(site.flags(), ["short", "expired"]);
    site.ok("batch use SL-1 --on N --count 2 --anyway --why 'nothing else there'");
    assert_eq!(site.open_defects().len(), 1);
    site.ok("batch use SL-1 --as sent-back --count 22");
    assert_eq!(site.flags(), ["runs-out"]);
    site.bad("batch use SL-1 --on N --count 2 --anyway --why ' '");
}

#[test]
fn r7_what_was_used_past_its_day_keeps_what_stopped_it() {
    let site = site::open(MORNING);
    site.ok("batch add --product sealant --batch SL-1 --count 24 --expires 2026-03-03");
    let came = site.log().last().unwrap()["id"].as_str().unwrap().to_owned();
    site.clock("2026-03-04T08:00:00+13:00");
    let used = site.entry("batch use SL-1 --on N --count 2 --anyway --why 'nothing else there'");
    site.ok("export all.jsonl");
    let last: serde_json::Value = serde_json::from_str(site.read("all.jsonl").lines().last().unwrap()).unwrap();
    let stopped = &last["body"]["stopped_by"][0];
    assert_eq!((&stopped["rule"], &stopped["key"]), (&"R7".into(), &"expired-batch".into()), "{last}");
    assert!(stopped["why"].as_str().unwrap().contains("SL-1 expired on 3 Mar 2026"), "{last}");
    let states = |site: &crate::harness::site::Site| -> Vec<String> {
        let state = |defect: &serde_json::Value| {
            let void = if defect["void"] == true { ", void" } else { "" };
            format!("{}{void}", defect["state"].as_str().unwrap())
        };
        site.defects().iter().map(state).collect()
    };
    assert_eq!(states(&site), ["open"]);
    // The label was misread: it was in date, and that it was stopped then stays.
    site.ok(["strike", &came, "--why", "misread", "--anyway"]);
    site.ok("batch add --product sealant --batch SL-1 --count 24 --expires 2026-11-30 --at 2026-03-02T09:00:00+13:00");
    assert_eq!(states(&site), ["closed, void"]);
    // So it does where the use is struck.
    site.ok(["strike", &used, "--why", "not used after all"]);
    assert_eq!(states(&site), ["closed, void"]);
    // Used in date, nothing stopped it.
    site.ok("batch use SL-1 --on N --count 2 --anyway --why 'to be safe'");
    site.ok("export later.jsonl");
    let last: serde_json::Value = serde_json::from_str(site.read("later.jsonl").lines().last().unwrap()).unwrap();
    assert!(last["body"].get("stopped_by").is_none(), "{last}");
}

#[test]
fn r7_finds_what_was_used_too_late_when_the_delivery_is_recorded_after() {
    let site = site::open(MORNING);
    site.next_day("2026-03-05T08:00:00+13:00");
    site.ok("record gun --on N/J1 --answer sealant-batch=SL-1");
    assert_eq!(site.open_defects().len(), 0, "nobody knew its date");
    // Written down two days late, with the time that it came: the use is judged by what was on site then.
    let came = site.entry(format!("{SEALANT} --at {MORNING}"));
    assert_eq!(site.open_defects(), ["N/J1 r7-expired-sealant-batch"]);
    site.ok(format!("strike {came} --why 'misread' --anyway"));
    assert_eq!(site.open_defects().len(), 0);
    let late = site::open(MORNING);
    late.ok("record gun --on N/J1 --answer sealant-batch=SL-1");
    late.clock("2026-03-03T09:00:00+13:00");
    late.ok("batch add --product sealant --batch SL-1 --count 24 --expires 2026-03-03");
    assert_eq!(late.flags(), ["expires-soon", "before-delivery"]);
    assert_eq!(late.open_defects().len(), 0);
}

#[test]
fn close_to_its_last_day_is_said_at_every_use() {
    let site = site::open(MORNING);
    site.ok("batch add --product sealant --batch SL-1 --count 24 --expires 2026-03-20");
    assert_eq!(site.flags().len(), 0);
    site.next_day("2026-03-06T08:30:00+13:00");
    for _ in 0..2 {
        let told = site.ok("record gun --on N/J1 --answer sealant-batch=SL-1");
        assert_eq!(kinds_of(&told["warnings"]), ["expires-soon"]);
    }
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
    assert_eq!(kinds_of(&told["warnings"]), ["second-batch"]);
    assert_eq!(site.flags(), ["second-batch"]);
    let told = site.ok("batch use R --on N --count 1");
    assert_eq!(kinds_of(&told["warnings"]), ["second-batch"]);
}

#[test]
fn running_out_before_a_wall_is_done_is_said_in_time() {
    let site = site::open(MORNING);
    let told = site.ok("batch add --product panel --batch P --count 12");
    assert_eq!(kinds_of(&told["warnings"]), ["short"]);
    site.ok("record hang --on E/C1..5 --answer label=P");
    let told = site.ok("record hang --on N/C1 --answer label=P");
    assert_eq!(kinds_of(&told["warnings"]), ["runs-out"]);
    assert_eq!(site.count("panel"), [12.0, 7.0, 5.0, 8.0]);
    // More of another batch does for the wall, and will show on it.
    site.ok("batch add --product panel --batch Q --count 20");
    assert_eq!(site.flags(), ["batch-short"]);
    assert_eq!(site.ok("next")["warnings"], site.ok("stock")["flags"]);
}

#[test]
fn a_batch_that_never_came_or_came_later_and_more_than_came_are_recorded_and_flagged() {
    let site = site::open(MORNING);
    // Nothing of it was ever delivered: no count is kept, and nothing is said.
    let told = site.ok("record gun --on N/J1 --answer sealant-batch=SL-9");
    assert!(told.get("warnings").is_none(), "{told}");
    site.clock("2026-03-03T09:00:00+13:00");
    let told = site.ok("batch add --product sealant --batch SL-1 --count 1");
    assert!(kinds_of(&told["warnings"]).contains(&"not-delivered".to_owned()), "{told}");
    site.ok("batch add --product sealant --batch SL-9 --count 4");
    assert!(site.flags().contains(&"before-delivery".to_owned()), "{:?}", site.flags());
    let told = site.ok("batch use SL-1 --on N --count 3");
    assert_eq!(kinds_of(&told["warnings"]), ["more-used-than-delivered"]);
    assert_eq!(site.open_defects().len(), 0, "a miscount is no defect of the building");
}

#[test]
fn a_strike_says_what_it_does_to_the_count() {
    let site = site::open(MORNING);
    let came = site.entry("batch add --product panel --batch P --count 40");
    site.ok("batch add --product panel --batch Q --count 4");
    site.ok("record hang --on N/C1 --answer label=P");
    let told = site.ok(format!("strike {came} --why 'other site'"));
    assert!(kinds_of(&told["warnings"]).contains(&"not-delivered".to_owned()), "{told}");
}
