//! What a field may hold.

use std::marker::PhantomData;
use std::str::FromStr;

use chrono::{DateTime, TimeDelta};
use serde_json::{Value, json};
use strum::VariantNames;
use toml::Spanned;
use toml::de::DeValue;

use super::reader::{Field, Given, Kind, Section};
use super::schema::{fields, object};
use super::text::{MOST_NAME, check_key, check_name, check_text, nearest};
use crate::moment::Moment;
use crate::units::number::shortened;
use crate::units::parse_decimal;

/// Text for people, over several lines: spaces at its ends are taken off, line ends are made alike.
#[derive(Debug, Clone, Copy)]
pub struct Text;

impl Kind for Text {
    type Value = String;

    fn read(&self, given: &Given<'_>) -> Option<String> {
        // A file saved on Windows ends its lines with two characters.
        let text = given.text()?.trim().replace("\r\n", "\n");
        check_text(&text).map_or_else(|why| given.wrong(why), |()| Some(text))
    }

    fn schema(&self) -> Value {
        json!({ "type": "string", "minLength": 1 })
    }
}

/// A name on one line: see [`check_name`].
#[derive(Debug, Clone, Copy)]
pub struct Name;

impl Kind for Name {
    type Value = String;

    fn read(&self, given: &Given<'_>) -> Option<String> {
        let text = given.text()?;
        check_name(text).map_or_else(|why| given.wrong(why), |()| Some(text.to_owned()))
    }

    fn schema(&self) -> Value {
        json!({ "type": "string", "minLength": 1, "maxLength": MOST_NAME })
    }
}

/// A key: see [`check_key`].
#[derive(Debug, Clone, Copy)]
pub struct Key;

impl Kind for Key {
    type Value = String;

    fn read(&self, given: &Given<'_>) -> Option<String> {
        let text = given.text()?;
        check_key(text).map_or_else(|why| given.wrong(why), |()| Some(text.to_owned()))
    }

    fn schema(&self) -> Value {
        json!({ "type": "string", "pattern": "^[A-Za-z0-9][A-Za-z0-9-]{0,39}$" })
    }
}

/// true or false.
#[derive(Debug, Clone, Copy)]
pub struct Flag;

impl Kind for Flag {
    type Value = bool;

    fn read(&self, given: &Given<'_>) -> Option<bool> {
        given.value().as_bool().or_else(|| given.must_be("true or false"))
    }

    fn schema(&self) -> Value {
        json!({ "type": "boolean" })
    }
}

/// A duration with its unit: "30 min", "6 h", "42 days".
#[derive(Debug, Clone, Copy)]
pub struct Duration;

impl Kind for Duration {
    type Value = TimeDelta;

    fn read(&self, given: &Given<'_>) -> Option<TimeDelta> {
        let text = given.text()?;
        let minutes = || {
            let (number, unit) = text.trim().split_once(' ')?;
            let number = parse_decimal(number).ok()?;
            match unit.trim() {
                "min" => Some(number),
                "h" => Some(number * 60.0),
                "day" | "days" => Some(number * 1440.0),
                _ => None,
            }
        };
        let shown = shortened(text);
        match minutes() {
            None => given.wrong(format_args!("can't be '{shown}'; write \"30 min\", \"6 h\" or \"2 days\"")),
            Some(minutes) if !(0.0..=1440.0 * 3650.0).contains(&minutes) || minutes.fract() != 0.0 => {
                given.wrong(format_args!("can't be '{shown}'; it must be whole minutes, from 0 to ten years"))
            }
            Some(minutes) => Some(TimeDelta::minutes(minutes as i64)),
        }
    }

    fn schema(&self) -> Value {
        json!({ "type": "string", "pattern": "^[0-9.]+ (min|h|day|days)$" })
    }
}

/// A moment with its offset from UTC, as RFC 3339 text or a TOML date-time; the seconds may be left off.
#[derive(Debug, Clone, Copy)]
pub struct Time;

impl Kind for Time {
    type Value = Moment;

    fn read(&self, given: &Given<'_>) -> Option<Moment> {
        let text = match given.value() {
            DeValue::String(text) => text.trim().to_owned(),
            DeValue::Datetime(time) => time.to_string(),
            _ => return given.must_be("a time"),
        };
        let full = DateTime::parse_from_rfc3339(&text);
        let short = || DateTime::parse_from_str(&text.replace(['Z', 'z'], "+00:00"), "%Y-%m-%dT%H:%M%:z");
        full.or_else(|_| short()).map(Moment::from).ok().or_else(|| {
            let shown = shortened(&text);
            let example = "2026-03-02T07:00:00+13:00";
            given.wrong(format_args!(
                "can't be '{}'; write date, time and offset, such as {example}",
                shown.escape_debug()
            ))
        })
    }

    fn schema(&self) -> Value {
        json!({ "type": "string", "format": "date-time" })
    }
}

