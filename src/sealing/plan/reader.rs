//! Reads a sealing day from TOML, keeping the line of everything for messages.

use std::collections::BTreeMap;
use std::ops::Range;

use chrono::DateTime;
use rust_decimal::Decimal;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::day::Day;
use super::error::Place;
use super::given::{GivenDay, GivenJoint, GivenRates, GivenSpan, GivenWall, GivenWindow};
use crate::moment::Moment;
use crate::units::number::shortened;

/// The crew where the file does not say.
const USUAL_CREW: i64 = 2;

/// Something wrong with the file of a day.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{line}: {what}")]
pub struct DayFileError {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong, and what is wanted.
    pub what: String,
}

type Value<'a, 'i> = &'a Spanned<DeValue<'i>>;

/// Reads a day from the text of a TOML file and checks it.
///
/// Times are TOML strings in RFC 3339 or TOML date-times with an offset. `crew` is 2 where it is not given; `rain`, a
/// wall's `sun` and the list of joints may be absent; every other key must be there, and no other may.
///
/// # Errors
/// [`DayFileError`]s with their lines: text that is not TOML, a key missing or unknown, a value of the wrong kind, and
/// all that [`Day::new`] finds.
pub fn read_toml(text: &str) -> Result<Day, Vec<DayFileError>> {
    let mut reader = Reader { text, errors: Vec::new(), places: BTreeMap::new() };
    let given = match DeTable::parse(text) {
        Ok(table) => reader.day(table.get_ref()),
        Err(error) => {
            let line = error.span().map_or(1, |span| line_of(text, span.start));
            let message = error.message().replace('\n', ", ");
            return Err(vec![DayFileError { line, what: format!("is not TOML: {message}") }]);
        }
    };
    if reader.errors.is_empty() {
        match Day::new(&given) {
            Ok(day) => return Ok(day),
            Err(errors) => {
                for error in errors.0 {
                    let line = reader.places.get(&error.place).copied().unwrap_or(1);
                    reader.errors.push(DayFileError { line, what: error.what.to_string() });
                }
            }
        }
    }
    reader.errors.sort_by_key(|error| error.line);
    Err(reader.errors)
}

fn line_of(text: &str, at: usize) -> usize {
    text.bytes().take(at).filter(|&byte| byte == b'\n').count() + 1
}

struct Reader<'t> {
    text: &'t str,
    errors: Vec<DayFileError>,
    places: BTreeMap<Place, usize>,
}

