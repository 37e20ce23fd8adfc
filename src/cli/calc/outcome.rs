//! What a sum comes to, and what is done with it: kept, printed, yes or no.

use std::path::{Path, PathBuf};

use serde::Serialize;
use serde_json::{Map, Value};

use crate::cli::failure::Failure;
use crate::cli::files::Overwrite;
use crate::cli::out::{Out, wrapped};
use crate::cli::site::Site;
use crate::day::{KeptSum, Request, SetOutError};
use crate::record::KeepPlan;
use crate::setout::of_job::JobError;
use crate::table::without_nulls;

/// What a sum comes to: for programs, for people, for the record.
pub struct Outcome {
    json: String,
    text: String,
    yes: bool,
    recorded: Vec<Box<dyn Request>>,
    files: Vec<(PathBuf, Vec<u8>, Overwrite)>,
    remarks: Vec<String>,
}

impl Outcome {
    pub fn new(answer: &impl Serialize, text: impl Into<String>) -> Result<Self, Failure> {
        let json = serde_json::to_string_pretty(answer).map_err(Failure::machine)?;
        Ok(Self { json, text: text.into(), yes: true, recorded: Vec::new(), files: Vec::new(), remarks: Vec::new() })
    }

    /// What the same sum comes to on every wall.
    pub fn of_walls(walls: Vec<String>, of_wall: impl Fn(&str) -> Result<Self, Failure>) -> Result<Self, Failure> {
        let mut all = Self::new(&(), "")?;
        let mut answers = Vec::with_capacity(walls.len());
        for wall in walls {
            let one = of_wall(&wall)?;
            let mut answer: Map<String, Value> = serde_json::from_str(&one.json).map_err(Failure::machine)?;
            all.text += &format!("Wall {wall}\n\n{}\n\n", one.text);
            answer.insert("wall".to_owned(), wall.clone().into());
            answers.push(answer);
            all.yes &= one.yes;
            all.recorded.extend(one.recorded);
            all.remarks.extend(one.remarks.into_iter().map(|remark| format!("Wall {wall}: {remark}")));
        }
        all.json = serde_json::to_string_pretty(&serde_json::json!({ "walls": answers })).map_err(Failure::machine)?;
        all.text.truncate(all.text.trim_end().len());
        Ok(all)
    }

    /// Whether the answer is yes; where it is no the command ends with exit code 1.
    pub fn yes_if(self, yes: bool) -> Self {
        Self { yes, ..self }
    }

    /// Keeps a result in the record for a wall or the job, all of what is kept or none; nothing where `on` is `None`.
    pub fn keep_for<T: KeptSum + Serialize>(
        mut self,
        on: Option<&str>,
        inputs: &impl Serialize,
        result: &T,
    ) -> Result<Self, Failure> {
        let value = |what: Result<Value, serde_json::Error>| what.map(without_nulls).map_err(Failure::machine);
        if let Some(on) = on {
            let inputs = value(serde_json::to_value(inputs))?;
            let result = value(serde_json::to_value(result))?;
            self = self.record(KeepPlan { sum: T::NAME.to_owned(), subject: on.to_owned(), inputs, result });
        }
        Ok(self)
    }

    /// Records something with what is kept, before it where that comes later.
    pub fn record(mut self, request: impl Request + 'static) -> Self {
        self.recorded.push(Box::new(request));
        self
    }

    /// Writes a file, once all that is to be kept is in the record.
    pub fn file(mut self, path: &Path, bytes: impl Into<Vec<u8>>, over: Overwrite) -> Self {
        self.files.push((path.to_owned(), bytes.into(), over));
        self
    }

    /// Says something beside the answer.
    pub fn remark(mut self, remarks: impl IntoIterator<Item = String>) -> Self {
        self.remarks.extend(remarks);
        self
    }

    /// The same of a note, in lines of a screen's width.
    pub fn note(self, note: Option<String>) -> Self {
        self.remark(note.map(|note| wrapped(&note, 2)))
    }

    pub fn show(self, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
        self.files.iter().try_for_each(|(path, _, over)| over.may_write(path))?;
        if !self.recorded.is_empty() {
            let requests: Vec<&dyn Request> = self.recorded.iter().map(|request| &**request).collect();
            for entry in &site.record_in(&mut site.journal()?, &requests)?.entries {
                let what = if entry.kind == "job-revised" { "Revised" } else { "Kept for" };
                out.say(format!("{what} {} as entry {}.", entry.subject, entry.id));
            }
        }
        self.files.iter().try_for_each(|(path, bytes, over)| over.write(path, bytes))?;
        // The sum's own JSON is all that stands on stdout.
        self.remarks.iter().for_each(|remark| out.say(remark));
        match out.is_json() {
            true => out.json_text(&self.json)?,
            false => self.text.lines().try_for_each(|line| out.line(line))?,
        }
        if self.yes { Ok(()) } else { Err(Failure::AnswerNo) }
    }
}

impl From<JobError> for Failure {
    fn from(error: JobError) -> Self {
        Self::input_hint(error, "give an input file, or add what is missing to the job file")
    }
}

impl From<SetOutError> for Failure {
    fn from(error: SetOutError) -> Self {
        match error {
            SetOutError::Job(error) => error.into(),
            SetOutError::NoStart(_) => Self::input_hint(
                error,
                "cladlog calc starter FILE.csv … --keep, or cladlog calc courses --lowest MM --highest MM --keep",
            ),
            SetOutError::Columns { .. }
            | SetOutError::Boards { .. }
            | SetOutError::Framer { .. }
            | SetOutError::Unmet { .. }
            | SetOutError::Courses(_) => Self::input(error),
        }
    }
}
