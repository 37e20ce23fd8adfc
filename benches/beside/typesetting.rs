//! Writes what the printed pages of a job are set from into a folder: `typesetting DATABASE JOB FOLDER`.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a bench stops where it can't go on")]

use std::path::PathBuf;

use cladlog::day::Book;
use cladlog::handover::{Locations, PackOptions, Signer, typesetting};
use cladlog::photos::Kept;
use cladlog::record::Store;

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [database, job, folder] = arguments.as_slice() else { panic!("DATABASE JOB FOLDER") };
    let (database, folder) = (PathBuf::from(database), PathBuf::from(folder));
    let book = Book::open(Store::read(&database).unwrap().entries(job).unwrap()).unwrap();
    let made_at = book.state.last_recorded().unwrap();
    let (originals, signer) = (Kept::beside(&database), Signer::rehearsal());
    let options = PackOptions { originals: &originals, locations: Locations::Kept, signer: &signer, pdf_a1b: false };
    for (name, bytes) in typesetting(&book, made_at, &options) {
        let place = folder.join(name);
        std::fs::create_dir_all(place.parent().unwrap()).unwrap();
        std::fs::write(place, bytes).unwrap();
    }
}
