//! R7 in the walk: what a limit asks for is read, and no more; what is out is said at once.

use super::session::{Interrupt, Walk};
use crate::building::SubjectIx;
use crate::cli::prompts::question::{Asker, Question};
use crate::cli::prompts::screen::say_wrapped;
use crate::conditions::beaufort::{FORCES, OFFERED, middle_kmh};
use crate::day::{Conditions, Request, out_of, readings_by_place};
use crate::record::TakeReading;
use crate::sequence::LimitIx;
use crate::units::{Bounds, Quantity, bounds, parse_decimal};

/// Wind as it was read: a force, or a speed in km/h.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Wind {
    Force(u8),
    Kmh(f64),
}

/// What is being read: of every wall, and the surface of each.
#[derive(Default)]
struct Read {
    /// What is the same on every wall that is read.
    all: TakeReading,
    surfaces: Vec<(SubjectIx, f64)>,
}

impl Walk<'_> {
    /// Reads what a limit still asks for on some walls; whether all of it was read and lies within the limit.
    pub(super) fn reading_for(&mut self, limit: LimitIx, walls: &[SubjectIx], why: &str) -> Result<bool, Interrupt> {
        let now = self.now();
        let state = &self.book().state;
        let limit = state.sequence().limits[limit].clone();
        let asked = walls.iter().flat_map(|wall| state.to_read(&limit, *wall, now));
        let mut asked: Vec<Quantity> = asked.collect();
        asked.sort_unstable();
        asked.dedup();
        self.head(&format!("Reading on {}", state.subjects.shortly(walls)));
        say_wrapped(&format!("  Why now: {why}."), 4);
        let mut read = Read::default();
        let mut known = Conditions::default();
        // What goes wrong soonest comes first: a wall that is wet or blown on needs no thermometer.
        for quantity in [Quantity::Rain, Quantity::Wind, Quantity::Air, Quantity::Humidity, Quantity::Surface] {
            if quantity == Quantity::Rain || asked.contains(&quantity) {
                let places: &[SubjectIx] = if quantity == Quantity::Surface { walls } else { &walls[..1] };
                for wall in places {
                    self.read(quantity, *wall, &mut read, &mut known)?;
                    let out = out_of(&limit, &known);
                    if !out.is_empty() {
                        self.keep_reading(read, walls)?;
                        for out in out {
                            self.bold(&format!("  Out for {}: {}.", limit.title, out.why));
                            say_wrapped(&format!("  To do: {}.", out.brings), 4);
                        }
                        return Ok(false);
                    }
                }
            }
        }
        self.keep_reading(read, walls)
    }

    /// Reads whatever the lead has at hand; Enter leaves a value out.
    pub(super) fn reading(&mut self, walls: &[SubjectIx]) -> Result<(), Interrupt> {
        self.head(&format!("Reading on {}", self.book().state.subjects.shortly(walls)));
        let mut read = Read::default();
        read.all.rain = self.ask(Question::yes_no("  Rain on the wall?", false))?;
        read.wind(self.ask(wind().or_none())?);
        read.all.air_c =
            self.ask(Question::number("  Air in the shade, °C (Enter for none)", bounds::AIR).or_none())?;
        read.all.humidity_pct =
            self.ask(Question::number("  Humidity, % (Enter for none)", bounds::HUMIDITY).or_none())?;
        for wall in walls {
            let text = format!("  Surface of {}, °C (Enter for none)", self.book().state.subjects.get(*wall));
            let surface = self.ask(Question::number(text, bounds::SURFACE).or_none())?;
            read.surfaces.extend(surface.map(|surface| (*wall, surface)));
        }
        self.keep_reading(read, walls).map(|_| ())
    }

    /// It began to rain: on every wall. Rain alone stops no work that has no limit for it.
    pub(super) fn rain(&mut self) -> Result<(), Interrupt> {
        let subject = "job".to_owned();
        self.record(&TakeReading { subject, rain: true, ..TakeReading::default() })?;
        match self.ask(Question::yes_no("  Has work stopped for it?", false))? {
            true => self.stopped("rain".to_owned()),
            false => Ok(()),
        }
    }

    /// The wind, on every wall.
    pub(super) fn wind(&mut self, text: &str) -> Result<(), Interrupt> {
        let mut read = Read::default();
        let given = if text.is_empty() {
            self.ask(wind())?
        } else {
            match as_wind(text) {
                Ok(given) => given,
                Err(why) => {
                    say_wrapped(&format!("  'wind' records the wind: {why}"), 4);
                    return Ok(());
                }
            }
        };
        read.wind(Some(given));
        // It stands for the whole site, and so does whether it rains.
        read.all.rain = self.ask(Question::yes_no("  Is it raining?", false))?;
        self.keep_reading(read, &[]).map(|_| ())
    }

    fn read(
        &mut self,
        quantity: Quantity,
        wall: SubjectIx,
        read: &mut Read,
        known: &mut Conditions,
    ) -> Result<(), Interrupt> {
        let mut number = |text: String, bounds: Bounds| self.ask(Question::number(text, bounds));
        match quantity {
            Quantity::Air => {
                read.all.air_c = Some(number("  Air in the shade, °C".to_owned(), bounds::AIR)?);
                known.air_c = read.all.air_c;
            }
            Quantity::Humidity => {
                read.all.humidity_pct = Some(number("  Humidity, %".to_owned(), bounds::HUMIDITY)?);
                known.humidity_pct = read.all.humidity_pct;
            }
            Quantity::Surface => {
                let text = format!("  Surface of {}, °C", self.book().state.subjects.get(wall));
                let surface = self.ask(Question::number(text, bounds::SURFACE))?;
                read.surfaces.push((wall, surface));
                known.surface_c = Some(surface);
            }
            Quantity::Wind => {
                let given = self.ask(wind())?;
                read.wind(Some(given));
                known.wind_kmh = read.all.wind_kmh;
            }
            Quantity::Rain => {
                read.all.rain = self.ask(Question::yes_no("  Is it raining?", false))?;
                known.rain = Some(read.all.rain);
            }
        }
        Ok(())
    }

    /// Records what was read.
    fn keep_reading(&mut self, read: Read, walls: &[SubjectIx]) -> Result<bool, Interrupt> {
        let Read { all, surfaces } = read;
        let subjects = &self.book().state.subjects;
        let surface = |wall: &SubjectIx| surfaces.iter().find(|(on, _)| on == wall).map(|(_, surface)| *surface);
        let walls: Vec<_> = walls.iter().map(|wall| (subjects.get(*wall).to_string(), surface(wall))).collect();
        let readings = readings_by_place(&all, &walls);
        let requests: Vec<&dyn Request> = readings.iter().map(|reading| reading as &dyn Request).collect();
        self.record_all(&requests)
    }
}

