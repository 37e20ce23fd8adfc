//! Reading a TOML text against its [`Shape`].

use std::cell::RefCell;

use chrono::TimeDelta;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::{Kind, Mistake, Shape};
use crate::units::number::{shortened, show};

/// Longest name on one line.
const MOST_NAME: usize = 200;
/// Longest text for people.
const MOST_TEXT: usize = 4000;
/// Longest file, in bytes: forty times the longest sequence that ships.
const MOST_FILE: usize = 1_000_000;
/// Longest key.
const MOST_KEY: usize = 40;

/// A place in the text, as a byte offset.
pub type Spot = usize;

/// The text being read, and the mistakes found so far.
pub struct Sheet<'t> {
    text: &'t str,
    /// Where each line begins.
    lines: Vec<usize>,
    mistakes: RefCell<Vec<Mistake>>,
}

impl<'t> Sheet<'t> {
    /// Parses `text`, checks it whole against `shape`, and hands the top table to `read`.
    ///
    /// # Errors
    /// Every mistake in the text, in the order of the lines, whether of TOML, of shape, or noted by `read`.
    pub fn read<T>(
        text: &'t str,
        shape: &'static Shape,
        read: impl FnOnce(&Section<'_, 't>) -> T,
    ) -> Result<T, Vec<Mistake>> {
        if text.len() > MOST_FILE {
            let message = format!("the file is {} bytes long: at most {MOST_FILE}", text.len());
            return Err(vec![Mistake { line: 1, column: 1, message }]);
        }
        let (root, errors) = DeTable::parse_recoverable(text);
        let lines = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        let sheet = Sheet { text, lines, mistakes: RefCell::default() };
        for error in &errors {
            sheet.note(
                error.span().map_or(0, |span| span.start),
                format!("not TOML: {}; mend this first", error.message()),
            );
        }
        // What the parser finds behind its first stumble on a line is mostly an echo of that one.
        sheet.mistakes.borrow_mut().sort();
        sheet.mistakes.borrow_mut().dedup_by_key(|mistake| mistake.line);
        let stumbles = sheet.mistakes.borrow().len();
        let section = Section { table: root.get_ref(), spot: 0, shape, sheet: &sheet };
        // A broken parse leaves tables half read: what is missing then is not the writer's mistake.
        section.check(errors.is_empty());
        let value = read(&section);
        let mut mistakes = sheet.mistakes.into_inner();
        if !errors.is_empty() {
            // What the parser made up to go on, on a line that it could not read, is not the writer's mistake.
            let (broken, rest) = mistakes.split_at(stumbles);
            let rest = rest.iter().filter(|m| (m.line, m.column) != (1, 1) && broken.iter().all(|b| b.line != m.line));
            mistakes = broken.iter().chain(rest).cloned().collect();
        }
        if mistakes.is_empty() {
            return Ok(value);
        }
        mistakes.sort();
        mistakes.dedup();
        Err(mistakes)
    }

    fn note(&self, spot: Spot, message: String) {
        let line = self.lines.partition_point(|begin| *begin <= spot).max(1);
        let begin = self.lines.get(line - 1).copied().unwrap_or(0);
        let column = self.text.get(begin..spot).map_or(0, |before| before.chars().count()) + 1;
        self.mistakes.borrow_mut().push(Mistake { line, column, message });
    }
}

/// One table of the text, with its shape.
#[derive(Clone, Copy)]
pub struct Section<'s, 't> {
    table: &'s DeTable<'t>,
    spot: Spot,
    shape: &'static Shape,
    sheet: &'s Sheet<'t>,
}

impl<'s, 't> Section<'s, 't> {
    /// Notes a mistake at a place.
    pub fn mistake(&self, spot: Spot, message: impl Into<String>) {
        self.sheet.note(spot, message.into());
    }

    /// Where the table begins.
    pub fn spot(&self) -> Spot {
        self.spot
    }

    /// Where the value of `key` stands; the table's own place when it is absent.
    pub fn spot_of(&self, key: &str) -> Spot {
        self.table.get(key).map_or(self.spot, |value| value.span().start)
    }

    /// Whether `key` is there.
    pub fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    fn value(&self, key: &str) -> Option<&'s Spanned<DeValue<'t>>> {
        self.table.get(key)
    }