/// One word of an enum that derives [`strum::EnumString`] and [`strum::VariantNames`]: see [`word`].
#[derive(Debug, Clone, Copy)]
pub struct Word<T>(PhantomData<T>);

/// One word of an enum.
pub const fn word<T>() -> Word<T> {
    Word(PhantomData)
}

impl<T: FromStr + VariantNames> Kind for Word<T> {
    type Value = T;

    fn read(&self, given: &Given<'_>) -> Option<T> {
        let (text, words) = (given.text()?, T::VARIANTS);
        text.parse().ok().or_else(|| {
            let near = nearest(text, words).map(|near| format!("; did you mean '{near}'?")).unwrap_or_default();
            given.wrong(format_args!("can't be '{}'; it is one of {}{near}", shortened(text), words.join(", ")))
        })
    }

    fn schema(&self) -> Value {
        json!({ "enum": T::VARIANTS })
    }
}

/// A list. Items that are wrong are noted and left out.
#[derive(Debug, Clone, Copy)]
pub struct List<K>(pub K);

impl<K: Kind> Kind for List<K> {
    type Value = Vec<K::Value>;

    fn read(&self, given: &Given<'_>) -> Option<Self::Value> {
        Some(given.items(K::LISTED)?.iter().filter_map(|item| self.0.read(item)).collect())
    }

    fn schema(&self) -> Value {
        json!({ "type": "array", "items": self.0.schema() })
    }

    fn fields(&self) -> Vec<Field> {
        self.0.fields()
    }
}

/// A list, or one item by itself.
#[derive(Debug, Clone, Copy)]
pub struct OneOrMore<K>(pub K);

impl<K: Kind> Kind for OneOrMore<K> {
    type Value = Vec<K::Value>;

    fn read(&self, given: &Given<'_>) -> Option<Self::Value> {
        match given.value() {
            DeValue::Array(_) => {
                let items = given.items(K::LISTED)?;
                if items.is_empty() {
                    return given.must_be("at least one, or a list of them");
                }
                Some(items.iter().filter_map(|item| self.0.read(item)).collect())
            }
            _ => Some(vec![self.0.read(given)?]),
        }
    }

    fn schema(&self) -> Value {
        let one = self.0.schema();
        json!({ "anyOf": [one, { "type": "array", "items": one, "minItems": 1 }] })
    }
}

/// Two values, as in `[1200, 2400]`.
#[derive(Debug, Clone, Copy)]
pub struct Pair<K>(pub K);

impl<K: Kind> Kind for Pair<K> {
    type Value = [K::Value; 2];

    fn read(&self, given: &Given<'_>) -> Option<Self::Value> {
        const PAIR: &str = "a pair, as in [1200, 2400]";
        let items = given.items(PAIR)?;
        let [first, second] = items.as_slice() else { return given.must_be(PAIR) };
        let (first, second) = (self.0.read(first), self.0.read(second));
        Some([first?, second?])
    }

    fn schema(&self) -> Value {
        json!({ "type": "array", "items": self.0.schema(), "minItems": 2, "maxItems": 2 })
    }
}

/// A value with its place in the text.
#[derive(Debug, Clone, Copy)]
pub struct At<K>(pub K);

impl<K: Kind> Kind for At<K> {
    type Value = Spanned<K::Value>;

    fn read(&self, given: &Given<'_>) -> Option<Self::Value> {
        self.0.read(given).map(|value| Spanned::new(given.span(), value))
    }

    fn schema(&self) -> Value {
        self.0.schema()
    }
}

/// A value that is read further: the function says what is wrong with it in words that follow the key.
#[derive(Debug, Clone, Copy)]
pub struct Checked<K, F>(pub K, pub F);

impl<K: Kind, T, F: Fn(K::Value) -> Result<T, String>> Kind for Checked<K, F> {
    type Value = T;

    fn read(&self, given: &Given<'_>) -> Option<T> {
        self.1(self.0.read(given)?).map_or_else(|why| given.wrong(why), Some)
    }

    fn schema(&self) -> Value {
        self.0.schema()
    }
}

/// A table inside: see [`table`].
#[derive(Debug, Clone, Copy)]
pub struct Table<F>(&'static str, F);

/// A table inside: what it is called in messages, and its form.
pub const fn table<T, F: Fn(&Section<'_>) -> T>(name: &'static str, form: F) -> Table<F> {
    Table(name, form)
}

/// A list of tables: what each is called in messages, and its form.
pub const fn tables<T, F: Fn(&Section<'_>) -> T>(name: &'static str, form: F) -> List<Table<F>> {
    List(table(name, form))
}

impl<T, F: Fn(&Section<'_>) -> T> Kind for Table<F> {
    type Value = T;

    const LISTED: &'static str = "a list of tables, each under [[ ]]";

    fn read(&self, given: &Given<'_>) -> Option<T> {
        given.through(self.0, &self.1)
    }

    fn schema(&self) -> Value {
        Value::Object(object(&self.1))
    }

    fn fields(&self) -> Vec<Field> {
        fields(&self.1)
    }
}
