//! Reading a TOML text through a form.

use std::borrow::Cow;
use std::cell::RefCell;

use serde_json::Value;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::mistake::Mistake;
use super::text::nearest;
use crate::plain::count;
use crate::units::number::shortened;

/// Longest file, in bytes: forty times the longest sequence that ships.
const MOST_FILE: usize = 1_000_000;

/// So many unknown keys of one table are named one by one.
const MOST_UNKNOWN: usize = 20;

/// Reads a text through `form`; `name` is what its top table is called in messages.
///
/// # Errors
/// Every mistake in the text, in the order of the lines: of TOML, of the fields, or noted by `form`.
pub fn read<T>(text: &str, name: &'static str, form: impl FnOnce(&Section<'_>) -> T) -> Result<T, Vec<Mistake>> {
    if text.len() > MOST_FILE {
        let message = format!("the file is {} bytes long; at most {MOST_FILE}", text.len());
        return Err(vec![Mistake { line: 1, column: 1, message }]);
    }
    let (root, errors) = DeTable::parse_recoverable(text);
    let lines = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
    let source =
        Source { text, lines, mode: if errors.is_empty() { Mode::Read } else { Mode::Recover }, ..Source::default() };
    for error in &errors {
        let at = error.span().map_or(0, |span| span.start);
        source.note(at, format!("not TOML: {}; fix this first", error.message()));
    }
    // What the parser finds after its first stumble on a line is mostly an echo of that one.
    source.mistakes.borrow_mut().sort();
    source.mistakes.borrow_mut().dedup_by_key(|mistake| mistake.line);
    let broken = source.mistakes.borrow().clone();
    let section = Section::new(name, root.get_ref(), 0, 0, &source);
    let value = form(&section);
    section.refuse_unknown_keys();
    drop(section);
    let mut mistakes = source.mistakes.into_inner();
    if !broken.is_empty() {
        // What the parser made up on a line that it could not read is not the writer's mistake.
        let made_up = |m: &Mistake| (m.line, m.column) == (1, 1) || broken.iter().any(|b| b.line == m.line);
        mistakes.retain(|mistake| !made_up(mistake));
        mistakes.extend(broken);
    }
    if mistakes.is_empty() {
        return Ok(value);
    }
    mistakes.sort();
    mistakes.dedup();
    Err(mistakes)
}

/// A kind of field: how it is read, and how a JSON Schema says it.
pub trait Kind {
    /// What it is read into.
    type Value;

    /// What a list of it must be, in words.
    const LISTED: &'static str = "a list, written in [ ]";

    /// Reads it, or notes what is wrong with it.
    fn read(&self, given: &Given<'_>) -> Option<Self::Value>;

    /// Its JSON Schema (draft 2020-12).
    fn schema(&self) -> Value;

    /// The fields of the tables in it.
    fn fields(&self) -> Vec<Field> {
        Vec::new()
    }
}

/// What a form is run for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) enum Mode {
    /// To read a text.
    Read,
    /// To read what is left of a text that is not TOML: what is missing then is not the writer's mistake.
    Recover,
    /// To describe the fields; there is no text.
    #[default]
    Describe,
}

/// The text being read, and the mistakes found so far.
#[derive(Default)]
pub(super) struct Source<'t> {
    text: &'t str,
    /// Where each line begins.
    lines: Vec<usize>,
    mode: Mode,
    mistakes: RefCell<Vec<Mistake>>,
}

impl Source<'_> {
    fn note(&self, at: usize, message: String) {
        let line = self.lines.partition_point(|begin| *begin <= at).max(1);
        let begin = self.lines.get(line - 1).copied().unwrap_or(0);
        let column = self.text.get(begin..at).map_or(0, |before| before.chars().count()) + 1;
        self.mistakes.borrow_mut().push(Mistake { line, column, message });
    }
}

/// What a field says, in a line.
pub(super) type Doc = Cow<'static, str>;

/// A field as its form declares it.
pub struct Field {
    pub(super) key: &'static str,
    pub(super) required: bool,
    pub(super) doc: Doc,
    /// Its JSON Schema and the fields in it, when fields are described.
    pub(super) described: Option<(Value, Vec<Field>)>,
}

/// One table of the text, read through a form.
pub struct Section<'s> {
    name: &'s str,
    table: &'s DeTable<'s>,
    at: usize,
    place: usize,
    source: &'s Source<'s>,
    pub(super) fields: RefCell<Vec<Field>>,
}

