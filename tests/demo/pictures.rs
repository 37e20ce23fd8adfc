//! The invented photos of the demonstration: drawn here, kept in demo-db/photos/.

use cladlog::photos::{PhotoSort, look, small};
use image::{Rgb, RgbImage};

use crate::harness::pictures::{Notes, encoded, jpeg};
use crate::harness::root;

const SKY: Rgb<u8> = Rgb([196, 214, 226]);
const GROUND: Rgb<u8> = Rgb([126, 116, 92]);
const WRAP: Rgb<u8> = Rgb([92, 108, 104]);
const BATTEN: Rgb<u8> = Rgb([196, 160, 108]);
const PANEL: Rgb<u8> = Rgb([164, 168, 170]);
const JOINT: Rgb<u8> = Rgb([92, 94, 96]);
const GLASS: Rgb<u8> = Rgb([58, 74, 88]);
const FLASHING: Rgb<u8> = Rgb([60, 62, 66]);
const STEEL: Rgb<u8> = Rgb([214, 218, 220]);

/// A drawing 640 by 480; every edge is a straight one, so that the files stay small.
struct Scene(RgbImage);

impl Scene {
    fn yard() -> Self {
        let ground = |_, y: u32| if y < 400 { SKY } else { GROUND };
        Self(RgbImage::from_fn(640, 480, ground))
    }

    fn fill(mut self, x: u32, y: u32, width: u32, height: u32, colour: Rgb<u8>) -> Self {
        for py in y..(y + height).min(480) {
            for px in x..(x + width).min(640) {
                self.0.put_pixel(px, py, colour);
            }
        }
        self
    }

    /// A wall in its wrap with battens over it: before it is covered. `first` tells one wall from another.
    fn battened(first: u32, openings: &[(u32, u32)]) -> Self {
        let mut scene = Self::yard().fill(40, 90, 560, 310, WRAP);
        for at in (0..9).map(|number| 40 + first + number * 64) {
            scene = scene.fill(at, 90, 9, 310, BATTEN);
        }
        for (at, width) in openings {
            scene = scene.fill(*at, 190, *width, 120, GLASS).fill(at - 8, 182, width + 16, 8, FLASHING);
        }
        scene
    }

    /// The same wall with its panels up.
    fn panelled(openings: &[(u32, u32)], joints: &[u32]) -> Self {
        let mut scene = Self::yard().fill(40, 90, 560, 310, PANEL);
        for course in 1..9 {
            scene = scene.fill(40, 90 + course * 34, 560, 1, JOINT);
        }
        for at in joints {
            scene = scene.fill(*at, 90, 3, 310, JOINT);
        }
        for (at, width) in openings {
            scene = scene.fill(*at, 190, *width, 120, GLASS).fill(at - 8, 182, width + 16, 8, FLASHING);
        }
        scene
    }
}

/// Every photo with its name.
fn photos() -> Vec<(&'static str, Vec<u8>)> {
    let at = |taken: &'static str, looking: f64| Notes {
        place: Some((-41.290_12, 174.780_31)),
        looking: Some(looking),
        ..Notes::taken(taken)
    };
    let shot = |scene: Scene, notes: Notes| jpeg(&scene.0, 60, Some(&notes));
    let packed = Scene::yard()
        .fill(60, 60, 90, 340, BATTEN)
        .fill(280, 60, 90, 340, BATTEN)
        .fill(500, 60, 90, 340, BATTEN)
        .fill(280, 200, 90, 18, STEEL)
        .fill(280, 300, 90, 12, STEEL);
    let lapped = Scene::yard()
        .fill(40, 90, 560, 310, WRAP)
        .fill(160, 90, 320, 190, GLASS)
        .fill(140, 280, 360, 22, STEEL)
        .fill(140, 302, 40, 60, STEEL)
        .fill(140, 280, 24, 22, FLASHING);
    vec![
        ("north-packed.jpg", shot(packed, at("2026:03:03 09:36:10", 181.0))),
        (
            "north-before-cover.jpg",
            shot(Scene::battened(10, &[(140, 90), (400, 130)]), at("2026:03:03 14:31:02", 181.5)),
        ),
        // Taken in the morning, before the wrap was checked: the pack says so.
        ("east-before-cover.jpg", shot(Scene::battened(26, &[(250, 120)]), at("2026:03:03 10:52:40", 270.0))),
        ("south-before-cover.jpg", shot(Scene::battened(34, &[]), at("2026:03:03 14:38:20", 1.5))),
        ("west-before-cover.jpg", shot(Scene::battened(48, &[(300, 90)]), at("2026:03:03 14:41:55", 89.0))),
        ("west-sill-lap.jpg", shot(lapped, at("2026:03:03 16:17:31", 88.0))),
        (
            "north-finished.jpg",
            shot(Scene::panelled(&[(140, 90), (400, 130)], &[180, 320, 460]), at("2026:03:05 11:24:09", 180.0)),
        ),
        // Sent on by a messenger, which took the camera's notes away.
        ("south-finished.png", encoded(&Scene::panelled(&[], &[180, 320, 460]).0, image::ImageFormat::Png)),
    ]
}

#[test]
fn the_photos_kept_in_demo_db_are_small_and_say_when_they_were_taken() {
    let folder = root().join("demo-db/photos");
    // To draw them anew: CLADLOG_REDRAW=1 cargo test the_photos_kept
    if std::env::var_os("CLADLOG_REDRAW").is_some() {
        std::fs::create_dir_all(&folder).unwrap();
        for (name, bytes) in photos() {
            std::fs::write(folder.join(name), bytes).unwrap();
        }
    }
    for (name, drawn) in photos() {
        let kept = std::fs::read(folder.join(name)).unwrap();
        assert!(kept.len() < 40_000, "{name} has {} bytes", kept.len());
        let (kept_facts, facts) = (look(&kept, chrono_tz::Tz::UTC).unwrap(), look(&drawn, chrono_tz::Tz::UTC).unwrap());
        assert_eq!(kept_facts.taken_at, facts.taken_at, "{name}");
        assert_eq!(facts.taken_at.is_some(), facts.format == PhotoSort::Jpeg);
        assert!(small(&kept, cladlog::photos::SMALL_PX).unwrap().is_some());
    }
}
