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

/// Where somebody stands who photographs a wall, or the north-west corner: latitude and longitude, and the way they look.
fn from_outside(wall: char) -> ((f64, f64), f64) {
    match wall {
        'N' => ((-41.289_91, 174.780_05), 180.5),
        'E' => ((-41.290_04, 174.780_22), 270.0),
        'S' => ((-41.290_16, 174.780_03), 1.5),
        'W' => ((-41.290_02, 174.779_86), 89.0),
        _ => ((-41.289_95, 174.779_88), 135.0),
    }
}

/// Every photo with its name.
fn photos() -> Vec<(&'static str, Vec<u8>)> {
    let job = read_job(&std::fs::read_to_string(root().join("demo-db/job.toml")).unwrap()).unwrap();
    let shot = |scene: Scene, wall: char, taken: &'static str| {
        let ((lat, lon), looking) = from_outside(wall);
        // Nobody stands at the same spot twice: some metres aside, by the minute.
        let aside = f64::from(u32::from(taken.as_bytes()[15] - b'0') + u32::from(taken.as_bytes()[18] - b'0'));
        let place = Some((lat + aside * 1e-6, lon - aside * 2e-6));
        jpeg(&scene.0, 60, Some(&Notes { place, looking: Some(looking), ..Notes::taken(taken) }))
    };
    let whole =
        |wall: char, stage: Stage, taken: &'static str| shot(Scene::wall(&job, &wall.to_string(), stage), wall, taken);
    vec![
        ("north-packed.jpg", shot(packed(), 'N', "2026:02:23 11:31:10")),
        ("west-stud.jpg", shot(added_stud(), 'W', "2026:02:23 13:01:22")),
        ("north-frame.jpg", whole('N', Stage::Framed, "2026:02:23 12:57:05")),
        ("east-frame.jpg", whole('E', Stage::Framed, "2026:02:23 12:58:31")),
        ("east-frame-again.jpg", whole('E', Stage::Framed, "2026:02:23 13:24:49")),
        ("south-frame.jpg", whole('S', Stage::Framed, "2026:02:23 12:59:44")),
        ("west-frame.jpg", whole('W', Stage::Framed, "2026:02:23 13:03:17")),
        ("south-base.jpg", shot(stepped_base(), 'S', "2026:02:23 16:22:36")),
        ("north-sill.jpg", shot(sill(INSIDE, true), 'N', "2026:02:24 14:11:50")),
        ("north-before-cladding.jpg", whole('N', Stage::Battened, "2026:02:25 11:16:02")),
        ("east-before-cladding.jpg", whole('E', Stage::Battened, "2026:02:25 12:47:40")),
        ("south-before-cladding.jpg", whole('S', Stage::Battened, "2026:02:25 14:01:20")),
        ("west-before-cladding.jpg", whole('W', Stage::Battened, "2026:02:25 15:00:55")),
        ("west-sill-refused.jpg", shot(sill(GLASS, false), 'W', "2026:02:25 15:46:18")),
        ("west-sill-lapped.jpg", shot(sill(INSIDE, true), 'W', "2026:02:26 08:21:31")),
        ("corner-nw.jpg", shot(leaning_corner(), 'C', "2026:02:26 13:52:09")),
        ("north-pull.jpg", shot(pulled_bead(), 'N', "2026:03:04 08:09:27")),
        ("bin-store.jpg", shot(bin_store(), 'N', "2026:03:06 07:57:14")),
        ("north-finished.jpg", whole('N', Stage::Clad, "2026:03:06 09:14:09")),
        ("east-finished.jpg", whole('E', Stage::Clad, "2026:03:06 10:19:33")),
        // Sent on by a messenger, which took the camera's notes away.
        ("south-finished.png", encoded(&Scene::wall(&job, "S", Stage::Clad).0, image::ImageFormat::Png)),
        ("west-finished.jpg", whole('W', Stage::Clad, "2026:03:06 12:53:41")),
    ]
}

/// The studs at 1200 to 3000; the one at 1800 and the pair at 2400 are packed at three clips.
fn packed() -> Scene {
    let studs =
        [70, 220, 338, 402, 520].iter().fold(Scene::plain(INSIDE), |scene, x| scene.fill(*x, 0, 60, 480, TIMBER));
    let packers = [215, 334, 400].into_iter().flat_map(|x| [70, 230, 390].map(|y| (x, y)));
    packers.fold(studs, |scene, (x, y)| scene.fill(x, y, 64, 22, STEEL))
}

/// Two studs side by side between plates, the newer one paler, and the nails in it.
fn added_stud() -> Scene {
    let frame = Scene::plain(INSIDE).fill(0, 400, 640, 80, TIMBER).fill(330, 0, 90, 400, TIMBER);
    let frame = frame.fill(60, 0, 90, 400, TIMBER).fill(228, 0, 96, 400, Rgb([222, 194, 146]));
    [40, 140, 240, 340]
        .iter()
        .fold(frame, |scene, y| scene.fill(250, *y, 8, 8, FLASHING).fill(296, *y + 20, 8, 8, FLASHING))
}

/// The foot of a wall where the footing steps up: flashing under the framing, the vent strip on it.
fn stepped_base() -> Scene {
    Scene::plain(TIMBER)
        .fill(0, 330, 360, 14, STEEL)
        .fill(0, 316, 360, 14, FLASHING)
        .fill(360, 210, 280, 14, STEEL)
        .fill(360, 196, 280, 14, FLASHING)
        .fill(346, 210, 14, 134, STEEL)
        .fill(0, 344, 360, 136, JOINT)
        .fill(360, 224, 280, 256, JOINT)
}

/// The left end of a sill, from near: the flashing turned up and over the wrap, or its end behind the wrap.
fn sill(above: Rgb<u8>, over: bool) -> Scene {
    let scene = Scene::plain(WRAP)
        .fill(40, 0, 70, 480, TIMBER)
        .fill(300, 330, 70, 150, TIMBER)
        .fill(560, 330, 70, 150, TIMBER)
        .fill(220, 0, 420, 250, above)
        .fill(170, 250, 470, 34, STEEL)
        .fill(170, 284, 470, 10, FLASHING);
    if over {
        scene.fill(170, 190, 34, 94, STEEL)
    } else {
        scene.fill(150, 240, 150, 60, WRAP).fill(150, 300, 150, 4, FLASHING)
    }
}

/// A level on a metal corner, a wedge of light between them.
fn leaning_corner() -> Scene {
    let corner = Scene::plain(WRAP).fill(300, 0, 90, 480, FLASHING).fill(0, 0, 60, 480, SKY);
    let level = corner.fill(250, 20, 44, 440, Rgb([204, 172, 40])).fill(258, 220, 28, 44, GLASS);
    (0..20).fold(level, |scene, step| scene.fill(294, step * 24, (step * 6 / 20).max(1), 24, SKY))
}

/// The foot of a joint with the bead cut across and pulled out.
fn pulled_bead() -> Scene {
    let joint = Scene::plain(PANEL).fill(296, 0, 48, 300, JOINT).fill(296, 300, 48, 180, INSIDE);
    (0..12).fold(joint, |scene, step| scene.fill(296 + step * 14, 300 + step * 9, 30, 12, JOINT))
}

/// The front of a bin store: one row of panels under a lid.
fn bin_store() -> Scene {
    Scene::plain(SKY)
        .fill(0, 380, 640, 100, GROUND)
        .fill(90, 120, 460, 22, TIMBER)
        .fill(100, 142, 440, 230, PANEL)
        .fill(316, 142, 8, 230, JOINT)
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