impl<'s> Section<'s> {
    pub(super) fn new(name: &'s str, table: &'s DeTable<'s>, at: usize, place: usize, source: &'s Source<'s>) -> Self {
        Self { name, table, at, place, source, fields: RefCell::default() }
    }

    /// A field that must be there. Where it is missing or wrong that is noted, and an empty value stands in.
    pub fn required<K: Kind<Value: Default>>(&self, key: &'static str, kind: K, doc: impl Into<Doc>) -> K::Value {
        self.try_required(key, kind, doc).unwrap_or_default()
    }

    /// A field that must be there; `None` where it is missing or wrong, which is noted.
    pub fn try_required<K: Kind>(&self, key: &'static str, kind: K, doc: impl Into<Doc>) -> Option<K::Value> {
        let doc = doc.into();
        if !self.has(key) && self.source.mode == Mode::Read {
            self.mistake(format!("this {} has no '{key}': add it ({doc})", self.name));
        }
        self.field(key, kind, doc, true)
    }

    /// A field that may be left out; `None` where it is, or where it is wrong, which is noted.
    pub fn optional<K: Kind>(&self, key: &'static str, kind: K, doc: impl Into<Doc>) -> Option<K::Value> {
        self.field(key, kind, doc.into(), false)
    }

    /// A field that may be left out, empty (none, false, 0) then.
    pub fn or_default<K: Kind<Value: Default>>(&self, key: &'static str, kind: K, doc: impl Into<Doc>) -> K::Value {
        self.optional(key, kind, doc).unwrap_or_default()
    }

    fn field<K: Kind>(&self, key: &'static str, kind: K, doc: Doc, required: bool) -> Option<K::Value> {
        let described = (self.source.mode == Mode::Describe).then(|| (kind.schema(), kind.fields()));
        self.fields.borrow_mut().push(Field { key, required, doc, described });
        let value = self.table.get(key)?;
        kind.read(&Given { key, place: 0, value, source: self.source })
    }

    /// Its place in the list of tables that it stands in, counted from 0.
    pub fn place(&self) -> usize {
        self.place
    }

    /// Whether `key` is there.
    pub fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// Whether no mistake was found so far.
    pub fn is_clean(&self) -> bool {
        self.source.mode == Mode::Read && self.source.mistakes.borrow().is_empty()
    }

    /// Where it begins, as a byte offset.
    pub fn start(&self) -> usize {
        self.at
    }

    /// Where the value of `key` stands, as a byte offset; where the table begins when it is absent.
    pub fn at(&self, key: &str) -> usize {
        self.table.get(key).map_or(self.at, |value| value.span().start)
    }

    /// Notes a mistake of the table as a whole.
    pub fn mistake(&self, message: impl Into<String>) {
        self.mistake_at(self.at, message);
    }

    /// Notes a mistake in the value of `key`.
    pub fn mistake_in(&self, key: &str, message: impl Into<String>) {
        self.mistake_at(self.at(key), message);
    }

    /// Notes a mistake at a byte offset.
    pub fn mistake_at(&self, at: usize, message: impl Into<String>) {
        self.source.note(at, message.into());
    }

    /// Notes a mistake at the value that a JSON Pointer (RFC 6901, without escapes) leads to from this table, or at the
    /// last value on its way that is there.
    pub fn mistake_under(&self, pointer: &str, message: impl Into<String>) {
        let mut parts = pointer.split('/').skip(1);
        let mut found = parts.next().and_then(|key| self.table.get(key));
        let at = found.map_or(self.at, |value| value.span().start);
        let at = parts.fold(at, |at, part| {
            let value = found.take().map(Spanned::get_ref);
            found = value.and_then(|value| part.parse().map_or_else(|_| value.get(part), |nth: usize| value.get(nth)));
            found.map_or(at, |value| value.span().start)
        });
        self.mistake_at(at, message);
    }

