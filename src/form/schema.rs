//! JSON Schema (draft 2020-12) written from a form, so that editors complete and check the files.

use serde_json::{Map, Value, json};
use toml::de::DeTable;

use super::reader::{Field, Section, Source};

/// The schema of a file that is read through `form`.
pub fn json_schema<T>(title: &str, form: impl Fn(&Section<'_>) -> T) -> Value {
    let mut schema = object(&form);
    schema.insert("$schema".into(), json!("https://json-schema.org/draft/2020-12/schema"));
    schema.insert("title".into(), json!(title));
    Value::Object(schema)
}

/// The fields of a file that is read through `form`, a line each, those of tables inside further in.
pub fn outline<T>(form: impl Fn(&Section<'_>) -> T) -> String {
    fn lines(fields: &[Field], indent: usize, text: &mut String) {
        for Field { key, required, doc, described } in fields {
            let optional = if *required { "" } else { " (optional)" };
            text.push_str(&format!("{:indent$}{key:<width$} {doc}{optional}\n", "", width = 24 - indent));
            described.iter().for_each(|(_, inside)| lines(inside, indent + 2, text));
        }
    }
    let mut text = String::new();
    lines(&fields(&form), 2, &mut text);
    text.trim_end().to_owned()
}

/// What a form declares when there is nothing to read.
pub(super) fn fields<T>(form: &impl Fn(&Section<'_>) -> T) -> Vec<Field> {
    let (nothing, source) = (DeTable::new(), Source::default());
    let section = Section::new("", &nothing, 0, 0, &source);
    form(&section);
    section.fields.into_inner()
}

/// The schema of one table.
pub(super) fn object<T>(form: &impl Fn(&Section<'_>) -> T) -> Map<String, Value> {
    let mut properties = Map::new();
    let mut required = Vec::new();
    for field in fields(form) {
        let mut value = field.described.map_or(Value::Null, |(schema, _)| schema);
        value["description"] = json!(field.doc);
        properties.insert(field.key.into(), value);
        required.extend(field.required.then_some(field.key));
    }
    let mut object = Map::new();
    object.insert("type".into(), json!("object"));
    object.insert("properties".into(), Value::Object(properties));
    object.insert("required".into(), json!(required));
    object.insert("additionalProperties".into(), json!(false));
    object
}
