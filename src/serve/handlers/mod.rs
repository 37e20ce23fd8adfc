//! What answers each path.

pub(super) mod api;
pub(super) mod assets;
pub(super) mod changes;
pub(super) mod forms;
pub(super) mod keys;
pub(super) mod pages;
pub(super) mod pair;
pub(super) mod photo;
mod record;
pub(super) mod seal_plan;
