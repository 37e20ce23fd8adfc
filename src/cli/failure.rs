//! How a command ends other than well, and the exit code of each.

use crate::refusal::Refusal;

/// Why a command did not do what it was asked.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// A rule stopped it: exit 1.
    #[error("{0}")]
    Refused(Box<Refusal>),
    /// It was asked a question; the answer is no and is on stdout already: exit 1.
    #[error("no")]
    AnswerNo,
    /// The command line, a file or a number was wrong: exit 2.
    #[error("{what}")]
    Input {
        /// What is wrong and where.
        what: String,
        /// What to do about it.
        hint: Option<String>,
    },
    /// Mistakes in a file, a line each as compilers print them: exit 2.
    #[error("{0}")]
    InFile(String),
    /// The person left at a question (Ctrl-C, the end of the input): exit 2.
    #[error("cancelled; nothing more was recorded")]
    Cancelled,
    /// The machine failed (disk, lock, damaged file): exit 3.
    #[error("{what}")]
    Machine {
        /// What failed and on which file.
        what: String,
        /// What to do about it.
        hint: Option<String>,
    },
    /// Whoever read our output has gone: not worth a message.
    #[error("nobody reads the output any more")]
    PipeClosed,
}

impl Failure {
    /// Bad input, with no more to say than what it is.
    pub fn input(what: impl std::fmt::Display) -> Self {
        Self::Input { what: what.to_string(), hint: None }
    }

    /// Bad input and the way out.
    pub fn input_hint(what: impl std::fmt::Display, hint: impl std::fmt::Display) -> Self {
        Self::Input { what: what.to_string(), hint: Some(hint.to_string()) }
    }

    /// A failure of the machine.
    pub fn machine(what: impl std::fmt::Display) -> Self {
        Self::Machine { what: what.to_string(), hint: None }
    }

    /// A failure of the machine and the way out.
    pub fn machine_hint(what: impl std::fmt::Display, hint: impl std::fmt::Display) -> Self {
        Self::Machine { what: what.to_string(), hint: Some(hint.to_string()) }
    }

    /// The exit code: decided here and nowhere else.
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::PipeClosed => 0,
            Self::Refused(_) | Self::AnswerNo => 1,
            Self::Input { .. } | Self::InFile(_) | Self::Cancelled => 2,
            Self::Machine { .. } => 3,
        }
    }
}

impl Failure {
    /// What went wrong and, below it, what to do about it, as a person reads it.
    pub fn lines(&self) -> Vec<String> {
        match self {
            Self::Refused(refusal) => refusal_lines(refusal).to_vec(),
            Self::Input { what, hint } | Self::Machine { what, hint } => {
                std::iter::once(what.clone()).chain(hint.as_ref().map(|hint| format!("  {hint}"))).collect()
            }
            other => vec![other.to_string()],
        }
    }
}

/// A refusal as a person reads it.
pub fn refusal_lines(refusal: &Refusal) -> [String; 3] {
    [
        format!("Stopped: {}.", refusal.what),
        format!("  Why:    {}", refusal.why),
        format!("  To do:  {}", refusal.clears),
    ]
}

impl From<Refusal> for Failure {
    fn from(refusal: Refusal) -> Self {
        Self::Refused(Box::new(refusal))
    }
}

/// Writing to the terminal or a pipe failed.
impl From<std::io::Error> for Failure {
    fn from(error: std::io::Error) -> Self {
        if error.kind() == std::io::ErrorKind::BrokenPipe {
            Self::PipeClosed
        } else {
            Self::machine(format!("the output can't be written: {error}"))
        }
    }
}
