//! What people want recorded: each kind of request decides what it comes to, or why it is refused.

mod cautions;
mod confirm;
mod context;
mod days;
mod defects;
mod extras;
mod holds;
mod keys;
mod notes;
mod people;
mod phones;
mod photo;
mod photos;
mod plans;
mod readings;
mod revised;
mod sequences;
mod set_up;
mod stamps;
mod step;
mod stock;
mod stoppages;
mod strikes;

pub use context::{
    Context, DecideError, Decision, Request, check_break, check_clock, check_time, decide, recorded_ahead,
    recording_time, spelled,
};
pub use keys::key_on_record;
pub use photo::{NoPhoto, Photo};
pub use photos::AddPhotos;
pub use readings::readings_by_place;
pub use set_up::set_up;
pub use step::{Given, RecordStep, Value};
