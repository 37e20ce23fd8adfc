//! JSON Schema (draft 2020-12) written from a [`Shape`], so that editors complete and check the files.

use serde_json::{Map, Value, json};

use super::{Kind, Shape};

/// The schema of a file whose top table has this shape.
pub fn of(title: &str, shape: &Shape) -> Value {
    let mut schema = table(shape);
    schema.insert("$schema".into(), json!("https://json-schema.org/draft/2020-12/schema"));
    schema.insert("title".into(), json!(title));
    Value::Object(schema)
}

fn table(shape: &Shape) -> Map<String, Value> {
    let mut properties = Map::new();
    for field in shape.fields {
        let mut value = kind(&field.kind);
        if let Value::Object(map) = &mut value {
            map.insert("description".into(), json!(field.doc));
        }
        properties.insert(field.key.into(), value);
    }
    let needed: Vec<&str> = shape.fields.iter().filter(|field| field.needed).map(|field| field.key).collect();
    let mut map = Map::new();
    map.insert("type".into(), json!("object"));
    map.insert("description".into(), json!(shape.doc));
    map.insert("properties".into(), Value::Object(properties));
    map.insert("required".into(), json!(needed));
    map.insert("additionalProperties".into(), json!(false));
    map
}

fn kind(kind: &Kind) -> Value {
    match kind {
        Kind::Text => json!({ "type": "string", "minLength": 1 }),
        Kind::Name => json!({ "type": "string", "minLength": 1, "maxLength": 200 }),
        Kind::Key => json!({ "type": "string", "pattern": "^[A-Za-z0-9][A-Za-z0-9-]{0,39}$" }),
        Kind::Names => json!({ "type": "array", "items": { "type": "string" } }),
        Kind::Number(least, most) => json!({ "type": "number", "minimum": least, "maximum": most }),
        Kind::Count(least, most) => json!({ "type": "integer", "minimum": least, "maximum": most }),
        Kind::Numbers(least, most) => {
            json!({ "type": "array", "items": { "type": "number", "minimum": least, "maximum": most } })
        }
        Kind::Flag => json!({ "type": "boolean" }),
        Kind::Span => json!({ "type": "string", "pattern": "^[0-9.]+ (min|h|day|days)$" }),
        Kind::OneOf(words) => json!({ "enum": words }),
        Kind::SomeOf(words) => json!({ "type": "array", "items": { "enum": words } }),
        Kind::Table(shape) => Value::Object(table(shape)),
        Kind::Tables(shape) => json!({ "type": "array", "items": Value::Object(table(shape)) }),
    }
}
