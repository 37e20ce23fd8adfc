//! What a number rests on.

use std::collections::BTreeMap;

/// By the name of a bound, such as `least`: the key of the job's figure that goes before it.
pub type FigureKeys = BTreeMap<&'static str, String>;

/// What a number rests on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Basis {
    /// A published source and its clause.
    Published {
        /// The source with its edition.
        source: String,
        /// The clause or table.
        clause: String,
    },
    /// A document that the job must hold, by its title.
    Document {
        /// Key of the document.
        key: String,
        /// Its title.
        title: String,
    },
    /// What the trade commonly does; no source.
    CommonPractice(String),
    /// Figures of the job go before what the sequence rests on.
    Figures {
        /// The bounds that the job's figures give, each with the paper and clause.
        held: Vec<(&'static str, String)>,
        /// Keys of figures that the job does not give.
        missing: Vec<String>,
        /// What the other numbers rest on, where there are any.
        own: Option<Box<Basis>>,
    },
}

impl Basis {
    /// Whether nothing is behind it but what the trade commonly does: also where the job could give a figure and gives none.
    pub fn is_common_practice(&self) -> bool {
        match self {
            Self::CommonPractice(_) => true,
            Self::Figures { held, own, .. } => {
                held.is_empty() && own.as_ref().is_some_and(|own| own.is_common_practice())
            }
            Self::Published { .. } | Self::Document { .. } => false,
        }
    }
}

impl Default for Basis {
    /// Stands in for a basis that a file gives wrong, while its mistakes are gathered.
    fn default() -> Self {
        Self::CommonPractice(String::new())
    }
}

impl std::fmt::Display for Basis {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Published { source, clause } => write!(f, "{source}, {clause}"),
            Self::Document { title, .. } => write!(f, "{title} (held on the job)"),
            Self::CommonPractice(note) => write!(f, "common practice: {note}"),
            Self::Figures { held, missing, own } => {
                let alone = own.is_none() && held.len() == 1;
                let words = |(bound, source): &(&'static str, String)| match alone {
                    true => source.clone(),
                    false => format!("{}: {source}", bound.replace('_', " ")),
                };
                if !held.is_empty() {
                    write!(f, "the job's figure, {}", held.iter().map(words).collect::<Vec<_>>().join("; "))?;
                }
                let Some(own) = own else { return Ok(()) };
                let lead = if held.is_empty() { "" } else { "; for the rest " };
                write!(f, "{lead}{own}")?;
                match missing.is_empty() {
                    true => Ok(()),
                    false => write!(f, "; the job gives no figure of its own ({})", missing.join(", ")),
                }
            }
        }
    }
}