impl Reader<'_> {
    fn error(&mut self, span: Range<usize>, what: impl Into<String>) {
        let line = line_of(self.text, span.start);
        self.errors.push(DayFileError { line, what: what.into() });
    }

    fn at(&mut self, place: Place, span: Range<usize>) {
        let line = line_of(self.text, span.start);
        self.places.insert(place, line);
    }

    /// Faults every key that is not known.
    fn only(&mut self, table: &DeTable<'_>, of: &str, known: &[&str]) {
        for key in table.keys() {
            if !known.contains(&key.get_ref().as_ref()) {
                let name = shortened(&key.get_ref().replace(char::is_control, "\u{fffd}"));
                self.error(key.span(), format!("'{name}' is not a key of {of}; the keys are {}", known.join(", ")));
            }
        }
    }

    fn needed<'a, 'i>(
        &mut self,
        table: &'a DeTable<'i>,
        of: &str,
        here: Range<usize>,
        key: &str,
    ) -> Option<Value<'a, 'i>> {
        let value = table.get(key);
        if value.is_none() {
            self.error(here, format!("{of} has no {key}"));
        }
        value
    }

    fn day(&mut self, table: &DeTable<'_>) -> GivenDay {
        const KEYS: [&str; 9] =
            ["from", "until", "crew", "tape_off_within_min", "window", "rates", "rain", "wall", "joint"];
        self.only(table, "a sealing day", &KEYS);
        let of = "the sealing day";
        let from = self.time(table, of, 0..0, "from", Some(Place::From));
        let until = self.time(table, of, 0..0, "until", Some(Place::Until));
        let crew = match table.get("crew") {
            None => USUAL_CREW,
            Some(value) => {
                self.at(Place::Crew, value.span());
                self.crew(value)
            }
        };
        let tape_off_within_min = self.number(table, of, 0..0, "tape_off_within_min", Place::TapeOffWithin);
        let window = self.window(table);
        let rates = self.rates(table);
        let rain = self.spans(table.get("rain"), "rain", Place::Rain);
        let walls = self.walls(table);
        let joints = self.joints(table);
        GivenDay { from, until, crew, tape_off_within_min, window, rates, rain, walls, joints }
    }

    fn crew(&mut self, value: Value<'_, '_>) -> i64 {
        let whole =
            value.get_ref().as_integer().and_then(|whole| i64::from_str_radix(whole.as_str(), whole.radix()).ok());
        whole.unwrap_or_else(|| {
            self.error(value.span(), "crew must be a whole number of people, such as 2");
            USUAL_CREW
        })
    }

    fn table<'a, 'i>(&mut self, table: &'a DeTable<'i>, key: &str) -> Option<(&'a DeTable<'i>, Range<usize>)> {
        let value = self.needed(table, "the sealing day", 0..0, key)?;
        match value.get_ref().as_table() {
            Some(inner) => Some((inner, value.span())),
            None => {
                self.error(value.span(), format!("{key} must be a table: [{key}]"));
                None
            }
        }
    }

    fn window(&mut self, table: &DeTable<'_>) -> GivenWindow {
        let mut window =
            GivenWindow { earliest_min: Decimal::ZERO, latest_min: Decimal::ZERO, margin_min: Decimal::ZERO };
        if let Some((inner, here)) = self.table(table, "window") {
            self.only(inner, "[window]", &["earliest_min", "latest_min", "margin_min"]);
            let mut take = |key| self.number(inner, "[window]", here.clone(), key, Place::Window(key));
            window = GivenWindow {
                earliest_min: take("earliest_min"),
                latest_min: take("latest_min"),
                margin_min: take("margin_min"),
            };
        }
        window
    }

    fn rates(&mut self, table: &DeTable<'_>) -> GivenRates {
        let none = Decimal::ZERO;
        let mut rates =
            GivenRates { mask_min_per_m: none, prime_min_per_m: none, gun_min_per_m: none, tape_off_min_per_m: none };
        if let Some((inner, here)) = self.table(table, "rates") {
            let keys = ["mask_min_per_m", "prime_min_per_m", "gun_min_per_m", "tape_off_min_per_m"];
            self.only(inner, "[rates]", &keys);
            let mut take = |key| self.number(inner, "[rates]", here.clone(), key, Place::Rate(key));
            rates = GivenRates {
                mask_min_per_m: take("mask_min_per_m"),
                prime_min_per_m: take("prime_min_per_m"),
                gun_min_per_m: take("gun_min_per_m"),
                tape_off_min_per_m: take("tape_off_min_per_m"),
            };
        }
        rates
    }

    /// The tables of a list, each with its place in the file; none when the list is absent.
    fn rows<'a, 'i>(&mut self, value: Option<Value<'a, 'i>>, of: &str) -> Vec<(&'a DeTable<'i>, Range<usize>)> {
        let Some(value) = value else { return Vec::new() };
        let Some(list) = value.get_ref().as_array() else {
            self.error(value.span(), format!("{of} must be a list of tables"));
            return Vec::new();
        };
        let mut rows = Vec::new();
        for row in list.iter() {
            match row.get_ref().as_table() {
                Some(table) => rows.push((table, row.span())),
                None => self.error(row.span(), format!("{of} must be a list of tables")),
            }
        }
        rows
    }

    fn walls(&mut self, table: &DeTable<'_>) -> Vec<GivenWall> {
        let mut walls = Vec::new();
        for (nth, (row, here)) in self.rows(table.get("wall"), "wall").into_iter().enumerate() {
            self.only(row, "[[wall]]", &["key", "sun"]);
            let key = self.name(row, "[[wall]]", here.clone(), "key");
            self.at(Place::Wall(nth), row.get("key").map_or(here, Spanned::span));
            let sun = self.spans(row.get("sun"), "sun", |at| Place::Sun(nth, at));
            walls.push(GivenWall { key, sun });
        }
        walls
    }

    fn joints(&mut self, table: &DeTable<'_>) -> Vec<GivenJoint> {
        let mut joints = Vec::new();
        for (nth, (row, here)) in self.rows(table.get("joint"), "joint").into_iter().enumerate() {
            self.only(row, "[[joint]]", &["id", "wall", "length_m"]);
            let id = self.name(row, "[[joint]]", here.clone(), "id");
            let wall = self.name(row, "[[joint]]", here.clone(), "wall");
            let length_m = self.number(row, "[[joint]]", here.clone(), "length_m", Place::Joint(nth, "length_m"));
            for key in ["id", "wall"] {
                self.at(Place::Joint(nth, key), row.get(key).map_or(here.clone(), Spanned::span));
            }
            joints.push(GivenJoint { id, wall, length_m, masked: false, primed: None });
        }
        joints
    }

    fn spans(&mut self, value: Option<Value<'_, '_>>, of: &str, place: impl Fn(usize) -> Place) -> Vec<GivenSpan> {
        let mut spans = Vec::new();
        for (nth, (row, here)) in self.rows(value, of).into_iter().enumerate() {
            self.only(row, of, &["from", "to"]);
            self.at(place(nth), here.clone());
            let from = self.time(row, of, here.clone(), "from", None);
            let to = self.time(row, of, here, "to", None);
            spans.push(GivenSpan { from, to });
        }
        spans
    }

    fn name(&mut self, table: &DeTable<'_>, of: &str, here: Range<usize>, key: &str) -> String {
        let Some(value) = self.needed(table, of, here, key) else { return String::new() };
        match value.get_ref().as_str() {
            Some(text) => text.to_owned(),
            None => {
                self.error(value.span(), format!("{key} must be a text in quotes"));
                String::new()
            }
        }
    }

    fn number(&mut self, table: &DeTable<'_>, of: &str, here: Range<usize>, key: &str, place: Place) -> Decimal {
        let Some(value) = self.needed(table, of, here, key) else { return Decimal::ZERO };
        self.at(place, value.span());
        decimal(value.get_ref()).unwrap_or_else(|why| {
            self.error(value.span(), format!("{key} {why}"));
            Decimal::ZERO
        })
    }

    fn time(&mut self, table: &DeTable<'_>, of: &str, here: Range<usize>, key: &str, place: Option<Place>) -> Moment {
        let none = Moment::from(DateTime::UNIX_EPOCH);
        let Some(value) = self.needed(table, of, here, key) else { return none };
        if let Some(place) = place {
            self.at(place, value.span());
        }
        let text = match value.get_ref() {
            DeValue::String(text) => text.trim().to_owned(),
            DeValue::Datetime(moment) => moment.to_string(),
            _ => String::new(),
        };
        moment(&text).unwrap_or_else(|| {
            let given = self.text.get(value.span()).unwrap_or_default();
            let given = shortened(given.trim_matches(['"', '\'']));
            let why = format!("{key} '{given}' is not a full time with its offset, such as 2026-03-02T07:00:00+13:00");
            self.error(value.span(), why.replace(|c: char| c.is_control(), "\u{fffd}"));
            none
        })
    }
}

