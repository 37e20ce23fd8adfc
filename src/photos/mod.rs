//! Photos: which format a file has, when and where it was taken, a small picture of it, a copy without its place,
//! and the folder beside the database in which originals are kept by their SHA-256.
//!
//! JPEG, PNG, WebP and HEIC are recognised by the contents of the file, never by its name. Originals are never changed.

mod camera;
mod container;
mod facts;
mod format;
mod kept;
mod room;
mod scaled;
mod small;
mod strip;

pub use camera::{Camera, Direction, Place, camera};
pub use facts::{PhotoFacts, look};
pub use format::{MOST_BYTES, MOST_PIXELS, PhotoError, PhotoSort};
pub use kept::{Kept, KeptError};
pub use room::{MOST_PICTURE_MEMORY, Room, Share, each, room_for_file};
pub use small::{LARGE_PX, SMALL_PX, Small, alike, small};
pub use strip::stripped;
