//! The binary on a real pseudo-terminal: reads until something is there, never sleeps, counts keys.

use std::io::{Read, Write};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};

use crate::harness::site::{Site, Words};

/// Longest wait for anything; a busy machine is no failure.
const PATIENCE: Duration = Duration::from_secs(60);

/// Keys are shown, among the local flags of a terminal (termios.h; the same bit on Linux, the BSDs and macOS).
const ECHO: u32 = 0o10;

/// Ctrl-C, as a terminal sends it.
const CTRL_C: &str = "\x03";

/// A terminal with the program on it.
pub struct Terminal {
    /// Taken when the terminal is closed.
    master: Option<Box<dyn MasterPty + Send>>,
    writer: Option<Box<dyn Write + Send>>,
    child: Box<dyn Child + Send + Sync>,
    output: Receiver<Vec<u8>>,
    screen: vt100::Parser,
    /// Everything since the last reply, without escape sequences.
    heard: String,
    /// Everything.
    all: String,
    /// Bytes written: keys pressed.
    pub keys: usize,
    ended: bool,
}

impl Terminal {
    /// Starts the program on a job, on a terminal of 80 by 24.
    pub fn on(site: &Site, words: impl Words) -> Self {
        Self::run(&site.command(words))
    }

    /// Starts a command on a terminal of 80 by 24, in its own folder and environment.
    pub fn run(plain: &std::process::Command) -> Self {
        let size = PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).expect("a pseudo-terminal");
        let mut command = CommandBuilder::new(plain.get_program());
        command.env_clear();
        for (key, value) in plain.get_envs() {
            command.env(key, value.unwrap_or_default());
        }
        command.env("TERM", "xterm");
        command.cwd(plain.get_current_dir().expect("a folder"));
        command.args(plain.get_args());
        let child = pair.slave.spawn_command(command).expect("the program starts");
        drop(pair.slave);
        let mut reader = pair.master.try_clone_reader().expect("a reader");
        let (send, output) = channel();
        std::thread::spawn(move || {
            let mut chunk = [0; 4096];
            while let Ok(read) = reader.read(&mut chunk) {
                if read == 0 || send.send(chunk[..read].to_vec()).is_err() {
                    break;
                }
            }
        });
        let writer = pair.master.take_writer().expect("a writer");
        Self {
            master: Some(pair.master),
            writer: Some(writer),
            child,
            output,
            screen: vt100::Parser::new(rows(24), rows(80), 0),
            heard: String::new(),
            all: String::new(),
            keys: 0,
            ended: false,
        }
    }

    /// Reads until `there` finds what it looks for in what was heard since the last reply.
    #[track_caller]
    fn read_until(&mut self, what: &str, there: impl Fn(&Self) -> bool) {
        let deadline = Instant::now() + PATIENCE;
        while !there(self) {
            let left = deadline.saturating_duration_since(Instant::now());
            match self.output.recv_timeout(left) {
                Ok(chunk) => {
                    self.screen.process(&chunk);
                    let text = String::from_utf8_lossy(&chunk).into_owned();
                    self.heard.push_str(&text);
                    self.all.push_str(&text);
                }
                Err(RecvTimeoutError::Disconnected) => {
                    self.ended = true;
                    assert!(there(self), "the program ended before {what}:\n{}", self.everything());
                }
                Err(RecvTimeoutError::Timeout) => panic!("never came: {what}. Heard:\n{}", self.everything()),
            }
        }
    }

    /// Waits for a text, however its lines are broken.
    #[track_caller]
    pub fn sees(&mut self, text: &str) -> String {
        let wanted = unbroken(text);
        self.read_until(text, |terminal| unbroken(&terminal.heard()).contains(&wanted));
        self.heard()
    }

    /// Waits for a question, or for the end; gives what was heard up to it.
    #[track_caller]
    pub fn question(&mut self) -> Option<String> {
        self.read_until("a question or the end", |terminal| terminal.ended || terminal.heard().ends_with(" > "));
        if self.heard().ends_with(" > ") { Some(self.heard()) } else { None }
    }

    /// Presses keys.
    pub fn reply(&mut self, keys: &str) {
        self.heard.clear();
        self.keys += keys.len();
        let writer = self.writer.as_mut().expect("an open terminal");
        writer.write_all(keys.as_bytes()).expect("keys reach the program");
        writer.flush().expect("keys reach the program");
    }

    /// Waits until keys are not shown: what is typed before that is thrown away by whoever hides them.
    #[track_caller]
    pub fn hides_keys(&self) {
        let deadline = Instant::now() + PATIENCE;
        let echo = || Some(self.master.as_ref()?.get_termios()?.local_flags.bits() & ECHO != 0);
        while echo().expect("the state of the terminal") {
            assert!(Instant::now() < deadline, "keys are shown:\n{}", self.everything());
            std::thread::yield_now();
        }
    }

    /// Waits for the question that has this text in it, and answers it.
    #[track_caller]
    pub fn answer(&mut self, question: &str, keys: &str) {
        self.sees(question);
        let heard = self.question();
        let asked = heard.is_some_and(|heard| unbroken(&heard).contains(&unbroken(question)));
        assert!(asked, "not asked: {question}\n{}", self.everything());
        self.reply(keys);
    }

    /// Presses Ctrl-C, as often as it takes: one that comes between two keys being read is not heard by both.
    #[track_caller]
    pub fn leave(&mut self) -> u32 {
        for _ in 0..20 {
            self.reply(CTRL_C);
            let deadline = Instant::now() + Duration::from_secs(2);
            loop {
                match self.output.recv_timeout(deadline.saturating_duration_since(Instant::now())) {
                    Ok(chunk) => {
                        let text = String::from_utf8_lossy(&chunk).into_owned();
                        self.heard.push_str(&text);
                        self.all.push_str(&text);
                    }
                    Err(RecvTimeoutError::Disconnected) => {
                        self.ended = true;
                        return self.ends();
                    }
                    Err(RecvTimeoutError::Timeout) => break,
                }
            }
        }
        panic!("Ctrl-C does not leave:\n{}", self.everything());
    }

    /// Waits until a row of the screen is as wanted.
    #[track_caller]
    pub fn shows(&mut self, what: &str, row: impl Fn(&str) -> bool) {
        self.read_until(what, |terminal| terminal.screen.screen().rows(0, 80).any(|found| row(&found)));
    }

    /// Closes the terminal under the program. The thread that reads still holds an end of it, so the system
    /// does not hang up by itself: the signal that it would send is sent by hand.
    pub fn close(&mut self) {
        let id = self.child.process_id().expect("a running program").to_string();
        let hung_up = std::process::Command::new("sh").args(["-c", &format!("kill -HUP {id}")]).status().expect("sh");
        assert!(hung_up.success());
        self.writer = None;
        self.master = None;
        self.child.wait().expect("the program ends");
    }

    /// Ends the program as nothing can be ended more suddenly, and reads what it had said by then.
    pub fn kill(&mut self) {
        let id = self.child.process_id().expect("a running program").to_string();
        // It may have ended by itself just now.
        let _ = std::process::Command::new("sh").args(["-c", &format!("kill -KILL {id} 2>/dev/null")]).status();
        self.child.wait().expect("the program ends");
        self.writer = None;
        while let Ok(chunk) = self.output.recv_timeout(Duration::from_millis(50)) {
            self.all.push_str(&String::from_utf8_lossy(&chunk));
        }
    }

    /// Reads to the end; the exit code.
    #[track_caller]
    pub fn ends(&mut self) -> u32 {
        self.read_until("the end", |terminal| terminal.ended);
        self.child.wait().expect("the program ends").exit_code()
    }

    /// What was heard since the last reply, without escape sequences.
    pub fn heard(&self) -> String {
        plain(&self.heard)
    }

    /// All that was ever shown, without escape sequences.
    pub fn everything(&self) -> String {
        plain(&self.all)
    }

    /// The rows of the screen as it stands.
    pub fn rows(&self) -> Vec<String> {
        self.screen.screen().rows(0, 80).collect()
    }

    /// All that was ever shown, as it came.
    pub fn raw(&self) -> &str {
        &self.all
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        // A test that failed half-way leaves nothing running.
        let _ = self.child.kill();
    }
}

fn rows(count: u16) -> std::num::NonZero<u16> {
    std::num::NonZero::new(count).expect("not nought")
}

fn plain(text: &str) -> String {
    console::strip_ansi_codes(text).replace('\r', "")
}

/// Text with every run of spaces and line breaks as one space.
pub fn unbroken(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