/// A time in RFC 3339; the seconds may be left off.
fn moment(text: &str) -> Option<Moment> {
    let full = DateTime::parse_from_rfc3339(text);
    let text = text.replace(['Z', 'z'], "+00:00");
    full.or_else(|_| DateTime::parse_from_str(&text, "%Y-%m-%dT%H:%M%:z")).ok().map(Moment::from)
}

/// The number exactly as its digits are written.
fn decimal(value: &DeValue<'_>) -> Result<Decimal, String> {
    match value {
        DeValue::Integer(whole) => {
            let number = i64::from_str_radix(whole.as_str(), whole.radix()).map(Decimal::from);
            number.map_err(|_| format!("{} is beyond any measure", shortened(whole.as_str())))
        }
        DeValue::Float(float) => {
            let text = float.as_str().trim_start_matches('+');
            if text.contains("nan") || text.contains("inf") {
                return Err(format!("{text} is not a number that can be measured"));
            }
            if text.contains(['e', 'E']) {
                let text = text.replace("e+", "e").replace("E+", "e");
                return Decimal::from_scientific(&text)
                    .map_err(|_| format!("{} is too large or has too many digits", shortened(&text)));
            }
            Decimal::from_str_exact(text)
                .map_err(|_| format!("{} is too large or has too many digits", shortened(text)))
        }
        other => Err(format!("must be a number, such as 2.4, not {} {}", article(other), other.type_str())),
    }
}

fn article(value: &DeValue<'_>) -> &'static str {
    if value.is_integer() || value.is_array() { "an" } else { "a" }
}
