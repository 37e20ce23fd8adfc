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
