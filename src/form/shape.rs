//! The declaration of a table: its fields, their kinds, which are needed.

/// The fields of one TOML table.
#[derive(Debug)]
pub struct Shape {
    /// What the table is called in messages, such as "step".
    pub name: &'static str,
    /// What it says, for the schema.
    pub doc: &'static str,
    /// Its fields.
    pub fields: &'static [Field],
}

/// One field of a table.
#[derive(Debug)]
pub struct Field {
    /// The key as written in the file.
    pub key: &'static str,
    /// What it holds.
    pub kind: Kind,
    /// Whether it must be there.
    pub needed: bool,
    /// What it says, for messages and the schema.
    pub doc: &'static str,
}

/// What a field holds.
#[derive(Debug)]
pub enum Kind {
    /// Words for people: any script, no control characters but newline and tab.
    Text,
    /// A name on one line, at most 200 characters.
    Name,
    /// A key: letters, digits and hyphens, starting with a letter or digit; at most 40 characters.
    Key,
    /// A list of keys or short names.
    Names,
    /// A number between two bounds.
    Number(f64, f64),
    /// A whole number between two bounds.
    Count(u32, u32),
    /// A list of numbers between two bounds.
    Numbers(f64, f64),
    /// true or false.
    Flag,
    /// A span of time with its unit: "30 min", "6 h", "42 days".
    Span,
    /// One of a few words.
    OneOf(&'static [&'static str]),
    /// Some of a few words.
    SomeOf(&'static [&'static str]),
    /// A table inside.
    Table(&'static Shape),
    /// A list of tables.
    Tables(&'static Shape),
}

impl Field {
    /// A field that must be there.
    pub const fn needed(key: &'static str, kind: Kind, doc: &'static str) -> Self {
        Self { key, kind, needed: true, doc }
    }

    /// A field that may be left out.
    pub const fn optional(key: &'static str, kind: Kind, doc: &'static str) -> Self {
        Self { key, kind, needed: false, doc }
    }
}