    /// The text of a text, name, key or word; empty when absent or wrong.
    pub fn text(&self, key: &str) -> &'s str {
        self.text_or_none(key).unwrap_or("")
    }

    /// The text of a text, name, key or word.
    pub fn text_or_none(&self, key: &str) -> Option<&'s str> {
        self.value(key).and_then(|value| value.get_ref().as_str())
    }

    /// A number.
    pub fn number(&self, key: &str) -> Option<f64> {
        self.value(key).and_then(|value| number_of(value.get_ref()))
    }

    /// A whole number.
    pub fn count(&self, key: &str) -> Option<u32> {
        self.number(key).filter(|n| *n >= 0.0 && *n <= f64::from(u32::MAX)).map(|n| n as u32)
    }

    /// A flag; absent is false.
    pub fn flag(&self, key: &str) -> bool {
        self.value(key).and_then(|value| value.get_ref().as_bool()).unwrap_or(false)
    }

    /// A span of time.
    pub fn span(&self, key: &str) -> Option<TimeDelta> {
        self.text_or_none(key).and_then(|text| parse_span(text).ok())
    }

    /// A text for people, its blanks at the ends taken off and its lines ended alike; none when absent.
    pub fn prose(&self, key: &str) -> Option<String> {
        self.text_or_none(key).map(|text| text.trim().replace("\r\n", "\n"))
    }

    /// A list of texts, each with its place.
    pub fn texts(&self, key: &str) -> Vec<(&'s str, Spot)> {
        self.value(key)
            .and_then(|value| value.get_ref().as_array())
            .map(|array| {
                array.iter().filter_map(|item| item.get_ref().as_str().map(|text| (text, item.span().start))).collect()
            })
            .unwrap_or_default()
    }

    /// A list of numbers, each with its place.
    pub fn numbers(&self, key: &str) -> Vec<(f64, Spot)> {
        self.value(key)
            .and_then(|value| value.get_ref().as_array())
            .map(|array| {
                array.iter().filter_map(|item| number_of(item.get_ref()).map(|n| (n, item.span().start))).collect()
            })
            .unwrap_or_default()
    }

    /// The table under `key`.
    pub fn table(&self, key: &str) -> Option<Section<'s, 't>> {
        let Kind::Table(shape) = self.kind_of(key)? else { return None };
        let value = self.value(key)?;
        let table = value.get_ref().as_table()?;
        Some(Section { table, spot: value.span().start, shape, sheet: self.sheet })
    }

    /// The list of tables under `key`.
    pub fn tables(&self, key: &str) -> Vec<Section<'s, 't>> {
        let Some(Kind::Tables(shape)) = self.kind_of(key) else { return Vec::new() };
        let Some(array) = self.value(key).and_then(|value| value.get_ref().as_array()) else { return Vec::new() };
        array
            .iter()
            .filter_map(|item| {
                let table = item.get_ref().as_table()?;
                Some(Section { table, spot: item.span().start, shape, sheet: self.sheet })
            })
            .collect()
    }

    fn kind_of(&self, key: &str) -> Option<&'static Kind> {
        self.shape.fields.iter().find(|field| field.key == key).map(|field| &field.kind)
    }

    /// Checks the whole table, and those inside it, against the shape.
    fn check(&self, missing_too: bool) {
        for (key, _) in self.table.iter() {
            if self.kind_of(key.get_ref()).is_none() {
                self.mistake(key.span().start, self.unknown_key(key.get_ref()));
            }
        }
        for field in self.shape.fields {
            match self.value(field.key) {
                Some(value) => self.check_value(field.key, &field.kind, value, missing_too),
                None if field.needed && missing_too => self.mistake(
                    self.spot,
                    format!("this {} has no '{}': add it ({})", self.shape.name, field.key, field.doc),
                ),
                None => {}
            }
        }
    }

    fn unknown_key(&self, key: &str) -> String {
        let known: Vec<&str> = self.shape.fields.iter().map(|field| field.key).collect();
        let near = nearest(key, &known).map(|near| format!("did you mean '{near}'?"));
        let hint = near.unwrap_or_else(|| format!("the keys are {}", known.join(", ")));
        let a = if self.shape.name.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
        format!("unknown key '{}' in {a} {}: {hint}", shortened(key), self.shape.name)
    }

    fn check_value(&self, key: &str, kind: &'static Kind, value: &Spanned<DeValue<'t>>, missing_too: bool) {
        let spot = value.span().start;
        let is = value.get_ref();
        let wants = |what: &str| format!("'{key}' wants {what}, not {}", a_type(is));
        match kind {
            Kind::Text | Kind::Name | Kind::Key | Kind::Span | Kind::OneOf(_) => match is.as_str() {
                None => self.mistake(spot, wants("a text in quotes")),
                Some(text) => {
                    if let Err(why) = check_text(kind, text) {
                        self.mistake(spot, format!("'{key}' {why}"));
                    }
                }
            },
            Kind::Names | Kind::SomeOf(_) => match is.as_array() {
                None => self.mistake(spot, wants("a list of texts, as in [\"a\", \"b\"]")),
                Some(array) => {
                    for item in array.iter() {
                        let each = if let Kind::SomeOf(words) = kind { &Kind::OneOf(words) } else { &Kind::Name };
                        match item.get_ref().as_str() {
                            None => self.mistake(item.span().start, format!("'{key}' lists texts only")),
                            Some(text) => {
                                if let Err(why) = check_text(each, text) {
                                    self.mistake(item.span().start, format!("'{key}' {why}"));
                                }
                            }
                        }
                    }
                }
            },
            Kind::Number(least, most) => self.check_number(key, is, spot, *least, *most),
            Kind::Numbers(least, most) => match is.as_array() {
                None => self.mistake(spot, wants("a list of numbers, as in [600, 1200]")),
                Some(array) => {
                    for item in array.iter() {
                        self.check_number(key, item.get_ref(), item.span().start, *least, *most);
                    }
                }
            },
            Kind::Count(least, most) => {
                self.check_number(key, is, spot, f64::from(*least), f64::from(*most));
                if number_of(is).is_some_and(|n| n.fract() != 0.0) {
                    self.mistake(spot, format!("'{key}' wants a whole number"));
                }
            }
            Kind::Flag => {
                if !is.is_bool() {
                    self.mistake(spot, wants("true or false"));
                }
            }
            Kind::Table(shape) => match is.as_table() {
                None => self.mistake(spot, wants("a table, as in { … }")),
                Some(table) => Section { table, spot, shape, sheet: self.sheet }.check(missing_too),
            },
            Kind::Tables(shape) => match is.as_array() {
                None => self.mistake(spot, wants(&format!("a list of tables: write [[…{key}]] before each"))),
                Some(array) => {
                    for item in array.iter() {
                        match item.get_ref().as_table() {
                            None => self.mistake(item.span().start, format!("'{key}' lists tables only")),
                            Some(table) => {
                                Section { table, spot: item.span().start, shape, sheet: self.sheet }.check(missing_too);
                            }
                        }
                    }
                }
            },
        }
    }

    fn check_number(&self, key: &str, value: &DeValue<'_>, spot: Spot, least: f64, most: f64) {
        match number_of(value) {
            None => self.mistake(spot, format!("'{key}' wants a number, not {}", a_type(value))),
            Some(n) if !(n >= least && n <= most) => {
                self.mistake(spot, format!("'{key}' is {}: it must be {} to {}", show(n), show(least), show(most)));
            }
            Some(_) => {}
        }
    }
}

