//! The pack traces every place to its batch.

use super::MORNING;
use super::site;

#[test]
fn the_pack_traces_every_place_to_its_batch() {
    let site = site::open(MORNING);
    site.ok("batch add --product panel --batch '=1+1,x' --colour 'fog grey' --count 30");
    site.ok("batch add --product sealant --batch SL-1 --count 1 --expires 2026-11-30");
    site.ok("record hang --on N/C1..2 --answer 'label==1+1,x'");
    site.ok("record hang --on E/C1");
    site.ok("record gun --on N/J1 --answer sealant-batch=SL-1");
    site.ok("batch use SL-1 --on N --count 2 --note 'meter box'");
    site.ok("pack pack --interim");
    let csv = std::fs::read_to_string(site.path("pack/tables/batches.csv")).unwrap();
    let lines: Vec<&str> = csv.lines().collect();
    assert!(
        lines[1].starts_with(
            "panel,\"'=1+1,x\",fog grey,,panels,30,2026-03-03T08:30:00+13:00,4,0,26,,N/C1,used,hang,2,geometry,"
        ),
        "{csv}"
    );
    assert!(lines[3].starts_with("sealant,SL-1,,2026-11-30,cartridges,1,"), "{csv}");
    assert!(lines[3].contains(",more-used-than-delivered,N/J1,used,gun,0.66,geometry,"), "{csv}");
    assert!(lines[4].contains(",N,used,,2,hand,"), "{csv}");
    assert!(lines[5].starts_with("panel,,,,,,,,,,,E/C1,used,hang,1,geometry,"), "{csv}");
    assert_eq!(lines.len(), 6);
    let html = std::fs::read_to_string(site.path("pack/handover.html")).unwrap();
    for wanted in ["N/C1..2", "BATCH NOT NAMED", "more used than delivered"] {
        assert!(html.contains(wanted), "{wanted}");
    }
    site.ok("verify pack");
}

#[test]
fn what_was_used_and_never_delivered_or_named_is_a_reservation() {
    let site = site::open(MORNING);
    let reservations = |folder: &str| -> Vec<(String, String, String)> {
        let packed = site.ok(format!("pack {folder} --interim"));
        let all = packed["reservations"].as_array().unwrap().iter();
        let text = |one: &serde_json::Value, key: &str| one[key].as_str().unwrap_or_default().to_owned();
        let of_stock = all.filter(|one| matches!(one["sort"].as_str(), Some("product" | "batch")));
        of_stock.map(|one| (text(one, "sort"), text(one, "subject"), text(one, "what"))).collect()
    };
    let line = |sort: &str, on: &str, what: &str| (sort.to_owned(), on.to_owned(), what.to_owned());
    assert_eq!(reservations("nothing"), []);
    site.ok("record hang --on E/C1");
    site.ok("record gun --on N/J1 --answer sealant-batch=S1");
    let not_named = line("batch", "E/C1", "No batch named of panel");
    let never_came = line("product", "", "No delivery recorded of: panel, sealant");
    assert_eq!(reservations("none"), [never_came, not_named.clone()]);
    // Of what was delivered the batch that never came is named.
    site.ok("batch add --product panel --batch P1 --count 30");
    site.ok("batch add --product sealant --batch S2 --count 12");
    assert_eq!(reservations("some"), [line("product", "", "No delivery recorded of: sealant S1"), not_named]);
    site.ok("batch add --product sealant --batch s1 --count 12");
    assert_eq!(reservations("all").iter().filter(|(sort, ..)| sort == "product").count(), 0);
}
