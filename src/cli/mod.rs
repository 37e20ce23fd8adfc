//! Everything that a person or a script sees: arguments, commands, prompts, tables. Nothing below knows it.

mod calc;
mod clock;
mod commands;
mod crew_key;
mod ctrl_c;
mod failure;
mod files;
mod filters;
mod help;
mod input;
mod job_files;
mod options;
mod out;
mod passphrase;
mod photos;
mod prompts;
mod run;
mod script;
mod site;
mod walk;

pub use run::run;