fn a_type(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(_) => "a text".into(),
        DeValue::Integer(_) | DeValue::Float(_) => "a number".into(),
        DeValue::Boolean(_) => "true or false".into(),
        DeValue::Datetime(_) => "a date".into(),
        DeValue::Array(_) => "a list".into(),
        DeValue::Table(_) => "a table".into(),
    }
}

fn number_of(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Integer(n) => i64::from_str_radix(n.as_str(), n.radix()).ok().map(|n| n as f64),
        DeValue::Float(n) => n.as_str().parse().ok(),
        _ => None,
    }
}

fn check_text(kind: &Kind, text: &str) -> Result<(), String> {
    let length = text.chars().count();
    match kind {
        Kind::Text => {
            if text.trim().is_empty() {
                return Err("is empty".into());
            }
            // A file saved on Windows ends its lines with two characters.
            if text.replace("\r\n", "\n").chars().any(|c| c.is_control() && c != '\n' && c != '\t') {
                return Err("has a control character in it: take it out".into());
            }
            if length > MOST_TEXT {
                return Err(format!("is {length} characters long: at most {MOST_TEXT}"));
            }
        }
        Kind::Name => check_name(text)?,
        Kind::Key => check_key(text)?,
        Kind::Span => {
            parse_span(text)?;
        }
        Kind::OneOf(words) if !words.contains(&text) => {
            let near = nearest(text, words).map(|near| format!("; did you mean '{near}'?")).unwrap_or_default();
            return Err(format!("can't be '{}': it is one of {}{near}", shortened(text), words.join(", ")));
        }
        _ => {}
    }
    Ok(())
}

/// Checks a name of a person or a thing: any script, one line, no control characters.
///
/// # Errors
/// What is wrong with it, to be put behind the name of the field.
pub fn check_name(text: &str) -> Result<(), String> {
    if text.trim().is_empty() {
        return Err("is empty".into());
    }
    if text.trim() != text {
        return Err("has blanks at an end: take them out".into());
    }
    if text.chars().any(char::is_control) {
        return Err("has a control character in it: take it out".into());
    }
    let length = text.chars().count();
    if length > MOST_NAME {
        return Err(format!("is {length} characters long: at most {MOST_NAME}"));
    }
    Ok(())
}

