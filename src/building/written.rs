//! A job as the text of a job file, to be edited and read again.

use serde_json::{Map, Value};

use super::job::Job;
use super::rates::Rate;

/// What a list of tables is called in the file.
const TABLES: [(&str, &str); 7] = [
    ("figures", "figure"),
    ("people", "person"),
    ("walls", "wall"),
    ("openings", "opening"),
    ("corners", "corner"),
    ("papers", "paper"),
    ("rates", "rate"),
];

/// The text of a job file: [`read_job_file`](super::read_job_file) reads the same job, sequence and rates from it.
pub fn write_job_file(job: &Job, sequence: &str, rates: &[Rate]) -> String {
    let mut fields = object(serde_json::to_value(job).unwrap_or_default());
    fields.insert("sequence".to_owned(), sequence.into());
    fields.insert("rates".to_owned(), serde_json::to_value(rates).unwrap_or_default());
    let mut text = String::new();
    write_table("", fields, &mut text);
    text
}

fn object(value: Value) -> Map<String, Value> {
    match value {
        Value::Object(fields) => fields,
        _ => Map::new(),
    }
}

fn write_table(path: &str, mut fields: Map<String, Value>, text: &mut String) {
    // A wall's height is the highest of its top, where it has one.
    if fields.get("top").is_some_and(Value::is_array) {
        fields.remove("height_mm");
    }
    if let Some(joints) = fields.remove("joints") {
        fields.extend(joints_of(&joints));
    }
    // TOML wants a table's own values before the tables in it; people look for the key first.
    for first in ["key", "name"] {
        if let Some(value) = fields.remove(first) {
            text.push_str(&format!("{first} = {}\n", literal(&value)));
        }
    }
    // A corner names its walls in a plain list; a list of tables that is empty is left out.
    fields.retain(|key, value| !(is_listed(key) && value.as_array().is_some_and(Vec::is_empty)));
    let is_table = |key: &str, value: &Value| match value {
        Value::Array(items) => is_listed(key) && items.iter().all(Value::is_object),
        value => value.is_object() && key != "ends",
    };
    let (tables, values): (Vec<_>, Vec<_>) = fields.into_iter().partition(|(key, value)| is_table(key, value));
    for (key, value) in values {
        text.push_str(&format!("{key} = {}\n", literal(&value)));
    }
    for (key, value) in tables {
        let name = TABLES.iter().find(|(list, _)| *list == key).map_or(key.as_str(), |(_, name)| name);
        let path = if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") };
        match value {
            Value::Array(items) => {
                for item in items {
                    text.push_str(&format!("\n[[{path}]]\n"));
                    write_table(&path, object(item), text);
                }
            }
            table => {
                text.push_str(&format!("\n[{path}]\n"));
                write_table(&path, object(table), text);
            }
        }
    }
}

fn is_listed(key: &str) -> bool {
    TABLES.iter().any(|(list, _)| *list == key)
}

/// Joints by their places, or by their number where a place is not known.
fn joints_of(joints: &Value) -> Option<(String, Value)> {
    let joints = joints.as_array()?;
    let places: Option<Vec<Value>> = joints.iter().map(|joint| joint.get("at_mm").cloned()).collect();
    Some(match places {
        Some(places) => ("joints_mm".to_owned(), places.into()),
        None => ("joints".to_owned(), joints.len().into()),
    })
}

fn literal(value: &Value) -> String {
    match value {
        Value::Array(items) => format!("[{}]", items.iter().map(literal).collect::<Vec<_>>().join(", ")),
        Value::Object(fields) => {
            let fields: Vec<String> = fields.iter().map(|(key, value)| format!("{key} = {}", literal(value))).collect();
            format!("{{ {} }}", fields.join(", "))
        }
        Value::Number(number) => match number.as_f64() {
            Some(whole) if whole.fract() == 0.0 && whole.abs() < 1e15 => format!("{whole:.0}"),
            _ => number.to_string(),
        },
        // A JSON string is a TOML string as well.
        other => other.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::building::read_job_file;

    #[test]
    fn what_is_written_reads_back_as_the_same_job() {
        let demo = include_str!("../../demo-db/job.toml");
        let odd = r#"
            key = "j"
            name = "A \"quoted\" name, \\ and ünïcode"
            time_zone = "UTC"
            sequence = "x/y.toml"
            latitude_deg = -43.5312
            person = [{ name = "Ana", roles = ["lead", "installer"] }]
            [panel]
            length_mm = 2400.5
            cover_mm = 600
            least_column_mm = 300
            least_piece_mm = 50
            joint_mm = 10
            clear_of_opening_mm = 100
            lift_in_mm = 5
            stock_mm = [2400, 3000]
            [[wall]]
            key = "G"
            courses = 3
            length_mm = 6000
            top = [[0, 2400], [3000, 3900], [6000, 2400]]
            base = [[0, 0], [3000, 0], [3000, 300], [6000, 300]]
            ends = { left_mm = -12, right_mm = 20 }
            joints = 2
            [[wall.opening]]
            kind = "door"
            from_mm = 900
            to_mm = 1800
            [[wall]]
            key = "E"
            courses = 1
            joints_mm = [1200.5]
            [[corner]]
            key = "GE"
            kind = "metal"
            walls = ["G", "E"]
        "#;
        for text in [demo, odd] {
            let read = read_job_file(text).unwrap();
            let written = write_job_file(&read.job, &read.sequence, &read.rates);
            let again = read_job_file(&written).unwrap_or_else(|mistakes| panic!("{mistakes:?}\n{written}"));
            assert_eq!((again.job, again.sequence, again.rates), (read.job, read.sequence, read.rates));
        }
    }
}
