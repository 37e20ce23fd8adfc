//! JSON Schema (draft 2020-12) written from a form, so that editors complete and check the files.

use serde_json::{Map, Value, json};
use toml::de::DeTable;

use super::reader::{Section, Source};

/// The schema of a file that is read through `form`.
pub fn json_schema<T>(title: &str, form: impl Fn(&Section<'_>) -> T) -> Value {
    let mut schema = object(&form);
    schema.insert("$schema".into(), json!("https://json-schema.org/draft/2020-12/schema"));
    schema.insert("title".into(), json!(title));
    Value::Object(schema)
}

/// The schema of one table: what its form declares when there is nothing to read.
pub(super) fn object<T>(form: &impl Fn(&Section<'_>) -> T) -> Map<String, Value> {
    let (nothing, source) = (DeTable::new(), Source::default());
    let section = Section::new("", &nothing, 0, 0, &source);
    form(&section);
    let mut properties = Map::new();
    let mut required = Vec::new();
    for field in section.fields.into_inner() {
        let mut value = field.schema.unwrap_or_default();
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
