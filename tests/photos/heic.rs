//! HEIC as a phone writes it: what the camera wrote is read, and its place can be left out.

use chrono_tz::Tz;
use cladlog::digest::sha256_hex;
use cladlog::photos::{Direction, Place, camera, look, small};

use crate::handover::story::Story;

/// Made by `fixtures/wall_heic.py`, with libheif.
const WALL: &[u8] = include_bytes!("fixtures/wall.heic");

#[test]
fn time_place_and_direction_are_read_from_heic() {
    let facts = look(WALL, Tz::UTC).unwrap();
    assert_eq!(facts.format.to_string(), "HEIC");
    assert_eq!(facts.taken_at.unwrap().to_string(), "2026-03-02T10:40:00+13:00");
    assert!(!facts.site_offset, "the camera gives its offset");
    let read = camera(WALL);
    assert_eq!(read.place, Some(Place { lat_deg: -41.289_028, lon_deg: 174.775_347 }));
    assert_eq!(read.direction, Some(Direction { deg: 271.5, magnetic: true }));
    assert_eq!(small(WALL, cladlog::photos::SMALL_PX), Ok(None), "its picture is not read");
}

#[test]
fn a_pack_shows_where_heic_was_taken_unless_places_are_left_out() {
    let story = Story::begun();
    std::fs::write(story.path("wall.heic"), WALL).unwrap();
    story.json(["photo", "add", "wall.heic", "--on", "N"]);
    let digest = sha256_hex(WALL);
    assert!(std::fs::read(story.path(&format!("job.db.photos/{digest}.heic"))).unwrap() == WALL);
    for (pack, more, shown) in [("with", None, true), ("without", Some("--no-places"), false)] {
        let args: Vec<&str> = ["pack", pack, "--interim"].into_iter().chain(more).collect();
        story.run(&args).exits(0);
        let text = |file: &str| std::fs::read_to_string(story.path(&format!("{pack}/{file}"))).unwrap();
        let (html, csv, record) = (text("handover.html"), text("tables/photos.csv"), text("record.jsonl"));
        assert!(!html.contains("174.775"), "places stand in the table alone");
        assert_eq!(csv.contains("174.775"), shown);
        assert!(!record.contains("174.775"), "the record never has it");
        assert!(html.contains("2 Mar") && csv.contains("2026-03-02T10:40:00+13:00"), "when stays");
        assert_eq!(story.path(&format!("{pack}/photos/001-N.heic")).exists(), shown);
        assert_eq!(story.json(["verify", pack])["ok"], true);
    }
}