impl Read {
    fn wind(&mut self, wind: Option<Wind>) {
        (self.all.wind_kmh, self.all.beaufort) = match wind {
            Some(Wind::Force(force)) => (Some(middle_kmh(force)), Some(force)),
            Some(Wind::Kmh(kmh)) => (Some(kmh), None),
            None => (None, None),
        };
    }
}

/// The wind by what is seen, or by what was measured.
fn wind<'q>() -> Question<'q, Wind> {
    let question = Question::new("  Wind: its force, or measured, such as 18 km/h", as_wind);
    let seen = FORCES[..OFFERED].iter().enumerate();
    seen.map(|(force, it)| format!("  {force} {}", it.seen)).fold(question, Question::above)
}

fn as_wind(text: &str) -> Result<Wind, String> {
    let lower = text.to_lowercase();
    if let Some(speed) = ["km/h", "kmh", "kph"].iter().find_map(|unit| lower.strip_suffix(unit)) {
        let kmh = parse_decimal(&speed.trim().replace(',', ".")).map_err(|error| error.to_string())?;
        return bounds::WIND.check(kmh).map(Wind::Kmh).map_err(|error| error.to_string());
    }
    match lower.trim_start_matches("force").trim().parse() {
        Ok(force @ 0..=12) => Ok(Wind::Force(force)),
        _ => Err("type a force from 0 to 12, or a speed with its unit, such as 18 km/h".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wind_is_a_force_or_a_speed() {
        for (typed, wind) in [
            ("3", Wind::Force(3)),
            ("force 5", Wind::Force(5)),
            ("12", Wind::Force(12)),
            ("18 km/h", Wind::Kmh(18.0)),
            ("7,5kmh", Wind::Kmh(7.5)),
        ] {
            assert_eq!(as_wind(typed), Ok(wind), "{typed}");
        }
        for typed in ["13", "-1", "breezy", "", "3.5", "km/h", "900 km/h"] {
            assert!(as_wind(typed).is_err(), "{typed}");
        }
    }
}