/// Checks a key.
///
/// # Errors
/// What is wrong with it, to be put behind the name of the field.
pub fn check_key(text: &str) -> Result<(), String> {
    let good = text.chars().all(|c| c.is_ascii_alphanumeric() || c == '-')
        && text.starts_with(|c: char| c.is_ascii_alphanumeric())
        && text.len() <= MOST_KEY;
    if good {
        Ok(())
    } else {
        Err(format!(
            "can't be '{}': a key is letters, digits and hyphens, starting with a letter or digit, at most {MOST_KEY}",
            shortened(text).escape_debug()
        ))
    }
}

/// Reads "30 min", "6 h", "2 days".
fn parse_span(text: &str) -> Result<TimeDelta, String> {
    let why = || format!("can't be '{}': write a span as \"30 min\", \"6 h\" or \"2 days\"", shortened(text));
    let (number, unit) = text.trim().split_once(' ').ok_or_else(why)?;
    let number: f64 = crate::units::parse_decimal(number).map_err(|_| why())?;
    let minutes = match unit.trim() {
        "min" => number,
        "h" => number * 60.0,
        "day" | "days" => number * 1440.0,
        _ => return Err(why()),
    };
    if !(0.0..=1440.0 * 3650.0).contains(&minutes) || minutes.fract() != 0.0 {
        return Err(format!("can't be '{}': a span is whole minutes, nought to ten years", shortened(text)));
    }
    Ok(TimeDelta::minutes(minutes as i64))
}

/// The known word closest to what was typed, when it is close.
pub fn nearest<'k>(typed: &str, known: &[&'k str]) -> Option<&'k str> {
    known
        .iter()
        .map(|word| (distance(&typed.to_lowercase(), &word.to_lowercase()), *word))
        .filter(|(far, word)| *far <= 1 + word.chars().count() / 4)
        .min()
        .map(|(_, word)| word)
}

/// Edit distance (insert, delete, replace), Wagner and Fischer 1974.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().take(64).collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, from) in a.chars().take(64).enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, to) in b.iter().enumerate() {
            let replaced = diagonal + usize::from(from != *to);
            diagonal = row[j + 1];
            row[j + 1] = replaced.min(row[j] + 1).min(row[j + 1] + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::form::Field;

    static INNER: Shape =
        Shape { name: "part", doc: "A part", fields: &[Field::needed("length", Kind::Number(0.0, 10.0), "how long")] };
    static TOP: Shape = Shape {
        name: "thing",
        doc: "A thing",
        fields: &[
            Field::needed("title", Kind::Name, "its title"),
            Field::optional("wait", Kind::Span, "how long it waits"),
            Field::optional("part", Kind::Tables(&INNER), "its parts"),
        ],
    };

    #[test]
    fn every_mistake_is_reported_with_line_and_column() {
        let text = "titel = \"x\"\nwait = \"soon\"\n[[part]]\nlength = 11\n[[part]]\nlenght = 1\n";
        let mistakes = Sheet::read(text, &TOP, |_| ()).unwrap_err();
        let said: Vec<String> = mistakes.iter().map(|m| m.in_file("f.toml")).collect();
        assert_eq!(
            said,
            [
                "f.toml:1:1: this thing has no 'title': add it (its title)",
                "f.toml:1:1: unknown key 'titel' in a thing: did you mean 'title'?",
                "f.toml:2:8: 'wait' can't be 'soon': write a span as \"30 min\", \"6 h\" or \"2 days\"",
                "f.toml:4:10: 'length' is 11: it must be 0 to 10",
                "f.toml:5:1: this part has no 'length': add it (how long)",
                "f.toml:6:1: unknown key 'lenght' in a part: did you mean 'length'?",
            ]
        );
    }

    #[test]
    fn broken_toml_is_a_mistake_with_its_place() {
        let mistakes = Sheet::read("title = \"x\"\nwait = = 2\n", &TOP, |_| ()).unwrap_err();
        assert_eq!(mistakes[0].line, 2);
    }

    proptest::proptest! {
        #[test]
        fn no_text_makes_the_reader_panic(text in "\\PC{0,80}|(title|part|\\[\\[|\\]\\]|=|\"|\n| |1){0,30}") {
            let _ = Sheet::read(&text, &TOP, |section| section.tables("part").len());
        }
    }
}
