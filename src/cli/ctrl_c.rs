//! Ctrl-C, heard instead of obeyed at once: whoever loops asks for it between two rounds.

use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use super::failure::Failure;

/// Whether Ctrl-C was pressed.
pub struct CtrlC {
    pressed: Receiver<()>,
}

impl CtrlC {
    /// Listens from now on. Once a process.
    pub fn listen() -> Result<Self, Failure> {
        let (press, pressed) = channel();
        ctrlc::set_handler(move || {
            // Nobody listens any more: then the program is ending anyway.
            let _ = press.send(());
        })
        .map_err(|error| Failure::machine(format!("can't listen for Ctrl-C: {error}")))?;
        Ok(Self { pressed })
    }

    /// Whether it was pressed since the last time of asking.
    pub fn pressed(&self) -> bool {
        self.pressed.try_recv().is_ok()
    }

    /// Waits for it, at most this long; says whether it was pressed.
    pub fn within(&self, length: Duration) -> bool {
        self.pressed.recv_timeout(length).is_ok()
    }
}