    /// Notes every table of the list `key` whose text `field` is that of one before it; gives the texts.
    pub fn unique(&self, key: &'static str, field: &str) -> Vec<&'s str> {
        let mut seen = std::collections::BTreeSet::new();
        let mut texts = Vec::new();
        for section in self.peek(key) {
            let text = section.peek_text(field);
            if !text.is_empty() && !seen.insert(text) {
                section.mistake_in(field, format!("{key} '{text}' is given twice"));
            }
            texts.push(text);
        }
        texts
    }

    /// The tables of the list `key`, ahead of reading them: for names that are defined further down.
    pub fn peek(&self, key: &'s str) -> Vec<Section<'s>> {
        let Some(list) = self.table.get(key).and_then(|value| value.get_ref().as_array()) else { return Vec::new() };
        let section = |(place, item): (usize, &'s Spanned<DeValue<'s>>)| {
            Some(Section::new(key, item.get_ref().as_table()?, item.span().start, place, self.source))
        };
        list.iter().enumerate().filter_map(section).collect()
    }

    /// The text of `key`, ahead of reading it; empty where there is none.
    pub fn peek_text(&self, key: &str) -> &'s str {
        self.table.get(key).and_then(|value| value.get_ref().as_str()).unwrap_or_default()
    }

    /// The texts of `key`, one by itself or a list, ahead of reading it; empty where there is none.
    pub fn peek_texts(&self, key: &str) -> Vec<&'s str> {
        let Some(value) = self.table.get(key).map(Spanned::get_ref) else { return Vec::new() };
        let one = value.as_str();
        let list = value.as_array().into_iter().flat_map(|items| items.iter());
        one.into_iter().chain(list.filter_map(|item| item.get_ref().as_str())).collect()
    }

    pub(super) fn refuse_unknown_keys(&self) {
        let fields = self.fields.borrow();
        let known: Vec<&str> = fields.iter().map(|field| field.key).collect();
        let mut unknown = self.table.keys().filter(|key| !known.contains(&key.get_ref().as_ref()));
        for key in unknown.by_ref().take(MOST_UNKNOWN) {
            let hint = match nearest(key.get_ref(), &known) {
                Some(near) => format!("did you mean '{near}'?"),
                None => format!("the keys are {}", known.join(", ")),
            };
            let a = if self.name.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
            let key_shown = shortened(key.get_ref());
            self.mistake_at(key.span().start, format!("unknown key '{key_shown}' in {a} {}: {hint}", self.name));
        }
        if let Some(next) = unknown.next() {
            let more = count(unknown.count() + 1, "more unknown key");
            self.mistake_at(next.span().start, format!("{more} in this {}", self.name));
        }
    }
}

/// A value of the text, with the key of its field and its place in a list.
#[derive(Clone, Copy)]
pub struct Given<'s> {
    key: &'s str,
    place: usize,
    value: &'s Spanned<DeValue<'s>>,
    source: &'s Source<'s>,
}

impl<'s> Given<'s> {
    /// The value.
    pub fn value(&self) -> &'s DeValue<'s> {
        self.value.get_ref()
    }

    /// Where it stands, as a range of byte offsets.
    pub fn span(&self) -> std::ops::Range<usize> {
        self.value.span()
    }

    /// Notes what is wrong with it, in words that follow the key; gives nothing.
    pub fn wrong<T>(&self, why: impl std::fmt::Display) -> Option<T> {
        self.source.note(self.span().start, format!("'{}' {why}", self.key));
        None
    }

    /// Notes what it must be; gives nothing.
    pub fn must_be<T>(&self, what: impl std::fmt::Display) -> Option<T> {
        let not = match self.value() {
            DeValue::String(_) => "text",
            DeValue::Integer(_) | DeValue::Float(_) => {
                let typed = self.source.text.get(self.span()).unwrap_or_default();
                return self.wrong(format!("must be {what}, not {}", shortened(typed)));
            }
            DeValue::Boolean(true) => "true",
            DeValue::Boolean(false) => "false",
            DeValue::Datetime(_) => "a date",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        self.wrong(format!("must be {what}, not {not}"))
    }

    /// The text, where it is one; that it isn't is noted.
    pub fn text(&self) -> Option<&'s str> {
        self.value().as_str().or_else(|| self.must_be("text in quotes"))
    }

    /// The items, where it is a list; that it isn't is noted, with what it must be.
    pub(super) fn items(&self, what: &str) -> Option<Vec<Self>> {
        let Some(list) = self.value().as_array() else { return self.must_be(what) };
        Some(list.iter().enumerate().map(|(place, value)| Self { place, value, ..*self }).collect())
    }

    /// Reads the table through a form, where it is one; that it isn't is noted.
    pub(super) fn through<T>(&self, name: &str, form: impl Fn(&Section<'_>) -> T) -> Option<T> {
        let Some(table) = self.value().as_table() else { return self.must_be("a table, written in { } or under [ ]") };
        let section = Section::new(name, table, self.span().start, self.place, self.source);
        let value = form(&section);
        section.refuse_unknown_keys();
        Some(value)
    }
}
