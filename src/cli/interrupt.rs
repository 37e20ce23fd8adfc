//! Ctrl-C, heard instead of obeyed at once: whoever loops asks for it between two rounds.

use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use super::Failure;

/// Long enough for the main thread to leave by itself, too short to be waited for.
const HEARD_WITHIN: Duration = Duration::from_millis(400);

/// Whether Ctrl-C was pressed.
pub struct Interrupt {
    pressed: Receiver<()>,
}

impl Interrupt {
    /// Listens from now on. Once a process.
    ///
    /// # Errors
    /// [`Failure::Machine`] when the system does not let it.
    pub fn listen() -> Result<Self, Failure> {
        let (press, pressed) = channel();
        ctrlc::set_handler(move || {
            // Nobody listens any more: then the program is ending anyway.
            let _ = press.send(());
        })
        .map_err(|error| Failure::machine(format!("Ctrl-C can't be listened for: {error}")))?;
        Ok(Self { pressed })
    }

    /// Listens, and leaves for good when nobody has heard it soon: a question that waits does not look.
    ///
    /// What was recorded is durable by then, and a record under way is taken back whole by the database.
    ///
    /// # Errors
    /// [`Failure::Machine`] when the system does not let it.
    #[allow(clippy::disallowed_methods, reason = "the main thread waits at a question and can't be woken")]
    pub fn leave_unheard(farewell: &'static str) -> Result<Self, Failure> {
        let (press, pressed) = channel();
        ctrlc::set_handler(move || {
            let _ = press.send(());
            std::thread::sleep(HEARD_WITHIN);
            // If the terminal is gone there is nobody to tell.
            let _ = console::Term::stderr().write_line(&format!("\n{farewell}"));
            std::process::exit(0);
        })
        .map_err(|error| Failure::machine(format!("Ctrl-C can't be listened for: {error}")))?;
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
