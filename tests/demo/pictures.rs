//! The invented photos of the demonstration: drawn here, kept in demo-db/photos/.

use cladlog::building::{Job, Wall, read_job};
use cladlog::photos::{PhotoSort, look, small};
use image::{Rgb, RgbImage};

use crate::harness::pictures::{Notes, encoded, jpeg};
use crate::harness::root;

const SKY: Rgb<u8> = Rgb([196, 214, 226]);
const GROUND: Rgb<u8> = Rgb([126, 116, 92]);
const INSIDE: Rgb<u8> = Rgb([70, 64, 60]);
const WRAP: Rgb<u8> = Rgb([92, 108, 104]);
const TIMBER: Rgb<u8> = Rgb([196, 160, 108]);
const PANEL: Rgb<u8> = Rgb([164, 168, 170]);
const JOINT: Rgb<u8> = Rgb([92, 94, 96]);
const GLASS: Rgb<u8> = Rgb([58, 74, 88]);
const FLASHING: Rgb<u8> = Rgb([60, 62, 66]);
const STEEL: Rgb<u8> = Rgb([214, 218, 220]);

/// Millimetres of wall in a pixel of a photo of the whole wall.
const MM_A_PIXEL: f64 = 17.0;

/// How far a wall has come.
#[derive(Clone, Copy, PartialEq)]
enum Stage {
    Framed,
    Battened,
    Clad,
}

/// A drawing 640 by 480; every edge is a straight one, so that the files stay small.
struct Scene(RgbImage);

impl Scene {
    fn plain(colour: Rgb<u8>) -> Self {
        Self(RgbImage::from_pixel(640, 480, colour))
    }

    fn fill(mut self, x: u32, y: u32, width: u32, height: u32, colour: Rgb<u8>) -> Self {
        for py in y..(y + height).min(480) {
            for px in x..(x + width).min(640) {
                self.0.put_pixel(px, py, colour);
            }
        }
        self
    }

    /// A wall of the job from outside, with its openings where they are.
    fn wall(job: &Job, key: &str, stage: Stage) -> Self {
        let wall = job.wall(key).unwrap();
        let left = 320.0 - wall.length_mm.unwrap() / MM_A_PIXEL / 2.0;
        Self(RgbImage::from_fn(640, 480, |x, y| {
            let (along, up) = ((f64::from(x) + 0.5 - left) * MM_A_PIXEL, (400.5 - f64::from(y)) * MM_A_PIXEL);
            seen(wall, stage, along, up)
        }))
    }
}

/// What is seen of a wall at a point, millimetres from its left end and above the datum.
fn seen(wall: &Wall, stage: Stage, along: f64, up: f64) -> Rgb<u8> {
    let (length, height) = (wall.length_mm.unwrap(), wall.height_mm.unwrap_or_default());
    let base = height_at(&wall.base, along).unwrap_or(0.0);
    let top = height_at(&wall.top, along).unwrap_or(height);
    if !(0.0..length).contains(&along) || up >= top || up < base {
        return if up < base.max(0.0) { GROUND } else { SKY };
    }
    for opening in &wall.openings {
        let [from, to, sill, head] =
            [opening.from_mm, opening.to_mm, opening.sill_mm, opening.head_mm].map(Option::unwrap);
        if (from..to).contains(&along) && (sill..head).contains(&up) {
            return if stage == Stage::Framed { INSIDE } else { GLASS };
        }
        if stage != Stage::Framed && (from - 100.0..to + 100.0).contains(&along) && (head..head + 90.0).contains(&up) {
            return FLASHING;
        }
    }
    let stud = wall.studs_mm.iter().any(|stud| (along - stud).abs() < 60.0);
    let joint = wall.joints.iter().filter_map(|joint| joint.at_mm).any(|joint| (along - joint).abs() < 20.0);
    match stage {
        Stage::Framed if stud || top - up < 120.0 || up - base < 120.0 => TIMBER,
        Stage::Framed => INSIDE,
        Stage::Battened if stud => TIMBER,
        Stage::Battened => WRAP,
        Stage::Clad if joint || up.rem_euclid(600.0) < MM_A_PIXEL => JOINT,
        Stage::Clad => PANEL,
    }
}

/// The height of an outline at a place along it; nothing where the job gives none.
fn height_at(outline: &[[f64; 2]], along: f64) -> Option<f64> {
    let ends = outline.windows(2).find(|ends| (ends[0][0]..ends[1][0]).contains(&along))?;
    let (from, to) = (ends[0], ends[1]);
    Some(from[1] + (to[1] - from[1]) * (along - from[0]) / (to[0] - from[0]))
}

/// Every photo with its name.
fn photos() -> Vec<(&'static str, Vec<u8>)> {
    let at = |taken: &'static str, looking: f64| Notes {
        place: Some((-41.290_12, 174.780_31)),
        looking: Some(looking),
        ..Notes::taken(taken)
    };
    let job = read_job(&std::fs::read_to_string(root().join("demo-db/job.toml")).unwrap()).unwrap();
    let shot = |scene: Scene, notes: Notes| jpeg(&scene.0, 60, Some(&notes));
    let wall = |key: &str, stage: Stage| Scene::wall(&job, key, stage);
    // The studs at 1200 to 3000; those at 1800 and 2400 are packed at three clip lines.
    let studs = [70, 220, 370, 520].iter().fold(Scene::plain(INSIDE), |scene, x| scene.fill(*x, 0, 60, 480, TIMBER));
    let packed = [(215, 70), (215, 230), (215, 390), (365, 70), (365, 230), (365, 390)];
    let packed = packed.iter().fold(studs, |scene, (x, y)| scene.fill(*x, *y, 70, 22, STEEL));
    // The left end of the sill, from near: the tray turned up, over the wrap.
    let lapped = Scene::plain(WRAP)
        .fill(40, 0, 70, 480, TIMBER)
        .fill(300, 330, 70, 150, TIMBER)
        .fill(560, 330, 70, 150, TIMBER)
        .fill(220, 0, 420, 250, GLASS)
        .fill(170, 250, 470, 34, STEEL)
        .fill(170, 190, 34, 94, STEEL)
        .fill(170, 284, 470, 10, FLASHING);
    vec![
        ("north-packed.jpg", shot(packed, at("2026:03:03 09:36:10", 181.0))),
        ("north-before-cover.jpg", shot(wall("N", Stage::Battened), at("2026:03:03 14:31:02", 181.5))),
        // Of the frame, before the wrap was on, and recorded with the cavity all the same: the pack says so.
        ("east-before-cover.jpg", shot(wall("E", Stage::Framed), at("2026:03:03 10:52:40", 270.0))),
        ("south-before-cover.jpg", shot(wall("S", Stage::Battened), at("2026:03:03 14:38:20", 1.5))),
        ("west-before-cover.jpg", shot(wall("W", Stage::Battened), at("2026:03:03 14:41:55", 89.0))),
        ("west-sill-lap.jpg", shot(lapped, at("2026:03:03 16:17:31", 88.0))),
        ("north-finished.jpg", shot(wall("N", Stage::Clad), at("2026:03:05 11:24:09", 180.0))),
        // Sent on by a messenger, which took the camera's notes away.
        ("south-finished.png", encoded(&wall("S", Stage::Clad).0, image::ImageFormat::Png)),
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
