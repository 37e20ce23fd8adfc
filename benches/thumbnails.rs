//! Small pictures of a folder of photos, and nothing else: for `benches/beside/photos.py`, which runs `vipsthumbnail` over
//! the same files.
//!
//! ```sh
//! cargo bench --no-default-features --bench thumbnails -- FOLDER OUT
//! ```
//!
//! Each file is read, its small picture made as for a pack, and written to OUT under the same name; as many at once as
//! the machine has processors. Prints how many.

#![allow(clippy::print_stdout, clippy::expect_used, reason = "a bench is its own program")]

use std::path::{Path, PathBuf};

use cladlog::photos::{SMALL_PX, each, room_for_file, small};

fn main() {
    // Cargo adds `--bench`.
    let places: Vec<PathBuf> = std::env::args().skip(1).filter(|arg| arg != "--bench").map(PathBuf::from).collect();
    let [folder, out] = &places[..] else {
        println!("give a folder of photos and a folder for their small pictures; nothing was measured");
        return;
    };
    std::fs::create_dir_all(out).expect("the folder for small pictures can be made");
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("the folder can be read")
        .map(|entry| entry.expect("the folder can be read").path())
        .collect();
    files.sort();
    let made = each(&files, |file| thumbnail(file, out), &mut |_| ());
    println!("{} small pictures", made.into_iter().filter(|made| *made).count());
}

/// Whether the photo has a small picture: HEIC has none.
fn thumbnail(file: &Path, out: &Path) -> bool {
    let _share = room_for_file(std::fs::metadata(file).expect("the photo is there").len());
    let bytes = std::fs::read(file).expect("the photo can be read");
    let Some(small) = small(&bytes, SMALL_PX).expect("its picture can be read") else { return false };
    let name = file.file_name().expect("a file has a name");
    std::fs::write(out.join(name), small.jpeg).expect("the small picture can be written");
    true
}
