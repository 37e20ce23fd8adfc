//! What a sum comes to, and what is done with it: kept, printed, yes or no.

use serde::Serialize;
use serde_json::Value;

use crate::cli::failure::Failure;
use crate::cli::out::Out;
use crate::cli::site::{Opened, Site};
use crate::day::Request;
use crate::record::KeepPlan;
use crate::setout::of_job::JobError;

/// What a sum comes to: for programs, for people, for the record.
pub struct Outcome {
    json: String,
    text: String,
    yes: bool,
    kept: Vec<KeepPlan>,
    remarks: Vec<String>,
}

impl Outcome {
    pub fn new(answer: &impl Serialize, text: impl Into<String>) -> Result<Self, Failure> {
        let json = serde_json::to_string_pretty(answer).map_err(Failure::machine)?;
        Ok(Self { json, text: text.into(), yes: true, kept: Vec::new(), remarks: Vec::new() })
    }

    /// Whether the answer is yes; where it is no the command ends with exit code 1.
    pub fn yes_if(self, yes: bool) -> Self {
        Self { yes, ..self }
    }

    /// Puts the sum into the record, all of what is kept or none; `on` is a wall or `job`, `None` to keep nothing.
    pub fn keep(
        mut self,
        on: Option<&str>,
        sum: &str,
        inputs: &impl Serialize,
        result: &impl Serialize,
    ) -> Result<Self, Failure> {
        let value = |what: Result<Value, serde_json::Error>| what.map(without_nulls).map_err(Failure::machine);
        if let Some(on) = on {
            let inputs = value(serde_json::to_value(inputs))?;
            let result = value(serde_json::to_value(result))?;
            self.kept.push(KeepPlan { sum: sum.to_owned(), subject: on.to_owned(), inputs, result });
        }
        Ok(self)
    }

    /// Says something beside the answer.
    pub fn remark(mut self, remarks: impl IntoIterator<Item = String>) -> Self {
        self.remarks.extend(remarks);
        self
    }

    pub fn show(self, site: &Site<'_>, out: &mut Out) -> Result<(), Failure> {
        // The sum's own JSON is all that stands on stdout.
        self.remarks.iter().for_each(|remark| out.say(remark));
        if !self.kept.is_empty() {
            let requests: Vec<&dyn Request> = self.kept.iter().map(|plan| plan as &dyn Request).collect();
            for entry in &site.record_in(&mut site.journal()?, &requests)?.entries {
                out.say(format!("Kept for {} as entry {}.", entry.subject, entry.id));
            }
        }
        match out.is_json() {
            true => out.json_text(&self.json)?,
            false => self.text.lines().try_for_each(|line| out.line(line))?,
        }
        if self.yes { Ok(()) } else { Err(Failure::AnswerNo) }
    }
}

/// The record writes what is there, and leaves out what is not.
fn without_nulls(value: Value) -> Value {
    match value {
        Value::Object(fields) => Value::Object(
            fields.into_iter().filter(|(_, v)| !v.is_null()).map(|(k, v)| (k, without_nulls(v))).collect(),
        ),
        Value::Array(items) => Value::Array(items.into_iter().map(without_nulls).collect()),
        other => other,
    }
}

/// A number of a sum that the job has kept, such as the lowest start; `hint` says how to come by it.
pub fn kept_number(opened: &Opened, sum: &str, key: &str, hint: &str) -> Result<f64, Failure> {
    let plan = opened.book.state.plan(sum, 0).and_then(|plan| plan.result.get(key)).and_then(Value::as_f64);
    plan.ok_or_else(|| Failure::input_hint(format!("the job has no '{sum}' in its record that gives {key}"), hint))
}

/// "1 board", "2 boards".
pub fn counted(count: usize, what: &str) -> String {
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}

impl From<JobError> for Failure {
    fn from(error: JobError) -> Self {
        Self::input_hint(error, "give the sum a file of its own, or set the job up with what is missing")
    }
}
