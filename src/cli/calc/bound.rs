//! Sums bound to a job: inputs from its own geometry, results kept in its record.

use serde::Serialize;
use serde_json::Value;

use crate::cli::site::{Opened, Site};
use crate::cli::{Failure, Out};
use crate::day::Request;
use crate::record::KeepPlan;
use crate::setout::of_job::JobError;

impl From<JobError> for Failure {
    fn from(error: JobError) -> Self {
        Self::input_hint(error, "give the sum a file of its own, or set the job up with what is missing")
    }
}

/// Keeps a sum in the record of the job, for `on`: a wall, or `job`.
///
/// # Errors
/// [`Failure`]: no job, no such subject, nothing that can be written.
pub fn keep(
    site: &Site<'_>,
    sum: &str,
    on: &str,
    inputs: &impl Serialize,
    result: &impl Serialize,
    out: &mut Out,
) -> Result<(), Failure> {
    keep_all(site, &[to_keep(sum, on, inputs, result)?], out)
}

/// What keeping a sum asks for.
///
/// # Errors
/// [`Failure::Machine`] for something that can't be written as JSON.
pub fn to_keep(sum: &str, on: &str, inputs: &impl Serialize, result: &impl Serialize) -> Result<KeepPlan, Failure> {
    let value = |what: Result<Value, serde_json::Error>| what.map(without_nulls).map_err(Failure::machine);
    Ok(KeepPlan {
        sum: sum.to_owned(),
        subject: on.to_owned(),
        inputs: value(serde_json::to_value(inputs))?,
        result: value(serde_json::to_value(result))?,
    })
}

/// Keeps several sums, all or none.
///
/// # Errors
/// As [`keep`].
pub fn keep_all(site: &Site<'_>, requests: &[KeepPlan], out: &mut Out) -> Result<(), Failure> {
    let requests: Vec<&dyn Request> = requests.iter().map(|request| request as &dyn Request).collect();
    for entry in &site.record_in(&mut site.journal()?, &requests)?.entries {
        // The sum's own JSON is all that is on stdout.
        out.say(format!("Kept for {} as entry {}.", entry.subject, entry.id));
    }
    Ok(())
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

/// A number of a sum that the job has kept, such as the lowest start.
///
/// # Errors
/// [`Failure::Input`] saying how to come by it.
pub fn kept_number(opened: &Opened, sum: &str, key: &str, hint: &str) -> Result<f64, Failure> {
    let plan = opened.book.state.plan(sum, 0).and_then(|plan| plan.result.get(key)).and_then(Value::as_f64);
    plan.ok_or_else(|| Failure::input_hint(format!("the job has kept no '{sum}' that gives {key}"), hint))
}
